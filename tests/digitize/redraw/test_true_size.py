"""The part on paper at true size, and as R12: read back by other libraries (ezdxf, pypdfium2, the XML parser)."""

import math
import xml.etree.ElementTree as ElementTree
from fractions import Fraction
from pathlib import Path

import ezdxf
import numpy as np
import pypdfium2
import pytest
from hand_drawn import PX_PER_MM, Print, agreed_gear, blank_sheet, flange, spur_gear, stepped_shaft
from shapely import MultiLineString
from shapely.affinity import affine_transform, translate

from digitize.lettering.text import Kind, Unit
from digitize.redraw.part import write_part
from digitize.redraw.report import PlacedView
from digitize.redraw.writing.old_dxf import rewrite_r12
from digitize.redraw.writing.true_size import (
    BAR_MM,
    LARGEST_PAGE_MM,
    MARGIN_MM,
    over_print,
    true_size,
    write_pdf,
    write_svg,
)
from digitize.report.frame import sheet_frame
from digitize.report.write import ON_CHECK_PRINT
from digitize.strokes.primitives import Role

SVG = "{http://www.w3.org/2000/svg}"
PRINTS = {"shaft": stepped_shaft, "flange": flange, "gear": spur_gear}


def part(folder: Path, name: str = "shaft", unit: Unit = Unit.MM) -> Path:
    print_ = PRINTS[name]()
    reconciled = print_.reconciled()
    gear = agreed_gear() if name == "gear" else None
    path = folder / "part.dxf"
    write_part(path, print_.strokes(), reconciled, gear, sheet_frame(blank_sheet(), reconciled), unit)
    return path


def redrawn(folder: Path, print_: Print) -> tuple[Path, tuple[PlacedView, ...]]:
    """A print's `part.dxf` and the views that it holds."""
    reconciled, path = print_.reconciled(), folder / "part.dxf"
    frame = sheet_frame(blank_sheet(), reconciled)
    return path, write_part(path, print_.strokes(), reconciled, None, frame, Unit.MM).views


def shapes_extent(path: Path) -> tuple[float, float]:
    """Width and height of what is cut, in the file's unit, by ezdxf."""
    from ezdxf import bbox

    box = bbox.extents(ezdxf.readfile(path).modelspace().query("LINE ARC CIRCLE LWPOLYLINE POLYLINE"), fast=False)
    return box.size.x, box.size.y


@pytest.mark.parametrize("unit", [Unit.MM, Unit.INCH])
def test_svg_has_the_size_of_the_part_in_millimetres(tmp_path: Path, unit: Unit) -> None:
    path = part(tmp_path, "shaft", unit)
    page = true_size(path, "Test.")
    assert page is not None
    write_svg(tmp_path / "part.svg", page)
    root = ElementTree.parse(tmp_path / "part.svg").getroot()
    assert root.get("width") == f"{page.width_mm:.4f}mm"
    assert [float(v) for v in str(root.get("viewBox")).split()][2:] == pytest.approx(
        [page.width_mm, page.height_mm], abs=1e-3
    )
    every = [line.get("points", "").split() for line in root.iter(f"{SVG}polyline")]
    lines = every[: len(page.lines)] + every[len(every) - len(page.chains) :]  # the checking bar stands between
    points = np.array([[float(v) for v in point.split(",")] for line in lines for point in line])
    width, height = (size * (25.4 if unit is Unit.INCH else 1) for size in shapes_extent(path))
    assert np.ptp(points, axis=0) == pytest.approx([width, height], abs=0.02)


