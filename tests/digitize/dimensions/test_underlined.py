"""ISO 129-1: the value of a feature that is not drawn to scale is underlined (from memory)."""

from dataclasses import replace

import pytest

from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Dimension, State
from digitize.lettering.grammar import parse
from digitize.strokes.primitives import Arrowhead, Line, Role
from tests.digitize.dimensions.drawn import HEIGHT_PX, Drawn, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn, row_of

FROM, TO = (200.0, 2600.0), (200.0 + 1.125 * PX_PER_INCH, 2600.0)


def contradicted(*strokes: Line, heads: tuple[Arrowhead, ...] = ()) -> Dimension:
    """A sound sheet with one figure that its drawing contradicts, and some more strokes."""
    sound, texts = draw([*(drawn(value, i) for i, value in enumerate(WIDTHS_IN[1:])), Drawn(FROM, TO, sure('1 7/8"'))])
    more = replace(sound, lines=(*sound.lines, *strokes), arrowheads=(*sound.arrowheads, *heads))
    return row_of(reconcile(level_sheet(), more, texts, parse), '1 7/8"')


def stroke(below_heights: float, half_px: float, x_px: float = 0.0) -> Line:
    middle, y = (FROM[0] + TO[0]) / 2 + x_px, FROM[1] + (0.5 + below_heights) * HEIGHT_PX
    return Line((middle - half_px, y), (middle + half_px, y), 3.0, role=Role.VISIBLE)


def test_a_contradicted_figure_is_disputed_and_an_underlined_one_is_not() -> None:
    assert contradicted().state is State.DISPUTED
    underlined = contradicted(stroke(0.3, 85.0))
    assert underlined.state is State.UNPROVEN
    assert any("marked not to scale" in reason for reason in underlined.evidence)


@pytest.mark.parametrize(
    "other",
    [
        stroke(0.3, 30.0),  # too short
        stroke(0.3, 300.0),  # a long line that passes under
        stroke(1.5, 85.0),  # too low
        stroke(-2.0, 85.0),  # over the figure
    ],
)
def test_other_strokes_are_no_underline(other: Line) -> None:
    assert contradicted(other).state is State.DISPUTED


def test_a_stroke_that_meets_an_edge_is_no_underline() -> None:
    line = stroke(0.3, 85.0)
    edge = Line(line.end, (line.end[0], line.end[1] + 200.0), 3.0, role=Role.VISIBLE)
    assert contradicted(line, edge).state is State.DISPUTED


def test_a_stroke_that_an_arrow_points_at_is_an_extension_line() -> None:
    line = stroke(0.3, 85.0)
    head = Arrowhead((line.end[0] - 40.0, line.end[1]), 90.0, 35.0)
    assert contradicted(line, heads=(head,)).state is State.DISPUTED
