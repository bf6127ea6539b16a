"""Arrowheads of every form and angle on drawn lines, and lines that only look like them."""

from dataclasses import replace

import numpy as np
import pytest

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.heads.dots import dots_at
from digitize.strokes.heads.head import Head, each_once, of_one_hand
from digitize.strokes.heads.strangers import strangers_near
from digitize.strokes.heads.tips import clear_of_others
from digitize.strokes.joining.crossings import crossings_of
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Role, Strokes
from digitize.strokes.table import Table
from digitize.strokes.trace import trace_strokes, traced_pieces
from digitize.strokes.tracks import Track
from tests.digitize.strokes.drawn import Picture, barbs, sheet_of


def traced(picture: Picture) -> Strokes:
    return trace_strokes(picture.sheet(4.0), picture.no_lettering())


def turn_between(a: float, b: float) -> float:
    return abs((a - b + 180.0) % 360.0 - 180.0)


@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0, 135.0, 200.0, 270.0])
@pytest.mark.parametrize("slim", [2.2, 3.0, 4.5])
def test_a_filled_head_on_an_extension_line(angle: float, slim: float) -> None:
    c, s = np.cos(np.radians(angle)), -np.sin(np.radians(angle))
    tip = (150 + 60 * c, 150 + 60 * s)
    picture = Picture(300, 300).line((150 - 100 * c, 150 - 100 * s), tip).head(tip, angle, 36.0, slim)
    picture.line((tip[0] - 60 * s, tip[1] + 60 * c), (tip[0] + 60 * s, tip[1] - 60 * c))
    strokes = traced(picture)
    (head,) = strokes.arrowheads
    assert head.form == "filled"
    assert np.hypot(head.tip[0] - tip[0], head.tip[1] - tip[1]) < 0.6
    assert turn_between(head.direction_deg, angle) < 1.5
    assert head.length_px == pytest.approx(36.0, abs=5.0)
    assert head.line is not None
    line = strokes.lines[head.line]
    assert np.hypot(*np.subtract(line.end, line.start)) == pytest.approx(160.0, abs=2.0)
    assert len(strokes.lines) == 2


@pytest.mark.parametrize("angle", [0.0, 60.0, 180.0, 270.0])
def test_an_open_head(angle: float) -> None:
    c, s = np.cos(np.radians(angle)), -np.sin(np.radians(angle))
    tip = (150 + 60 * c, 150 + 60 * s)
    picture = Picture(300, 300).line((150 - 100 * c, 150 - 100 * s), tip).open_head(tip, angle)
    picture.line((tip[0] - 60 * s, tip[1] + 60 * c), (tip[0] + 60 * s, tip[1] - 60 * c))
    strokes = traced(picture)
    (head,) = strokes.arrowheads
    assert head.form == "open"
    assert np.hypot(head.tip[0] - tip[0], head.tip[1] - tip[1]) < 0.6
    assert turn_between(head.direction_deg, angle) < 1.5
    assert len(strokes.lines) == 2


def test_a_head_without_an_extension_line() -> None:
    (head,) = traced(Picture(240, 80).line((20, 40), (200, 40)).head((200, 40), 0.0)).arrowheads
    assert head.tip == pytest.approx((200, 40), abs=2.0)


def test_heads_tip_to_tip_on_one_extension_line() -> None:
    picture = Picture(420, 120).line((20, 60), (400, 60)).line((210, 10), (210, 110))
    strokes = traced(picture.head((210, 60), 0.0).head((210, 60), 180.0))
    assert sorted(round(head.direction_deg) % 360 for head in strokes.arrowheads) == [0, 180]
    for head in strokes.arrowheads:
        assert head.tip == pytest.approx((210, 60), abs=0.5)


def test_heads_that_point_inwards_from_outside() -> None:
    picture = Picture(420, 120).line((150, 10), (150, 110)).line((270, 10), (270, 110))
    picture.line((60, 60), (150, 60)).head((150, 60), 0.0).line((270, 60), (360, 60)).head((270, 60), 180.0)
    heads = traced(picture).arrowheads
    assert [(round(h.tip[0]), round(h.direction_deg) % 360) for h in heads] == [(150, 0), (270, 180)]


