"""`part.dxf`: closed outlines that obey the agreed figures, read again by other programs' libraries."""

import math
import re
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import ezdxf
import pytest
import shapely
import trimesh
from ezdxf import path as dxf_path
from ezdxf.document import Drawing
from ezdxf.entities.dimension import Dimension as DimensionEntity
from hand_drawn import (
    Print,
    agreed_gear,
    blank_sheet,
    bushing,
    flange,
    spur_gear,
    stepped_shaft,
    toothed_gear,
)

from calibrate.sheet import KnownOf, ScaleWitness
from digitize.dimensions.table import Dimension, State
from digitize.gears.identifying.finding import GearFinding
from digitize.lettering.text import Kind, Unit
from digitize.redraw.part import NOTHING_DRAWN, write_part
from digitize.redraw.report import OutlineKind, PartReport
from digitize.redraw.solving.parted_views import whole_views
from digitize.redraw.writing.layers import SCALE_UNPROVEN
from digitize.report.frame import sheet_frame
from digitize.strokes.primitives import Role

SHAFT_AREA = 40 * 30 + 90 * 50 + 30 * 20


def written(
    print_: Print, folder: Path, unit: Unit = Unit.MM, gear: GearFinding | None = None, **more: object
) -> tuple[Drawing, PartReport]:
    whole = whole_views(print_.strokes(), print_.reconciled(**more))
    frame = sheet_frame(blank_sheet(), whole.reconciled)
    report = write_part(folder / "part.dxf", whole.strokes, whole.reconciled, gear, frame, unit)
    drawing = ezdxf.readfile(folder / "part.dxf")
    assert not drawing.audit().errors
    return drawing, report


def polygon(entity) -> shapely.Polygon:  # type: ignore[no-untyped-def]
    """An entity as a polygon in shapely, its arcs flattened finely by ezdxf."""
    return shapely.Polygon([(p.x, p.y) for p in dxf_path.make_path(entity).flattening(1e-4)])


def figures(drawing: Drawing) -> list[DimensionEntity]:
    return list(drawing.modelspace().query("DIMENSION"))


@pytest.mark.parametrize("wobble_mm", [0.0, 0.12])
def test_shaft_obeys_its_figures(wobble_mm: float, tmp_path: Path) -> None:
    """Drawn with a pen's error on shrunken paper, the outline has the figures' very sizes."""
    drawing, report = written(stepped_shaft(wobble_mm=wobble_mm, seed=4, x_shrink=0.99, y_shrink=0.996), tmp_path)
    (outline,) = drawing.modelspace().query("LWPOLYLINE")
    assert outline.closed
    assert outline.dxf.layer == "OUTLINE"
    shape = polygon(outline)
    assert shape.is_valid
    assert shape.area == pytest.approx(SHAFT_AREA, rel=1e-9)
    assert shape.bounds[2] - shape.bounds[0] == pytest.approx(160.0, abs=1e-8)
    assert report.outlines[0].area_mm2 == pytest.approx(SHAFT_AREA)
    assert report.outlines[0].determined
    assert len(report.used) == 6


def test_each_view_is_a_group_whose_members_are_picked_one_by_one(tmp_path: Path) -> None:
    drawing, report = written(stepped_shaft(), tmp_path)
    assert [each.name for each in report.views] == ["V1"]
    ((name, group),) = drawing.groups
    assert (name, group.dxf.selectable) == ("VIEW_V1", 0)
    shapes = drawing.modelspace().query("LINE ARC CIRCLE LWPOLYLINE")
    assert {each.dxf.handle for each in group} == {each.dxf.handle for each in shapes}


def test_trimesh_reads_the_same_areas(tmp_path: Path) -> None:
    """A second library reads the flange: disc less bore and six holes (analytic area)."""
    written(flange(wobble_mm=0.05), tmp_path)
    drawing = ezdxf.readfile(tmp_path / "part.dxf")
    space = drawing.modelspace()
    for entity in [e for e in space if e.dxf.layer not in ("OUTLINE", "INNER_OUTLINE")]:
        space.delete_entity(entity)
    drawing.saveas(tmp_path / "outlines.dxf")
    with (tmp_path / "outlines.dxf").open() as file:
        shape = trimesh.load_path(file, file_type="dxf")
    expected = math.pi * (76.2**2 - 25.4**2 - 6 * 6.35**2)
    disc, *holes = sorted((each.area for each in shape.polygons_closed), reverse=True)
    assert len(holes) == 7
    assert disc - sum(holes) == pytest.approx(expected, rel=2e-3)


