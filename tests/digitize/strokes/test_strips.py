"""Tape on a scan of one bit against drawn oblongs."""

import math
from dataclasses import replace

import pytest

from digitize.strokes.primitives import Role, Strokes
from digitize.strokes.roles.strips import laid_on_warning
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import Picture

MIDDLE = (420.0, 300.0)
LONG, BROAD = 340.0, 130.0
"""29 by 11 mm at 300 dpi."""
Point = tuple[float, float]


def place(along: float, across: float, turn_deg: float) -> Point:
    """Point of the strip's own frame, turned counter-clockwise as seen."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return MIDDLE[0] + along * c + across * s, MIDDLE[1] - along * s + across * c


def oblong(picture: Picture, turn_deg: float, sides: str = "tblr", width: float = 5.0) -> Picture:
    corners = [place(x * LONG / 2, y * BROAD / 2, turn_deg) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    for side, k in zip("trbl", range(4), strict=True):
        if side in sides:
            picture.line(corners[k], corners[(k + 1) % 4], width)
    return picture


def view() -> Picture:
    """A block with a hole and its centre lines."""
    picture = Picture(840, 600)
    for a, b in (((100, 90), (520, 90)), ((520, 90), (520, 420)), ((520, 420), (100, 420)), ((100, 420), (100, 90))):
        picture.line(a, b, 5.0)
    return picture.arc((200.0, 180.0), 50.0).line((120, 180), (280, 180), 2.5).line((200, 100), (200, 260), 2.5)


def traced(picture: Picture, *, one_bit: bool = True) -> Strokes:
    return trace_strokes(replace(picture.sheet(3.0), one_bit=one_bit), picture.no_lettering())


def rounded(point: Point) -> Point:
    """To a mm."""
    return round(point[0], -1), round(point[1], -1)


BARE = traced(view())


@pytest.mark.parametrize("turn_deg", [4.0, -8.0, 86.0, 0.5, 15.5])
def test_tape_over_a_view_is_set_apart_and_the_view_stays_whole(turn_deg: float) -> None:
    strokes = traced(oblong(view(), turn_deg))
    length = sum(math.dist(line.start, line.end) for line in strokes.laid_on)
    assert length == pytest.approx(2 * (LONG + BROAD), rel=0.05)
    assert {line.role for line in strokes.laid_on} == {Role.TAPE}
    whole, bare = ({(line.role, *rounded(line.start), *rounded(line.end)) for line in s.lines} for s in (strokes, BARE))
    assert whole == bare


@pytest.mark.parametrize("sides", ["tb", "tbl", "tl"], ids=["two long edges", "one end off the sheet", "a corner"])
def test_a_part_of_its_edges_is_enough(sides: str) -> None:
    assert len(traced(oblong(view(), 5.0, sides)).laid_on) == len(sides)


def test_a_person_is_told() -> None:
    (sentence,) = laid_on_warning(traced(oblong(view(), 5.0)))
    assert sentence.startswith("4 lines are taken for the edges of tape")
    assert laid_on_warning(BARE) == ()


def test_a_scan_with_greys_shows_tape_as_it_is_and_needs_no_such_rule() -> None:
    assert traced(oblong(view(), 5.0), one_bit=False).laid_on == ()


@pytest.mark.parametrize("turn_deg", [0.0, 15.0, 30.0, 45.0, 60.0, 90.0])
def test_what_square_and_set_squares_draw_stays(turn_deg: float) -> None:
    assert traced(oblong(view(), turn_deg)).laid_on == ()


def test_a_view_aslant_stays_for_the_lines_at_its_own_turn() -> None:
    picture = oblong(view(), 20.0)
    for across in (-100.0, 0.0, 100.0):
        picture.line(place(-220, across, 20.0), place(220, across, 20.0), 2.5)
    assert traced(picture).laid_on == ()


def test_a_keyway_stays_for_its_sides_end_on_the_shaft() -> None:
    picture = Picture(840, 600).arc(MIDDLE, 230.0, width=5.0)
    corners = [place(230 * math.cos(0.3), 230 * math.sin(0.3) * y, 20.0) for y in (-1, 1)]
    inner = [place(130, 230 * math.sin(0.3) * y, 20.0) for y in (-1, 1)]
    for a, b in ((corners[0], inner[0]), (inner[0], inner[1]), (inner[1], corners[1])):
        picture.line(a, b, 5.0)
    assert traced(picture).laid_on == ()


def test_strokes_that_end_on_an_oblong_make_it_a_drawn_one() -> None:
    picture = oblong(Picture(840, 600), 20.0)
    for along in (-120, -60, 0, 60, 120):
        x, y = place(along, BROAD / 2, 20.0)
        picture.line((x, y), (x + 10, y + 130), 5.0)
    assert traced(picture).laid_on == ()