@pytest.mark.parametrize("tail", [38.0, 42.0, 45.0, 50.0])
def test_facing_heads_need_hardly_any_tail(tail: float) -> None:
    """Heads 36 px long on lines that end a little behind them."""
    picture = Picture(420, 240).line((160, 40), (160, 200)).line((250, 40), (250, 200))
    picture.line((160 - tail, 120), (160, 120)).head((160, 120), 0.0)
    picture.line((250, 120), (250 + tail, 120)).head((250, 120), 180.0)
    heads = sorted(traced(picture).arrowheads, key=lambda head: head.tip)
    assert [head.tip[0] for head in heads] == pytest.approx([160, 250], abs=0.5)
    assert [head.form for head in heads] == ["filled", "filled"]


def test_a_leader_head_on_a_circle() -> None:
    picture = Picture(300, 300).arc((120, 120), 70.0, width=6.0)
    tip = (120 + 70 * np.cos(np.radians(40)), 120 + 70 * np.sin(np.radians(40)))
    tail = (tip[0] + 90 * np.cos(np.radians(40)), tip[1] + 90 * np.sin(np.radians(40)))
    (head,) = traced(picture.line(tip, tail, 2.6).head(tip, 140.0)).arrowheads
    assert head.tip == pytest.approx(tip, abs=1.0)
    assert turn_between(head.direction_deg, 140.0) < 2.0


def test_a_head_at_the_end_of_a_dashed_line() -> None:
    picture = Picture(460, 120).broken((20, 60), (380, 60), [36, 12]).line((340, 60), (380, 60)).head((380, 60), 0.0)
    strokes = traced(picture.line((380, 10), (380, 110)))
    (head,) = strokes.arrowheads
    assert head.tip == pytest.approx((380, 60), abs=0.6)
    assert head.line is not None
    assert strokes.lines[head.line].dash == "dashed"


def test_an_oblique_tick() -> None:
    picture = Picture(320, 140).line((40, 70), (280, 70)).line((60, 20), (60, 120)).line((260, 20), (260, 120))
    for x in (60, 260):
        picture.line((x - 14, 84), (x + 14, 56))
    strokes = traced(picture)
    assert {(round(h.tip[0]), h.form) for h in strokes.arrowheads} == {(60, "tick"), (260, "tick")}
    oblique = [
        line for line in strokes.lines if abs(line.end[0] - line.start[0]) > 9 < abs(line.end[1] - line.start[1])
    ]
    assert [line.role for line in oblique] == [Role.DIMENSION, Role.DIMENSION]


def test_ticks_of_a_chain_end_the_dimensions_on_both_sides() -> None:
    picture = Picture(520, 260).line((40, 70), (480, 70)).line((40, 150), (480, 150))
    for x in (60, 200, 460):
        picture.line((x, 20), (x, 240)).line((x - 14, 84), (x + 14, 56))
    for x in (60, 460):
        picture.line((x - 14, 164), (x + 14, 136))
    heads = [(round(h.tip[0]), round(h.tip[1]), round(h.direction_deg) % 360) for h in traced(picture).arrowheads]
    chain = [(60, 70, 180), (200, 70, 0), (200, 70, 180), (460, 70, 0)]
    assert sorted(heads) == sorted([*chain, (60, 150, 180), (460, 150, 0)])


@pytest.mark.parametrize("angle", [0.0, 37.0, 90.0, 250.0])
def test_a_blank_head(angle: float) -> None:
    c, s = np.cos(np.radians(angle)), -np.sin(np.radians(angle))
    tip = (150 + 80 * c, 150 + 80 * s)
    base = [(tip[0] - 32 * c - sign * 6 * s, tip[1] - 32 * s + sign * 6 * c) for sign in (1, -1)]
    picture = Picture(300, 300).line((150 - 100 * c, 150 - 100 * s), (150 + 48 * c, 150 + 48 * s))
    picture.line(base[0], tip).line(base[1], tip).line(*base)
    picture.line((tip[0] - 50 * s, tip[1] + 50 * c), (tip[0] + 50 * s, tip[1] - 50 * c))
    strokes = traced(picture)
    (head,) = strokes.arrowheads
    assert head.form == "blank"
    assert head.tip == pytest.approx(tip, abs=1.0)
    assert turn_between(head.direction_deg, angle) < 2.0
    assert len(strokes.lines) == 2


def blank_head(picture: Picture, tip: tuple[float, float], way: float, width: float = 2.2) -> Picture:
    """A level blank head, 28 px long; ``way`` is 1 where it points to the right, -1 to the left."""
    upper, lower = ((tip[0] - 28 * way, tip[1] + side) for side in (-4.6, 4.6))
    return picture.line(upper, tip, width).line(lower, tip, width).line(upper, lower, width)