def test_flange_in_inches(tmp_path: Path) -> None:
    drawing, report = written(flange(wobble_mm=0.08, seed=5, x_shrink=0.99), tmp_path, Unit.INCH)
    assert drawing.header["$INSUNITS"] == 1
    circles = drawing.modelspace().query("CIRCLE")
    outline = [c for c in circles if c.dxf.layer == "OUTLINE"]
    inner = [c for c in circles if c.dxf.layer == "INNER_OUTLINE"]
    assert [c.dxf.radius for c in outline] == pytest.approx([3.0], abs=1e-9)
    assert sorted(c.dxf.radius for c in inner) == pytest.approx([0.25] * 6 + [1.0], abs=1e-9)
    x, y, _ = outline[0].dxf.center
    for hole in (c for c in inner if c.dxf.radius < 0.5):
        turn = math.degrees(math.atan2(hole.dxf.center.y - y, hole.dxf.center.x - x)) % 60
        assert math.hypot(hole.dxf.center.x - x, hole.dxf.center.y - y) == pytest.approx(2.25, abs=1e-8)
        assert turn == pytest.approx(30.0, abs=1e-6)
    assert all(each.determined for each in report.outlines)


def test_dimensions_measure_what_they_say(tmp_path: Path) -> None:
    drawing, _ = written(stepped_shaft(wobble_mm=0.1, x_shrink=0.99), tmp_path)
    measured = sorted(float(each.get_measurement()) for each in figures(drawing))
    assert measured == pytest.approx([20, 30, 30, 40, 50, 90], abs=1e-9)
    assert all(each.get_geometry_block() is not None for each in figures(drawing))
    assert {each.dxf.text for each in figures(drawing)} == {"<>"}


def test_fractions_are_shown_as_printed(tmp_path: Path) -> None:
    drawing, _ = written(flange(), tmp_path, Unit.INCH)
    assert {each.dxf.text for each in figures(drawing)} == {'6"', '2"', '4 1/2" B.C.', '6 HOLES 1/2" DRILL'}


def test_figures_of_the_other_unit_say_so(tmp_path: Path) -> None:
    drawing, _ = written(flange(), tmp_path, Unit.MM)
    assert '6" [in]' in {each.dxf.text for each in figures(drawing)}


def test_an_edge_that_meets_the_outline_does_not_make_it_scaled(tmp_path: Path) -> None:
    """Where an inner edge of no known place ends on the outline, the outline has no corner."""
    print_ = stepped_shaft()
    print_.line((120, 95), (120, 145))
    _drawing, report = written(print_, tmp_path)
    assert report.outlines[0].determined
    assert report.outlines[0].area_mm2 == pytest.approx(SHAFT_AREA)


def test_a_thread_has_the_diameter_that_its_figure_says(tmp_path: Path) -> None:
    """The journal of 20 is threaded: M20 by ISO 261 is 20 over its crests, and drawn so (ISO 6410-1)."""
    print_ = stepped_shaft(wobble_mm=0.1, seed=4)
    print_.dimensions[5] = replace(print_.dimensions[5], kind=Kind.THREAD, text="M20")
    drawing, report = written(print_, tmp_path)
    assert report.outlines[0].determined
    assert report.outlines[0].area_mm2 == pytest.approx(SHAFT_AREA, rel=1e-9)
    assert "M20" in {each.dxf.text for each in figures(drawing)}


@pytest.mark.parametrize(("style", "drawn"), [("limits", 49.98), ("decimal2", 50.0)])
def test_a_size_between_two_limits_is_drawn_at_their_middle(style: str, drawn: float, tmp_path: Path) -> None:
    """50.00 over 49.96: the mean of two limits is what is cut to (common practice, no source); a size that stands on
    the print with its deviations is drawn as it stands."""
    print_ = stepped_shaft(wobble_mm=0.1, seed=4)
    limits = replace(
        print_.dimensions[4], text="Ø50.00\nØ49.96", style=style, upper=Fraction(0), lower=Fraction(-4, 100)
    )
    print_.dimensions[4] = limits
    drawing, report = written(print_, tmp_path)
    assert report.outlines[0].determined
    assert report.outlines[0].area_mm2 == pytest.approx(SHAFT_AREA + 90 * (drawn - 50), rel=1e-9)
    assert (f"{limits.id} is drawn at the middle of its two limits" in report.notes) is (style == "limits")
    (shown,) = (each for each in figures(drawing) if "49.96" in each.dxf.text)
    assert shown.get_measurement() == pytest.approx(drawn, rel=1e-9)


def test_the_outline_follows_a_person_s_word_however_far(tmp_path: Path) -> None:
    """The middle journal, drawn 90 long, is corrected to 100 by hand; a reading so far off would be left out."""
    print_ = stepped_shaft(wobble_mm=0.1, seed=4)
    print_.dimensions[1] = replace(print_.dimensions[1], value=Fraction(100), text="100", confirmed_by="A. Fitter")
    _drawing, report = written(print_, tmp_path)
    assert report.left_out == ()
    assert report.outlines[0].kind is OutlineKind.OUTER
    assert report.outlines[0].area_mm2 == pytest.approx(SHAFT_AREA + 10 * 50, rel=1e-9)


