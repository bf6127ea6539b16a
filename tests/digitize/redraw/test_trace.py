"""`trace.dxf`: what was drawn, where it was drawn."""

from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from ezdxf import bbox
from hand_drawn import HEIGHT_PX, Print, blank_sheet, flange, stepped_shaft

from calibrate.sheet import LevelSheet, Resolution, ResolutionStatus, apply_homography
from digitize.dimensions.table import Reconciled, Stretched
from digitize.lettering.text import Unit
from digitize.redraw.trace import write_trace
from digitize.redraw.writing.old_dxf import rewrite_r12
from digitize.report.frame import Length, other_scales, sheet_frame
from digitize.strokes.primitives import Arrowhead, Line, Role, Strokes


def traced(print_: Print, folder: Path, unit: Unit = Unit.MM, sheet: LevelSheet | None = None):  # type: ignore[no-untyped-def]
    reconciled = print_.reconciled()
    frame = sheet_frame(sheet or blank_sheet(), reconciled)
    write_trace(folder / "trace.dxf", print_.strokes(), frame, unit, other_scales(reconciled))
    drawing = ezdxf.readfile(folder / "trace.dxf")
    assert not drawing.audit().errors
    return drawing, frame


def test_layers_line_types_and_units(tmp_path: Path) -> None:
    drawing, _ = traced(flange(), tmp_path, Unit.INCH)
    assert drawing.dxfversion == "AC1024"  # R2010
    assert drawing.header["$INSUNITS"] == 1
    assert drawing.header["$MEASUREMENT"] == 0
    assert drawing.layers.get("CENTRE").dxf.linetype == "CENTER"
    assert drawing.layers.get("VISIBLE").dxf.lineweight == 2 * drawing.layers.get("CENTRE").dxf.lineweight
    circles = drawing.modelspace().query("CIRCLE[layer=='VISIBLE']")
    assert sorted(c.dxf.radius * 2 for c in circles) == pytest.approx([0.5] * 6 + [2.0, 6.0])


@pytest.mark.parametrize("old", [False, True])
def test_header_holds_the_extents_of_what_is_drawn(tmp_path: Path, old: bool) -> None:
    drawing, _ = traced(flange(), tmp_path)
    if old:
        rewrite_r12(tmp_path / "trace.dxf")
        drawing = ezdxf.readfile(tmp_path / "trace.dxf")
    low, high = (np.array(drawing.header[name])[:2] for name in ("$EXTMIN", "$EXTMAX"))
    drawn = bbox.extents(drawing.modelspace())
    assert low == pytest.approx(np.array(drawn.extmin)[:2], abs=0.5)
    assert high == pytest.approx(np.array(drawn.extmax)[:2], abs=0.5)


def test_file_is_in_the_frame_of_pixel_to_mm(tmp_path: Path) -> None:
    """A source pixel taken through the homography lands on the line's end in the file, through a turned sheet."""
    turn = np.radians(2.0)
    level_from_working = np.array(
        [[np.cos(turn), -np.sin(turn), 40.0], [np.sin(turn), np.cos(turn), -60.0], [0.0, 0.0, 1.0]]
    )
    print_ = stepped_shaft(x_shrink=0.99, y_shrink=0.995)
    drawing, frame = traced(print_, tmp_path, sheet=blank_sheet(level_from_working=level_from_working))
    start_level = np.array([print_.lines[0].start])
    start_source = apply_homography(np.linalg.inv(level_from_working), start_level)
    start = drawing.modelspace().query("LINE")[0].dxf.start
    assert (start.x, start.y) == pytest.approx(apply_homography(frame.pixel_to_mm, start_source)[0])
    assert (start.x, start.y) == pytest.approx((60.0, 135.0))


def test_origin_is_the_lower_left_corner() -> None:
    frame = sheet_frame(blank_sheet(), stepped_shaft().reconciled())
    assert frame.level_to_mm(np.array([[-0.5, HEIGHT_PX - 0.5]])) == pytest.approx(np.zeros((1, 2)))


def test_circles_stay_circles_on_shrunken_paper(tmp_path: Path) -> None:
    drawing, _ = traced(flange(x_shrink=0.988, y_shrink=1.0), tmp_path)
    radii = [c.dxf.radius for c in drawing.modelspace().query("CIRCLE[layer=='VISIBLE']")]
    assert max(radii) == pytest.approx(76.2, rel=1e-4)


def test_arc_keeps_its_ends(tmp_path: Path) -> None:
    print_ = Print()
    print_.arc((100.0, 100.0), 30.0, 350.0, 40.0)
    drawing, _ = traced(print_, tmp_path)
    (arc,) = drawing.modelspace().query("ARC")
    assert (arc.start_point.x, arc.start_point.y) == pytest.approx((129.544, 94.791), abs=1e-3)
    assert (arc.end_point.x, arc.end_point.y) == pytest.approx((125.981, 115.0), abs=1e-3)


