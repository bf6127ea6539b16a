"""Angles are held against their legs as the sheet's pen draws them, without the sheet's stretch."""

import math
from dataclasses import replace

import pytest

from digitize.dimensions.linking.directions import unit
from digitize.dimensions.linking.openings import find_openings
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Dimension, State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Kind, Text
from digitize.strokes.primitives import Arc, Arrowhead, Line, Role, Strokes
from tests.digitize.dimensions.drawn import MM_PER_PX, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import WIDTHS_IN, drawn

CENTRE = (1700.0, 2800.0)
RADIUS_PX, LEG_PX = 300.0, 340.0
SHAKY_PX = (4.8, -4.0, 3.6, -4.8, 4.0, -3.6, 4.4, -4.4)
"""A pen that strays by a third of a millimetre of paper."""


def at(bearing_deg: float, reach_px: float) -> tuple[float, float]:
    x, y = unit(bearing_deg)
    return CENTRE[0] + reach_px * x, CENTRE[1] + reach_px * y


def with_angle(size_deg: float, shaky_px: tuple[float, ...]) -> tuple[Strokes, tuple[Text, ...]]:
    """Lengths by some pen, and an angle of 45 degrees drawn with another size."""
    strokes, texts = draw([drawn(v, i, pen_px=px) for i, (v, px) in enumerate(zip(WIDTHS_IN, shaky_px, strict=True))])
    arc = Arc(CENTRE, RADIUS_PX, 0.0, size_deg, 3.0, role=Role.DIMENSION, view="A")
    legs = tuple(Line(CENTRE, at(a, LEG_PX), 3.0, role=Role.VISIBLE, view="A") for a in (0.0, size_deg))
    heads = (Arrowhead(at(0.0, RADIUS_PX), -90.0, 35.0), Arrowhead(at(size_deg, RADIUS_PX), size_deg + 90.0, 35.0))
    text = Text(block_at(at(size_deg / 2, RADIUS_PX), "45°"), sure("45°"))
    whole = replace(strokes, lines=strokes.lines + legs, arcs=(arc,), arrowheads=strokes.arrowheads + heads)
    return whole, (*texts, text)


def angle_row(size_deg: float, shaky_px: tuple[float, ...]) -> Dimension:
    strokes, texts = with_angle(size_deg, shaky_px)
    rows = reconcile(level_sheet(), strokes, texts, parse).dimensions
    return next(row for row in rows if row.kind is Kind.ANGLE)


def test_an_angle_is_as_sure_as_the_pen_and_the_length_of_its_legs() -> None:
    """By the law of errors: a pen's error over each leg, both together; leg of 340 px is 28.8 mm of paper."""
    exact, shaky = angle_row(45.0, (0.0,) * 8), angle_row(46.7, SHAKY_PX)
    assert exact.state is State.AGREED
    assert (exact.measured_std or 1.0) < 0.25
    assert (shaky.measured_std or 0.0) > math.degrees(0.3 * math.sqrt(2) / (LEG_PX * MM_PER_PX))
    assert shaky.state is State.AGREED


def test_an_exact_drawing_tells_a_degree_and_a_half() -> None:
    assert angle_row(46.5, (0.0,) * 8).state is State.DISPUTED


@pytest.mark.parametrize("stretch", [0.01, -0.008])
def test_an_angle_is_freed_of_the_stretch_that_turned_its_legs(stretch: float) -> None:
    """A sheet that grew by a share along x alone turns a line at 45 degrees by half of that, in radians."""
    ends = [(1000 + 400 * math.cos(a) * (1 + stretch), 1000 - 400 * math.sin(a)) for a in (0.0, math.radians(45.0))]
    legs = tuple(Line((1000.0, 1000.0), end, 3.0, role=Role.VISIBLE) for end in ends)
    arc = Arc((1000.0, 1000.0), 380.0, 0.0, 45.0, 3.0, role=Role.DIMENSION)
    on_arc = [(1000 + 380 * math.cos(a), 1000 - 380 * math.sin(a)) for a in (0.0, math.radians(45.0))]
    heads = Arrowhead(on_arc[0], -90.0, 30.0), Arrowhead(on_arc[1], 135.0, 30.0)
    (opening,) = find_openings(Strokes(legs, (arc,), heads), 0.1)
    assert opening.legs is not None
    # The scale's own convention: log of part mm per paper mm along x less that along y.
    assert opening.size_deg - math.log1p(stretch) * opening.legs.per_stretch_deg == pytest.approx(45.0, abs=0.003)
