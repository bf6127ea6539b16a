"""How figures stand in `part.dxf`: a callout once, at its place on the print, level, clear of what lies under it."""

import math
from fractions import Fraction
from pathlib import Path

import ezdxf
import pytest
from ezdxf.colors import BYLAYER
from ezdxf.document import Drawing
from ezdxf.entities.dimension import Dimension
from ezdxf.entities.mtext import MText
from ezdxf.tools.text_size import mtext_size
from shapely.geometry import box

from digitize.dimensions.table import State
from digitize.lettering.text import Kind, Unit
from digitize.redraw.part import write_part
from digitize.redraw.writing.dimensioned import STYLE, TEXT_MM
from digitize.redraw.writing.layers import UNPROVEN
from digitize.redraw.writing.old_dxf import rewrite_r12
from digitize.report.frame import sheet_frame
from digitize.strokes.primitives import Dash, Role
from tests.digitize.redraw.hand_drawn import Print, blank_sheet
from tests.digitize.redraw.test_part import written

HOLE, FIGURE_AT = (100.0, 100.0), (170.0, 150.0)


def texts(drawing: Drawing) -> list[str]:
    """What the rendered blocks of all figures show."""
    found = []
    for figure in drawing.modelspace().query("DIMENSION"):
        assert isinstance(figure, Dimension)
        block = figure.get_geometry_block()
        assert block is not None
        found += [each.plain_text() for each in block if each.dxftype() == "MTEXT"]
    return sorted(found)


def keyed(state: State) -> Print:
    """A callout of two sizes, both tied to something drawn and standing in one place."""
    print_ = Print()
    hole = print_.arc(HOLE, 20.0)
    print_.arc(HOLE, 40.0)
    ends = (80.0, 100.0), (120.0, 100.0)
    print_.row("Ø40 × 80 OVER", Fraction(40), Kind.DIAMETER, FIGURE_AT, *ends, arcs=(hole,))
    ends = (60.0, 100.0), (140.0, 100.0)
    print_.row("Ø40 × 80 OVER", Fraction(80), Kind.DIAMETER, FIGURE_AT, *ends, arcs=(hole + 1,), state=state)
    return print_


def test_a_callout_is_shown_once(tmp_path: Path) -> None:
    drawing, report = written(keyed(State.AGREED), tmp_path)
    assert texts(drawing) == ["Ø40 × 80 OVER"]
    assert len(report.used) == 2


@pytest.mark.parametrize("state", [State.UNPROVEN, State.DISPUTED])
def test_a_size_of_a_callout_that_does_not_hold_is_named_in_its_words(state: State, tmp_path: Path) -> None:
    drawing, _ = written(keyed(state), tmp_path)
    assert texts(drawing) == [f"Ø40 × 80 OVER (80 {state.value.upper()})"]
    assert UNPROVEN not in {each.dxf.layer for each in drawing.modelspace().query("DIMENSION")}


def keyseat() -> Print:
    """A plate with a slot of 6 by 3 in its top edge, called out at the end of a leader."""
    print_ = Print()
    print_.path(
        (50.0, 50.0), (150.0, 50.0), (150.0, 110.0), (103.0, 110.0), (103.0, 107.0), (97.0, 107.0), (97.0, 110.0),
        (50.0, 110.0), closed=True,
    )  # fmt: skip
    for value, ends in ((6, ((97.0, 110.0), (103.0, 110.0))), (3, ((103.0, 107.0), (103.0, 110.0)))):
        print_.row("6 × 3 KEYSEAT", Fraction(value), Kind.LINEAR, FIGURE_AT, *ends)
    return print_


def test_a_length_in_a_callout_has_a_leader_and_no_dimension_line(tmp_path: Path) -> None:
    """The words stand level where the print has them; the DIMENSION still measures the length."""
    drawing, report = written(keyseat(), tmp_path)
    (figure,) = drawing.modelspace().query("DIMENSION")
    assert isinstance(figure, Dimension)
    assert len(report.used) == 2
    assert float(figure.get_measurement()) == pytest.approx(6.0, abs=1e-9)
    block = list(figure.get_geometry_block() or ())
    (text,) = (each for each in block if each.dxftype() == "MTEXT")
    assert text.plain_text() == "6 × 3 KEYSEAT"
    assert text.get_rotation() == pytest.approx(0.0, abs=1e-6)
    assert (text.dxf.insert.x, text.dxf.insert.y) == pytest.approx(FIGURE_AT, abs=TEXT_MM)
    ends = [end for each in block if each.dxftype() == "LINE" for end in (each.dxf.start, each.dxf.end)]
    assert any(math.dist((end.x, end.y), (103.0, 110.0)) < 1e-6 for end in ends)  # the edge next to the words
    assert len([each for each in block if each.dxftype() == "LINE"]) == 2  # the leader and its shoulder


