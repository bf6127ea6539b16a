"""Views that were projected from each other agree exactly; what contradicts is left out and named.

The sizes are the prints' own figures; areas by hand.
"""

import math
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing
from hand_drawn import Print, blank_sheet, bushing

from digitize.lettering.text import Kind, TypedValue, Unit
from digitize.redraw.part import write_part
from digitize.redraw.report import OutlineKind, PartReport
from digitize.report.frame import sheet_frame
from digitize.strokes.primitives import Dash, Role

EXACT = 1e-9


def written(print_: Print, folder: Path, **more: object) -> tuple[Drawing, PartReport]:
    reconciled = print_.reconciled(**more)
    report = write_part(
        folder / "part.dxf", print_.strokes(), reconciled, None, sheet_frame(blank_sheet(), reconciled), Unit.MM
    )
    drawing = ezdxf.readfile(folder / "part.dxf")
    assert not drawing.audit().errors
    return drawing, report


def heights(drawing: Drawing, least_x: float) -> list[float]:
    """Heights of the level edges right of a place, each once, from their mean."""
    ys = set()
    for entity in drawing.modelspace().query("LWPOLYLINE"):
        ys |= {round(y, 7) for x, y in entity.get_points("xy") if x > least_x}
    middle = sum(ys) / len(ys)
    return sorted(y - middle for y in ys)


@pytest.mark.parametrize("wobble_mm", [0.0, 0.05])
def test_a_section_has_the_diameters_of_the_face(wobble_mm: float, tmp_path: Path) -> None:
    print_ = bushing(wobble_mm=wobble_mm, seed=3, x_shrink=0.99, y_shrink=0.996)
    drawing, report = written(print_, tmp_path)
    assert heights(drawing, 110.0) == pytest.approx([-30, -22, -15, 15, 22, 30], abs=1e-6)
    side = next(each for each in report.outlines if each.view == "V2" and each.kind is OutlineKind.OUTER)
    assert side.area_mm2 == pytest.approx(12 * 60 + 38 * 44, rel=EXACT)
    cuts = [each.area_mm2 for each in report.outlines if each.kind is OutlineKind.CUT]
    assert cuts == pytest.approx([12 * 15 + 38 * 7] * 2, rel=EXACT)
    assert all(each.determined for each in report.outlines)
    assert report.left_out == ()
    assert any("V1 and V2 stand level" in note for note in report.notes)


def test_views_agree_where_nothing_is_dimensioned(tmp_path: Path) -> None:
    """Drawn with a pen's error, the face's circles and the section's edges have one size, still only scaled."""
    drawing, report = written(bushing(diameters=False, wobble_mm=0.05, seed=5), tmp_path)
    circles = sorted(each.dxf.radius for each in drawing.modelspace().query("CIRCLE"))
    largest, smallest = circles[-1], circles[0]
    found = heights(drawing, 110.0)
    assert (found[-1] - found[0]) / 2 == pytest.approx(largest, rel=1e-8)
    assert (found[3] - found[2]) / 2 == pytest.approx(smallest, rel=1e-8)
    assert not any(each.determined for each in report.outlines)


def test_contradicting_views_keep_their_own_and_are_named(tmp_path: Path) -> None:
    """The face says 30 and the section 30.6: neither moves the other."""
    print_ = bushing()
    print_.row("Ø30.6", Fraction(153, 5), Kind.DIAMETER, (205.0, 110.0), (200.0, 95.0), (200.0, 125.0))
    drawing, report = written(print_, tmp_path)
    assert min(each.dxf.radius for each in drawing.modelspace().query("CIRCLE")) == pytest.approx(15.0, rel=EXACT)
    assert heights(drawing, 110.0) == pytest.approx([-30, -22, -15.3, 15.3, 22, 30], abs=1e-6)
    assert any("contradict each other by 0.300 mm" in note for note in report.notes)


def test_views_at_two_scales_are_not_linked(tmp_path: Path) -> None:
    """As tall on paper, but drawn at half the size: no height is carried over."""
    print_ = bushing()
    half = print_.scale("V2")
    half = replace(half, x_mm_per_px=2 * half.x_mm_per_px, y_mm_per_px=2 * half.y_mm_per_px, part_per_paper=2.0)
    _drawing, report = written(print_, tmp_path, scales=(print_.scale(), half))
    assert not any("stand level" in note for note in report.notes)


def front_and_top(gap_mm: float = 0.0) -> Print:
    """Front (V1) of a stepped block, and its top (V2) above: the step 35 from the left is dimensioned on the front."""
    print_ = Print()
    print_.path((60, 40), (160, 40), (160, 70), (95, 70), (95, 90), (60, 90), closed=True)
    print_.row("100", Fraction(100), Kind.LINEAR, (110, 25), (60, 25), (160, 25))
    print_.row("35", Fraction(35), Kind.LINEAR, (78, 100), (60, 100), (95, 100))
    print_.row("30", Fraction(30), Kind.LINEAR, (170, 55), (170, 40), (170, 70))
    print_.row("50", Fraction(50), Kind.LINEAR, (50, 65), (50, 40), (50, 90))
    print_.view = "V2"
    print_.path((60, 120), (160, 120), (160, 160), (60, 160), closed=True)
    print_.line((95.15 + gap_mm, 120), (95.15 + gap_mm, 160))
    print_.row("40", Fraction(40), Kind.LINEAR, (50, 140), (50, 120), (50, 160))
    return print_


