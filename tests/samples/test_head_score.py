"""The score of arrowheads counts each once, by its tip and its direction."""

from pathlib import Path

import numpy as np
import pytest

from digitize.found import NAME, Found, save
from digitize.strokes.primitives import Arrowhead, Strokes
from tests.bench.head_score import score_heads
from tests.bench.records import Case
from tests.digitize.strokes.drawn import MM_PER_PX, sheet_of

HEIGHT = 200
TRUTH = {
    "source_from_paper": [[1 / MM_PER_PX, 0.0, 0.0], [0.0, -1 / MM_PER_PX, HEIGHT], [0.0, 0.0, 1.0]],
    "arrowheads": [
        {"tip": [5.0, 5.0], "direction_deg": 90.0, "form": "filled"},
        {"tip": [5.0, 5.0], "direction_deg": 90.2, "form": "filled"},  # ends two dimensions in one place
        {"tip": [9.0, 5.0], "direction_deg": 0.0, "form": "tick"},
        {"tip": [13.0, 5.0], "direction_deg": 180.0, "form": "open"},
    ],
}


def head(x_mm: float, direction_deg: float, form: str = "filled", off_px: float = 0.0) -> Arrowhead:
    return Arrowhead((x_mm / MM_PER_PX + off_px, HEIGHT - 5.0 / MM_PER_PX), direction_deg, 30.0, form)


def test_heads_are_paired_by_tip_and_direction(tmp_path: Path) -> None:
    found = (
        head(5.0, 95.0, off_px=0.25),
        head(9.0, 77.0, "tick"),  # a tick points nowhere
        head(13.0, 0.0, "open"),  # the wrong way
        head(5.0, 90.0, off_px=20.0),  # too far
    )
    save(tmp_path / NAME, Found(sheet_of(np.full((HEIGHT, 300), 250, np.uint8)), Strokes(arrowheads=found), ()))
    score = score_heads(Case("sheet", TRUTH, None, None, tmp_path))
    assert (score.true, score.found) == (3, 4)
    assert sorted(score.tips_px) == pytest.approx([0.0, 0.25], abs=1e-6)


def test_a_sheet_without_a_record_of_what_was_found_has_no_score(tmp_path: Path) -> None:
    assert score_heads(Case("sheet", TRUTH, None, None, tmp_path)).true == 0