def test_a_persons_word_goes_before_what_was_read(tmp_path: Path) -> None:
    """He says 100 where 90 was read; the length over all, which is surer by itself, is then the one that gives way."""
    print_ = stepped_shaft()
    print_.row("160", Fraction(160), Kind.LINEAR, (140, 60), (60, 60), (220, 60))
    print_.dimensions[1] = replace(
        print_.dimensions[1], value=Fraction(100), text="100", confirmed_by="A. Fitter", confidence=0.9
    )
    drawing, report = written(print_, tmp_path)
    overall = print_.dimensions[-1].id
    assert report.contradicting == (overall,)
    assert report.outlines[0].kind is OutlineKind.OUTER
    assert report.outlines[0].area_mm2 == pytest.approx(SHAFT_AREA + 10 * 50, rel=1e-9)
    (lost,) = (each for each in figures(drawing) if each.dxf.layer == "DIMENSION_NOT_APPLIED")
    assert lost.dxf.text == "160 NOT APPLIED"


def test_disputed_figure_moves_nothing(tmp_path: Path) -> None:
    """The figure says 95 where 90 is drawn: the outline keeps the drawn length and says it is scaled."""
    print_ = stepped_shaft()
    false = replace(print_.dimensions[1], value=Fraction(95), text="95", state=State.DISPUTED)
    print_.dimensions[1] = false
    drawing, report = written(print_, tmp_path)
    (outline,) = drawing.modelspace().query("LWPOLYLINE")
    assert outline.dxf.layer == "SCALED_FROM_PRINT"
    assert polygon(outline).area == pytest.approx(SHAFT_AREA)
    assert (false.id, "it is disputed") in report.left_out
    assert "95 DISPUTED" in drawing.modelspace().query("TEXT")[0].dxf.text
    assert "95" not in {each.dxf.text for each in figures(drawing)}


def test_unproven_figure_moves_nothing_and_says_so(tmp_path: Path) -> None:
    print_ = stepped_shaft()
    print_.dimensions[0] = replace(print_.dimensions[0], value=Fraction(401, 10), text="40.1", state=State.UNPROVEN)
    drawing, _ = written(print_, tmp_path)
    (unproven,) = [each for each in figures(drawing) if each.dxf.layer == "UNPROVEN"]
    assert unproven.dxf.text == "40.1 UNPROVEN"
    assert float(unproven.get_measurement()) == pytest.approx(40.0, abs=0.01)


@pytest.mark.parametrize(
    ("state", "layer", "standing"),
    [(State.UNPROVEN, "UNPROVEN", "UNPROVEN"), (State.AGREED, "DIMENSION_NOT_APPLIED", "NOT APPLIED")],
)
def test_a_figure_that_was_tied_wrongly_is_listed_and_measures_nothing(
    state: State, layer: str, standing: str, tmp_path: Path
) -> None:
    """A 75 that was tied to what is drawn 40 long: a DIMENSION there would say 75 of 40."""
    print_ = stepped_shaft()
    print_.dimensions[0] = replace(print_.dimensions[0], value=Fraction(75), text="75", state=state)
    drawing, _ = written(print_, tmp_path)
    assert not [each for each in figures(drawing) if each.dxf.layer == layer]
    (listed,) = drawing.modelspace().query(f"TEXT[layer=='{layer}']")
    assert listed.dxf.text == f"{print_.dimensions[0].id}: 75 {standing}"
    assert listed.dxf.layer == layer


@pytest.mark.parametrize(("beyond_mm", "shown"), [(0.0, 1), (5.0, 0)])
def test_a_length_without_a_figure_is_stated_from_mark_to_mark_alone(
    beyond_mm: float, shown: int, tmp_path: Path
) -> None:
    """The arrow of a figure that nobody could read ends at an edge, or 5 mm beyond where nothing is."""
    print_ = stepped_shaft()
    unread = replace(print_.dimensions[0], value=None, text="", state=State.UNREAD)
    assert unread.geometry is not None
    (x, y), second = unread.geometry.first, unread.geometry.second
    tied = replace(unread.geometry, first=(x - 10.0 * beyond_mm * math.copysign(1.0, second[0] - x), y))
    print_.dimensions[0] = replace(unread, geometry=tied)
    drawing, _ = written(print_, tmp_path)
    assert len(drawing.modelspace().query("DIMENSION[layer=='SCALED_FROM_PRINT']")) == shown


def test_a_scrap_that_was_taken_for_a_centre_line_is_no_pitch_circle(tmp_path: Path) -> None:
    print_ = stepped_shaft()
    print_.arc((100.0, 90.0), 4.0, 20.0, 60.0, role=Role.CENTRE)
    print_.arc((100.0, 90.0), 15.0, 20.0, 60.0, role=Role.CENTRE)
    drawing, _ = written(print_, tmp_path)
    assert [each.dxf.radius for each in drawing.modelspace().query("ARC[layer=='CENTRE']")] == pytest.approx([15.0])


