"""A length with limits across the centre line of a view without circles is a fit of a turned part: a diameter."""

from dataclasses import replace

import pytest

from digitize.dimensions.reconcile import reconcile
from digitize.lettering.grammar import parse
from digitize.lettering.text import Kind
from digitize.strokes.primitives import Line, Role
from tests.digitize.dimensions.drawn import MM_PER_PX, Drawn, draw, level_sheet, sure


@pytest.mark.parametrize(("off_mm", "length_px", "kind"), [
    (0.0, 600.0, Kind.DIAMETER), (0.5, 600.0, Kind.DIAMETER), (1.5, 600.0, Kind.LINEAR), (0.5, 60.0, Kind.LINEAR),
])  # fmt: skip
def test_the_centre_line_halves_it_as_truly_as_a_pen_draws(off_mm: float, length_px: float, kind: Kind) -> None:
    strokes, texts = draw([Drawn((500.0, 500.0), (500.0, 500.0 + length_px), sure("4.000 +.002\n+.001"))])
    y = 500.0 + length_px / 2 + off_mm / MM_PER_PX
    centre = Line((300.0, y), (1500.0, y), 3.0, role=Role.CENTRE, view="A")
    (row,) = reconcile(level_sheet(), replace(strokes, lines=(*strokes.lines, centre)), texts, parse).dimensions
    assert row.kind is kind


@pytest.mark.parametrize(("from_x", "kind"), [(300.0, Kind.DIAMETER), (900.0, Kind.LINEAR)])
def test_its_axis_is_the_one_between_its_extension_lines_whatever_its_view(from_x: float, kind: Kind) -> None:
    """A view that was parted keeps its axis in one part; beside it stands the axis of an end view."""
    strokes, texts = draw([Drawn((500.0, 500.0), (500.0, 1100.0), sure("4.000 +.002\n+.001"))])
    centre = Line((from_x, 800.0), (1500.0, 800.0), 3.0, role=Role.CENTRE, view="B")
    (row,) = reconcile(level_sheet(), replace(strokes, lines=(*strokes.lines, centre)), texts, parse).dimensions
    assert row.kind is kind