def test_pdf_page_is_as_large_as_it_says_and_its_bar_is_a_hundred_millimetres(tmp_path: Path) -> None:
    page = true_size(part(tmp_path), "Test.")
    assert page is not None
    write_pdf(tmp_path / "part.pdf", page)
    document = pypdfium2.PdfDocument(tmp_path / "part.pdf")
    assert [side * 25.4 / 72 for side in document[0].get_size()] == pytest.approx(
        [page.width_mm, page.height_mm], abs=0.01
    )
    picture = np.asarray(document[0].render(scale=300 / 72, grayscale=True).to_pil())
    document.close()
    row = round((page.height_mm - MARGIN_MM) / 25.4 * 300)
    dark = np.flatnonzero(picture[row - 1 : row + 2].min(axis=0) < 128)
    assert (dark[-1] - dark[0]) / 300 * 25.4 == pytest.approx(BAR_MM[Unit.MM] + 0.25, abs=0.2)


@pytest.mark.parametrize(("part_per_paper", "x_shrink", "y_shrink"), [(1.0, 1.0, 1.0), (2.0, 0.988, 1.004)])
def test_what_is_laid_over_the_print_covers_it_though_its_paper_shrank(
    tmp_path: Path, part_per_paper: float, x_shrink: float, y_shrink: float
) -> None:
    print_ = stepped_shaft(part_per_paper=part_per_paper, x_shrink=x_shrink, y_shrink=y_shrink)
    page = over_print(*redrawn(tmp_path, print_), 1 / PX_PER_MM, "Test.")
    assert page is not None
    drawn = MultiLineString([(each.start, each.end) for each in print_.lines if each.role is Role.VISIBLE])
    print_mm = affine_transform(drawn, [1 / PX_PER_MM, 0, 0, -1 / PX_PER_MM, 0, 0])
    laid = MultiLineString(page.lines)
    dx, dy = (a - b for a, b in zip(print_mm.bounds[:2], laid.bounds[:2], strict=True))
    assert translate(laid, dx, dy).hausdorff_distance(print_mm) < 0.02


def test_a_part_larger_than_a_page_can_be_is_left_out(tmp_path: Path) -> None:
    drawing = ezdxf.new(units=ezdxf.units.MM)
    drawing.modelspace().add_line((0.0, 0.0), (LARGEST_PAGE_MM, 0.0))
    drawing.saveas(tmp_path / "part.dxf")
    assert true_size(tmp_path / "part.dxf", "Test.") is None


def test_a_centre_line_is_drawn_as_a_chain_and_the_ring_at_a_gap_not_at_all(tmp_path: Path) -> None:
    """On paper a solid line through a hole is an edge, and a ring is a hole. Dash, gap, dot, gap: ISO 128-2."""
    drawing = ezdxf.readfile(part(tmp_path))
    centres = drawing.modelspace().query("*[layer=='CENTRE']")
    shapes = drawing.modelspace().query("LINE ARC CIRCLE LWPOLYLINE")
    drawing.modelspace().add_circle((60.0, 135.0), 0.8, dxfattribs={"layer": "OPEN_END"})
    drawing.saveas(tmp_path / "part.dxf")
    page = true_size(tmp_path / "part.dxf", "Test.")
    assert page is not None
    assert len(page.chains) == len(centres) > 0
    assert len(page.lines) == len(shapes) - len(centres)
    write_svg(tmp_path / "part.svg", page)
    root = ElementTree.parse(tmp_path / "part.svg").getroot()
    (chained,) = (group for group in root.iter(f"{SVG}g") if group.get("stroke-dasharray"))
    assert [float(each) for each in str(chained.get("stroke-dasharray")).split()] == [6.0, 0.75, 0.125, 0.75]
    assert len(list(chained)) == len(page.chains)


@pytest.mark.parametrize("paper_mm_per_px", [0.01, 0.1])
def test_the_words_stand_within_the_page_between_bar_and_part(tmp_path: Path, paper_mm_per_px: float) -> None:
    print_ = stepped_shaft()
    page = over_print(*redrawn(tmp_path, print_), paper_mm_per_px, ON_CHECK_PRINT)
    assert page is not None
    write_pdf(tmp_path / "part.pdf", page)
    document = pypdfium2.PdfDocument(tmp_path / "part.pdf")
    words = document[0].get_textpage()
    boxes = np.array([words.get_rect(n) for n in range(words.count_rects())]) * 25.4 / 72
    assert " ".join(words.get_text_bounded().split()).endswith("check the bar with a rule first.")
    words.close()
    document.close()
    assert boxes[:, 2].max() <= page.width_mm - MARGIN_MM
    assert boxes[:, 1].min() > MARGIN_MM + 3.0
    assert boxes[:, 3].max() < min(y for line in page.lines for _, y in line)