def test_figures_do_not_run_into_each_other(tmp_path: Path) -> None:
    """Two callouts whose lettering the sheet has side by side, written in wider letters than the print's."""
    print_ = keyseat()
    hole = print_.arc((70.0, 80.0), 5.0)
    at = (FIGURE_AT[0] + 12.0, FIGURE_AT[1] + 1.0)
    print_.row("Ø10 REAM", Fraction(10), Kind.DIAMETER, at, (65.0, 80.0), (75.0, 80.0), arcs=(hole,))
    drawing, _ = written(print_, tmp_path)
    boxes = []
    for figure in drawing.modelspace().query("DIMENSION"):
        assert isinstance(figure, Dimension)
        (text,) = (each for each in figure.get_geometry_block() or () if each.dxftype() == "MTEXT")
        (x, y, _), size = text.dxf.insert, mtext_size(text)
        boxes.append(box(x - size.total_width / 2, y - 0.5 * TEXT_MM, x + size.total_width / 2, y + 0.5 * TEXT_MM))
    assert len(boxes) == 2
    assert boxes[0].intersection(boxes[1]).area == 0.0


def test_the_figure_of_a_circle_stands_level_where_the_print_has_it(tmp_path: Path) -> None:
    drawing, _ = written(keyed(State.UNPROVEN), tmp_path)
    (figure,) = drawing.modelspace().query("DIMENSION")
    assert isinstance(figure, Dimension)
    (text,) = (each for each in figure.get_geometry_block() or () if each.dxftype() == "MTEXT")
    assert isinstance(text, MText)
    assert text.get_rotation() == pytest.approx(0.0, abs=1e-6)
    assert text.dxf.insert.y == pytest.approx(FIGURE_AT[1], abs=TEXT_MM)
    assert text.dxf.insert.x == pytest.approx(FIGURE_AT[0], abs=TEXT_MM)
    assert drawing.dimstyles.get(STYLE).dxf.dimtfill == 1


@pytest.mark.parametrize(
    ("printed", "style", "shown"),
    [
        ("30.05\n29.95", "limits", "29.95-30.05"),
        ("30.05\n29.95 DIA.", "limits", "29.95-30.05 DIA."),
        ("Ø30.05\nØ29.95", "limits", "Ø29.95-30.05"),
        ("30.05\n29.95", "decimal2", "30.05\n29.95"),
    ],
)
def test_stacked_limits_stand_on_one_line_the_lower_first(printed: str, style: str, shown: str, tmp_path: Path) -> None:
    """ASME Y14.5: on one line the lower limit comes first, with a dash between."""
    print_ = Print()
    print_.path((50.0, 50.0), (80.05, 50.0), (80.05, 90.0), (50.0, 90.0), closed=True)
    print_.row(printed, Fraction(3005, 100), Kind.LINEAR, (65.0, 30.0), (50.0, 30.0), (80.05, 30.0), style=style)
    drawing, _ = written(print_, tmp_path)
    assert texts(drawing) == [shown]


def test_hatching_has_the_colour_of_its_layer(tmp_path: Path) -> None:
    print_ = Print()
    print_.path((50.0, 50.0), (90.0, 50.0), (90.0, 90.0), (50.0, 90.0), closed=True)
    for reach in (10.0, 20.0, 30.0):
        print_.line((50.0, 50.0 + reach), (50.0 + reach, 50.0), Role.HATCH)
    drawing, _ = written(print_, tmp_path)
    assert [each.dxf.color for each in drawing.modelspace().query("HATCH")] == [BYLAYER]


def test_centre_lines_are_no_edges_for_an_old_machine_either(tmp_path: Path) -> None:
    """R12 keeps the layers' line types, so that an axis does not look like a cut."""
    print_ = Print()
    print_.path((50.0, 50.0), (90.0, 50.0), (90.0, 90.0), (50.0, 90.0), closed=True)
    print_.line((40.0, 70.0), (100.0, 70.0), Role.CENTRE, Dash.CHAIN)
    reconciled, path = print_.reconciled(), tmp_path / "part.dxf"
    write_part(path, print_.strokes(), reconciled, None, sheet_frame(blank_sheet(), reconciled), Unit.MM)
    rewrite_r12(path)
    old = ezdxf.readfile(path)
    assert old.layers.get("CENTRE").dxf.linetype == "CENTER"
    assert "CENTER" in old.linetypes


def test_decimal_points_and_commas_are_shown_as_printed(tmp_path: Path) -> None:
    print_ = Print()
    print_.path((50.0, 50.0), (150.25, 50.0), (150.25, 112.5), (50.0, 112.5), closed=True)
    print_.row("62.5", Fraction(125, 2), Kind.LINEAR, (30.0, 80.0), (50.0, 50.0), (50.0, 112.5))
    print_.row("100,25", Fraction(401, 4), Kind.LINEAR, (100.0, 30.0), (50.0, 50.0), (150.25, 50.0))
    drawing, _ = written(print_, tmp_path)
    assert texts(drawing) == ["100,25", "62.5"]