@pytest.mark.parametrize(
    ("size", "settled"), [(Fraction(30), True), (Fraction(3002, 100), True), (Fraction(31), False)]
)
def test_an_outline_that_an_unproven_figure_speaks_against_is_not_settled(
    size: Fraction, settled: bool, tmp_path: Path
) -> None:
    """A pen draws steps of 30 and 31 as one: the agreed 30 is then no proof of what the other figure measures."""
    print_ = stepped_shaft()
    print_.row(
        f"Ø{float(size):g}\nREAM",
        size,
        Kind.DIAMETER,
        (75.0, 125.0),
        (75.0, 105.0),
        (75.0, 135.0),
        state=State.UNPROVEN,
    )
    _drawing, report = written(print_, tmp_path)
    assert report.outlines[0].determined is settled
    assert any("over REAM is unproven and speaks against it" in note for note in report.notes) is not settled


def test_an_unproven_figure_that_a_scaled_length_meets_within_its_error_speaks_against_nothing(tmp_path: Path) -> None:
    """A step's height is scaled, and the figure of it is not agreed: they differ by less than the pen errs."""
    print_ = stepped_shaft()
    print_.dimensions = [each for each in print_.dimensions if each.text != "Ø30"]
    print_.row("Ø30.2", Fraction(302, 10), Kind.DIAMETER, (75, 125), (75, 105), (75, 135), state=State.UNPROVEN)
    _drawing, report = written(print_, tmp_path)
    assert not report.outlines[0].determined
    assert report.outlines[0].off_percent > 0
    assert not any("speaks against it" in note for note in report.notes)


@pytest.mark.parametrize("best_reading", ["", "2"])
def test_unread_figure_is_scaled_from_the_print(best_reading: str, tmp_path: Path) -> None:
    """A reading that is not good enough is not put beside the measured length."""
    print_ = stepped_shaft()
    print_.dimensions[0] = replace(print_.dimensions[0], value=None, text=best_reading, state=State.UNREAD)
    drawing, _ = written(print_, tmp_path)
    (scaled,) = drawing.modelspace().query("DIMENSION[layer=='SCALED_FROM_PRINT']")
    assert scaled.dxf.text == "<> SCALED"


def test_contradicting_chain_is_left_out_and_named(tmp_path: Path) -> None:
    """40, 90, 30 are agreed and so is 160.5 over all: the least sure does not hold and is named."""
    print_ = stepped_shaft()
    print_.row("160.5", Fraction(321, 2), Kind.LINEAR, (140, 70), (60, 70), (220, 70))
    print_.dimensions[-1] = replace(print_.dimensions[-1], confidence=0.97)
    drawing, report = written(print_, tmp_path)
    assert [name for name, _ in report.left_out] == [print_.dimensions[-1].id]
    assert "0.500 mm" in report.left_out[0][1]
    assert report.contradicting == (print_.dimensions[-1].id,)
    layers = {each.dxf.text: each.dxf.layer for each in figures(drawing)}
    assert layers["160.5 NOT APPLIED"] == "DIMENSION_NOT_APPLIED"


def test_figure_tied_to_the_wrong_edge_is_left_out(tmp_path: Path) -> None:
    """An agreed 30 that was tied to a drawn 90 is not forced on it."""
    print_ = stepped_shaft()
    print_.dimensions[1] = replace(print_.dimensions[1], value=Fraction(30), text="30")
    drawing, report = written(print_, tmp_path)
    assert report.left_out == ((print_.dimensions[1].id, "the edges it was tied to lie at another distance"),)
    assert polygon(drawing.modelspace().query("LWPOLYLINE")[0]).area == pytest.approx(SHAFT_AREA)


@pytest.mark.parametrize(
    ("more", "why"),
    [({"not_to_scale": True}, "no common scale"), ({"known": "", "marked_not_to_scale": True}, "not known")],
)
def test_view_without_a_scale_is_not_redrawn(more: dict[str, object], why: str, tmp_path: Path) -> None:
    print_ = stepped_shaft()
    drawing, report = written(print_, tmp_path, scales=(print_.scale(**more),))
    said = [entity.dxf.text for entity in drawing.modelspace()]
    assert " ".join(said).startswith(NOTHING_DRAWN)
    assert why in said[-1]
    assert (report.outlines, report.views) == ((), ())
    assert why in report.notes[0]


