"""What a leader shows by the edge it touches.

DIN 6885-1 gives a hub's depth t2 from the top of the bore, ANSI B17.1 at the wall of the keyseat (both from memory).
"""

import math
from dataclasses import replace

import pytest

from digitize.dimensions.linking.directions import bearing_deg
from digitize.dimensions.linking.entries import collect, parse_or_none
from digitize.dimensions.linking.leaders import Leader, find_leaders
from digitize.dimensions.linking.tied import attach
from digitize.dimensions.witnesses.grounds import is_loose
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from digitize.strokes.primitives import Arc, Arrowhead, Line, Role, Strokes
from tests.digitize.dimensions.drawn import block_at, sure
from tests.digitize.dimensions.led import MM_PER_PX, edge, shown


def keyed(bore_px: float = 100.0, width_px: float = 40.0, depth_px: float = 25.0) -> tuple[Leader, Strokes]:
    """A bore with a keyseat at its top; the leader touches the seat's right upper corner."""
    half, floor = width_px / 2, 500.0 - bore_px - depth_px
    mouth = 500.0 - math.sqrt(bore_px**2 - half**2)
    lines = (
        edge(500.0 - half, floor, 500.0 + half, floor),
        edge(500.0 - half, mouth, 500.0 - half, floor),
        edge(500.0 + half, mouth, 500.0 + half, floor),
    )
    bore = Arc((500.0, 500.0), bore_px, 90 + math.degrees(math.asin(half / bore_px)), 330.0, 3.0)
    hole = Arc((500.0, 500.0), bore_px / 3, 0.0, 360.0, 3.0)
    return Leader((500.0 + half, floor), (700.0, 200.0), 230.0, (), (0, 2)), Strokes(lines, (hole, bore))


def test_a_keyseat_is_as_wide_as_its_walls_stand_apart_and_as_deep_as_its_floor_lies_over_the_bore() -> None:
    leader, strokes = keyed()
    width, depth = (shown("10 × 3.3 KEYSEAT", which, leader, strokes) for which in (0, 1))
    assert width is not None
    assert width.size == pytest.approx(40.0)
    assert depth is not None
    assert depth.size == pytest.approx(25.0)
    rise = 100 - math.sqrt(100**2 - 20**2)
    assert depth.size_std >= rise / 2, "measured at the wall it would be less by the rise"


@pytest.mark.parametrize("text", ["10 × 3.3 KEYSEAT", "10 × 3.3"])
def test_two_sizes_led_to_a_keyseat_are_its_width_and_depth_with_or_without_the_word(text: str) -> None:
    leader, strokes = keyed()
    shaft = Line(leader.tip, leader.tail, 1.5, role=Role.LEADER)
    head = Arrowhead(leader.tip, bearing_deg(leader.tip, leader.tail), 35.0, line=len(strokes.lines))
    led = replace(strokes, lines=(*strokes.lines, shaft), arrowheads=(head,))
    texts = (Text(block_at((leader.tail[0] + 120.0, leader.tail[1]), text), sure(text), "test"),)
    entries, _ = attach(collect(texts, parse_or_none(parse), lambda _: ""), texts, led, MM_PER_PX)
    sizes = [entry.measured.size for entry in entries if entry.measured is not None]
    assert sizes == pytest.approx([40.0, 25.0])


def test_a_slanted_line_with_a_shoulder_leads_without_a_head_and_contradicts_nothing() -> None:
    """A leader ends in a short level line at its note, and in an arrowhead at the outline (ISO 128-22, from memory)."""
    leader, strokes = keyed()
    shoulder_end = (leader.tail[0] + 60.0, leader.tail[1])
    shaft = Line(leader.tip, leader.tail, 1.5, role=Role.EXTENSION)
    shoulder = Line(leader.tail, shoulder_end, 1.5, role=Role.LEADER)
    led = replace(strokes, lines=(*strokes.lines, shaft, shoulder))
    (slot,) = find_leaders(led, (), MM_PER_PX)
    assert (slot.tip, slot.tail, slot.loose) == (leader.tip, shoulder_end, True)
    text = "10 × 3.3 KEYSEAT"
    texts = (Text(block_at((shoulder_end[0] + 120.0, shoulder_end[1]), text), sure(text), "test"),)
    entries, _ = attach(collect(texts, parse_or_none(parse), lambda _: ""), texts, led, MM_PER_PX)
    assert [entry.measured.size for entry in entries if entry.measured] == pytest.approx([40.0, 25.0])
    assert all(is_loose(entry) for entry in entries)


