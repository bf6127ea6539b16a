"""Closed outlines of plane graphs, with corners as a pen leaves them."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from digitize.redraw.planes.curve import Circular
from digitize.redraw.planes.faces import Step, faces
from digitize.redraw.planes.meetings import Node
from digitize.redraw.planes.outline import Ring, bulged, cut_faces, ring_area, ring_polygon, rings
from digitize.redraw.planes.pieces import distinct
from digitize.redraw.planes.plane import Piece, Plane, build
from digitize.redraw.planes.plane_strokes import Pen, Round, Straight


def box(x0: float, y0: float, x1: float, y1: float, gap: float = 0.0) -> list[Straight]:
    """Four sides, each short of its corners by ``gap``, or past them where it is negative."""
    return [
        Straight((x0 + gap, y0), (x1 - gap, y0)), Straight((x1, y0 + gap), (x1, y1 - gap)),
        Straight((x1 - gap, y1), (x0 + gap, y1)), Straight((x0, y1 - gap), (x0, y0 + gap)),
    ]  # fmt: skip


def areas(straights: list[Straight], rounds: list[Round] = (), paper_mm: float = 1.0) -> list[float]:  # type: ignore[assignment]
    plane = build(straights, list(rounds), Pen(paper_mm))
    return [ring_area(plane, ring) for ring in rings(plane, paper_mm)]


@pytest.mark.parametrize("strokes", [[], [Straight((0.0, 0.0), (10.0, 0.0))], [Straight((0.0, 0.0), (9.0, 7.0))] * 2])
def test_nothing_closed(strokes: list[Straight]) -> None:
    assert areas(strokes) == []


@given(gap=st.floats(-0.7, 0.7), wide=st.floats(5, 100), high=st.floats(5, 100), paper_mm=st.sampled_from([1.0, 2.0]))
@settings(max_examples=40)
def test_box_with_careless_corners(gap: float, wide: float, high: float, paper_mm: float) -> None:
    sides = box(10, 20, 10 + wide * paper_mm, 20 + high * paper_mm, gap * paper_mm)
    assert areas(sides, paper_mm=paper_mm) == pytest.approx([wide * high * paper_mm**2])


def test_gap_beyond_a_pen_stays_open() -> None:
    """A corner open by 3 mm of paper is not closed."""
    assert areas(box(0, 0, 50, 30, 3.0)) == []


def test_wobbling_sides_share_their_levels() -> None:
    """Sides that rise by 0.2 mm over their length, as a pen does, still make a true rectangle."""
    sides = [
        Straight((0.0, 0.1), (50.0, -0.1)), Straight((50.1, 0.0), (49.9, 30.0)),
        Straight((50.0, 30.1), (0.0, 29.9)), Straight((0.1, 30.0), (-0.1, 0.0)),
    ]  # fmt: skip
    assert areas(sides) == pytest.approx([1500.0])


def test_broken_side_is_joined_and_stub_dropped() -> None:
    sides = [*box(0, 0, 50, 30)[1:], Straight((0.0, 0.0), (20.0, 0.0)), Straight((20.5, 0.0), (50.6, 0.0))]
    assert areas(sides) == pytest.approx([1500.0])


def test_dangling_edge_is_passed_over() -> None:
    assert areas([*box(0, 0, 50, 30), Straight((50.0, 10.0), (80.0, 10.0))]) == pytest.approx([1500.0])


def test_inner_lines_leave_the_silhouette() -> None:
    """Shoulders run across a shaft; the outline is what lies outermost."""
    assert areas([*box(0, 0, 50, 30), Straight((20.0, 0.0), (20.0, 30.0))]) == pytest.approx([1500.0])


def test_holes_lie_within() -> None:
    plane = build(box(0, 0, 50, 30), [Round(Circular((12.0, 15.0), 5.0, 0.0, 360.0), 0)], Pen(1.0))
    outer, hole = rings(plane, 1.0)
    assert (outer.within, hole.within) == (None, 0)
    assert hole.circle
    assert ring_area(plane, hole) == pytest.approx(math.pi * 25)


def fillets(radius: float, wide: float, high: float, short: float) -> tuple[list[Straight], list[Round]]:
    """A box with rounded corners whose arcs stop ``short`` degrees before the sides, as arc finders do."""
    corners = [(wide - radius, high - radius), (radius, high - radius), (radius, radius), (wide - radius, radius)]
    arcs = [Round(Circular(c, radius, 90.0 * i + short, 90.0 - 2 * short), i) for i, c in enumerate(corners)]
    sides = [
        Straight((radius, 0.0), (wide - radius, 0.0)), Straight((wide, radius), (wide, high - radius)),
        Straight((wide - radius, high), (radius, high)), Straight((0.0, high - radius), (0.0, radius)),
    ]  # fmt: skip
    return sides, arcs


@pytest.mark.parametrize("short", [0.0, 4.0])
def test_rounded_box_keeps_true_arcs(short: float) -> None:
    """Area by hand: w h - (4 - pi) r^2; the corners are quarter turns, bulge tan(90/4)."""
    sides, arcs = fillets(10.0, 60.0, 40.0, short)
    plane = build(sides, arcs, Pen(1.0))
    (ring,) = rings(plane, 1.0)
    assert ring_area(plane, ring) == pytest.approx(2400 - (4 - math.pi) * 100)
    curved = [bulge for _, _, bulge in bulged(plane, ring.steps) if bulge]
    assert curved == pytest.approx([math.tan(math.radians(22.5))] * 4)


def test_ink_taken_twice_at_a_corner() -> None:
    """A short stroke along the end of a rounding and the start of its side, a pen's error off both."""
    sides, arcs = fillets(10.0, 60.0, 40.0, 4.0)
    assert areas([*sides, Straight((8.5, 39.7), (12.0, 40.1))], arcs) == pytest.approx([2400 - (4 - math.pi) * 100])


