"""Sources of the paper's scale, each by itself: resolution, edges, border, a person's length."""

from dataclasses import replace

import numpy as np
import pytest

from calibrate.files.resolution import stated, unknown
from calibrate.scaling.borders import find_border, standard_borders
from calibrate.scaling.known import parse_known, with_known
from calibrate.scaling.witnesses import known_witness, paper_witnesses, witness_record
from calibrate.sheet import KnownOf, LevelSheet, ScaleWitness
from tests.digitize.dimensions.drawn import level_sheet

DPI = 200.0
PX_PER_MM = DPI / 25.4
PAD_PX = 60
A4_MM = (297.0, 210.0)  # ISO 216


def sheet_with_border(shrink: tuple[float, float] = (0.0, 0.0), margin_mm: float = 10.0) -> LevelSheet:
    """An A4 sheet lying, at 200 dpi, its border 10 mm inside, shrunken on each axis."""
    k = [PX_PER_MM * (1 - part) for part in shrink]
    width, height = (round(side * each) + 2 * PAD_PX for side, each in zip(A4_MM, k, strict=True))
    ink = np.zeros((height, width), bool)
    x0, x1 = (round(PAD_PX + at * k[0]) for at in (margin_mm, A4_MM[0] - margin_mm))
    y0, y1 = (round(PAD_PX + at * k[1]) for at in (margin_mm, A4_MM[1] - margin_mm))
    for x in (x0, x1):
        ink[y0 : y1 + 1, x - 1 : x + 2] = True
    for y in (y0, y1):
        ink[y - 1 : y + 2, x0 : x1 + 1] = True
    grey = np.where(ink, 0, 255).astype(np.uint8)
    return replace(
        level_sheet(10), resolution=stated(DPI, DPI, "TIFF tags"), grey=grey, ink=ink, paper_mm_per_px=1 / PX_PER_MM,
        source_shape_px=ink.shape,
    )  # fmt: skip


def quad_of(sheet: LevelSheet) -> np.ndarray:
    height, width = sheet.ink.shape
    left, top, right, bottom = PAD_PX, PAD_PX, width - PAD_PX, height - PAD_PX
    return np.array([[left, top], [right, top], [right, bottom], [left, bottom]], np.float64)


def by_source(sheet: LevelSheet, quad: np.ndarray | None) -> dict[str, ScaleWitness]:
    return {witness.source: witness for witness in paper_witnesses(sheet, quad)}


@pytest.mark.parametrize("shrink", [(0.0, 0.0), (0.002, 0.008)])
def test_edges_and_border_tell_the_unshrunken_paper_on_each_axis(shrink: tuple[float, float]) -> None:
    sheet = sheet_with_border(shrink)
    found = by_source(sheet, quad_of(sheet))
    assert set(found) == {"resolution", "sheet size", "border"}
    for source in ("sheet size", "border"):
        assert found[source].of is KnownOf.PAPER
        assert "A4" in found[source].note
        for axis in (0, 1):
            true = 1 / PX_PER_MM / (1 - shrink[axis])
            assert found[source].mm_per_px[axis] == pytest.approx(true, rel=0.001)
            assert 0.001 < found[source].std[axis] / true < 0.01
    assert found["resolution"].mm_per_px == pytest.approx((1 / PX_PER_MM, 1 / PX_PER_MM))


def test_the_border_is_measured_to_a_pixel() -> None:
    border = find_border(sheet_with_border().ink, 1 / PX_PER_MM)
    assert border is not None
    assert border.width_px == pytest.approx(277 * PX_PER_MM, abs=1)
    assert border.height_px == pytest.approx(190 * PX_PER_MM, abs=1)


def test_a_quarter_turn_does_not_exchange_the_axes() -> None:
    sheet = sheet_with_border((0.002, 0.008))
    height = sheet.ink.shape[0]
    turned = np.array([[0.0, 1, 0], [-1, 0, height - 1], [0, 0, 1]])
    source_from_level = np.linalg.inv(turned)
    quad = np.column_stack([quad_of(sheet), np.ones(4)]) @ source_from_level.T
    found = by_source(replace(sheet, working_from_source=turned), quad[:, :2])
    assert found["sheet size"].mm_per_px == pytest.approx(by_source(sheet, quad_of(sheet))["sheet size"].mm_per_px)


def test_a_border_of_no_standard_sheet_is_no_witness() -> None:
    assert "border" not in by_source(sheet_with_border(margin_mm=17.0), None)


def test_without_a_resolution_nothing_of_the_paper_is_a_witness() -> None:
    sheet = replace(sheet_with_border(), resolution=unknown("the file states no resolution"))
    assert paper_witnesses(sheet, quad_of(sheet)) == ()


def test_a_length_that_a_person_gives_is_a_witness_of_the_part() -> None:
    sheet = with_known(level_sheet(), [parse_known("8in 300,500 1500,500")], KnownOf.PART)
    (witness,) = known_witness(sheet)
    assert witness_record(witness)["of"] == "part"
    assert witness.mm_per_px[0] == pytest.approx(203.2 / 1200, rel=1e-6)
    assert witness.std[1] > witness.std[0]


def test_a_rule_laid_on_the_paper_stands_in_for_the_resolution_with_its_own_error() -> None:
    sheet = with_known(level_sheet(), [parse_known("100mm 300,500 1481,500")], KnownOf.PAPER)
    (witness,) = paper_witnesses(sheet, None)
    assert witness.source == "known length"
    assert witness.std == sheet.known.std if sheet.known else False
    assert known_witness(sheet) == ()


def test_borders_of_the_table_lie_within_their_sheets() -> None:
    """ISO 5457 (from memory): 10 mm inside A4 leaves 277 x 190 mm."""
    sides = {(b.size.name, b.width_mm, b.height_mm) for b in standard_borders()}
    assert ("A4", 277.0, 190.0) in sides
    assert ("A4", 190.0, 277.0) in sides
    for border in standard_borders():
        assert border.width_mm < border.size.long_mm
        assert border.height_mm < border.size.long_mm
