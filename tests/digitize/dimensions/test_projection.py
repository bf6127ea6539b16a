"""Views drawn with one T-square stand level with each other."""

from digitize.dimensions.scales.projection import LEAST_EXTENT_MM, of_one_scale, twins, view_extents
from digitize.dimensions.table import ViewScale
from digitize.strokes.primitives import Arc, Line, Role, Strokes, View
from tests.digitize.dimensions.drawn import MM_PER_PX


def box(view: str, left: float, top: float, right: float, bottom: float) -> tuple[Line, ...]:
    corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
    return tuple(
        Line(a, b, 5.0, role=Role.VISIBLE, view=view) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)
    )


def sheet(*lines: Line, arcs: tuple[Arc, ...] = ()) -> Strokes:
    names = sorted({stroke.view or "" for stroke in (*lines, *arcs)})
    return Strokes(tuple(lines), arcs, (), tuple(View(name, "view", (0, 0, 4000, 4000)) for name in names))


def test_a_round_face_and_its_side_view_are_twins() -> None:
    face = Arc((600.0, 600.0), 300.0, 0.0, 360.0, 5.0, view="A")
    assert twins(sheet(*box("B", 1200, 300, 1300, 900), arcs=(face,)), MM_PER_PX) == {"A": ("B",), "B": ("A",)}


def test_a_section_at_another_scale_is_no_twin() -> None:
    face = Arc((600.0, 600.0), 300.0, 0.0, 360.0, 5.0, view="A")
    assert twins(sheet(*box("B", 1200, 0, 1400, 1200), arcs=(face,)), MM_PER_PX) == {}


def test_small_extents_agree_by_chance() -> None:
    assert twins(sheet(*box("A", 0, 0, 50, 50), *box("B", 100, 0, 150, 50)), MM_PER_PX) == {}


def test_an_arc_reaches_as_far_as_its_poles() -> None:
    quarter = Arc((0.0, 0.0), 100.0, 45.0, 90.0, 5.0, view="A")
    _left, top, _right, _bottom = view_extents(sheet(arcs=(quarter,)))["A"]
    assert abs(top + 100.0) < 1e-9


def test_a_twin_is_one_of_its_twin_also_where_both_are_about_as_large_as_chance_allows() -> None:
    """One extent a trifle above the limit and the other below it: neither is level with the other."""
    limit_px = LEAST_EXTENT_MM / MM_PER_PX
    boxes = (*box("A", 0, 0, 50, limit_px + 1), *box("B", 100, 0, 150, limit_px - 1))
    assert twins(sheet(*boxes), MM_PER_PX) == {}


def scale(view: str, mm_per_px: float, known: str = "7 dimensions") -> ViewScale:
    return ViewScale(view, mm_per_px, mm_per_px, 1e-5, 1e-5, 7, 0.1, known=known)


def test_two_parts_of_a_sheet_that_stand_level_by_chance_at_different_scales_are_no_views_of_one() -> None:
    level = {"A": ("B", "C"), "B": ("A",), "C": ("A",)}
    assert of_one_scale(level, [scale("A", 0.17), scale("B", 0.042), scale("C", 0.171)]) == {
        "A": ("C",),
        "B": (),
        "C": ("A",),
    }
    assert of_one_scale(level, [scale("A", 0.17), scale("B", 0.085, known="")]) == level
