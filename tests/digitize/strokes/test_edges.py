"""What a sheet's pens and a cutting plane's ends tell apart from edges."""

from collections import Counter

import pytest

from digitize.strokes.primitives import Role, Strokes
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import MM_PER_PX, Picture

MM = 1 / MM_PER_PX
THICK, FINE = 0.5, 0.25  # mm, one twice the other: ISO 128-20


def plate(*lines: tuple[float, float, float, float, float]) -> Picture:
    """A plate of 60 by 25 mm and lines beside and over it, each as x, y, x, y and its pen in mm."""
    picture = Picture(1100, 720)
    sides = ((15, 20, 75, 20, THICK), (75, 20, 75, 45, THICK), (75, 45, 15, 45, THICK), (15, 45, 15, 20, THICK))
    for x0, y0, x1, y1, pen in (*sides, *lines):
        picture.line((x0 * MM, y0 * MM), (x1 * MM, y1 * MM), pen * MM)
    return picture


def traced(picture: Picture) -> Strokes:
    return trace_strokes(picture.sheet(2.0), picture.no_lettering())


def roles_near(strokes: Strokes, x_mm: float, y_mm: float, reach_mm: float = 3.0) -> list[Role]:
    """Roles of the lines whose middle lies near a place."""
    middles = (((a.start[0] + a.end[0]) / 2, (a.start[1] + a.end[1]) / 2, a.role) for a in strokes.lines)
    return [role for x, y, role in middles if max(abs(x * MM_PER_PX - x_mm), abs(y * MM_PER_PX - y_mm)) <= reach_mm]


@pytest.mark.parametrize(
    ("line", "role"),
    [
        ((40, 17, 40, 48, FINE), Role.CENTRE),  # stands out of both edges by 3 mm
        ((40, 17, 40, 48, THICK), Role.VISIBLE),  # so does an edge, of a thicker pen
        ((40, 17, 40, 57, FINE), Role.EXTENSION),  # 3 mm and 12 mm: an extension line that begins within
        ((78, 30, 90, 30, FINE), Role.EXTENSION),
        ((40, 17, 40, 48, 0.85 * THICK), Role.VISIBLE),  # the finest of 1,700 edges in clean and aged samples
    ],
)
def test_a_stroke_is_an_edge_by_its_pen(line: tuple[float, float, float, float, float], role: Role) -> None:
    strokes = traced(plate(line))
    assert roles_near(strokes, (line[0] + line[2]) / 2, (line[1] + line[3]) / 2) == [role]
    assert [each.role for each in strokes.lines].count(Role.VISIBLE) == 4 + (role is Role.VISIBLE)


@pytest.mark.parametrize("sweep", [360.0, 90.0])
def test_a_fine_arc_is_a_centre_line(sweep: float) -> None:
    (arc,) = traced(plate().arc((45 * MM, 32 * MM), 8 * MM, sweep=sweep, width=FINE * MM)).arcs
    assert arc.role is Role.CENTRE


def test_edges_in_the_light_are_drawn_finer_than_those_in_the_shade() -> None:
    # Shade lines: common practice of older drawings, no source. Light from the top left.
    shade, light, finest = 0.6, 0.35, 0.2
    picture = Picture(1100, 720)
    sides = ((15, 20, 75, 20, light), (75, 20, 75, 45, shade), (75, 45, 15, 45, shade), (15, 45, 15, 20, light))
    dimension = ((15, 18.5, 15, 9, finest), (75, 18.5, 75, 9, finest), (15, 11, 75, 11, finest))
    for x0, y0, x1, y1, pen in (*sides, *dimension):
        picture.line((x0 * MM, y0 * MM), (x1 * MM, y1 * MM), pen * MM)
    picture.head((15 * MM, 11 * MM), 180.0, 3 * MM).head((75 * MM, 11 * MM), 0.0, 3 * MM)
    strokes = traced(picture.arc((45 * MM, 32 * MM), 8 * MM, sweep=360.0, width=light * MM))
    assert [each.role for each in strokes.arcs] == [Role.VISIBLE]
    roles = Counter(each.role for each in strokes.lines)
    assert roles == {Role.VISIBLE: 4, Role.EXTENSION: 2, Role.DIMENSION: 1}


def test_one_pen_tells_nothing() -> None:
    strokes = traced(plate((40, 17, 40, 48, THICK), (78, 30, 90, 30, THICK)))
    assert {each.role for each in strokes.lines} == {Role.VISIBLE}


CORNER = ((60, 17, 60, 13, THICK), (60, 13, 64, 13, THICK))


@pytest.mark.parametrize("headed", [False, True])
def test_a_corner_in_the_open_ends_a_cutting_plane(headed: bool) -> None:
    picture = plate(*CORNER)
    strokes = traced(picture.head((66 * MM, 13 * MM), 0.0, 3.5 * MM) if headed else picture)
    assert [each.role for each in strokes.lines].count(Role.CUTTING) == 2
    assert [each.role for each in strokes.lines].count(Role.VISIBLE) == 4
    assert len(strokes.arrowheads) == headed


@pytest.mark.parametrize("hatched", [False, True])
def test_a_headed_corner_on_which_section_lines_end_is_of_the_part(hatched: bool) -> None:
    """The barb that a section line makes with a small rim's edge is taken for an arrowhead."""
    section = [(60, 13.5 + y, 64, 17.5 + y, FINE) for y in (0.0, 1.0, 2.0, 3.0)] if hatched else []
    strokes = traced(plate(*CORNER, *section).head((66 * MM, 13 * MM), 0.0, 3.5 * MM))
    assert [each.role for each in strokes.lines].count(Role.HATCH) == len(section)
    assert [each.role for each in strokes.lines].count(Role.CUTTING) == (0 if hatched else 2)


@pytest.mark.parametrize("pen", [THICK, FINE], ids=["an edge", "an edge traced as an extension line"])
def test_a_corner_that_something_goes_on_from_is_of_the_part(pen: float) -> None:
    strokes = traced(plate(*CORNER, (64.6, 13, 80, 13, pen)))
    assert Role.CUTTING not in {each.role for each in strokes.lines}