def test_blank_heads_along_a_chain() -> None:
    """Two tip to tip lie under two sides that run through, and at the ends of the chain one side bends into a line."""
    picture = Picture(760, 160)
    for left, right in ((40, 280), (280, 500), (500, 720)):
        picture.line((left + 28, 80), (right - 28, 80), 2.2)
        blank_head(blank_head(picture, (left, 80), -1.0), (right, 80), 1.0)
    for x in (40, 280, 500, 720):
        picture.line((x, 10), (x, 92), 2.2)
    heads = traced(picture).arrowheads
    ends = [(40, 180), (280, 0), (280, 180), (500, 0), (500, 180), (720, 0)]
    found = sorted((h.tip[0], round(h.direction_deg) % 360) for h in heads)
    assert [way for _, way in sorted(found, key=lambda f: (round(f[0]), f[1]))] == [way for _, way in ends]
    assert [x for x, _ in found] == pytest.approx([x for x, _ in ends], abs=0.3)
    assert {h.form for h in heads} == {"blank"}


def test_ticks_at_corners_end_the_line_that_has_them_at_both_ends() -> None:
    """The dimension line ends at its extension lines, and half of a tick runs into the bend there."""
    picture = Picture(560, 240)
    picture.line((60, 200), (500, 200)).line((60, 40), (60, 212)).line((500, 40), (500, 212))
    for x in (60, 500):
        picture.line((x - 9, 209), (x + 9, 191), 3.3)
    heads = trace_strokes(sheet_of(picture.grey(4.0), 25.4 / 200), picture.no_lettering()).arrowheads
    assert [h.tip for h in heads] == [pytest.approx((x, 200), abs=1.0) for x in (60, 500)]
    assert [(round(h.direction_deg) % 360, h.form) for h in heads] == [(180, "tick"), (0, "tick")]


@pytest.mark.parametrize("form", ["tick", "dot"])
def test_marks_of_a_long_dimension_are_not_given_to_the_extension_lines_above_and_below_a_part(form: str) -> None:
    """The extension lines at one side of a part lie on one track too, and their marks are nearer to each other."""
    picture = Picture(900, 440)
    for y in (60, 380):
        picture.line((60, y), (400, y)).line((500, y), (840, y))
        for x in (60, 840):
            picture.line((x, 150 if y == 60 else 290), (x, y - 11 if y == 60 else y + 11))
            picture.line(*((x - 9, y + 9), (x + 9, y - 9), 3.3) if form == "tick" else ((x, y), (x, y), 23.0))
    heads = trace_strokes(sheet_of(picture.grey(4.0), 25.4 / 200), picture.no_lettering()).arrowheads
    assert {h.form for h in heads} == {form}
    found = {(10 * round(h.tip[0] / 10), 10 * round(h.tip[1] / 10), round(h.direction_deg) % 360) for h in heads}
    assert found == {(x, y, way) for x, way in ((60, 180), (840, 0)) for y in (60, 380)}


def test_dots_of_a_chain() -> None:
    picture = Picture(520, 160).line((60, 80), (460, 80))
    for x in (60, 200, 460):
        picture.line((x, 20), (x, 140)).arc((x, 80), 2.5, width=7.0)
    heads = [(round(h.tip[0]), round(h.direction_deg) % 360, h.form) for h in traced(picture).arrowheads]
    assert sorted(heads) == [(60, 180, "dot"), (200, 0, "dot"), (200, 180, "dot"), (460, 0, "dot")]


@pytest.mark.parametrize(("edge_px", "dots"), [(3.0, 2), (5.5, 0)])
def test_a_blot_no_wider_than_the_edge_that_a_line_crosses_is_no_dot(edge_px: float, dots: int) -> None:
    """A disc of 5 px in radius on a line, both sides of which it may end, and an edge that damage has left of."""
    picture = Picture(320, 240).line((40, 120), (280, 120), 2.5).line((160, 120), (160, 120), 10.0)
    line, edge = (
        Piece(
            track, -100.0, 100.0, width, 0.1, ((0, 2),), ((track.point(-100.0), track.point(0.0), track.point(100.0)),)
        )
        for track, width in ((Track(LINE, 160.0, 120.0), 2.5), (Track(LINE, 160.0, 120.0, 0.0, 1.0), edge_px))
    )
    table = Table([line, edge])
    assert len(dots_at(picture.ground(), table, {0: crossings_of(table, 0, 1.0)})) == dots


@pytest.mark.parametrize("overhang", [2.0, 2.5, 3.0, 3.5])
def test_a_corner_whose_lines_run_over_a_little_has_no_dot(overhang: float) -> None:
    picture = Picture(520, 220).line((60, 80), (460 + overhang, 80), 2.6).line((460, 80 - overhang), (460, 180), 2.6)
    sheet = sheet_of(picture.grey(), 25.4 / 200)
    assert trace_strokes(sheet, picture.no_lettering()).arrowheads == ()


