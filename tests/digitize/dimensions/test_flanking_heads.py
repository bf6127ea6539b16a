"""Small heads by hand on both sides of a figure, at the resolution of a book plate."""

import math
from dataclasses import replace

import numpy as np
import pytest

from calibrate.sheet import LevelSheet
from digitize.dimensions.linking.flanking_heads import with_flanking_heads, without_heads_in_figures
from digitize.dimensions.linking.spans import find_spans
from digitize.lettering.text import Reading, Text, TextBlock
from digitize.strokes.heads.heads_along import inked_as_far_as
from digitize.strokes.primitives import Arrowhead, Line, Point, Role, Strokes
from tests.digitize.dimensions.drawn import level_sheet
from tests.digitize.strokes.drawn import Picture

MM_PER_PX = 1 / 7
PEN_PX, BARB_PX = 2.0, 8.0
SPREAD_DEG = 35.0
MIDDLE = (300.0, 150.0)
LEFT, RIGHT = 120.0, 470.0


def head(picture: Picture, tip: Point, towards_deg: float) -> None:
    """Two barbs that run back from a tip."""
    for side in (-1, 1):
        turn = math.radians(towards_deg + 180.0 + side * SPREAD_DEG)
        picture.line(tip, (tip[0] + BARB_PX * math.cos(turn), tip[1] - BARB_PX * math.sin(turn)), PEN_PX)


def plate(*, left_head: bool = True, dashes: bool = True, tilt_px: float = 0.0, inward: bool = False) -> Picture:
    """A dashed dimension line with a gap for its figure, between two upright edges."""
    picture = Picture(600, 300)
    y0, y1 = MIDDLE[1] - tilt_px / 2, MIDDLE[1] + tilt_px / 2
    left, right = (272.0, 328.0) if inward else (LEFT, RIGHT)
    for x, y in ((left, y0), (right, y1)):
        picture.line((x, y - 30), (x, y + 30), PEN_PX)
    if inward:
        picture.line((left, y0), (left - 20, y0), PEN_PX)
        picture.line((right, y1), (right + 20, y1), PEN_PX)
    elif dashes:
        slope = (y1 - y0) / (right - left)
        for start, stop in ((left, 270.0), (right, 330.0)):
            ends = ((x, y0 + slope * (x - left)) for x in (start, stop))
            picture.broken(*ends, [12.0, 5.0], PEN_PX)
    if left_head:
        head(picture, (left, y0), 0.0 if inward else 180.0)
    head(picture, (right, y1), 180.0 if inward else 0.0)
    return picture


def sheet_of(picture: Picture) -> LevelSheet:
    grey = np.asarray(np.rint(255 * (1 - picture.cover)), dtype=np.uint8)
    return replace(level_sheet(), grey=grey, paper_mm_per_px=MM_PER_PX, pen_px=PEN_PX)


def figure(half_px: float = 24.0) -> TextBlock:
    (x, y), tall = MIDDLE, 11.0
    corners = (x - half_px, y - tall), (x + half_px, y - tall), (x + half_px, y + tall), (x - half_px, y + tall)
    return TextBlock(corners, 0.0, 2 * tall)


def found(picture: Picture, strokes: Strokes | None = None, block: TextBlock | None = None) -> Strokes:
    return with_flanking_heads(sheet_of(picture), strokes or Strokes(), [block or figure()])


def tips(strokes: Strokes) -> list[Point]:
    return sorted(head.tip for head in strokes.arrowheads)


@pytest.mark.parametrize("tilt_px", [0.0, 6.0])
def test_both_heads_of_a_dashed_line_are_found(tilt_px: float) -> None:
    heads = found(plate(tilt_px=tilt_px)).arrowheads
    assert [head.tip[0] for head in heads] == pytest.approx([LEFT, RIGHT], abs=4)
    assert math.cos(math.radians(heads[0].direction_deg)) < -0.99
    assert math.cos(math.radians(heads[1].direction_deg)) > 0.99


