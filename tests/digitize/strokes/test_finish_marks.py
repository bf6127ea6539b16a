"""Machining marks: triangles on a surface (DIN 140, from memory)."""

import math

import pytest

from digitize.strokes.primitives import Role, Strokes
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import Picture

SIDE = 40.0
HIGH = SIDE * math.sqrt(3.0) / 2
SURFACE = 200.0


def traced(picture: Picture) -> Strokes:
    return trace_strokes(picture.sheet(3.0), picture.no_lettering())


def marked(count: int, base: bool = True, high: float = HIGH) -> Strokes:
    """An edge with triangles that stand on it with their corners."""
    picture = Picture(700, 400).line((60, SURFACE), (640, SURFACE), 6.0)
    for n in range(count):
        x = 250.0 + n * SIDE
        for side in (-1, 1):
            picture.line((x, SURFACE - 4), (x + side * SIDE / 2, SURFACE - 4 - high))
    if base:
        left = 250.0 - SIDE / 2
        picture.line((left, SURFACE - 4 - high), (left + count * SIDE, SURFACE - 4 - high))
    return traced(picture)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_triangles_on_a_surface_are_no_edges(count: int) -> None:
    lines = marked(count).lines
    assert [line.role for line in lines if math.dist(line.start, line.end) > 400] == [Role.VISIBLE]
    others = [line for line in lines if math.dist(line.start, line.end) < 400]
    assert len(others) == 2 * count + 1
    assert {line.role for line in others} == {Role.LEADER}


def test_what_has_no_base_or_other_corners_is_no_machining_mark() -> None:
    for strokes in (marked(2, base=False), marked(2, high=1.6 * HIGH)):
        assert Role.LEADER not in {line.role for line in strokes.lines}


def test_the_mouth_of_a_centre_hole_is_an_edge() -> None:
    """A centre hole of 60 degrees (ISO 6411) begins at the end face, which is longer than any base of marks."""
    picture = Picture(500, 500).line((100, 60), (100, 440), 6.0)
    for side in (-1, 1):
        picture.line((100 + HIGH, 250), (100, 250 + side * SIDE / 2), 6.0)
    assert {line.role for line in traced(picture).lines} == {Role.VISIBLE}