def test_hollow_corner_bulges_inwards() -> None:
    """A quarter circle cut out of a box: area w h - pi r^2 / 4."""
    sides = [
        Straight((0.0, 0.0), (40.0, 0.0)), Straight((40.0, 0.0), (40.0, 20.0)), Straight((30.0, 30.0), (0.0, 30.0)),
        Straight((0.0, 30.0), (0.0, 0.0)),
    ]  # fmt: skip
    assert areas(sides, [Round(Circular((40.0, 30.0), 10.0, 180.0, 90.0), 0)]) == pytest.approx(
        [1200 - math.pi * 100 / 4]
    )


def test_link_with_tangent_sides() -> None:
    """A slot: two half circles and two sides that touch them."""
    sides = [Straight((10.0, 0.0), (50.0, 0.0)), Straight((10.0, 20.0), (50.0, 20.0))]
    ends = [Round(Circular((50.0, 10.0), 10.0, -90.0, 180.0), 0), Round(Circular((10.0, 10.0), 10.0, 90.0, 180.0), 1)]
    assert areas(sides, ends) == pytest.approx([800 + math.pi * 100])


def test_doubled_side_is_one() -> None:
    """A crumb that crosses a side at a slant within a pen's width does not break the outline."""
    sides = [*box(0, 0, 20, 60), Straight((0.0, 29.0), (20.1, 29.0)), Straight((0.0, 30.0), (20.0, 30.0))]
    assert areas([*sides, Straight((19.8, 30.0), (20.2, 29.0))]) == pytest.approx([1200.0])


def test_two_boxes_that_share_a_corner_are_two_rings() -> None:
    assert areas([*box(0, 0, 20, 20), *box(20, 20, 50, 50)]) == pytest.approx([900.0, 400.0])


def test_a_low_step_has_two_corners() -> None:
    """Two edges .2 mm apart, more than a fine pen errs: the shoulder between them is an edge too, and none slants."""
    sides = [
        Straight((0.0, 0.0), (80.0, 0.0)), Straight((80.0, 0.0), (80.0, 30.2)), Straight((40.0, 30.2), (80.0, 30.2)),
        Straight((40.0, 0.0), (40.0, 30.2)), Straight((0.0, 30.0), (40.0, 30.0)), Straight((0.0, 0.0), (0.0, 30.0)),
    ]  # fmt: skip
    assert areas(sides) == pytest.approx([40 * 30 + 40 * 30.2])


def test_crumbs_are_no_outline() -> None:
    assert areas(box(0, 0, 0.9, 0.9)) == []


def test_hatched_faces_are_cut() -> None:
    """Upper half of a bushing's section is hatched, the bore between is not."""
    lines = [*box(0, 0, 40, 30), Straight((0.0, 10.0), (40.0, 10.0)), Straight((0.0, 20.0), (40.0, 20.0))]
    plane = build(lines, [], Pen(1.0))
    cut = cut_faces(plane, [(5.0, 25.0), (15.0, 25.0), (25.0, 25.0), (20.0, 15.0)], 1.0)
    assert [ring_area(plane, ring) for ring in cut] == pytest.approx([400.0])


@settings(max_examples=30)
@given(st.integers(3, 9), st.floats(10, 60), st.floats(0, 6.28))
def test_polygons(sides: int, radius: float, turn: float) -> None:
    """Area of a regular polygon: n r^2 sin(360/n) / 2."""
    corners = [
        (radius * math.cos(turn + 2 * math.pi * i / sides), radius * math.sin(turn + 2 * math.pi * i / sides))
        for i in range(sides)
    ]
    strokes = [Straight(corners[i - 1], corners[i]) for i in range(sides)]
    expected = sides * radius**2 * math.sin(2 * math.pi / sides) / 2
    # Sides that are level to the pen's error are laid level, so the area may differ by that error.
    assert areas(strokes) == pytest.approx([expected], abs=0.3 * sides * radius)


