"""Hidden edges are carried along with the edges that figures move, and say where they are scaled."""

from fractions import Fraction
from pathlib import Path

import pytest
from ezdxf.document import Drawing

from digitize.lettering.text import Kind
from digitize.strokes.primitives import Dash, Role
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_part import written


def edge_view() -> Print:
    """A plate seen from its edge, 12 by 60, that was drawn 11.8 thick and 59 high; a step is drawn at its middle."""
    print_ = Print()
    print_.path((50.0, 50.0), (61.8, 50.0), (61.8, 109.0), (50.0, 109.0), closed=True)
    print_.line((50.0, 79.5), (56.0, 79.5))
    print_.line((56.0, 79.5), (61.8, 79.5))
    print_.row("12", Fraction(12), Kind.LINEAR, (56, 40), (50, 40), (61.8, 40))
    print_.row("60", Fraction(60), Kind.LINEAR, (40, 80), (40, 50), (40, 109))
    print_.row("30", Fraction(30), Kind.LINEAR, (30, 65), (30, 50), (30, 79.5))
    return print_


def hidden(drawing: Drawing, layer: str) -> list[tuple[float, ...]]:
    """Both ends of the lines on a layer, from left to right and from below."""
    lines = drawing.modelspace().query(f'LINE[layer=="{layer}"]')
    ends = [sorted([(line.dxf.start.x, line.dxf.start.y), (line.dxf.end.x, line.dxf.end.y)]) for line in lines]
    return sorted((*first, *last) for first, last in ends)


def test_a_hidden_edge_goes_along_with_the_edges_and_is_scaled_between_them(tmp_path: Path) -> None:
    """Half way from the step to the top, of which the figures move one by 1 against the other."""
    print_ = edge_view()
    print_.line((50.0, 94.25), (61.8, 94.25), Role.HIDDEN, Dash.DASHED)
    drawing, _report = written(print_, tmp_path)
    (line,) = hidden(drawing, "HIDDEN_SCALED_FROM_PRINT")
    outline = next(iter(drawing.modelspace().query("LWPOLYLINE")))
    left, low = min(x for x, *_ in outline), min(y for _, y, *_ in outline)
    assert line == pytest.approx((left, low + 45.0, left + 12.0, low + 45.0), abs=1e-6)
    assert drawing.layers.get("HIDDEN_SCALED_FROM_PRINT").dxf.linetype == "HIDDEN"
    assert hidden(drawing, "HIDDEN") == []


def test_one_at_the_place_of_an_edge_is_there_exactly(tmp_path: Path) -> None:
    """The step's edge goes on behind the plate."""
    print_ = edge_view()
    del print_.lines[5]
    print_.line((56.0, 79.52), (61.8, 79.52), Role.HIDDEN, Dash.DASHED)
    drawing, _report = written(print_, tmp_path)
    (edge,) = hidden(drawing, "EDGE")
    (line,) = hidden(drawing, "HIDDEN")
    assert line[1] == line[3] == pytest.approx(edge[1], abs=1e-9)


@pytest.mark.parametrize(
    "ends",
    [
        ((40.0, 94.0), (61.8, 94.0)),  # runs out of the part
        ((52.0, 94.0), (58.0, 94.0)),  # comes from nothing and goes to nothing
        ((50.0, 79.5), (56.0, 79.5)),  # an edge again
        ((50.0, 82.0), (61.8, 106.0)),  # aslant, as a section line
    ],
)
def test_what_is_no_hidden_edge_is_left_out(ends: tuple[tuple[float, float], ...], tmp_path: Path) -> None:
    print_ = edge_view()
    print_.line(*ends, Role.HIDDEN, Dash.DASHED)
    drawing, _report = written(print_, tmp_path)
    assert [line.dxf.layer for line in drawing.modelspace().query("LINE") if "HIDDEN" in line.dxf.layer] == []