def test_they_make_a_span_that_ends_on_the_edges() -> None:
    edges = tuple(Line((x, 120.0), (x, 180.0), PEN_PX) for x in (LEFT, RIGHT))
    (span,) = find_spans(found(plate(), Strokes(edges)), MM_PER_PX)
    assert span.size == pytest.approx(RIGHT - LEFT, abs=0.1)


def test_two_small_heads_may_point_at_their_figure() -> None:
    heads = found(plate(inward=True), block=figure(15.0)).arrowheads
    assert [head.tip[0] for head in heads] == pytest.approx([272, 328], abs=4)
    assert math.cos(math.radians(heads[0].direction_deg)) > 0.99


def test_a_known_head_gets_its_mate() -> None:
    known = Arrowhead((LEFT, MIDDLE[1]), 180.0, 8.0)
    heads = found(plate(), Strokes(arrowheads=(known,))).arrowheads
    assert known in heads
    assert [head.tip[0] for head in heads] == pytest.approx([LEFT, RIGHT], abs=4)


@pytest.mark.parametrize(("usual_px", "count"), [(12.0, 8), (60.0, 6)])
def test_specks_far_smaller_than_the_heads_of_the_sheet_are_none(usual_px: float, count: int) -> None:
    seen = tuple(Arrowhead((40.0 * i, 20.0), 90.0, usual_px) for i in range(1, 7))
    assert len(found(plate(), Strokes(arrowheads=seen)).arrowheads) == count


def test_a_hand_that_draws_all_sizes_may_have_drawn_smaller_ones_still() -> None:
    """The shorter of the heads seen set the limit, not the usual ones."""
    seen = tuple(
        Arrowhead((40.0 * i, 20.0), 90.0, length) for i, length in enumerate([9.0, 10.0, 40.0, 40.0, 40.0, 40.0])
    )
    assert len(found(plate(), Strokes(arrowheads=seen)).arrowheads) == 8


def test_no_second_head_is_found_in_a_known_one() -> None:
    known = Arrowhead((LEFT - 9.0, MIDDLE[1] + 2.0), 180.0, 24.0)
    heads = found(plate(), Strokes(arrowheads=(known,))).arrowheads
    assert [head for head in heads if head.tip[0] < MIDDLE[0]] == [known]


@pytest.mark.parametrize("known", [False, True])
def test_dashes_between_the_heads_become_a_dimension_line(known: bool) -> None:
    ends = (Arrowhead((LEFT, 150.0), 180.0, 8.0), Arrowhead((RIGHT, 150.0), 0.0, 8.0)) if known else ()
    dash, edge = (
        Line((330.0, 150.0), (460.0, 150.0), PEN_PX, role=Role.HIDDEN),
        Line((0.0, 80.0), (599.0, 80.0), PEN_PX),
    )
    lines = found(plate(), Strokes((dash, edge), arrowheads=ends)).lines
    assert [line.role for line in lines] == [Role.DIMENSION, Role.VISIBLE]


def test_one_head_alone_is_none() -> None:
    assert not found(plate(left_head=False)).arrowheads


def test_heads_that_no_line_joins_to_the_figure_are_none() -> None:
    assert not found(plate(dashes=False)).arrowheads


def test_what_is_long_as_words_are_is_not_looked_at() -> None:
    assert not found(plate(), block=figure(120.0)).arrowheads


def test_no_head_lies_in_a_row_of_words() -> None:
    (x, y), tall = (LEFT, MIDDLE[1]), 11.0
    row = ((x - 100, y - tall), (x + 60, y - tall), (x + 60, y + tall), (x - 100, y + tall))
    blocks = [figure(), TextBlock(row, 0.0, 2 * tall)]
    assert not with_flanking_heads(sheet_of(plate()), Strokes(), blocks).arrowheads


