"""Edges that were taken for extension lines and part a view: the pen and the sizes across tell that they are edges."""

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import pytest

from digitize.dimensions.table import State
from digitize.lettering.text import Kind
from digitize.redraw.report import OutlineKind
from digitize.redraw.solving.heavy_edges import with_heavy_edges
from digitize.redraw.solving.parted_views import whole_views
from digitize.strokes.primitives import Pen, Role, Spline, Strokes
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_loose_ends import outer_areas
from tests.digitize.redraw.test_part import written
from tests.digitize.redraw.test_recess_mouths import wheel_section

FINE_PX, HEAVY_PX = 2.0, 4.0
FINE = (Role.EXTENSION, Role.DIMENSION, Role.CENTRE)


@dataclass
class TwoPens(Print):
    """A print whose thin lines a finer pen drew; ``heavy`` are the numbers of those that the edges' pen did."""

    heavy: tuple[int, ...] = ()

    def strokes(self) -> Strokes:
        lines = tuple(
            replace(each, width_px=FINE_PX) if each.role in FINE and number not in self.heavy else each
            for number, each in enumerate(self.lines)
        )
        pens = (Pen(FINE_PX, 0.1, FINE_PX, 900.0, 9), Pen(HEAVY_PX, 0.1, HEAVY_PX, 900.0, 9))
        return replace(super().strokes(), lines=lines, pens=pens)


def parted(state: State = State.AGREED) -> TwoPens:
    """A plate 100 by 60 of which the trace has the lower and the upper 20 in a view each; between, its sides were
    taken for extension lines. A size of 60 stands beside it, one of 100 below it."""
    print_ = TwoPens()
    print_.path((50.0, 70.0), (50.0, 50.0), (150.0, 50.0), (150.0, 70.0))
    sides = [print_.line((x, 70.0), (x, 90.0), Role.EXTENSION) for x in (50.0, 150.0)]
    print_.line((100.0, 46.0), (100.0, 114.0), Role.CENTRE)
    print_.heavy = tuple(sides)
    print_.row("60", Fraction(60), Kind.LINEAR, (30.0, 80.0), (30.0, 50.0), (30.0, 110.0), state=state)
    print_.row("100", Fraction(100), Kind.LINEAR, (100.0, 30.0), (50.0, 30.0), (150.0, 30.0))
    print_.view = "V2"
    print_.path((50.0, 90.0), (50.0, 110.0), (150.0, 110.0), (150.0, 90.0))
    return print_


def test_a_view_that_an_edge_leads_across_is_one_and_closes(tmp_path: Path) -> None:
    print_ = parted()
    whole = whole_views(print_.strokes(), print_.reconciled())
    assert whole.notes == ("views V1 and V2 are one, V1: an edge leads from one to the other",)
    _, report = written(print_, tmp_path)
    (outer,) = (each for each in report.outlines if each.kind is OutlineKind.OUTER)
    assert outer.area_mm2 == pytest.approx(6000.0, rel=1e-9)
    assert outer.determined


def test_so_is_one_that_an_agreed_size_leads_across() -> None:
    print_ = parted()
    print_.heavy = ()
    whole = whole_views(print_.strokes(), print_.reconciled())
    assert whole.notes == ("views V1 and V2 are one, V2: 60 leads from one to the other",)


def test_without_an_agreed_size_its_height_is_scaled(tmp_path: Path) -> None:
    _, report = written(parted(State.UNPROVEN), tmp_path)
    (outer,) = (each for each in report.outlines if each.kind is OutlineKind.OUTER)
    assert not outer.determined


@pytest.mark.parametrize("leads", [True, False])
def test_views_whose_edges_and_agreed_sizes_stay_within_them_are_left_apart(leads: bool) -> None:
    print_ = parted(State.UNPROVEN if leads else State.AGREED)
    print_.heavy = ()
    if not leads:
        print_.dimensions[0] = replace(print_.dimensions[0], geometry=None)
    strokes = print_.strokes()
    assert whole_views(strokes, print_.reconciled()).strokes == strokes


