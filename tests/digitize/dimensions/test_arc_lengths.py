"""Arc lengths and chords: one is measured along the edge, the other straight."""

import math
from dataclasses import replace
from fractions import Fraction

import pytest

from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Dimension, State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from digitize.strokes.primitives import Arc, Arrowhead, Line, Role
from tests.digitize.dimensions.drawn import ARROW_PX, Drawn, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn, row_of

CENTRE = (2300.0, 2600.0)
RADIUS_IN, SWEEP_DEG = 3.0, 60.0


def bent(text: str) -> Dimension:
    """A sheet with an edge of 3 in radius through 60 degrees, and a figure at the dimension line outside of it."""
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    edge, around = RADIUS_IN * PX_PER_INCH, RADIUS_IN * PX_PER_INCH + 120
    arcs = tuple(
        Arc(CENTRE, radius, 60.0, SWEEP_DEG, 3.0, 0.02, 0.02, role=role, view="A")
        for radius, role in ((edge, Role.VISIBLE), (around, Role.DIMENSION))
    )
    heads, legs = [], []
    for turn, way in ((60.0, -90.0), (120.0, 90.0)):
        ux, uy = math.cos(math.radians(turn)), -math.sin(math.radians(turn))
        heads.append(Arrowhead((CENTRE[0] + around * ux, CENTRE[1] + around * uy), turn + way, ARROW_PX))
        near, far = ((CENTRE[0] + r * ux, CENTRE[1] + r * uy) for r in (edge + 10, around + 20))
        legs.append(Line(near, far, 3.0, 0.02, role=Role.EXTENSION, view="A"))
    strokes = replace(strokes, lines=(*strokes.lines, *legs), arcs=arcs, arrowheads=(*strokes.arrowheads, *heads))
    figure = Text(block_at((CENTRE[0], CENTRE[1] - around), text), sure(text))
    return row_of(reconcile(level_sheet(), strokes, (*texts, figure), parse), text)


def test_an_arc_is_as_long_as_its_radius_times_its_angle() -> None:
    row = bent('3 9/64" ARC')
    assert row.measured == pytest.approx(math.pi, abs=0.003)
    assert row.state is State.AGREED


def test_an_arc_that_measures_otherwise_is_disputed() -> None:
    assert bent('4 1/2" ARC').state is State.DISPUTED


def test_its_length_is_no_distance_between_its_ends() -> None:
    assert bent('3 1/8" ARC').geometry is None


def test_a_chord_is_measured_straight() -> None:
    value = Fraction(5, 2)
    chord = Drawn((200.0, 2750.0), (200.0 + float(value) * PX_PER_INCH, 2750.0), sure('2 1/2" CHORD'))
    strokes, texts = draw([*(drawn(value, i) for i, value in enumerate(WIDTHS_IN)), chord])
    row = row_of(reconcile(level_sheet(), strokes, texts, parse), '2 1/2" CHORD')
    assert row.state is State.AGREED
    assert row.geometry is not None