def test_the_heads_of_a_line_beside_it_that_has_a_figure_of_its_own_are_not_the_figures() -> None:
    beside = MIDDLE[1] - 30.0
    known = Arrowhead((LEFT, beside), 180.0, 8.0), Arrowhead((RIGHT, beside), 0.0, 8.0)
    strokes, own = Strokes(arrowheads=known), figure()
    alone = with_flanking_heads(sheet_of(plate()), strokes, [own])
    assert alone.arrowheads == known
    others = replace(own, quad=tuple((x - 90.0, y - 34.0) for x, y in own.quad))
    both = with_flanking_heads(sheet_of(plate()), strokes, [own, others])
    assert sum(abs(y - MIDDLE[1]) < 4 for _, y in tips(both)) == 2


@pytest.mark.parametrize(("within_px", "count"), [(4.0, 2), (40.0, 0)])
def test_heads_that_their_figures_block_took_in_are_found_at_its_ends_only(within_px: float, count: int) -> None:
    left, right, tall = LEFT - within_px, RIGHT + within_px, 80.0
    top, bottom = MIDDLE[1] - tall / 2, MIDDLE[1] + tall / 2
    block = TextBlock(((left, top), (right, top), (right, bottom), (left, bottom)), 0.0, 80.0)
    assert len(found(plate(), block=block).arrowheads) == count


def test_a_level_figure_in_an_upright_line_has_its_heads_above_and_below() -> None:
    picture = Picture(600, 600)
    for y, towards_deg in ((120.0, 90.0), (470.0, 270.0)):
        picture.line((270.0, y), (330.0, y), PEN_PX)
        head(picture, (300.0, y), towards_deg)
    for start, stop in ((120.0, 136.0), (164.0, 470.0)):
        picture.broken((300.0, start), (300.0, stop), [12.0, 5.0], PEN_PX)
    assert sorted(y for _, y in tips(found(picture))) == pytest.approx([120, 470], abs=4)


def test_known_heads_beyond_the_next_figure_are_not_its_own() -> None:
    beyond = Arrowhead((30.0, 150.0), 180.0, 8.0), Arrowhead((RIGHT, 150.0), 0.0, 8.0)
    next_one = replace(figure(), quad=tuple((x - 225.0, y) for x, y in figure().quad))
    strokes = Strokes(arrowheads=beyond)
    assert len(with_flanking_heads(sheet_of(plate()), strokes, [figure(), next_one]).arrowheads) == 3
    assert found(plate(), strokes).arrowheads == beyond


@pytest.mark.parametrize(
    ("text", "probability", "x", "kept"),
    [
        ("8 5/8", 0.9, 300.0, False),
        ("8 5/8", 0.9, 322.0, True),  # at the end of its rows: taken in with it
        ("8 5/8", 0.5, 300.0, True),
        ("8 8 x", 0.9, 300.0, True),
    ],
)
def test_strokes_of_what_is_surely_a_figure_are_no_heads(
    text: str, probability: float, x: float, *, kept: bool
) -> None:
    strokes = Strokes(arrowheads=(Arrowhead((x, 150.0), 0.0, 9.0),))
    seen = Text(figure(), (Reading(text, probability),), "test")
    assert bool(without_heads_in_figures(strokes, [seen]).arrowheads) is kept


def test_a_dashed_line_leads_to_its_end_and_a_little_further() -> None:
    picture = Picture(1000, 60)
    picture.broken((100.0, 30.0), (400.0, 34.0), [12.0, 6.0], PEN_PX)
    picture.line((900.0, 10.0), (900.0, 50.0), PEN_PX)
    dark = np.asarray(255 - sheet_of(picture).grey, dtype=np.uint8)
    start, way = (80.0, 30.0), (1.0, 0.0)
    led = inked_as_far_as(dark, *start, *way, 20.0, 900.0, 8.0, 0.3)
    assert 200 / 0.3 < led < 250 / 0.3 + 40  # of 300 px two thirds are dashes, more by their ends and the edge
    aside = inked_as_far_as(dark, start[0], 50.0, *way, 20.0, 900.0, 8.0, 0.3)
    assert aside == 20.0