def test_what_has_no_length_is_not_drawn(tmp_path: Path) -> None:
    drawing = ezdxf.new()
    drawing.modelspace().add_lwpolyline([(5.0, 5.0)])
    drawing.modelspace().add_line((0.0, 0.0), (40.0, 0.0))
    drawing.saveas(tmp_path / "part.dxf")
    page = true_size(tmp_path / "part.dxf", "At true size.")
    assert page is not None
    assert len(page.lines) == 1
    write_pdf(tmp_path / "part.pdf", page)


def test_nothing_drawn_gives_no_page(tmp_path: Path) -> None:
    ezdxf.new("R2010").saveas(tmp_path / "empty.dxf")
    assert true_size(tmp_path / "empty.dxf", "Test.") is None


@pytest.mark.parametrize("name", PRINTS)
def test_r12_holds_the_same_shapes_as_lines_arcs_and_polylines_only(tmp_path: Path, name: str) -> None:
    path = part(tmp_path, name)
    before = shapes_extent(path)
    left_out = rewrite_r12(path)
    old = ezdxf.readfile(path)
    assert old.dxfversion == "AC1009"
    assert not old.audit().errors
    assert {entity.dxftype() for entity in old.modelspace()} <= {"LINE", "ARC", "POLYLINE"}
    assert shapes_extent(path) == pytest.approx(before, abs=1e-6)
    assert left_out > 0  # its figures


def test_a_circle_becomes_two_half_arcs_that_meet(tmp_path: Path) -> None:
    drawing = ezdxf.new("R2010")
    drawing.modelspace().add_circle((3, 4), 2)
    drawing.saveas(tmp_path / "c.dxf")
    rewrite_r12(tmp_path / "c.dxf")
    arcs = list(ezdxf.readfile(tmp_path / "c.dxf").modelspace().query("ARC"))
    assert [(arc.dxf.start_angle, arc.dxf.end_angle) for arc in arcs] == [(0, 180), (180, 360)]
    assert math.dist(arcs[0].end_point, arcs[1].start_point) < 1e-9


def test_the_same_drawing_gives_the_same_bytes(tmp_path: Path) -> None:
    page = true_size(part(tmp_path), "Test.")
    assert page is not None
    for name in ("a", "b"):
        write_pdf(tmp_path / f"{name}.pdf", page)
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_over_the_print_edges_lie_where_the_pen_drew_them(tmp_path: Path) -> None:
    """A square and a hole of 99.6 and 29.9, of which figures say 100 and 30 at arrowheads drawn so far apart: the page
    has them as drawn."""
    print_, share = Print(), 0.996
    low, high = 100.0 - 50.0 * share, 100.0 + 50.0 * share
    print_.path((low, low), (high, low), (high, high), (low, high), closed=True)
    hole = print_.arc((100.0, 100.0), 15.0 * share)
    print_.row("100", Fraction(100), Kind.LINEAR, (100.0, 40.0), (50.0, 40.0), (150.0, 40.0))
    print_.row("Ø30", Fraction(30), Kind.DIAMETER, (100.0, 170.0), (85.0, 100.0), (115.0, 100.0), arcs=(hole,))
    path, views = redrawn(tmp_path, print_)
    page = over_print(path, views, 1 / PX_PER_MM, "")
    assert page is not None
    widths = sorted(float(np.ptp(np.array(line)[:, 0])) for line in page.lines if len(line) > 2)
    assert widths == pytest.approx([30.0 * share, 100.0 * share], abs=0.02)