@pytest.mark.parametrize(
    ("form", "kind"), [("filled", "SOLID"), ("open", "LWPOLYLINE"), ("blank", "LWPOLYLINE"), ("dot", "CIRCLE")]
)
def test_arrowheads(form: str, kind: str, tmp_path: Path) -> None:
    head = Arrowhead((1000.0, 1000.0), 90.0, 30.0, form, line=0)
    strokes = Strokes((Line((1000.0, 1400.0), (1000.0, 1000.0), 2.0, role=Role.LEADER),), (), (head,))
    frame = sheet_frame(blank_sheet(), stepped_shaft().reconciled())
    write_trace(tmp_path / "t.dxf", strokes, frame, Unit.MM)
    (entity,) = ezdxf.readfile(tmp_path / "t.dxf").modelspace().query(kind)
    assert entity.dxf.layer == "LEADER"
    if form == "filled":
        assert (entity.dxf.vtx0.x, entity.dxf.vtx0.y) == pytest.approx((100.05, 109.95))
        assert entity.dxf.vtx1.y == pytest.approx(109.95 - 3.0)


def test_a_tick_is_its_own_stroke_and_a_dot_of_two_dimensions_one_circle(tmp_path: Path) -> None:
    heads = [Arrowhead((500.0, 500.0), angle, 30.0, form) for form in ("tick", "dot") for angle in (0.0, 180.0)]
    frame = sheet_frame(blank_sheet(), stepped_shaft().reconciled())
    write_trace(tmp_path / "t.dxf", Strokes((), (), tuple(heads)), frame, Unit.MM)
    (entity,) = ezdxf.readfile(tmp_path / "t.dxf").modelspace()
    assert entity.dxftype() == "CIRCLE"
    assert entity.dxf.radius == pytest.approx(3.0)


def test_no_scale_and_no_resolution_is_a_trace_in_pixels(tmp_path: Path) -> None:
    unknown = replace(blank_sheet(), resolution=Resolution(ResolutionStatus.UNKNOWN, None, None, "no figure"))
    frame = sheet_frame(unknown, Reconciled((), (), Unit.MM, {}))
    assert frame.length is Length.PIXEL
    write_trace(tmp_path / "t.dxf", stepped_shaft().strokes(), frame, Unit.INCH)
    drawing = ezdxf.readfile(tmp_path / "t.dxf")
    assert drawing.header["$INSUNITS"] == 0
    assert drawing.modelspace().query("LINE")[0].dxf.start.x == pytest.approx(600.0)


def test_paper_without_a_scale_is_freed_of_a_stretch_that_circles_tell() -> None:
    told = Reconciled((), (), Unit.MM, {}, stretch=Stretched(-0.6, 0.01, "circles"))
    frame = sheet_frame(blank_sheet(), told)
    assert frame.length is Length.PAPER_MM
    assert frame.x_mm_per_px / frame.y_mm_per_px == pytest.approx(0.994)
    assert frame.x_mm_per_px * frame.y_mm_per_px == pytest.approx(blank_sheet().paper_mm_per_px ** 2)
    open_ = replace(told, stretch=Stretched(-0.6, 0.5, "dimensions", decided=False))
    even = sheet_frame(blank_sheet(), open_)
    assert even.x_mm_per_px == even.y_mm_per_px


def test_view_at_another_scale_gets_a_note(tmp_path: Path) -> None:
    print_ = stepped_shaft()
    detail = replace(print_.scale(), view="V2", x_mm_per_px=0.05, y_mm_per_px=0.05)
    strokes = replace(print_.strokes(), views=(*print_.strokes().views, replace(print_.strokes().views[0], id="V2")))
    reconciled = replace(print_.reconciled(), scales=(print_.scale(), detail))
    frame = sheet_frame(blank_sheet(), reconciled)
    write_trace(tmp_path / "t.dxf", strokes, frame, Unit.MM, other_scales(reconciled))
    (note,) = ezdxf.readfile(tmp_path / "t.dxf").modelspace().query("TEXT")
    assert "V2" in note.dxf.text
    assert "0.5000" in note.dxf.text


def test_nothing_drawn(tmp_path: Path) -> None:
    frame = sheet_frame(blank_sheet(), Reconciled((), (), Unit.MM, {}))
    write_trace(tmp_path / "t.dxf", Strokes(), frame, Unit.MM)
    drawing = ezdxf.readfile(tmp_path / "t.dxf")
    assert not drawing.audit().errors
    assert len(drawing.modelspace()) == 0


def test_edges_of_tape_lie_on_a_layer_of_their_own(tmp_path: Path) -> None:
    edge = Line((400.0, 300.0), (700.0, 340.0), 4.0, role=Role.TAPE)
    strokes = replace(flange().strokes(), laid_on=(edge,))
    frame = sheet_frame(blank_sheet(), flange().reconciled())
    write_trace(tmp_path / "trace.dxf", strokes, frame, Unit.MM)
    (line,) = ezdxf.readfile(tmp_path / "trace.dxf").modelspace().query("*[layer=='TAPE']")
    assert (line.dxf.start[0], line.dxf.start[1]) == pytest.approx(frame.point(edge.start))
    assert (line.dxf.end[0], line.dxf.end[1]) == pytest.approx(frame.point(edge.end))