@pytest.mark.parametrize(
    ("witnesses", "stretch", "noted", "drawn"),
    [
        (2, 1.0, False, True),
        (2, 1.02, False, False),
        (1, 1.0, True, True),
        (1, 1.0, False, False),
        (0, 1.0, True, False),
    ],
)
def test_a_scale_that_is_not_proven_settles_nothing_and_says_so(
    witnesses: int, stretch: float, noted: bool, drawn: bool, tmp_path: Path
) -> None:
    """One length fits any scale, and two a scale and a stretch that no paper has; what they carry with the scale note
    is drawn on a layer of its own, and nothing is said of how far its area is off."""
    print_ = stepped_shaft()
    print_.dimensions = [replace(each, state=State.UNPROVEN) for each in print_.dimensions]
    scale = replace(print_.scale(), known="", witnesses=witnesses, y_mm_per_px=print_.y_mm_per_px * stretch)
    note = ScaleWitness(
        "scale note", KnownOf.PART, (0.1, 0.1), (0.001, 0.001), "1 to 1 on the resolution", agrees=noted
    )
    drawing, report = written(print_, tmp_path, scales=(scale,), witnesses=(note,))
    assert [(each.determined, each.area_std_mm2) for each in report.outlines] == [(False, 0.0)] * drawn
    if drawn:
        assert report.outlines[0].area_mm2 == pytest.approx(SHAFT_AREA, rel=1e-3)
        assert {each.dxf.layer for each in drawing.modelspace().query("LWPOLYLINE")} == {SCALE_UNPROVEN}
        assert [each.dxf.text for each in drawing.modelspace().query("TEXT")] == ["VIEW V1: SCALE NOT PROVEN"]
        carriers = "1 length and the scale note carry it" if noted else "2 lengths carry it"
        assert any(f"not proven, {carriers}" in said for said in report.notes)


def test_a_view_whose_figures_fit_no_scale_has_that_of_one_that_it_stands_level_with(tmp_path: Path) -> None:
    print_ = stepped_shaft()
    print_.view = "V2"
    print_.path((240.0, 95.0), (265.0, 95.0), (265.0, 145.0), (240.0, 145.0), closed=True)
    askew = replace(print_.scale("V2"), known="", not_to_scale=True, witnesses=0)
    _, report = written(print_, tmp_path, scales=(print_.scale(), askew))
    (beside,) = (each for each in report.outlines if each.view == "V2")
    assert not beside.determined
    assert beside.area_mm2 == pytest.approx(25.0 * 50.0, rel=1e-3)
    assert "view V2: its figures fit no scale; it has that of view V1" in report.notes


def test_open_outline_is_not_closed_by_force(tmp_path: Path) -> None:
    print_ = stepped_shaft()
    del print_.lines[0]
    print_.lines = [each for each in print_.lines if each.role is not Role.CENTRE]  # it would tell of the other side
    drawing, report = written(print_, tmp_path)
    assert [each.kind for each in report.outlines] == [OutlineKind.PARTIAL]  # the two other steps still close
    assert not report.outlines[0].determined
    assert max(each.area_mm2 for each in report.outlines) == pytest.approx(90 * 50 + 30 * 20)
    marks = drawing.modelspace().query("CIRCLE[layer=='OPEN_END']")
    assert [(each.dxf.center.x, each.dxf.center.y) for each in marks] == [pytest.approx((60.0, 135.0), abs=0.01)]
    (said,) = [note for note in report.notes if "does not close" in note]
    found = re.search(r"60\.00, 135\.00 mm \(pixel (\d+),(\d+)\)", said)
    assert found is not None
    assert (int(found[1]), int(found[2])) == pytest.approx(print_.px((60.0, 135.0)), abs=0.6)


def test_many_open_outlines_are_told_in_one_sentence(tmp_path: Path) -> None:
    """Each end has its ring on the layer; in the unit of the file."""
    print_ = Print()
    for x in (50, 90, 130):
        print_.path((x, 50), (x + 20, 50), (x + 20, 110 + x / 10))
    _drawing, report = written(print_, tmp_path, Unit.INCH)
    (said,) = [note for note in report.notes if "not close" in note]
    assert said.startswith("3 outlines of view V1 do not close; the longest ends at ")
    assert re.findall(r"([\d.]+), ([\d.]+) in \(pixel", said) == [("5.906", "4.843"), ("5.118", "1.969")]
    assert len(report.open_ends) == 6


def test_an_outline_open_all_round_is_never_written_as_closed(tmp_path: Path) -> None:
    """A plate that lacks one side: three lines on their own layer, two ends named."""
    print_ = Print()
    print_.path((50, 50), (150, 50), (150, 110), (50, 110))
    drawing, report = written(print_, tmp_path)
    assert report.outlines == ()
    assert {each.dxf.layer for each in drawing.modelspace()} == {"OPEN_OUTLINE", "OPEN_END"}
    assert len(drawing.modelspace().query("LINE")) == 3
    assert "50.00, 50.00 mm" in report.notes[0]
    assert "50.00, 110.00 mm" in report.notes[0]


def entities_as_text(drawing: Drawing) -> list[str]:
    """Each drawn entity with its points rounded to 1e-6 mm, the same whichever way it runs."""
    texts = []
    for entity in drawing.modelspace().query("LINE ARC CIRCLE LWPOLYLINE"):
        points = [(round(p.x, 6) + 0.0, round(p.y, 6) + 0.0) for p in dxf_path.make_path(entity).flattening(0.01)]
        texts.append(str(min(points, points[::-1])))
    return texts


HAND_DRAWN = {
    "shaft": (stepped_shaft, None), "flange": (flange, None), "bushing": (bushing, None), "gear": (spur_gear, True),
}  # fmt: skip


