"""Hatching, title block and tables, degrees of freedom and figures in excess, as ezdxf and shapely read them back."""

import math
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import ezdxf
import pytest
import shapely
from ezdxf.document import Drawing
from hand_drawn import HEIGHT_PX, Print, blank_sheet, bushing, stepped_shaft

from digitize.dimensions.table import State
from digitize.lettering.text import Kind, Reading, Text, TextBlock, Unit
from digitize.redraw.part import write_part
from digitize.redraw.report import PartReport
from digitize.redraw.solving.drawn_views import part_frame
from digitize.redraw.writing.dimensioned import TEXT_MM
from digitize.report.frame import Length, sheet_frame
from digitize.strokes.primitives import Line, Role, Strokes, View

LEFT_PX, TOP_PX = 2000.0, 1800.0
"""Upper left corner of a title block of 90 by 20 mm of paper."""
WIDE_PX, HIGH_PX = 900.0, 200.0


def written(print_: Print, folder: Path, strokes: Strokes | None = None, *texts: Text) -> tuple[Drawing, PartReport]:
    reconciled = replace(print_.reconciled(), title_block={"drawing_number": "B-335", "scale": "FULL SIZE"})
    frame = sheet_frame(blank_sheet(), reconciled)
    path = folder / "part.dxf"
    report = write_part(path, strokes or print_.strokes(), reconciled, None, frame, Unit.MM, texts)
    drawing = ezdxf.readfile(path)
    assert not drawing.audit().errors
    return drawing, report


def test_cut_faces_are_hatched_as_the_print_is(tmp_path: Path) -> None:
    """The bushing's hatch lines run at 45 degrees, 9 mm apart along x: 9 / sqrt 2 across themselves."""
    drawing, _ = written(bushing(), tmp_path)
    hatches = drawing.modelspace().query("HATCH")
    cuts = drawing.modelspace().query("LWPOLYLINE[layer=='CUT_OUTLINE']")
    assert len(hatches) == len(cuts) == 2
    for hatch, cut in zip(hatches, cuts, strict=True):
        assert hatch.dxf.layer == "HATCH"
        boundary = shapely.Polygon([(x, y) for x, y, _ in hatch.paths.paths[0].vertices])
        assert boundary.equals_exact(shapely.Polygon(cut.get_points("xy")), 1e-9)
        (line,) = hatch.pattern.lines
        assert line.angle == pytest.approx(45.0, abs=0.01)
        assert math.hypot(*line.offset) == pytest.approx(9 / math.sqrt(2), rel=1e-3)


def titled(print_: Print) -> Strokes:
    """A print's strokes with a title block of two sides and one rule; the frame of the sheet is its other two sides."""
    strokes = print_.strokes()
    right, foot, middle = LEFT_PX + WIDE_PX, TOP_PX + HIGH_PX, TOP_PX + HIGH_PX / 2
    corners = [(LEFT_PX, TOP_PX), (right, TOP_PX), (right, foot), (LEFT_PX, foot)]
    sides = [(corners[0], corners[1]), (corners[3], corners[0]), ((LEFT_PX, middle), (right, middle))]
    frame = [((right, 100.0), (right, foot)), ((100.0, foot), (right, foot)), ((100.0, 100.0), (right, 100.0))]
    lines = tuple(Line(a, b, 4.0, role=Role.TABLE, view="T1") for a, b in sides)
    lines += tuple(Line(a, b, 4.0, role=Role.BORDER) for a, b in frame)
    title = View("T1", "title_block", (LEFT_PX, TOP_PX, right, foot))
    return replace(strokes, lines=(*strokes.lines, *lines), views=(*strokes.views, title))


def lettered(words: str, x: float, y: float) -> Text:
    quad = ((x, y), (x + 300.0, y), (x + 300.0, y + 35.0), (x, y + 35.0))
    return Text(TextBlock(quad, 0.0, 35.0), (Reading(words, 0.99),) if words else ())