def test_strokes_that_come_to_lie_in_one_place_are_drawn_once() -> None:
    """Two lines between other nodes, whichever way they run, and two bows over one chord that differ: three remain."""
    at = [(0.0, 0.0), (10.0, 0.0), (10.0, 1e-9), (0.0, 0.0)]
    nodes = tuple(Node(point, frozenset()) for point in at)
    lines = [Straight(at[0], at[1]), Straight(at[2], at[3])]
    bows = [Round(Circular((5.0, y), math.hypot(5.0, y), 0.0, 180.0), 0) for y in (-5.0, -3.0)]
    pieces = (Piece(0, 0, 1), Piece(1, 2, 3), Piece(2, 1, 0), Piece(3, 1, 0))
    plane = Plane((*lines, *bows), (), nodes, pieces)
    assert list(distinct(plane, pieces)) == [pieces[0], pieces[2], pieces[3]]
    assert list(distinct(plane, pieces, drawn=[pieces[1]])) == [pieces[2], pieces[3]]


@pytest.mark.parametrize(("error_mm", "closes"), [(0.15, True), (0.01, False)])
def test_a_round_corner_closes_as_well_as_its_pen_was_held(error_mm: float, closes: bool) -> None:
    """The arc of a 100 x 60 plate's rounded corner bulges past both sides by 0.5 mm and runs on beyond them."""
    corner = Round(Circular((25.0, 35.0), 25.5, 82.0, 105.0), 0)
    sides = [
        Straight((0.0, 38.0), (0.0, 0.0)), Straight((0.0, 0.0), (100.0, 0.0)),
        Straight((100.0, 0.0), (100.0, 60.0)), Straight((100.0, 60.0), (22.0, 60.0)),
    ]  # fmt: skip
    plane = build(sides, [corner], Pen(1.0, error_mm))
    found = [ring_area(plane, ring) for ring in rings(plane, 1.0)]
    assert (found == [pytest.approx(6000 - (1 - math.pi / 4) * 625, rel=0.01)]) is closes


def test_a_slanting_corner_is_left_open_further() -> None:
    """Two sides that meet at 30 degrees, one of which stops 1.1 mm short along itself."""
    short = 1.1
    sides = [
        Straight((0.0, 0.0), (40.0, 0.0)), Straight((0.0, 0.0), (0.0, 40.0 * math.tan(math.radians(30.0)))),
        Straight((0.0, 40.0 * math.tan(math.radians(30.0))), (40.0 - short * math.cos(math.pi / 6), short / 2)),
    ]  # fmt: skip
    assert areas(sides) == [pytest.approx(800.0 * math.tan(math.radians(30.0)), rel=1e-6)]


def test_an_arc_of_no_length_bounds_nothing() -> None:
    """Levels that are laid together may leave both ends of an arc on one side of its centre."""
    corners = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    sides = tuple(Straight(corners[k], corners[(k + 1) % 4]) for k in range(4))
    arc = Round(Circular((0.0, 20.0), 5.0, -90.0, 30.0), 0)
    nodes = tuple(Node(at, frozenset({k, (k - 1) % 4})) for k, at in enumerate(corners))
    pieces = (*(Piece(k, k, (k + 1) % 4) for k in range(4)), Piece(4, 0, 3))
    plane = Plane((*sides, arc), (), nodes, pieces)
    assert [ring_area(plane, ring) for ring in rings(plane, 1.0)] == pytest.approx([100.0])


def test_between_a_side_and_its_double_lies_no_face() -> None:
    """The walk along a line and back along its double has two corners and no area."""
    corners = [(3.0, 1.0), (55.0, 0.0), (52.0, 38.0), (9.0, 25.0)]
    sides = [Straight(one, other) for one, other in zip(corners, [*corners[1:], corners[0]], strict=True)]
    plane = build(sides, [], Pen(1.0))
    first = plane.pieces[0]
    double = replace(first, stroke=len(plane.strokes), first=first.last, last=first.first)
    twice = replace(plane, strokes=(*plane.strokes, plane.strokes[first.stroke]), pieces=(*plane.pieces, double))
    assert 2 in [len(face) for face in faces(twice)]
    (cut,) = cut_faces(twice, [(10.0, 10.0), (20.0, 10.0), (30.0, 10.0), (40.0, 20.0)], 1.0)
    assert ring_area(twice, cut) == pytest.approx(1463.5)


def test_corners_that_a_solution_lays_in_one_place_make_no_crossing() -> None:
    """The last corner has come to lie beside the first, 2e-13 beyond the edge that goes out from there."""
    corners = [(446.0, 529.0), (436.0, 529.0), (436.0, 504.0), (442.0, 504.0), (446.0 - 1e-12, 529.0 + 2e-13)]
    edges = tuple(Straight(one, other) for one, other in zip(corners, [*corners[1:], corners[0]], strict=True))
    pieces = tuple(Piece(n, n, (n + 1) % len(corners)) for n in range(len(corners)))
    nodes = tuple(Node(at, frozenset({n, (n - 1) % len(corners)})) for n, at in enumerate(corners))
    drawn = Plane(edges, (), nodes, pieces)
    assert not Polygon(corners).is_valid
    shape = ring_polygon(drawn, Ring(tuple(Step(piece, True) for piece in pieces)))
    assert shape.is_valid
    assert shape.area == pytest.approx((10 + 6) / 2 * 25)