@pytest.mark.parametrize("angle", [20.0, 45.0, 90.0])
def test_plain_crossings_have_no_head(angle: float) -> None:
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    picture = (
        Picture(300, 300)
        .line((20, 150), (280, 150))
        .line((150 - 120 * c, 150 - 120 * s), (150 + 120 * c, 150 + 120 * s))
    )
    assert traced(picture).arrowheads == ()


def test_section_lines_have_no_heads() -> None:
    picture = Picture(300, 300).line((60, 40), (240, 40), 6.0).line((240, 40), (240, 240), 6.0)
    picture.line((240, 240), (60, 240), 6.0).line((60, 240), (60, 40), 6.0)
    for k in range(1, 19):
        a = 20.0 * k
        picture.line((60 + max(0.0, a - 200), 40 + min(a, 200)), (60 + min(a, 180), 40 + max(0.0, a - 180)), 2.4)
    assert traced(picture).arrowheads == ()


def test_a_line_across_a_head_does_not_hide_it() -> None:
    tip = (180.0, 150.0)
    picture = Picture(320, 300).line((30, 150), tip).head(tip, 0.0, 36.0).line((180, 40), (180, 260))
    (head,) = traced(picture.line((40, 90), (290, 200))).arrowheads  # cuts the head near its tail
    assert head.form == "filled"
    assert head.tip == pytest.approx(tip, abs=0.6)


def test_the_sides_of_a_heavy_outline_are_no_barbs() -> None:
    picture = Picture(320, 200).line((20, 100), (300, 100))
    picture.line((200, 100), (150, 85), 7.0).line((200, 100), (150, 115), 7.0)
    assert traced(picture).arrowheads == ()


@pytest.mark.parametrize("outside", [False, True])
@pytest.mark.parametrize("is_open", [False, True])
def test_heads_on_the_arc_of_an_angle(outside: bool, is_open: bool) -> None:
    """Heads from outside stand alone beyond the arc, as a narrow angle's do."""
    centre, radius, angles = (80.0, 350.0), 220.0, (10.0, 55.0)
    picture = Picture(420, 420).arc(centre, radius, angles[0], angles[1] - angles[0], 2.6)
    for angle, turn in zip(angles, (90.0, -90.0) if outside else (-90.0, 90.0), strict=True):
        c, s = np.cos(np.radians(angle)), -np.sin(np.radians(angle))
        tip = (centre[0] + radius * c, centre[1] + radius * s)
        picture.line((centre[0] + 80 * c, centre[1] + 80 * s), (centre[0] + 250 * c, centre[1] + 250 * s), 2.6)
        picture = (picture.open_head if is_open else picture.head)(tip, angle + turn)
    strokes = traced(picture)
    assert len(strokes.arrowheads) == 2
    (arc,) = strokes.arcs
    assert arc.role == Role.DIMENSION
    bearings = sorted(np.degrees(np.arctan2(centre[1] - h.tip[1], h.tip[0] - centre[0])) for h in strokes.arrowheads)
    assert bearings == pytest.approx(angles, abs=0.3)


def hand_drawn(picture: Picture, tip: tuple[float, float], direction: float, spread: tuple[float, float]) -> Picture:
    for turn, reach in ((180 - spread[0], 15.0), (180 + spread[1], 18.0)):
        a = np.radians(direction + turn)
        picture.line(tip, (tip[0] + reach * np.cos(a), tip[1] - reach * np.sin(a)), 2.6)
    return picture


@pytest.mark.parametrize("angle", [0.0, 90.0, 215.0])
@pytest.mark.parametrize("spread", [(30.0, 36.0), (43.0, 38.0)])
def test_a_small_head_of_two_quick_strokes(angle: float, spread: tuple[float, float]) -> None:
    c, s = np.cos(np.radians(angle)), -np.sin(np.radians(angle))
    tip = (150 + 60 * c, 150 + 60 * s)
    picture = Picture(300, 300).broken(tip, (150 - 100 * c, 150 - 100 * s), [30, 12], 2.6)
    picture.line((tip[0] - 50 * s, tip[1] + 50 * c), (tip[0] + 50 * s, tip[1] - 50 * c), 2.6)
    (head,) = traced(hand_drawn(picture, tip, angle, spread)).arrowheads
    assert head.tip == pytest.approx(tip, abs=0.6)
    assert turn_between(head.direction_deg, angle) < 2.0