@pytest.mark.parametrize("name", HAND_DRAWN)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_gap_no_crossing_nothing_twice(name: str, seed: int, tmp_path: Path) -> None:
    """Of every print with a pen's error: closed, valid, each edge once; `written` asks for 0 audit errors."""
    make, gear = HAND_DRAWN[name]
    drawing, _report = written(make(wobble_mm=0.08, seed=seed), tmp_path, gear=agreed_gear() if gear else None)
    outlines = drawing.modelspace().query("LWPOLYLINE")
    for each in outlines:
        assert each.closed
        assert polygon(each).is_valid
        places = [(x, y) for x, y in each.get_points("xy")]
        assert min(math.dist(a, b) for a, b in zip(places, [*places[1:], places[0]], strict=True)) > 1e-6
    texts = entities_as_text(drawing)
    assert len(texts) == len(set(texts))
    assert not drawing.modelspace().query("*[layer=='OPEN_OUTLINE']")


def test_gear_teeth_are_true_and_its_bore_obeys(tmp_path: Path) -> None:
    """Outside diameter (N + 2) / P; bore and keyseat against the gear desk's own closed form."""
    from digitize.gears.bore import keyseat_by_over
    from digitize.gears.teeth.arcs import bore_in_arcs

    drawing, report = written(spur_gear(wobble_mm=0.08, seed=2), tmp_path, Unit.INCH, agreed_gear())
    (teeth,) = drawing.modelspace().query("LWPOLYLINE[layer=='GEAR']")
    assert teeth.closed
    shape = polygon(teeth)
    assert shape.is_valid
    assert 2 * shape.hausdorff_distance(shapely.Point(shape.centroid)) == pytest.approx(4.4, abs=1e-4)
    (bore,) = drawing.modelspace().query("LWPOLYLINE[layer=='INNER_OUTLINE']")
    expected = bore_in_arcs(25.4, keyseat_by_over(25.4, 6.35, 28.575)).area_mm2 / 25.4**2
    assert polygon(bore).area == pytest.approx(expected, rel=2e-4)  # ezdxf flattens by way of Bezier curves
    assert shape.contains(polygon(bore))
    assert shape.centroid.x == pytest.approx(polygon(bore).centroid.x, abs=1e-3)
    assert {each.kind for each in report.outlines} == {OutlineKind.GEAR, OutlineKind.INNER}


@pytest.mark.parametrize(("over", "said"), [("1.1250", True), ("1.1091", False)])
def test_a_keyseat_drawn_deeper_than_the_tables_have_it_is_told(over: str, said: bool, tmp_path: Path) -> None:
    """A 1/4 by 1/8 keyseat in a bore of 1 in: T by the figure on the middle line, and by ANSI B17.1, which has it at
    its side: 1 + 1/8 - (1 - sqrt(1 - 1/16)) / 2 = 1.10912 (MHPC-B17 prints 1.114 with 0.005 of clearance)."""
    print_ = spur_gear()
    print_.dimensions[2] = replace(print_.dimensions[2], text=over, value=Fraction(over))
    for number, name in ((0, "bore"), (1, "key_width")):
        print_.dimensions[number] = replace(print_.dimensions[number], name=name)
    print_.row("1/8", Fraction(1, 8), Kind.LINEAR, (200, 60), name="key_depth")
    drawing, report = written(print_, tmp_path, Unit.INCH, agreed_gear())
    told = [each for each in report.notes if "the keyseat is 1.1250 in from" in each and "have 1.1091 in" in each]
    assert bool(told) is said
    lines = sorted(drawing.modelspace().query("TEXT[layer=='REMARK']"), key=lambda each: -float(each.dxf.insert.y))
    assert " ".join(each.dxf.text for each in lines) == "".join(told)


@pytest.mark.parametrize("word", ["", "By a person's word: whole depth .27in."])
def test_teeth_on_a_persons_word_say_so_under_the_sheet(word: str, tmp_path: Path) -> None:
    drawing, _ = written(spur_gear(), tmp_path, Unit.INCH, replace(agreed_gear(), by_word=word))
    below = " ".join(each.dxf.text for each in drawing.modelspace().query("TEXT[layer=='REMARK']"))
    assert below == word


def test_unproven_teeth_say_so_under_the_sheet(tmp_path: Path) -> None:
    drawing, _ = written(spur_gear(), tmp_path, Unit.INCH, agreed_gear(State.UNPROVEN))
    assert drawing.modelspace().query("TEXT[layer=='REMARK']")[0].dxf.text.startswith("the teeth are unproven: ")