def test_title_block_is_a_block_with_its_fields(tmp_path: Path) -> None:
    print_ = stepped_shaft()
    inside, unread = lettered("DRG. NO. B-335", LEFT_PX + 20, TOP_PX + 30), lettered("", LEFT_PX + 20, TOP_PX + 130)
    drawing, _ = written(print_, tmp_path, titled(print_), inside, unread, lettered("ELSEWHERE", 100, 100))
    (insert,) = drawing.modelspace().query("INSERT")
    assert insert.dxf.name == "TITLE_BLOCK"
    foot = (LEFT_PX + 0.5) / 10, (HEIGHT_PX - 0.5 - TOP_PX - HIGH_PX) / 10
    assert (insert.dxf.insert.x, insert.dxf.insert.y) == pytest.approx(foot, abs=1e-6)
    block = drawing.blocks["TITLE_BLOCK"]
    assert [each.dxf.text for each in block.query("TEXT")] == ["DRG. NO. B-335", "?"]
    ends = [(p.x, p.y) for line in block.query("LINE") for p in (line.dxf.start, line.dxf.end)]
    assert len(ends) == 2 * 5
    assert (max(x for x, _ in ends), max(y for _, y in ends)) == pytest.approx((WIDE_PX / 10, HIGH_PX / 10), abs=0.31)
    assert {each.dxf.tag: each.dxf.text for each in insert.attribs} == {
        "DRAWING_NUMBER": "B-335", "SCALE": "FULL SIZE",
    }  # fmt: skip
    assert {each.dxf.height for each in insert.attribs} == {TEXT_MM}  # or the sheet's extents would grow by them
    assert drawing.modelspace().query("LINE[layer=='TABLE']").first is None


def test_notes_stand_where_they_are_and_sizes_are_none(tmp_path: Path) -> None:
    """What is hardly read is a question mark: a wrong word would be handed on."""
    print_ = stepped_shaft()
    note, size = lettered("BREAK ALL SHARP EDGES", 100, 1900), lettered("3 1/2", 100, 1960)
    doubted = replace(lettered("FINISH ALL OVER", 100, 1800), readings=(Reading("FINISH ALL OVER", 0.6),))
    drawing, _ = written(print_, tmp_path, titled(print_), note, size, doubted)
    notes = drawing.modelspace().query("TEXT[layer=='NOTE']")
    assert [each.dxf.text for each in notes] == ["BREAK ALL SHARP EDGES", "?"]
    assert (notes[0].dxf.insert.x, notes[0].dxf.insert.y) == pytest.approx(
        ((100 + 0.5) / 10, (HEIGHT_PX - 0.5 - 1935) / 10)
    )


def test_words_stand_in_the_middle_of_a_block_that_holds_a_rule(tmp_path: Path) -> None:
    """Letters 35 px high in a block of 105, since the rule beside them was found with them."""
    print_, (x, y) = stepped_shaft(), (LEFT_PX + 20, TOP_PX + 10)
    quad = ((x, y), (x + 300.0, y), (x + 300.0, y + 105.0), (x, y + 105.0))
    tall = Text(TextBlock(quad, 0.0, 35.0), (Reading("BRASS", 0.99),))
    drawing, _ = written(print_, tmp_path, titled(print_), tall)
    (words,) = drawing.blocks["TITLE_BLOCK"].query("TEXT")
    assert words.dxf.insert.y == pytest.approx((TOP_PX + HIGH_PX - (y + 70.0)) / 10)


@pytest.mark.parametrize(
    ("believed", "state", "told"),
    [
        ("DIAMETRAL PITCH 8/10", State.AGREED, "8/10"),  # 811 was seen first: no gear has such a pitch
        ("DIAMETRAL PITCH 12", State.AGREED, "12"),  # by a person
        ("FACE 1 8/10", State.AGREED, "1 8/10"),  # a reading of its end is not all of it
        ("DIAMETRAL PITCH 8/10", State.UNREAD, "?"),
    ],
)
def test_a_cell_says_what_its_row_of_the_table_says(believed: str, state: State, told: str, tmp_path: Path) -> None:
    print_, at = stepped_shaft(), (LEFT_PX + 20, TOP_PX + 30)
    cell = replace(lettered("811", *at), readings=(Reading("811", 0.6), Reading("8/10", 0.37)))
    own = print_.reconciled()
    row = replace(own.dimensions[0], kind=Kind.GEAR_DATA, text=believed, state=state, quad_px=cell.block.quad)
    believing = replace(own, dimensions=(*own.dimensions, replace(row, id="T1.1", geometry=None)))
    frame = sheet_frame(blank_sheet(), believing)
    write_part(tmp_path / "part.dxf", titled(print_), believing, None, frame, Unit.MM, [cell])
    (words,) = ezdxf.readfile(tmp_path / "part.dxf").blocks["TITLE_BLOCK"].query("TEXT")
    assert words.dxf.text == told


