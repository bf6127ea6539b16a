"""Small holes that a coarse scan left as heaps of strokes are circles, as others of their size are."""

import math
from pathlib import Path

import pytest

from digitize.redraw.report import OutlineKind
from digitize.strokes.primitives import Role
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_part import written

RADIUS, AT = 1.5, (120.0, 90.0)
Turns = tuple[float, ...]
UNEVEN: Turns = (0.0, 40.0, 100.0, 135.0, 200.0, 255.0, 310.0)
SQUARE: Turns = (45.0, 135.0, 225.0, 315.0)
NUT: Turns = (0.0, 60.0, 120.0, 180.0, 240.0, 300.0)


def plate(fellow: bool) -> Print:
    """A plate 100 by 60 with a hole of 3, if there is a fellow."""
    print_ = Print()
    print_.path((50.0, 50.0), (150.0, 50.0), (150.0, 110.0), (50.0, 110.0), closed=True)
    print_.line((AT[0] - 6, AT[1]), (AT[0] + 6, AT[1]), Role.CENTRE)
    if fellow:
        print_.arc((80.0, 90.0), RADIUS)
    return print_


def at(turn_deg: float, radius: float = RADIUS) -> tuple[float, float]:
    return AT[0] + radius * math.cos(math.radians(turn_deg)), AT[1] + radius * math.sin(math.radians(turn_deg))


def holes(print_: Print, folder: Path) -> list[tuple[float, float, float]]:
    """Centre and radius of each circle about the place of the heap."""
    drawing, report = written(print_, folder)
    assert [each.kind for each in report.outlines].count(OutlineKind.OUTER) == 1
    circles = [(each.dxf.center.x, each.dxf.center.y, each.dxf.radius) for each in drawing.modelspace().query("CIRCLE")]
    return [each for each in circles if math.dist(each[:2], AT) < 1.0]


@pytest.mark.parametrize("fellow", [True, False])
def test_chords_of_unlike_length_are_a_hole_where_another_is_drawn(fellow: bool, tmp_path: Path) -> None:
    print_ = plate(fellow)
    print_.path(*(at(turn, 1.6) for turn in UNEVEN), closed=True)
    found = holes(print_, tmp_path)
    assert len(found) == fellow
    for x, y, radius in found:
        assert math.dist((x, y), AT) < 0.1
        assert radius == pytest.approx(RADIUS, abs=0.15)


def test_an_arc_and_chords_are_a_hole(tmp_path: Path) -> None:
    print_ = plate(fellow=False)
    print_.arc(AT, RADIUS, 20.0, 200.0)
    print_.path(at(220.0), at(265.0), at(320.0, 1.7), at(380.0))
    assert len(holes(print_, tmp_path)) == 1


@pytest.mark.parametrize("turns", [SQUARE, NUT])
def test_a_square_and_a_nut_are_none(turns: Turns, tmp_path: Path) -> None:
    print_ = plate(fellow=True)
    print_.path(*(at(turn, 1.6) for turn in turns), closed=True)
    assert holes(print_, tmp_path) == []


def test_half_a_heap_is_none(tmp_path: Path) -> None:
    print_ = plate(fellow=True)
    print_.path(*(at(turn) for turn in UNEVEN[:5]))
    assert holes(print_, tmp_path) == []
