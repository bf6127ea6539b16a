"""The set-screw that a gear's print names, in `part.dxf`."""

from fractions import Fraction
from pathlib import Path

import ezdxf
import pytest
from hand_drawn import agreed_gear, drawn_sheet, spur_gear

from digitize.dimensions.table import State
from digitize.gears.desk.gear_drawing import CENTRE, HIDDEN
from digitize.lettering.text import Kind, Unit
from digitize.redraw.part import write_part
from digitize.report.frame import sheet_frame

ROOT_RADIUS_IN = (4.2 - 2 * 0.1157) / 2
"""42 teeth of 10 P, 14 1/2 deg full depth (ASA B6.1-1932: dedendum 1.157/P)."""


def written(folder: Path, state: State = State.AGREED, *threads: str, bore: bool = True):
    """part.dxf of a gear whose print names a set-screw, and what is said of it."""
    print_ = spur_gear()
    if bore:
        print_.row('1" BORE', Fraction(1), Kind.DIAMETER, (210.0, 160.0), name="bore", unit=Unit.INCH)
    else:
        print_.dimensions = [each for each in print_.dimensions if "BORE" not in each.text]
    for n, thread in enumerate(threads or ("1/4-20",)):
        print_.row(f"{thread} SET SCREW", Fraction(1, 4), Kind.THREAD, (210.0, 60.0 + 9 * n), state=state, name=thread)
    sheet, reconciled = drawn_sheet(print_), print_.reconciled()
    frame = sheet_frame(sheet, reconciled)
    report = write_part(folder / "part.dxf", print_.strokes(), reconciled, agreed_gear(), frame, Unit.INCH)
    said = [note for note in report.notes if "set-screw" in note]
    return ezdxf.readfile(folder / "part.dxf").modelspace(), said


def test_the_thread_and_its_axis_are_drawn_from_bore_to_root_and_named(tmp_path: Path) -> None:
    space, said = written(tmp_path)
    assert said == ["set-screw 1/4-20 (UNC, USS or BSW): its place round the axis is not from the print"]
    teeth = next(each for each in space.query("LWPOLYLINE") if each.dxf.layer == "GEAR")
    x = sum(point[0] for point in teeth.get_points()) / len(teeth)
    y = sum(point[1] for point in teeth.get_points()) / len(teeth)
    sides = sorted((line.dxf.start.y - y, line.dxf.start.x - x, line.dxf.end.x - x) for line in _lines(space, HIDDEN))
    for side, offset in zip(sides, (-0.125, 0.125), strict=True):
        assert side == pytest.approx((offset, 0.5, ROOT_RADIUS_IN), abs=1e-3)
    assert any(line.dxf.start.y == pytest.approx(y, abs=1e-3) for line in _lines(space, CENTRE))
    assert [text.dxf.text for text in space.query("TEXT") if "SET-SCREW" in text.dxf.text] == [said[0].upper()]


def _lines(space, role):
    layer = {HIDDEN: "HIDDEN", CENTRE: "CENTRE"}[role]
    return [line for line in space.query("LINE") if line.dxf.layer.upper() == layer]


def test_one_that_is_only_read_is_drawn_on_a_layer_that_says_so(tmp_path: Path) -> None:
    space, said = written(tmp_path, State.UNPROVEN)
    assert said == ["set-screw 1/4-20 (UNC, USS or BSW), unproven: its place round the axis is not from the print"]
    assert not _lines(space, HIDDEN)
    assert len([line for line in space.query("LINE") if line.dxf.layer == "SET_SCREW_UNPROVEN"]) == 3


def test_without_the_bore_it_is_named_and_not_drawn(tmp_path: Path) -> None:
    space, said = written(tmp_path, bore=False)
    assert said == [
        "set-screw 1/4-20 (UNC, USS or BSW): named on the print and not drawn, since bore or teeth are not known"
    ]
    assert not _lines(space, HIDDEN)


def test_of_two_none_is_drawn(tmp_path: Path) -> None:
    space, said = written(tmp_path, State.AGREED, "1/4-20", "5/16-18")
    assert not said
    assert not _lines(space, HIDDEN)