def test_a_station_is_carried_to_the_view_above(tmp_path: Path) -> None:
    drawing, report = written(front_and_top(), tmp_path)
    top = next(each for each in report.outlines if each.view == "V2")
    assert top.area_mm2 == pytest.approx(4000.0, rel=EXACT)
    assert top.determined
    (edge,) = drawing.modelspace().query("LINE[layer=='EDGE']")
    left = min(x for each in drawing.modelspace().query("LWPOLYLINE") for x, y in each.get_points("xy") if y > 100)
    assert edge.dxf.start.x - left == pytest.approx(35.0, abs=1e-8)


def test_an_edge_that_stands_elsewhere_is_not_carried(tmp_path: Path) -> None:
    drawing, _report = written(front_and_top(gap_mm=1.0), tmp_path)
    (edge,) = drawing.modelspace().query("LINE[layer=='EDGE']")
    left = min(x for each in drawing.modelspace().query("LWPOLYLINE") for x, y in each.get_points("xy") if y > 100)
    assert edge.dxf.start.x - left == pytest.approx(36.15, abs=0.01)


def test_the_hole_of_the_plan_is_the_slot_of_the_side(tmp_path: Path) -> None:
    """A plate with one hole beside its section: the hole's figure fixes the two edges that it projects to."""
    print_ = Print()
    print_.path((40, 60), (120, 60), (120, 140), (40, 140), closed=True)
    hole = print_.arc((80, 100), 12.5)
    print_.line((35, 100), (125, 100), Role.CENTRE, Dash.CHAIN)
    print_.row("Ø25", Fraction(25), Kind.DIAMETER, (60.0, 160.0), (67.5, 100), (92.5, 100), arcs=(hole,))
    print_.row("80", Fraction(80), Kind.LINEAR, (25, 100), (25, 60), (25, 140))
    print_.view = "V2"
    print_.path((160, 60), (172, 60), (172, 140), (160, 140), closed=True)
    for side in (-1, 1):
        print_.line((160, 100 + 12.6 * side), (172, 100 + 12.6 * side))
    print_.line((155, 100), (177, 100), Role.CENTRE, Dash.CHAIN)
    print_.row("12", Fraction(12), Kind.LINEAR, (166, 45), (160, 45), (172, 45))
    drawing, report = written(print_, tmp_path)
    assert all(each.determined for each in report.outlines if each.view == "V2")
    edges = sorted(each.dxf.start.y for each in drawing.modelspace().query("LINE[layer=='EDGE']"))
    assert math.dist((edges[0],), (edges[-1],)) == pytest.approx(25.0, rel=EXACT)


@pytest.mark.parametrize("beyond_mm", [0.0, 3.0])
def test_a_view_without_a_scale_has_that_of_the_view_it_stands_level_with(beyond_mm: float, tmp_path: Path) -> None:
    """Its heights are then those of the other, though a stray stroke lies below it; a view of another height
    is left out, for nothing tells its scale."""
    print_ = Print(view="V1")
    print_.path((30.0, 40.0), (90.0, 40.0), (90.0, 100.0), (30.0, 100.0), closed=True)
    print_.row("60", Fraction(60), Kind.LINEAR, (20.0, 70.0), (20.0, 40.0), (20.0, 100.0))
    print_.row("60", Fraction(60), Kind.LINEAR, (60.0, 20.0), (30.0, 20.0), (90.0, 20.0))
    print_.view = "V2"
    print_.path((120.0, 40.2), (132.0, 40.2), (132.0, 100.0 + beyond_mm), (120.0, 100.0 + beyond_mm), closed=True)
    print_.line((120.0, 38.0), (120.0, 30.0))
    drawing, report = written(print_, tmp_path, scales=(print_.scale("V1"),))
    areas = [each.area_mm2 for each in report.outlines if each.view == "V2" and each.kind is OutlineKind.OUTER]
    if beyond_mm:
        assert areas == []
        assert any("V2 is left out" in note for note in report.notes)
        assert any("V2 is left out" in text.dxf.text for text in drawing.modelspace().query("TEXT"))
    else:
        assert areas == pytest.approx([12 * 60], rel=1e-6)
        assert any("it has that of view V1" in note for note in report.notes)


@pytest.mark.parametrize(("written_as", "said"), [("decimal2", "differ by"), ("integer", "contradict each other by")])
def test_views_contradict_each_other_only_beyond_the_rounding_of_their_figures(
    written_as: str, said: str, tmp_path: Path
) -> None:
    """The face has a fraction of a hundredth over 60; the section says 60.00, or 60."""
    print_ = bushing()
    outside = replace(print_.dimensions[0], value=60 + Fraction(1, 256), text="60 1/256", measured=60.0)
    print_.dimensions[0] = outside
    size = TypedValue(Kind.DIAMETER, Fraction(60), Unit.MM, place=Fraction(1, 100), style=written_as)
    print_.row("Ø60", Fraction(60), Kind.DIAMETER, (200, 110), (200, 80), (200, 140), typed=size)
    _drawing, report = written(print_, tmp_path)
    assert len([note for note in report.notes if f"views V1 and V2 {said} 0.002 mm" in note]) == 1