def test_a_dimensioned_shaft_has_no_freedom_left(tmp_path: Path) -> None:
    _, report = written(stepped_shaft(wobble_mm=0.05, seed=3), tmp_path)
    assert report.freedom == (("V1", 0),)
    assert not [note for note in report.notes if "degrees of freedom" in note]


def test_what_is_left_free_is_counted_and_told(tmp_path: Path) -> None:
    """Without the last length and the first diameter two lengths are left to the print."""
    print_ = stepped_shaft(wobble_mm=0.05, seed=3)
    del print_.dimensions[3], print_.dimensions[2]
    _, report = written(print_, tmp_path)
    assert report.freedom == (("V1", 2),)
    said = (
        "view V1: 2 lengths are left to the print's own scale (degrees of freedom): width 30.016 ± 0.279 mm from x 190"
    )
    assert any(note.startswith(said) and ", height 10.057 ± " in note for note in report.notes)


def test_a_figure_that_repeats_others_is_in_excess(tmp_path: Path) -> None:
    """The length over all, 40 + 90 + 30, says nothing new: it holds, and is named."""
    print_ = stepped_shaft(wobble_mm=0.05, seed=3)
    print_.row("160", Fraction(160), Kind.LINEAR, (140, 60), (60, 60), (220, 60))
    print_.dimensions[-1] = replace(print_.dimensions[-1], confidence=0.98)
    _, report = written(print_, tmp_path)
    name = print_.dimensions[-1].id
    assert report.in_excess == (name,)
    assert name in report.used
    assert f"view V1: {name} in excess: it repeats what other figures give, and agrees" in report.notes


def test_an_eye_of_ink_in_a_corner_is_no_hole(tmp_path: Path) -> None:
    """A ring 1 mm wide that the tracer finds round the paper in a corner: the plate closes as if it were not there."""
    print_ = Print()
    print_.path((50, 50), (150, 50), (150, 110), (50, 110), closed=True)
    print_.arc((50.5, 50.6), 0.55)
    _, report = written(print_, tmp_path)
    assert [each.area_mm2 for each in report.outlines] == [pytest.approx(100 * 60)]


def test_a_small_hole_stays(tmp_path: Path) -> None:
    """A hole of the same size that meets nothing is a hole."""
    print_ = Print()
    print_.path((50, 50), (150, 50), (150, 110), (50, 110), closed=True)
    print_.arc((100, 80), 0.55)
    _, report = written(print_, tmp_path)
    assert [each.area_mm2 for each in report.outlines] == [pytest.approx(100 * 60), pytest.approx(math.pi * 0.55**2)]


def test_a_stray_stroke_by_a_view_is_no_edge_of_it(tmp_path: Path) -> None:
    """A dash of the title block that lies nearest to a view: outside the box of the view nothing of it is drawn."""
    print_ = stepped_shaft()
    strokes = print_.strokes()
    (view,) = strokes.views
    stray = Line((2500.0, 1900.0), (2560.0, 1900.0), 4.0, view=view.id)
    far = Line((2560.0, 1900.0), (2560.0, 1960.0), 4.0, view=view.id)
    boxed = replace(view, box=(590.0, 640.0, 2210.0, 1160.0))
    drawing, report = written(print_, tmp_path, replace(strokes, lines=(*strokes.lines, stray, far), views=(boxed,)))
    assert report.open_ends == ()
    assert not drawing.modelspace().query("*[layer=='OPEN_OUTLINE']")


def test_the_sheet_keeps_its_proportion_where_only_a_later_view_has_a_scale(tmp_path: Path) -> None:
    """A main view without a scale would leave the title block in pixels beside a view in millimetres."""
    print_ = stepped_shaft()
    reconciled = print_.reconciled()
    lost = replace(reconciled.scales[0], view="V0", known="", witnesses=0)
    two = replace(reconciled, scales=(lost, *reconciled.scales))
    frame = part_frame(sheet_frame(blank_sheet(), two), two)
    assert frame.length is Length.PART_MM
    assert frame.x_mm_per_px == pytest.approx(print_.x_mm_per_px)
    write_part(tmp_path / "part.dxf", titled(print_), two, None, sheet_frame(blank_sheet(), two), Unit.MM)
    block = ezdxf.readfile(tmp_path / "part.dxf").blocks["TITLE_BLOCK"]
    xs = [p.x for line in block.query("LINE") for p in (line.dxf.start, line.dxf.end)]
    assert max(xs) == pytest.approx(WIDE_PX / 10, abs=0.31)