def test_dashes_that_cross_are_no_barbs() -> None:
    picture = Picture(300, 300).broken((30, 150), (270, 152), [28, 12], 3.4)
    picture.broken((158, 30), (150, 150), [28, 12], 3.4).broken((150, 150), (142, 270), [28, 12], 3.4)
    assert traced(picture).arrowheads == ()


def test_letters_of_slanting_strokes_have_no_heads() -> None:
    picture = Picture(400, 120)
    for left, strokes in (
        (40, [((0, 0), (15, 22)), ((30, 0), (15, 22)), ((15, 22), (15, 44))]),  # Y
        (120, [((0, 0), (0, 44)), ((26, 0), (2, 22)), ((8, 18), (28, 44))]),  # K
        (200, [((0, 0), (28, 44)), ((28, 0), (0, 44))]),  # X
    ):
        for p, q in strokes:
            picture.line((left + p[0], 30 + p[1]), (left + q[0], 30 + q[1]), 2.6)
    assert traced(picture).arrowheads == ()


def hidden_heads(both: bool) -> Strokes:
    """Two edges, and between them heads whose ink was taken for lettering."""
    picture = Picture(420, 200).line((60, 20), (60, 180), 2.6).line((360, 20), (360, 180), 2.6)
    picture = hand_drawn(picture.line((60, 100), (100, 100), 2.6), (60.0, 100.0), 180.0, (35.0, 33.0))
    if both:
        picture = hand_drawn(picture.line((320, 100), (360, 100), 2.6), (360.0, 100.0), 0.0, (33.0, 36.0))
    mask = picture.no_lettering()
    mask[80:120, 64:356] = True
    return trace_strokes(picture.sheet(4.0), mask)


def test_heads_taken_for_lettering_are_found_in_pairs() -> None:
    tips = [head.tip for head in hidden_heads(both=True).arrowheads]
    assert len(tips) == 2
    assert tips[0] == pytest.approx((60.0, 100.0), abs=0.6)
    assert tips[1] == pytest.approx((360.0, 100.0), abs=0.6)


def test_a_lone_mark_in_lettering_is_no_head() -> None:
    assert hidden_heads(both=False).arrowheads == ()


def test_a_head_whose_barbs_run_together_has_its_tip_on_the_line_that_it_points_at() -> None:
    picture = Picture(500, 200).line((40, 30), (40, 170), 3.3).line((460, 30), (460, 170), 3.3)
    picture.line((20, 190), (480, 190), 6.6).broken((40, 100), (460, 100), [56.0, 16.0, 56.0, 16.0], 3.3)
    for tip, angle in (((460.0, 100.0), 0.0), ((40.0, 100.0), 180.0)):
        left, right = barbs(tip, angle, 34.0, 3.0)
        picture.line(tip, left, 3.3).line(tip, right, 3.3)
    tips = sorted(head.tip for head in traced(picture).arrowheads)
    assert len(tips) == 2
    assert tips[0] == pytest.approx((40, 100), abs=0.6)
    assert tips[1] == pytest.approx((460, 100), abs=0.6)


def test_heads_that_face_each_other_need_no_traced_shaft() -> None:
    picture = Picture(360, 160).line((130, 10), (130, 150), 6.5).line((230, 10), (230, 150), 6.5)
    for tip, angle in (((130.0, 80.0), 0.0), ((230.0, 80.0), 180.0)):
        away = -1.0 if angle == 0.0 else 1.0
        left, right = barbs(tip, angle, 32.0, 3.0)
        picture.line(tip, left, 2.5).line(tip, right, 2.5).line(tip, (tip[0] + 30.0 * away, tip[1]), 2.5)
    strokes = traced(picture)
    assert [head.tip[1] for head in strokes.arrowheads] == pytest.approx([80, 80], abs=0.6)
    assert sorted(head.tip[0] for head in strokes.arrowheads) == pytest.approx([130, 230], abs=3.5)


def test_a_short_leader_that_is_mostly_head_is_not_taken_for_an_edge() -> None:
    picture = Picture(300, 300).line((20, 260), (280, 260), 6.0).line((20, 30), (280, 30), 2.5)
    picture.line((90, 134), (160, 204), 2.5).head((160, 204), -45.0, 66.0, 3.0).line((110, 204), (220, 204), 6.0)
    (head,) = traced(picture).arrowheads
    assert head.tip == pytest.approx((160, 204), abs=2.0)