@pytest.mark.parametrize(("place", "settled"), [(Fraction(1, 100), True), (Fraction(1, 1000), False)])
def test_a_chain_of_rounded_figures_contradicts_nothing(place: Fraction, settled: bool, tmp_path: Path) -> None:
    """Three thirds of 61, each as 20.33: a hundredth is left over."""
    print_ = Print()
    print_.path((50, 50), (111, 50), (111, 90), (50, 90), closed=True)
    third, xs = 61 / 3, [50 + k * 61 / 3 for k in range(4)]
    for x in xs[1:3]:
        print_.line((x, 50), (x, 90))
    print_.row("40", Fraction(40), Kind.LINEAR, (40, 70), (40, 50), (40, 90))
    print_.row("61", Fraction(61), Kind.LINEAR, (80, 30), (50, 30), (111, 30))
    value = TypedValue(Kind.LINEAR, Fraction("20.33"), Unit.MM, place=place, style="decimal2")
    for x in xs[:3]:
        print_.row("20.33", Fraction("20.33"), Kind.LINEAR, (x + 5, 40), (x, 40), (x + third, 40), typed=value)
    _drawing, report = written(print_, tmp_path)
    assert [why for _, why in report.left_out if ("within its rounding, 0.010 mm off" in why) is settled]
    assert bool(report.contradicting) is not settled
    assert report.outlines[0].determined is settled


@pytest.mark.parametrize(("other_mm", "apart_mm"), [(12.58, 25.18), (11.5, 25.0)])
def test_an_edge_that_either_of_two_holes_may_be_is_tied_to_neither(
    other_mm: float, apart_mm: float, tmp_path: Path
) -> None:
    """Beside a bore of 25 stands a hole of nearly its size: the section's edges, drawn .09 off the bore's, are .01 off
    the hole's, and stay as drawn. Of a hole that is clearly smaller they can't be."""
    print_ = Print()
    print_.path((30, 60), (130, 60), (130, 140), (30, 140), closed=True)
    bore, hole = print_.arc((60, 100), 12.5), print_.arc((105, 100), other_mm)
    print_.line((25, 100), (135, 100), Role.CENTRE, Dash.CHAIN)
    print_.row("Ø25", Fraction(25), Kind.DIAMETER, (60.0, 160.0), (47.5, 100), (72.5, 100), arcs=(bore,))
    size, ends = Fraction(str(2 * other_mm)), ((105 - other_mm, 100), (105 + other_mm, 100))
    print_.row(f"Ø{2 * other_mm}", size, Kind.DIAMETER, (105.0, 160.0), *ends, arcs=(hole,))
    print_.row("80", Fraction(80), Kind.LINEAR, (15, 100), (15, 60), (15, 140))
    print_.view = "V2"
    print_.path((160, 60), (172, 60), (172, 140), (160, 140), closed=True)
    for side in (-1, 1):
        print_.line((160, 100 + 12.59 * side), (172, 100 + 12.59 * side))
    print_.line((155, 100), (177, 100), Role.CENTRE, Dash.CHAIN)
    print_.row("12", Fraction(12), Kind.LINEAR, (166, 45), (160, 45), (172, 45))
    drawing, _report = written(print_, tmp_path)
    edges = sorted(each.dxf.start.y for each in drawing.modelspace().query("LINE[layer=='EDGE']"))
    assert edges[-1] - edges[0] == pytest.approx(apart_mm, abs=1e-6)


def test_an_edge_and_the_rounding_that_it_runs_into_are_one_place(tmp_path: Path) -> None:
    """The side's top, drawn .05 too high, is the front's top edge and no less for the rounding that touches it too."""
    print_ = Print()
    print_.path((105, 120), (40, 120), (40, 60), (120, 60), (120, 105))
    corner = print_.arc((105, 105), 15.0, 0.0, 90.0)
    print_.row("R15", Fraction(15), Kind.RADIUS, (130.0, 130.0), (105, 105), (115.6, 115.6), arcs=(corner,))
    print_.row("80", Fraction(80), Kind.LINEAR, (80, 40), (40, 40), (120, 40))
    print_.row("60", Fraction(60), Kind.LINEAR, (20, 90), (20, 60), (20, 120))
    print_.view = "V2"
    print_.path((150, 60), (162, 60), (162, 120.05), (150, 120.05), closed=True)
    print_.row("12", Fraction(12), Kind.LINEAR, (156, 45), (150, 45), (162, 45))
    _drawing, report = written(print_, tmp_path)
    (side,) = (each for each in report.outlines if each.view == "V2")
    assert side.area_mm2 == pytest.approx(12 * 60, rel=EXACT)
    assert side.determined
