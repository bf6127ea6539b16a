"""Dimension lines of angles without heads to tell them by; radii, bearings and lengths as drawn here."""

import math

import pytest

from digitize.strokes.primitives import Arc, Line, Role, Strokes
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import Picture

CORNER = (200.0, 160.0)
RADIUS = 130.0
THIN, THICK = 2.5, 6.0


def at(bearing_deg: float, radius: float = RADIUS) -> tuple[float, float]:
    turn = math.radians(bearing_deg)
    return CORNER[0] + radius * math.cos(turn), CORNER[1] - radius * math.sin(turn)


def bevelled() -> Picture:
    """A part with an edge that turns down by 35 degrees at a corner."""
    picture = Picture(560, 420).line((40, 160), CORNER, THICK).line(CORNER, at(-35.0, 250.0), THICK)
    low = at(-35.0, 250.0)[0]
    return (
        picture.line((low, at(-35.0, 250.0)[1]), (low, 380), THICK)
        .line((low, 380), (40, 380), THICK)
        .line((40, 380), (40, 160), THICK)
    )


def traced(picture: Picture, figure: tuple[int, int] | None = (345, 196)) -> Strokes:
    """Strokes, with a figure whose left upper corner is given or without."""
    mask = picture.no_lettering()
    if figure is not None:
        left, top = figure
        picture.cover[top : top + 24 : 3, left : left + 40] = 1.0
        mask[top : top + 24 : 3, left : left + 40] = True
    return trace_strokes(picture.sheet(3.0), mask)


def thin_arc(strokes: Strokes) -> Arc:
    (arc,) = (arc for arc in strokes.arcs if abs(arc.radius_px - RADIUS) < 3.0)
    return arc


def leg(strokes: Strokes) -> Line:
    return min(strokes.lines, key=lambda line: math.dist(line.end, at(0.0, 150.0)))


def test_an_arc_from_an_edge_to_a_line_in_the_open_measures_their_angle() -> None:
    picture = bevelled().line(at(0.0, 14.0), at(0.0, 150.0), THIN).arc(CORNER, RADIUS, -35.0, 35.0, THIN)
    strokes = traced(picture)
    assert thin_arc(strokes).role is Role.DIMENSION
    assert leg(strokes).role is Role.EXTENSION


def test_an_arc_without_a_figure_measures_nothing() -> None:
    picture = bevelled().line(at(0.0, 14.0), at(0.0, 150.0), THIN).arc(CORNER, RADIUS, -35.0, 35.0, THIN)
    assert thin_arc(traced(picture, figure=None)).role is Role.CENTRE


def test_a_dashed_leg_is_an_extension_line_and_no_hidden_edge() -> None:
    picture = bevelled().broken(at(0.0, 14.0), at(0.0, 150.0), [24, 8], THIN).arc(CORNER, RADIUS, -35.0, 35.0, THIN)
    strokes = traced(picture)
    assert thin_arc(strokes).role is Role.DIMENSION
    assert leg(strokes).role is Role.EXTENSION


def test_an_arc_past_both_legs_measures_a_side_of_its_corner_that_ends_before_it() -> None:
    picture = bevelled().line(at(-80.0, 14.0), at(-80.0, 150.0), THIN).arc(CORNER, RADIUS, -100.0, 75.0, THIN)
    picture.line(CORNER, at(-55.0, 60.0), THICK)
    assert thin_arc(traced(picture, (252, 300))).role is Role.DIMENSION


@pytest.mark.parametrize("radius", [40.0, RADIUS], ids=["round a hole", "through a hole"])
def test_what_is_left_of_a_circle_of_holes_measures_no_angle(radius: float) -> None:
    """A quarter of a circle between two of its axes, round a hole in its middle or through a hole on it."""
    picture = bevelled().line(CORNER, at(90.0, 150.0), THIN).line(CORNER, at(0.0, 150.0), THIN)
    picture.arc(CORNER, RADIUS, -20.0, 110.0, THIN)
    picture.arc(CORNER if radius < RADIUS else at(45.0), 25.0, width=THICK)
    assert thin_arc(traced(picture)).role is Role.CENTRE


def test_an_arc_that_no_line_leads_to_the_centre_of_measures_none() -> None:
    picture = bevelled().line((260, 60), (420, 90), THIN).arc(CORNER, RADIUS, 10.0, 60.0, THIN)
    assert thin_arc(traced(picture)).role is Role.CENTRE