def test_two_lines_that_part_slowly_are_no_head() -> None:
    """The centre line of a hole and its pitch circle, drawn in long dashes, touch and run apart."""
    picture = Picture(500, 300).broken((20, 150), (480, 150), [90, 10, 10, 10]).line((250, 40), (250, 260))
    for start in range(-120, -60, 12):
        picture.arc((250, -150), 301.0, start, 9.0)
    picture.arc((250, 150), 60.0, width=6.0)
    assert traced(picture).arrowheads == ()


@pytest.mark.parametrize("angle", [0.0, 90.0])
def test_the_back_of_a_head_may_be_slanted(angle: float) -> None:
    """One rear corner lies 5 px (.4 mm) further from the tip than the other."""
    c, s = np.cos(np.radians(angle)), -np.sin(np.radians(angle))
    tip = (150 + 60 * c, 150 + 60 * s)
    left, right = barbs(tip, angle, 31.0, 3.0)[0], barbs(tip, angle, 36.0, 3.0)[1]
    picture = Picture(300, 300).line((150 - 100 * c, 150 - 100 * s), tip).fill(tip, left, right)
    picture.line((tip[0] - 60 * s, tip[1] + 60 * c), (tip[0] + 60 * s, tip[1] - 60 * c))
    (head,) = traced(picture).arrowheads
    assert head.tip == pytest.approx(tip, abs=0.6)


def test_a_leader_ends_on_the_edge_of_a_chamfer_and_not_on_the_corner_behind_it() -> None:
    """A chamfer of 20 px, shorter than the head, between two heavy edges; a third runs on behind it."""
    picture = Picture(400, 400).line((180, 200), (390, 200), 6.0).line((160, 220), (160, 390), 6.0)
    picture.line((160, 220), (180, 200), 6.0).line((180, 200), (180, 390), 6.0)
    tip = (170.0, 210.0)
    (head,) = traced(picture.line((90, 130), tip, 2.6).head(tip, -45.0)).arrowheads
    assert head.tip == pytest.approx(tip, abs=4.0)


def test_of_two_heads_in_one_blot_the_larger_is_one() -> None:
    """Barbs that have run together look, from behind, like a small head that points back."""
    big = Head(100.0, 50.0, 1.0, 0.0, 24.0, 4.5, "open", 0, 100.0, 0.05)
    back = Head(80.0, 50.0, -1.0, 0.0, 14.0, 3.2, "filled", 0, 80.0, 0.035)
    scrap = Head(84.0, 50.0, 1.0, 0.0, 8.0, 4.6, "filled", 0, 84.0, 0.23)
    ground = replace(Picture(200, 100).ground(), mm_per_px=1 / 7.6)
    assert each_once(ground, [scrap, back, big]) == [big]


@pytest.mark.parametrize("aside", [-1.5, 0.0, 1.5])
def test_a_head_drawn_by_whole_pixels_may_lie_beside_its_shaft(aside: float) -> None:
    picture = Picture(300, 300).line((20.0, 150.0), (210.0, 150.0), 2.4).head((210.0, 150.0 + aside), 0.0, 23.6, 2.5)
    picture.line((210.0, 90.0), (210.0, 210.0), 2.4)
    (head,) = trace_strokes(picture.sheet(2.4), picture.no_lettering()).arrowheads
    assert head.form == "filled"
    assert np.hypot(head.tip[0] - 210.0, head.tip[1] - 150.0) < 1.0


@pytest.mark.parametrize(("is_open", "slack_px"), [(True, 2.5), (False, 1.5)])
def test_the_head_of_a_cutting_plane_ends_where_its_heavy_leg_does(is_open: bool, slack_px: float) -> None:
    """The barbs are drawn by the thin pen, and an extension line that passes close by is not what it points at."""
    picture = Picture(420, 260).line((60, 40), (60, 200), 7.0).line((150, 20), (150, 240), 2.6)
    picture.line((20, 240), (400, 240), 2.6).line((200, 40), (200, 200), 2.6)
    picture.line((60, 120), (138.0 if is_open else 120.0, 120), 7.0)
    head = picture.open_head((140, 120), 0.0, 54.0) if is_open else picture.head((140, 120), 0.0, 36.0, 2.6)
    (found,) = traced(head).arrowheads
    assert found.tip == pytest.approx((140, 120), abs=slack_px)
    assert found.form == ("open" if is_open else "filled")


def test_heads_side_by_side_are_each_one() -> None:
    picture = Picture(420, 220)
    for y in (70.0, 130.0):
        picture.line((40, y), (300, y), 2.6).head((300, y), 0.0, 60.0).line((300, y - 20), (300, y + 20), 2.6)
    assert len(traced(picture).arrowheads) == 2


