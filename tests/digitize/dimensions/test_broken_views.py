"""A length over a cut in its view is drawn too short on purpose (ISO 128-3, ASME Y14.3, from memory): no dispute."""

from dataclasses import replace

import pytest

from digitize.dimensions.reasons import Reason
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Dimension, State
from digitize.lettering.grammar import parse
from digitize.strokes.primitives import Line, Role
from tests.digitize.dimensions.drawn import Drawn, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn, row_of

LEFT, TOP, BOTTOM, AT = 200.0, 2450.0, 2600.0, 2700.0
DRAWN_IN, CUT_PX, GAP_PX = 5.0, 300.0, 60.0
SAYS = '14 1/2"'


def edge(x: float, y: float, to_x: float, to_y: float, role: Role = Role.VISIBLE) -> Line:
    return Line((x, y), (to_x, to_y), 6.0, role=role)


def halves(*, lower: bool = True, gap_px: float = GAP_PX) -> tuple[Line, ...]:
    """The upper and lower edge of a bar, each in two."""
    right = LEFT + DRAWN_IN * PX_PER_INCH
    levels = (TOP, BOTTOM) if lower else (TOP,)
    return tuple(
        line for y in levels for line in (edge(LEFT, y, LEFT + CUT_PX, y), edge(LEFT + CUT_PX + gap_px, y, right, y))
    )


def with_edges(edges: tuple[Line, ...], says: str = SAYS) -> Dimension:
    right = LEFT + DRAWN_IN * PX_PER_INCH
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN)]
    strokes, texts = draw([*sound, Drawn((LEFT, AT), (right, AT), sure(says))])
    return row_of(reconcile(level_sheet(), replace(strokes, lines=(*strokes.lines, *edges)), texts, parse), says)


def test_a_length_over_a_cut_is_unproven_and_says_why() -> None:
    row = with_edges(halves())
    assert row.state is State.UNPROVEN
    assert Reason.BROKEN_VIEW.say() in row.evidence


WHOLE = edge(LEFT, TOP, LEFT + DRAWN_IN * PX_PER_INCH, TOP), edge(LEFT, BOTTOM, LEFT + DRAWN_IN * PX_PER_INCH, BOTTOM)
GROOVE = edge(LEFT + CUT_PX - 5, 2500.0, LEFT + CUT_PX + GAP_PX + 5, 2500.0)
SHOULDER = edge(LEFT + CUT_PX, TOP, LEFT + CUT_PX, BOTTOM)


@pytest.mark.parametrize(
    "edges",
    [
        (),
        WHOLE,
        halves(lower=False),
        halves(gap_px=400.0),
        (*halves(), GROOVE),
        (*halves(), replace(GROOVE, role=Role.HIDDEN)),
        (*halves(), SHOULDER),
    ],
)
def test_where_no_view_is_cut_between_its_ends_it_is_disputed(edges: tuple[Line, ...]) -> None:
    assert with_edges(edges).state is State.DISPUTED


def test_a_length_that_says_less_than_is_drawn_is_disputed() -> None:
    assert with_edges(halves(), '4 1/2"').state is State.DISPUTED


def test_a_centre_line_crosses_every_cut() -> None:
    axis = edge(LEFT - 50, 2525.0, LEFT + 1600, 2525.0, Role.CENTRE)
    assert with_edges((*halves(), axis)).state is State.UNPROVEN