def test_a_slanted_edge_without_a_shoulder_leads_nowhere() -> None:
    leader, strokes = keyed()
    shaft = Line(leader.tip, leader.tail, 1.5, role=Role.EXTENSION)
    assert find_leaders(replace(strokes, lines=(*strokes.lines, shaft)), (), MM_PER_PX) == ()


def test_walls_on_either_side_of_an_edge_are_a_step_and_no_keyseat() -> None:
    """A leader that ends on the shoulder between two turned sizes."""
    leader, strokes = keyed()
    (x, floor), (_, mouth) = strokes.lines[1].end, strokes.lines[1].start
    step = replace(strokes, lines=(strokes.lines[0], edge(x, floor, x, 2 * floor - mouth), strokes.lines[2]))
    assert shown("10 × 3.3 KEYSEAT", 0, leader, step) is None


def test_a_floor_far_over_a_circle_is_no_keyseat_of_it() -> None:
    leader, strokes = keyed(depth_px=90.0)
    assert shown("10 × 3.3 KEYSEAT", 1, leader, strokes) is None


def test_a_larger_bow_far_behind_the_bore_is_not_taken_for_it() -> None:
    leader, strokes = keyed()
    bow = Arc((500.0, 620.0), 120.0, 80.0, 26.0, 3.0)
    depth = shown("10 × 3.3 KEYSEAT", 1, leader, replace(strokes, arcs=(*strokes.arcs, bow)))
    assert depth is not None
    assert depth.size == pytest.approx(25.0)


def test_walls_by_hand_need_not_be_quite_square_to_their_floor() -> None:
    leader, strokes = keyed()
    (x0, y0), (x1, y1) = strokes.lines[0].start, strokes.lines[0].end
    leaning = replace(strokes, lines=(edge(x0, y0 + 2.0, x1, y1), *strokes.lines[1:]))
    width = shown("10 × 3.3 KEYSEAT", 0, leader, leaning)
    assert width is not None
    assert width.size == pytest.approx(40.0)


def slotted(*arcs: Arc) -> tuple[Leader, Strokes]:
    lines = (
        edge(400.0, 480.0, 600.0, 480.0),
        edge(400.0, 520.0, 600.0, 520.0),
        edge(200.0, 500.0, 800.0, 500.0, role=Role.CENTRE),
    )
    return Leader((550.0, 480.0), (700.0, 300.0), 230.0, (), (0,)), Strokes(lines, arcs)


def test_an_oblong_slot_is_as_wide_as_its_long_edges_stand_apart() -> None:
    ends = Arc((400.0, 500.0), 20.0, 90.0, 180.0, 3.0), Arc((600.0, 500.0), 20.0, -90.0, 180.0, 3.0)
    found = shown("1/4 WIDE × 1/8 DEEP", 0, *slotted(*ends))
    assert found is not None
    assert found.size == pytest.approx(40.0)


def test_a_neck_that_no_arc_closes_is_no_slot() -> None:
    """The edge of a neck and its mirror are a diameter apart, not a width."""
    assert shown("1/4 WIDE × 1/8 DEEP", 0, *slotted()) is None


@pytest.mark.parametrize(("off_mm", "measured"), [(0.0, True), (0.8, True), (1.8, False)])
def test_an_edge_by_hand_mirrors_the_one_a_leader_touches(off_mm: float, measured: bool) -> None:
    """Two edges and a centre line, each off by .2 mm (common practice, no source), are no mirror to a hair."""
    off = off_mm / MM_PER_PX
    lines = (edge(100, 400, 500, 400), edge(100, 500 + off, 500, 500 + off), edge(50, 450, 550, 450, role=Role.CENTRE))
    led = shown("Ø1.125", 0, Leader((300.0, 400.0), (400.0, 200.0), 240.0, (), (0,)), Strokes(lines))
    assert (led is not None) is measured
    if led is not None:
        assert led.size == pytest.approx(100.0 + off)
