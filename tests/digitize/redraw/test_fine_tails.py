"""An extension line that was traced as one stroke with an edge is no edge."""

from fractions import Fraction
from pathlib import Path

import pytest

from digitize.lettering.text import Kind
from digitize.redraw.planes.fine_tails import without_fine_tails
from digitize.redraw.planes.plane_strokes import Pen, Straight
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_boundary import said
from tests.digitize.redraw.test_part import written

PEN = Pen(1.0, 0.05)
SIDES = [Straight((0.0, 0.0), (0.0, 40.0)), Straight((60.0, 0.0), (60.0, 40.0))]
FOOT, TOP = Straight((0.0, 0.0), (60.0, 0.0)), Straight((0.0, 40.0), (60.0, 40.0))
LONG = Straight((0.0, -12.0), (0.0, 40.0))  # the left side, and 12 mm of paper beyond the foot
WIDTH = Straight((0.2, -10.0), (60.0, -10.0))


def box(left: Straight) -> list[Straight]:
    return [left, SIDES[1], FOOT, TOP]


@pytest.mark.parametrize(
    ("dimensions", "extensions"),
    [([WIDTH], []), ([], [Straight((0.1, -30.0), (0.1, -11.5))]), ([Straight((0.1, -30.0), (0.1, -12.3))], [])],
    ids=["a dimension line ends on it", "an extension line goes on from it", "a dimension line goes on from it"],
)
def test_an_edge_ends_at_its_last_corner(dimensions: list[Straight], extensions: list[Straight]) -> None:
    edges = without_fine_tails(box(LONG), [], dimensions, extensions, [], [], PEN)
    assert edges[0].start == pytest.approx((0.0, 0.0))
    assert edges[0].end == (0.0, 40.0)
    assert edges[1:] == [SIDES[1], FOOT, TOP]


@pytest.mark.parametrize(
    "dimension",
    [
        Straight((0.2, -4.0), (60.0, -4.0)),  # 8 mm further than an extension line goes beyond its dimension line
        Straight((5.0, -10.0), (60.0, -10.0)),  # ends beside it
        Straight((0.1, 20.0), (30.0, 20.0)),  # ends on the edge, not beyond it
    ],
)
def test_what_no_fine_line_belongs_to_stays_an_edge(dimension: Straight) -> None:
    assert without_fine_tails(box(LONG), [], [dimension], [], [], [], PEN) == box(LONG)


def test_what_section_lines_end_at_stays_an_edge() -> None:
    """An edge of the section beyond the foot was taken for an extension line."""
    hatch = Straight((0.1, -8.0), (5.0, -3.0))
    assert without_fine_tails(box(LONG), [], [WIDTH], [], [hatch], [], PEN) == box(LONG)


def test_an_edge_of_which_the_rest_was_taken_for_an_extension_line_stays_whole() -> None:
    """Beyond its end the fine line passes another edge's end: there the part goes on."""
    step, beyond = Straight((0.0, -20.0), (30.0, -20.0)), Straight((0.1, -30.0), (0.1, -11.5))
    assert without_fine_tails([*box(LONG), step], [], [], [beyond], [], [], PEN) == [*box(LONG), step]


def test_an_edge_that_meets_but_one_other_stays_whole() -> None:
    """Its other corner was not traced, and an extension line stands off from there."""
    edges = [FOOT, SIDES[1]]
    assert without_fine_tails(edges, [], [], [Straight((-20.0, 0.0), (-0.5, 0.0))], [], [], PEN) == edges


def test_a_dimension_line_between_two_edges_is_none() -> None:
    """It stands between a step and a rim whose line goes on as an extension line, and its shaft goes on outside."""
    shaft = Straight((40.0, 20.0), (60.0, 20.0))
    outside = Straight((60.3, 20.0), (75.0, 20.0))
    step = Straight((40.0, 0.0), (40.0, 40.0))
    assert without_fine_tails([shaft, step, FOOT, TOP], [], [outside], [], [], [], PEN) == [step, FOOT, TOP]


HEAD = Straight((20.0, 40.0), (18.0, 44.0))  # on the top, from outside


@pytest.mark.parametrize("leads", [True, False])
def test_the_head_of_a_leader_is_no_edge(leads: bool) -> None:
    """Its shaft was taken for an extension line or a leader; without one the stroke may be an edge begun."""
    shaft = Straight((17.8, 44.4), (10.0, 60.0))
    edges = [*box(SIDES[0]), HEAD]
    for extensions, leaders in (([shaft], []), ([], [shaft])) if leads else (([], []),):
        kept = without_fine_tails(edges, [], [], extensions, [], leaders, PEN)
        assert kept == (box(SIDES[0]) if leads else edges)


@pytest.mark.parametrize(("low", "settled"), [(38.0, True), (44.0, False)])
def test_a_plate_whose_side_was_traced_with_its_extension_line_is_settled(
    low: float, settled: bool, tmp_path: Path
) -> None:
    """Its lower end lies at 35, three or nine beyond the dimension line."""
    print_ = Print()
    print_.path((50.0, 110.0), (50.0, 35.0))
    print_.path((50.0, 50.0), (150.0, 50.0), (150.0, 110.0), (50.0, 110.0))
    print_.row("100", Fraction(100), Kind.LINEAR, (100, low), (50, low), (150, low))
    print_.row("60", Fraction(60), Kind.LINEAR, (170, 80), (170, 50), (170, 110))
    _drawing, report = written(print_, tmp_path)
    assert [each.determined for each in report.outlines] == [settled]
    assert report.outlines[0].area_mm2 == pytest.approx(6000.0)
    assert said(report, "edges lie outside it") is not settled