def test_barbs_of_two_heads_tip_to_tip_are_no_lines() -> None:
    """Each runs on as one of the other's."""
    picture = Picture(420, 120).line((20, 60), (400, 60)).line((210, 10), (210, 110))
    strokes = traced(picture.open_head((210, 60), 0.0, 40.0).open_head((210, 60), 180.0, 40.0))
    assert len(strokes.arrowheads) == 2
    spans = (np.abs(np.subtract(line.end, line.start)) for line in strokes.lines)
    assert all(min(span) < 1.0 for span in spans)


def test_a_plain_head_needs_no_shaft() -> None:
    """The dimension line is dashed, and a gap comes first behind the head."""
    picture = Picture(420, 160).line((60, 20), (60, 140), 2.6).line((20, 150), (400, 150), 6.0)
    (head,) = traced(picture.head((60, 80), 180.0, 40.0, 2.8)).arrowheads
    assert head.tip == pytest.approx((60, 80), abs=1.0)
    assert head.line is None


@pytest.mark.parametrize(("seen", "kept"), [(8, 8), (3, 4)])
def test_a_corner_far_larger_than_the_heads_of_a_sheet_is_none(seen: int, kept: int) -> None:
    """With few heads, nobody can tell what is usual."""
    heads = [Head(50.0 * n, 0.0, 1.0, 0.0, 10.0 + n, 2.0, "filled", n, 0.0, 0.1) for n in range(seen)]
    corner = Head(20.0, 90.0, 0.6, 0.8, 40.0, 9.0, "open", seen, 0.0, 0.1)
    assert len(of_one_hand(Picture(200, 100).ground(), [*heads, corner])) == kept


@pytest.mark.parametrize(
    ("form", "length", "is_one"), [("open", 18.0, False), ("filled", 18.0, True), ("open", 24.0, True)]
)
def test_a_far_smaller_head_of_another_form_than_all_others_is_none(form: str, length: float, is_one: bool) -> None:
    heads = [Head(90.0 * n, 0.0, 1.0, 0.0, 30.0, 5.0, "filled", n, 0.0, 0.1) for n in range(8)]
    other = Head(20.0, 90.0, 0.6, 0.8, length, 3.0, form, 8, 0.0, 0.1)
    assert (other in of_one_hand(Picture(200, 100).ground(), [*heads, other])) == is_one


@pytest.mark.parametrize("form", ["filled", "open"])
def test_a_dropout_behind_a_head_does_not_part_it_from_its_line(form: str) -> None:
    picture = Picture(400, 200).line((60, 100), (300, 100)).line((300, 50), (300, 150))
    picture = picture.head((300, 100), 0.0) if form == "filled" else picture.open_head((300, 100), 0.0)
    picture.cover[:, 240:262] = 0.0
    (head,) = traced(picture).arrowheads
    assert np.hypot(head.tip[0] - 300.0, head.tip[1] - 100.0) < 3.0


@pytest.mark.parametrize("pen", [6.0, 8.0])
def test_a_section_line_in_a_corner_is_no_head_of_the_extension_line_beyond_it(pen: float) -> None:
    picture = Picture(400, 400).line((200, 60), (200, 240), pen).line((40, 240), (200, 240), pen)
    picture.line((200, 252), (200, 380), 3.5)
    for corner in range(20, 190, 34):
        picture.line((200 - corner, 240), (200, 240 - corner), 3.5)
    assert traced(picture).arrowheads == ()


@pytest.mark.parametrize("pens", [(2.5, 3.5), (1.9, 3.0), (2.3, 3.3)])
def test_dashes_that_cross_leave_no_dot(pens: tuple[float, float]) -> None:
    """Pens as of centre lines and hidden circles at 200 dpi."""
    line, dash = pens
    picture = Picture(400, 300).line((40, 150), (360, 150), line).broken((200, 30), (200, 270), [24, 9], dash)
    assert trace_strokes(sheet_of(picture.grey(), 25.4 / 200), picture.no_lettering()).arrowheads == ()


def test_a_head_may_stand_right_behind_another() -> None:
    """Two narrow dimensions side by side: the tail of the second head touches the tip of the first."""
    first, second = (Head(x, 50.0, 1.0, 0.0, 32.0, 5.0, "filled", 0, x, 0.02) for x in (100.0, 133.0))
    inner = Head(110.0, 50.0, 1.0, 0.0, 30.0, 5.0, "filled", 0, 110.0, 0.2)
    ground = replace(Picture(200, 100).ground(), mm_per_px=1 / 11.8)
    assert each_once(ground, [first, second, inner]) == [first, second]


