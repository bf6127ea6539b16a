"""A standard sheet's frame measures the paper where no resolution is known.

Frames: ISO 5457 (from memory) puts that of A3 10 mm within the sheet.
"""

from dataclasses import replace

import pytest

from calibrate.sheet import Resolution, ResolutionStatus
from digitize.dimensions.reconcile import by_state, reconcile
from digitize.dimensions.scales.bordered import bordered_notes
from digitize.dimensions.scales.scaled import BORDER_NOTE
from digitize.dimensions.table import Reconciled, State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from digitize.strokes.primitives import Line, Role, Strokes
from tests.digitize.dimensions.drawn import MM_PER_PX, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import WIDTHS_IN, drawn

A3_FRAME_MM = (400.0, 277.0)
TAKEN = 1.3
"""How much larger a pixel is taken for than it is."""


def framed(width_mm: float, height_mm: float) -> tuple[Line, ...]:
    """A frame of so many true mm, and a rule of the title block that ends on it."""
    right, bottom = width_mm / MM_PER_PX, height_mm / MM_PER_PX
    corners = [(0.0, 0.0), (right, 0.0), (right, bottom), (0.0, bottom)]
    ends = [*zip(corners, [*corners[1:], corners[0]], strict=True), ((right - 500, 2000.0), (right, 2000.0))]
    return tuple(Line(a, b, 6.0, role=Role.BORDER) for a, b in ends)


def test_the_frame_tells_what_the_paper_is_worth() -> None:
    found = bordered_notes(Strokes(framed(*A3_FRAME_MM)), 2.0, TAKEN * MM_PER_PX)
    assert any(each == pytest.approx(2.0 / TAKEN, rel=1e-6) for each in found)


def test_no_frame_and_one_of_no_standard_sheet_tell_nothing() -> None:
    assert bordered_notes(Strokes(), 2.0, MM_PER_PX) == ()
    assert bordered_notes(Strokes(framed(*A3_FRAME_MM)[:3]), 2.0, MM_PER_PX) == ()
    assert bordered_notes(Strokes(framed(400.0, 390.0)), 2.0, MM_PER_PX) == ()


def with_frame(count: int, frame: tuple[Line, ...]) -> Reconciled:
    """So many lengths drawn half size within a frame, on a picture of unknown resolution."""
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN[:count])])
    note = Text(block_at((2000.0, 2900.0), "SCALE HALF SIZE"), sure("SCALE HALF SIZE"))
    unknown = Resolution(ResolutionStatus.UNKNOWN, None, None, "the file states no resolution")
    sheet = replace(level_sheet(), resolution=unknown, paper_mm_per_px=TAKEN * MM_PER_PX)
    return reconcile(sheet, replace(strokes, lines=(*strokes.lines, *frame)), (*texts, note), parse)


@pytest.mark.parametrize(("count", "agreed"), [(2, 0), (3, 3)])
def test_three_lengths_that_fit_the_note_on_a_standard_frame_make_a_scale(count: int, agreed: int) -> None:
    result = with_frame(count, framed(*A3_FRAME_MM))
    assert by_state(result.dimensions)[State.AGREED] == agreed
    assert (BORDER_NOTE in result.scales[0].known) is (agreed > 0)


@pytest.mark.parametrize("frame", [(), framed(410.0, 284.0), framed(400.0, 300.0)], ids=["none", "larger", "other"])
def test_a_frame_that_is_no_standard_one_at_that_scale_makes_none(frame: tuple[Line, ...]) -> None:
    assert by_state(with_frame(3, frame).dimensions)[State.AGREED] == 0
