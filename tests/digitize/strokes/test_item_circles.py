"""Numbers of items in circles at the end of a leader (ISO 6433, from memory)."""

import pytest

from digitize.strokes.primitives import Role, Strokes
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import Picture

RADIUS = 60.0
Box = tuple[int, int, int, int]
NUMBER: Box = (186, 126, 214, 174)


def traced(picture: Picture, *lettering: Box) -> Strokes:
    mask = picture.no_lettering()
    for left, top, right, bottom in lettering:
        picture.cover[top:bottom:3, left:right] = 1.0
        mask[top:bottom:3, left:right] = True
    return trace_strokes(picture.sheet(3.0), mask)


def circle_role(strokes: Strokes, x: float) -> Role:
    (circle,) = [arc for arc in strokes.arcs if abs(arc.centre[0] - x) < 5]
    return circle.role


def test_a_circle_round_a_number_and_its_line_lead_to_an_item() -> None:
    picture = Picture(700, 400).arc((200, 150), RADIUS).line((200, 210), (200, 330))
    picture.line((100, 330), (600, 330), 6.0)
    strokes = traced(picture, NUMBER)
    assert circle_role(strokes, 200) is Role.LEADER
    roles = [(abs(line.start[0] - line.end[0]) < 5, line.role) for line in strokes.lines]
    assert sorted(roles) == [(False, Role.VISIBLE), (True, Role.LEADER)]


@pytest.mark.parametrize(
    "lettering",
    [(), ((160, 105, 240, 195),), ((170, 110, 182, 126),), ((250, 126, 278, 174),)],
    ids=["empty", "too large", "off its middle", "outside"],
)
def test_other_circles_are_edges(lettering: tuple[Box, ...]) -> None:
    assert circle_role(traced(Picture(500, 300).arc((200, 150), RADIUS), *lettering), 200) is not Role.LEADER


def test_a_circle_with_a_stroke_in_it_is_a_hole() -> None:
    picture = Picture(500, 300).arc((200, 150), RADIUS).line((150, 185), (250, 185), 2.0)
    assert circle_role(traced(picture, NUMBER), 200) is not Role.LEADER


@pytest.mark.parametrize(("radius", "role"), [(RADIUS, Role.LEADER), (1.5 * RADIUS, Role.VISIBLE)])
def test_a_lone_1_is_told_by_the_circles_beside_it(radius: float, role: Role) -> None:
    picture = Picture(800, 300).arc((200, 150), RADIUS).arc((600, 150), radius).line((600, 128), (600, 172))
    assert circle_role(traced(picture, NUMBER), 600) is role