def test_no_head_points_at_a_place_within_another_line_on_the_same_track() -> None:
    """An extension line that was traced on along its heavy edge, to where a section line ends."""
    picture = Picture(400, 400).line((200, 60), (200, 240), 6.0).line((200, 240), (200, 380), 2.6)
    pieces = traced_pieces(picture.ground()).pieces
    fine, heavy = sorted((p for p in pieces if p.length > 100.0), key=lambda p: p.width)
    over = replace(fine, s0=min(fine.s0, fine.track.s_of(200.0, 200.0)), s1=max(fine.s1, fine.track.s_of(200.0, 200.0)))
    table = Table([over, heavy])
    within, beyond = ((table.pieces.index(over), over.track.s_of(200.0, y), 1.0) for y in (200.0, 300.0))
    assert clear_of_others(table, [within, beyond], 4.0) == [beyond]


@pytest.mark.parametrize(("aside", "counts"), [(0.0, 0), (4.0, 0), (14.0, 1)])
def test_a_long_line_beside_the_axis_is_no_barb(aside: float, counts: int) -> None:
    """As an extension line beside a short edge; near the axis it may be the shaft."""
    picture = Picture(300, 300)
    track = Track(LINE, 150.0 + aside, 0.0, 0.0, 1.0)
    run = track.point(20.0), track.point(150.0), track.point(280.0)
    line = Piece(track, 20.0, 280.0, 3.0, 0.1, ((0, 2),), (run,))
    assert len(strangers_near(picture.ground(), Table([line]), 150.0, 100.0, 0.0, -1.0)) == counts


@pytest.mark.parametrize("overrun", [3.0, 7.0])
def test_what_runs_over_at_an_extension_line_is_no_part_of_a_leaders_head(overrun: float) -> None:
    """A chamfer between heavy edges at 200 dpi; the extension line of one ends just beyond the leader."""
    picture = Picture(400, 400).line((209, 193), (390, 190), 4.8).line((192, 209), (193, 380), 4.8)
    picture.line((192, 209), (209, 193), 4.8).line((209, 193), (210, 380), 4.8)
    picture.line((95, 193), (194.8 + overrun, 193), 2.5)
    tip = (200.5, 201.0)
    picture.line((tip[0] - 63.1, tip[1] - 90.1), tip, 2.5).head(tip, -55.0, 28.0)
    (head,) = trace_strokes(sheet_of(picture.grey(4.0), 25.4 / 200), picture.no_lettering()).arrowheads
    assert head.tip == pytest.approx(tip, abs=2.5)


@pytest.mark.parametrize("is_open", [False, True])
@pytest.mark.parametrize("is_there", [True, False])
def test_a_head_that_a_figure_covers_is_seen_by_its_fellow(is_open: bool, is_there: bool) -> None:
    """A 1 and a 0 stand over the head; what is masked as lettering holds it too."""
    picture = Picture(500, 160).line((40, 80), (460, 80)).line((240, 10), (240, 150))
    for angle in (0.0, 180.0) if is_there else (0.0,):
        picture = picture.open_head((240, 80), angle, 40.0) if is_open else picture.head((240, 80), angle, 40.0)
    picture.line((272, 55), (272, 105)).arc((300, 80), 17.0)
    mask = np.zeros(picture.cover.shape, bool)
    mask[50:110, 246:322] = picture.cover[50:110, 246:322] > 0.3
    heads = trace_strokes(picture.sheet(4.0), mask).arrowheads
    assert sorted(round(head.direction_deg) % 360 for head in heads) == ([0, 180] if is_there else [0])


@pytest.mark.parametrize(("ticked", "kept"), [((500.0,), False), ((500.0, 560.0), True)])
def test_a_lone_tick_among_arrowheads_is_a_crossing(ticked: tuple[float, ...], *, kept: bool) -> None:
    """Who points his dimensions ticks short ones at both ends."""
    picture = Picture(700, 500)
    for y in (60, 120, 180, 240):
        picture.line((60, y), (400, y)).head((60, y), 180.0).head((400, y), 0.0)
    picture.line((ticked[0] - 60, 400), (ticked[-1] + 60, 400))
    for x in ticked:
        picture.line((x, 340), (x, 460)).line((x - 14, 414), (x + 14, 386))
    forms = [h.form for h in traced(picture).arrowheads]
    assert forms.count("filled") == 8
    assert ("tick" in forms) is kept
