"""Outside check: drawings with DIMENSION entities of ezdxf, printed by Chromium, rastered by PDFium.

Nothing of how they look was chosen here but the manner; what is true is taken from the entities.
"""

import json
from fractions import Fraction
from pathlib import Path

import pytest

from digitize.dimensions.table import State
from digitize.pipeline import digitize_sheet
from tests.bench.dimension_score import score_dimensions
from tests.bench.foreign import make_sheets
from tests.bench.foreign_drawings import Manner
from tests.bench.records import load_cases

GEAR_BLANK = 39
ROUNDING_IN = 0.0006
MANNERS = {
    "inches with filled heads": Manner(
        inch=True, fraction=False, stacked=False, scale=Fraction(1), font="DejaVuSans.ttf", height_mm=3.0, arrow="",
        above=False, level_text=True, comma=False, heavy=50, light=25,
    ),
    "millimetres with ticks, figures above": Manner(
        inch=False, fraction=False, stacked=False, scale=Fraction(1, 2), font="DejaVuSans.ttf", height_mm=3.0,
        arrow="OBLIQUE", above=True, level_text=False, comma=True, heavy=50, light=25,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", MANNERS)
@pytest.mark.parametrize("seed", [40, 41])
def test_a_foreign_drawing_is_read_and_agreed(name: str, seed: int, tmp_path: Path) -> None:
    (picture,) = make_sheets([seed], tmp_path, MANNERS[name], dpis=[200])
    digitize_sheet(picture, out=tmp_path / "results" / picture.stem)
    (case,) = load_cases(tmp_path / "results", picture.parent)
    found = score_dimensions(case)
    assert found.true == len(json.loads(picture.with_suffix(".truth.json").read_text())["dimensions"]) > 5
    assert found.wrong == ()
    assert found.right >= found.true - 1
    assert found.agreed_right >= found.true - 2


def test_teeth_pitch_and_outside_diameter_vouch_for_each_other(tmp_path: Path) -> None:
    """Three figures are too few for a scale, but (N + 2)/P = OD ties them (Machinery's Handbook, from memory)."""
    (picture,) = make_sheets([GEAR_BLANK], tmp_path, MANNERS["inches with filled heads"], dpis=[300])
    rows = digitize_sheet(picture).reconciled.dimensions
    agreed = {row.name: row.value for row in rows if row.state is State.AGREED}
    teeth, pitch = agreed["teeth"], agreed["diametral_pitch"]
    assert teeth is not None
    assert pitch is not None
    truths = json.loads(picture.with_suffix(".truth.json").read_text())["dimensions"]
    outside = max(truth["value"] for truth in truths if truth["kind"] == "diameter")
    assert float((teeth + 2) / pitch) == pytest.approx(outside, abs=ROUNDING_IN)