def corners_alone() -> TwoPens:
    """A plate 100 by 60 of which the trace saw a hole, a bevel and a rounding, each as a view; its sides, one of which
    runs on beyond the plate, were taken for extension lines. No size leads across."""
    print_ = TwoPens()
    bottom = print_.line((30.0, 50.0), (150.0, 50.0), Role.EXTENSION)
    sides = [
        print_.line((50.0, 50.0), (50.0, 100.0), Role.EXTENSION),
        print_.line((60.0, 110.0), (140.0, 110.0), Role.EXTENSION),
    ]
    print_.arc((60.0, 100.0), 10.0, 90.0, 90.0)
    print_.line((100.0, 46.0), (100.0, 114.0), Role.CENTRE)
    print_.row("20", Fraction(20), Kind.DIAMETER, (100.0, 85.0), (90.0, 80.0), (110.0, 80.0))
    print_.view = "V2"
    print_.line((140.0, 110.0), (150.0, 100.0))
    right = print_.line((150.0, 100.0), (150.0, 50.0), Role.EXTENSION)
    print_.heavy = (bottom, *sides, right)
    print_.view = "V3"
    print_.arc((100.0, 80.0), 10.0)
    return print_


def test_views_that_a_heavy_edge_leads_across_are_one_with_what_stands_between(tmp_path: Path) -> None:
    print_ = corners_alone()
    whole = whole_views(print_.strokes(), print_.reconciled())
    (view,) = whole.strokes.views
    assert whole.notes == (
        f"views V1 and V2 are one, {view.id}: an edge leads from one to the other",
        f"views {view.id} and V3 are one, {view.id}: one stands within the other's edges",
    )
    _, report = written(print_, tmp_path)
    assert [(each.kind, round(each.area_mm2)) for each in report.outlines] == [
        (OutlineKind.OUTER, round(6000 - 50 - 100 * (1 - math.pi / 4))), (OutlineKind.INNER, round(100 * math.pi)),
    ]  # fmt: skip


def test_a_regained_edge_is_of_the_views_whose_edges_it_meets(tmp_path: Path) -> None:
    """As an extension line it was given to another view, which stood nearer to its middle; of the bevel's own view
    nothing tells the scale."""
    print_ = corners_alone()
    print_.lines[print_.heavy[0]] = replace(print_.lines[print_.heavy[0]], view="V4")
    print_.view = "V4"
    print_.path((200.0, 50.0), (210.0, 50.0), (210.0, 110.0), (200.0, 110.0), closed=True)
    scales = tuple(print_.scale(name) for name in ("V1", "V3", "V4"))
    whole = whole_views(print_.strokes(), print_.reconciled(scales=scales))
    plate, side = sorted(whole.strokes.views, key=lambda view: view.box)
    assert side.id == "V4"
    assert whole.strokes.lines[print_.heavy[0]].view == plate.id
    assert {each.view for each in whole.reconciled.scales} == {plate.id, "V4"}


def test_a_heavy_line_that_ends_in_the_open_is_no_edge() -> None:
    """An extension line from the plate's corner outwards, as wide as an edge where ink has run."""
    print_ = parted()
    run = print_.line((150.0, 50.0), (170.0, 50.0), Role.EXTENSION)
    print_.heavy += (run,)
    lines = with_heavy_edges(print_.strokes()).lines
    assert lines[run].role is Role.EXTENSION
    assert all(lines[number].role is Role.VISIBLE for number in print_.heavy[:2])


def test_one_pen_tells_nothing() -> None:
    print_ = parted()
    strokes = print_.strokes()
    one = replace(strokes, pens=(Pen(3.0, 0.1, 3.0, 1800.0, 18),))
    assert with_heavy_edges(one) == one


@pytest.mark.parametrize(("width_px", "edge"), [(FINE_PX, False), (HEAVY_PX, True)])
def test_a_curve_is_an_edge_where_the_edges_pen_drew_it(width_px: float, edge: bool) -> None:
    """Hidden lines that lie side by side may be traced as curves from edge to edge."""
    control = ((500.0, 900.0), (800.0, 901.0), (1200.0, 899.0), (1500.0, 900.0))
    curve = Spline(control, (0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0), width_px, view="V1")
    strokes = replace(parted().strokes(), splines=(curve,))
    (found,) = with_heavy_edges(strokes).splines
    assert (found.role is Role.VISIBLE) is edge


@pytest.mark.parametrize(("reach", "area"), [((40.0, 160.0), 5200.0), ((60.0, 160.0), 5600.0)])
def test_a_centre_line_is_of_every_view_that_it_runs_right_through(
    reach: tuple[float, float], area: float, tmp_path: Path
) -> None:
    """Lettering beside its end was taken for a view and has the line; without it a recess stays shut."""
    print_ = wheel_section(100.0)
    print_.lines = [each for each in print_.lines if each.role is not Role.CENTRE]
    print_.view = "V2"
    print_.line((reach[0], 80.0), (reach[1], 80.0), Role.CENTRE)
    print_.path((162.0, 78.0), (166.0, 78.0), (166.0, 83.0), (162.0, 83.0), closed=True)
    assert max(outer_areas(print_, tmp_path)) == pytest.approx(area)