def test_a_hub_with_corners_is_no_keyseat(tmp_path: Path) -> None:
    """The keyseat is written and not drawn: what else is outlined about the centre says nothing of it."""
    print_ = spur_gear()
    for number, name in ((0, "bore"), (1, "key_width")):
        print_.dimensions[number] = replace(print_.dimensions[number], name=name)
    print_.row("1/8", Fraction(1, 8), Kind.LINEAR, (200, 60), name="key_depth")
    print_.arcs[3] = replace(print_.arcs[3], sweep_deg=360.0)
    print_.lines[:3] = [replace(line, role=Role.TABLE) for line in print_.lines[:3]]
    corners = [math.radians(60 * k) for k in range(6)]
    print_.path(*((120 + 20 * math.cos(a), 110 + 20 * math.sin(a)) for a in corners), closed=True)
    _, report = written(print_, tmp_path, Unit.INCH, agreed_gear())
    assert [each.kind for each in report.outlines].count(OutlineKind.INNER) == 2
    assert not [each for each in report.notes if "the keyseat is" in each]


@pytest.mark.parametrize("state", [State.AGREED, State.UNPROVEN])
def test_bore_of_a_gear_drawn_with_its_teeth(state: State, tmp_path: Path) -> None:
    """True teeth replace 42 drawn ones: no length of these is left to the print's scale, and the bore's place is
    settled. Teeth that are unproven replace nothing."""
    drawing, report = written(toothed_gear(wobble_mm=0.05, seed=2), tmp_path, Unit.INCH, agreed_gear(state))
    agreed = state is State.AGREED
    kinds = {each.kind: each.determined for each in report.outlines}
    assert kinds[OutlineKind.INNER] == agreed
    assert (OutlineKind.OUTER in kinds) == (not agreed)
    assert (dict(report.freedom)["V1"] == 0) == agreed
    assert len(drawing.modelspace().query("LWPOLYLINE[layer=='INNER_OUTLINE']")) == agreed
    assert len(drawing.modelspace().query("LINE[layer=='EDGE']")) == 0


def test_a_rim_within_the_roots_stays(tmp_path: Path) -> None:
    """The recess between rim and hub: its circle lies within the roots, and is no part of the teeth."""
    print_ = toothed_gear()
    rim = 0.9 * (2.1 - 0.1157)
    print_.arc((120.0, 110.0), rim * 25.4)
    drawing, report = written(print_, tmp_path, Unit.INCH, agreed_gear())
    circles = [each.dxf.radius for each in drawing.modelspace().query("CIRCLE[layer=='SCALED_FROM_PRINT']")]
    assert circles == [pytest.approx(rim, rel=1e-6)]
    assert dict(report.freedom)["V1"] == 1


def test_a_face_whose_outside_circle_is_broken_at_a_few_drawn_teeth_takes_the_true_ones(tmp_path: Path) -> None:
    print_ = spur_gear()
    print_.arcs = [each for each in print_.arcs if each.role is not Role.CENTRE]
    print_.arcs[0] = replace(print_.arcs[0], start_deg=100.0, sweep_deg=340.0)
    print_.dimensions = []
    drawing, report = written(print_, tmp_path, Unit.INCH, agreed_gear())
    (teeth,) = drawing.modelspace().query("LWPOLYLINE[layer=='GEAR']")
    assert polygon(teeth).centroid.coords[0] == pytest.approx((120.0 / 25.4, 110.0 / 25.4), abs=0.02)
    assert not any("beside the sheet" in note for note in report.notes)


def test_gear_without_a_face_view_stands_beside_the_sheet(tmp_path: Path) -> None:
    drawing, report = written(stepped_shaft(), tmp_path, Unit.MM, agreed_gear())
    (teeth,) = drawing.modelspace().query("LWPOLYLINE[layer=='GEAR']")
    assert polygon(teeth).bounds[0] > 220
    assert teeth not in drawing.groups.get("VIEW_V1")
    assert "beside the sheet" in report.notes[0]


def named(name: str, value: str, kind: Kind = Kind.LINEAR) -> Dimension:
    """An agreed figure in inches that is tied to nothing drawn."""
    quad = ((0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0))
    number = Fraction(value)
    return Dimension(
        name, "A1", None, kind, None, value, number, Unit.INCH, None, None, None, None, State.AGREED, 1.0, quad, (), (),
        name=name,
    )  # fmt: skip


def test_an_undrawn_gear_has_the_keyseat_that_a_standard_tells(tmp_path: Path) -> None:
    """ANSI B17.1 (SHOPREF-B17, seen): a 1 in bore has a 1/4 in key, half of it in the hub, at the side."""
    print_ = stepped_shaft()
    print_.dimensions += [named("bore", "1", Kind.DIAMETER), named("key_width", "1/4"), named("key_depth", "1/8")]
    drawing, _report = written(print_, tmp_path, Unit.MM, agreed_gear())
    teeth, bore = sorted(map(polygon, drawing.modelspace().query("LWPOLYLINE[layer=='GEAR']")), key=lambda p: -p.area)
    assert teeth.contains(bore)
    assert bore.bounds[3] - bore.bounds[1] == pytest.approx(25.4 + 3.175 - 0.4032, abs=1e-3)
    print_.dimensions[-1] = named("key_depth", "1/10")
    drawing, _report = written(print_, tmp_path, Unit.MM, agreed_gear())
    _teeth, bore = sorted(map(polygon, drawing.modelspace().query("LWPOLYLINE[layer=='GEAR']")), key=lambda p: -p.area)
    assert bore.bounds[3] - bore.bounds[1] == pytest.approx(25.4, abs=1e-3)


@pytest.mark.parametrize(
    ("gear", "why"),
    [
        (agreed_gear(State.DISPUTED), "not decided"),
        (replace(agreed_gear(), kind="bevel"), "bevel"),
        (
            replace(agreed_gear(), candidates=(replace(agreed_gear().candidates[0], title="11.37 P"),)),
            "not in the tables",
        ),
    ],
)
def test_undecided_gear_has_no_teeth(gear: GearFinding, why: str, tmp_path: Path) -> None:
    drawing, report = written(spur_gear(), tmp_path, Unit.INCH, gear)
    assert not drawing.modelspace().query("*[layer=='GEAR']")
    assert any(why in note for note in report.notes)


def test_likely_teeth_stand_on_a_layer_that_says_so(tmp_path: Path) -> None:
    drawing, report = written(spur_gear(), tmp_path, Unit.INCH, agreed_gear(State.UNPROVEN))
    assert not drawing.modelspace().query("*[layer=='GEAR']")
    (teeth,) = drawing.modelspace().query("LWPOLYLINE[layer=='GEAR_UNPROVEN']")
    assert polygon(teeth).is_valid
    assert any("unproven" in note for note in report.notes)
    assert not next(each for each in report.outlines if each.kind is OutlineKind.GEAR).determined


def test_bytes_do_not_depend_on_the_run(tmp_path: Path) -> None:
    """Written again by another process with another hash seed, the file is the same."""
    written(flange(wobble_mm=0.1), tmp_path)
    again = tmp_path / "again"
    again.mkdir()
    code = (
        "import sys; from pathlib import Path; sys.path.insert(0, sys.argv[2])\n"
        "from test_part import written, flange\n"
        "written(flange(wobble_mm=0.1), Path(sys.argv[1]))"
    )
    here = Path(__file__)
    subprocess.run(
        [sys.executable, "-c", code, str(again), str(here.parent)], check=True, cwd=here.parents[3],
        env={"PYTHONHASHSEED": "77", "PYTHONPATH": str(here.parents[3]), "PATH": "/usr/bin:/bin"},
    )  # fmt: skip
    assert (again / "part.dxf").read_bytes() == (tmp_path / "part.dxf").read_bytes()


def wedge(wobble_mm: float = 0.0) -> Print:
    """A plate 100 by 60 with one corner cut from 60 along its top at 30 degrees to the level."""
    print_ = Print(wobble_mm=wobble_mm, seed=1)
    drop = 40 * math.tan(math.radians(30))
    print_.path((50, 50), (150, 50), (150, 110 - drop), (110, 110), (50, 110), closed=True)
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 40), (50, 40), (150, 40))
    print_.row("60", Fraction(60), Kind.LINEAR, (40, 80), (40, 50), (40, 110))
    print_.row("60", Fraction(60), Kind.LINEAR, (80, 120), (50, 120), (110, 120))
    tip = (110 + 20 * math.cos(math.radians(-30)), 110 + 20 * math.sin(math.radians(-30)))
    print_.row("30°", Fraction(30), Kind.ANGLE, (131, 104), (130, 110), tip, unit=Unit.DEGREE)
    last = print_.dimensions[-1]
    assert last.geometry is not None
    print_.dimensions[-1] = replace(last, geometry=replace(last.geometry, size=29.4))
    return print_


@pytest.mark.parametrize("wobble_mm", [0.0, 0.1])
def test_angle_shapes_the_outline(wobble_mm: float, tmp_path: Path) -> None:
    """Area by hand: the plate less a triangle of 40 by 40 tan 30."""
    drawing, report = written(wedge(wobble_mm), tmp_path)
    assert report.left_out == ()
    assert report.outlines[0].determined
    assert report.outlines[0].area_mm2 == pytest.approx(6000 - 800 * math.tan(math.radians(30)), abs=1e-6)
    (angle,) = [each for each in figures(drawing) if each.dimtype == 5]
    assert float(angle.get_measurement()) == pytest.approx(30.0)


def test_angle_far_from_the_drawn_one_is_left_out(tmp_path: Path) -> None:
    print_ = wedge()
    print_.dimensions[-1] = replace(print_.dimensions[-1], value=Fraction(45), text="45°")
    _, report = written(print_, tmp_path)
    assert "no two drawn sides" in report.left_out[0][1]
    assert not report.outlines[0].determined


def test_tangle_is_left_out_and_named(tmp_path: Path) -> None:
    print_ = stepped_shaft()
    for i in range(90):
        print_.line((20.0 + 2 * i, 20.0), (20.0 + 2 * i, 200.0))
        print_.line((20.0, 20.0 + 2 * i), (200.0, 20.0 + 2 * i))
    _, report = written(print_, tmp_path)
    assert report.outlines == ()
    assert "too many strokes" in report.notes[0]
