"""Real DIMENSION entities, each with its rendered block.

The measured text stays wherever it says what the print says; otherwise the print's own words override it. What is
not agreed says so in its text and lies on a layer of its own.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from ezdxf.document import Drawing
from ezdxf.render.dim_base import format_text

from digitize.dimensions.table import Dimension, State
from digitize.lettering.text import Kind, Unit
from digitize.redraw import dxf
from digitize.strokes.primitives import Point

APPLIED = "DIMENSION"
NOT_APPLIED = "DIMENSION_NOT_APPLIED"
UNPROVEN = "UNPROVEN"
SCALED = "SCALED_FROM_PRINT"
LAYERS = {
    APPLIED: dxf.LayerStyle(dxf.BLUE),
    NOT_APPLIED: dxf.LayerStyle(dxf.MAGENTA),
    UNPROVEN: dxf.LayerStyle(dxf.MAGENTA),
    SCALED: dxf.LayerStyle(dxf.GREY, weight=dxf.WIDE_PEN),
}
STYLE = "PRINT"
TEXT_MM = 3.5  # of paper: ISO 3098 nominal size
ARROW_MM = 3.0  # of paper: ASME Y14.2
GAP_MM = 1.0  # of paper, between a part's edge and its extension line, and round a figure
DECIMALS = {Unit.INCH: 4, Unit.MM: 3}
_NO_TRAILING_ZEROS = 8  # DIMZIN
_TEXT_IN_LINE = 0  # DIMTAD: the figure stands in a break of the line
_NEEDS_ESCAPE = str.maketrans({"\\": "\\\\", "{": "\\{", "}": "\\}", "\n": "\\P"})  # MTEXT


@dataclass(frozen=True)
class Placed:
    """A figure ready to be drawn: its ends in part mm, where its text stands, and the layer that says its standing."""

    dimension: Dimension
    first: Point
    second: Point
    text_at: Point
    layer: str


def add_style(drawing: Drawing, paper_mm: float, unit: Unit) -> None:
    """Add the dimension style; ``paper_mm`` is one mm of paper in file units."""
    drawing.dimstyles.add(
        STYLE,
        dxfattribs={
            "dimtxt": TEXT_MM * paper_mm,
            "dimasz": ARROW_MM * paper_mm,
            "dimexo": GAP_MM * paper_mm,
            "dimexe": GAP_MM * paper_mm,
            "dimgap": GAP_MM * paper_mm,
            "dimdec": DECIMALS[unit],
            "dimadec": 2,
            "dimlunit": 2,
            "dimzin": _NO_TRAILING_ZEROS,
            "dimazin": 2,
            "dimtad": _TEXT_IN_LINE,
            "dimtxsty": "Standard",
            "dimtih": 0,
            "dimtoh": 0,
        },
    )


def text_override(dimension: Dimension, layer: str, size_mm: float, unit: Unit, sheet_unit: Unit) -> str:
    """Text of a DIMENSION: ``<>`` where its own measurement reads as the print does.

    Parameters
    ----------
    dimension : Dimension
    layer : str
        One of `LAYERS`.
    size_mm : float
        What the entity measures, in mm, or degrees for an angle.
    unit : Unit
        The file's.
    sheet_unit : Unit
        Of figures without a unit of their own.
    """
    printed = dimension.text.translate(_NEEDS_ESCAPE)
    if not printed:
        return "<> SCALED"
    own = sheet_unit if dimension.unit is Unit.UNMARKED else dimension.unit
    if layer == UNPROVEN:
        return f"{printed} UNPROVEN"
    if own in (Unit.INCH, Unit.MM) and own is not unit:
        return f"{printed} [{own.value}]"
    prefix = {Kind.DIAMETER: "Ø", Kind.RADIUS: "R"}.get(dimension.kind, "")
    default = prefix + format_text(size_mm * dxf.per_mm(unit), dimdec=DECIMALS[unit], dimzin=_NO_TRAILING_ZEROS)
    return "<>" if printed == default and dimension.kind is not Kind.ANGLE else printed


def add_dimension(drawing: Drawing, placed: Placed, unit: Unit, sheet_unit: Unit) -> bool:
    """Add one DIMENSION and render its block; False where its ends leave nothing to draw.

    Parameters
    ----------
    drawing : Drawing
        With the style of `add_style`.
    placed : Placed
    unit, sheet_unit : Unit
    """
    geometry = placed.dimension.geometry
    assert geometry is not None
    size = math.dist(placed.first, placed.second)
    if size == 0:
        return False
    dxf.add_layer(drawing, placed.layer, LAYERS[placed.layer])
    add = _add_angular if geometry.kind is Kind.ANGLE else _add_round if geometry.arcs else _add_linear
    measured = geometry.size if geometry.kind is Kind.ANGLE else size
    text = text_override(placed.dimension, placed.layer, measured, unit, sheet_unit)
    factor = dxf.per_mm(unit)
    shown = Placed(
        placed.dimension,
        *(scaled(each, factor) for each in (placed.first, placed.second, placed.text_at)),
        placed.layer,
    )
    add(drawing, shown, {"text": text, "dimstyle": STYLE, "dxfattribs": {"layer": placed.layer}})
    return True


def scaled(point: Point, factor: float) -> Point:
    """A point with both coordinates times a factor."""
    return point[0] * factor, point[1] * factor


_Add = Callable[[Drawing, Placed, dict[str, Any]], None]


def _add_linear(drawing: Drawing, placed: Placed, common: dict[str, Any]) -> None:
    (x0, y0), (x1, y1) = placed.first, placed.second
    angle = math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180
    prefix = {"dimpost": "Ø<>"} if placed.dimension.kind is Kind.DIAMETER else {}
    space = drawing.modelspace()
    space.add_linear_dim(base=placed.first, p1=placed.first, p2=placed.second, angle=angle, override=prefix,
                         **common).render()  # fmt: skip


def _add_round(drawing: Drawing, placed: Placed, common: dict[str, Any]) -> None:
    """Diameter or radius of a circle, its text where the print has it."""
    space, (first, second) = drawing.modelspace(), (placed.first, placed.second)
    angle = math.degrees(math.atan2(placed.text_at[1] - first[1], placed.text_at[0] - first[0]))
    if placed.dimension.kind is Kind.RADIUS:
        space.add_radius_dim(
            center=first, radius=math.dist(first, second), angle=angle, location=placed.text_at, **common
        ).render()
        return
    centre = (first[0] + second[0]) / 2, (first[1] + second[1]) / 2
    angle = math.degrees(math.atan2(placed.text_at[1] - centre[1], placed.text_at[0] - centre[0]))
    space.add_diameter_dim(
        center=centre, radius=math.dist(first, second) / 2, angle=angle, location=placed.text_at, **common
    ).render()


def _add_angular(drawing: Drawing, placed: Placed, common: dict[str, Any]) -> None:
    geometry = placed.dimension.geometry
    assert geometry is not None
    vertex = _vertex(placed.first, placed.second, geometry.size, placed.text_at)
    turn = (placed.first[0] - vertex[0]) * (placed.second[1] - vertex[1]) - (placed.first[1] - vertex[1]) * (
        placed.second[0] - vertex[0]
    )
    first, second = (placed.first, placed.second) if turn > 0 else (placed.second, placed.first)
    space = drawing.modelspace()
    space.add_angular_dim_3p(base=placed.text_at, center=vertex, p1=first, p2=second, **common).render()


def _vertex(first: Point, second: Point, angle_deg: float, text_at: Point) -> Point:
    """Corner of an angle from the two arrow tips on its arc: of the two that fit, the one whose arc passes the text."""
    half = math.dist(first, second) / 2
    away = half / math.tan(math.radians(angle_deg) / 2)
    radius = half / math.sin(math.radians(angle_deg) / 2)
    middle = (first[0] + second[0]) / 2, (first[1] + second[1]) / 2
    normal = -(second[1] - first[1]) / (2 * half), (second[0] - first[0]) / (2 * half)
    corners = [(middle[0] + sign * away * normal[0], middle[1] + sign * away * normal[1]) for sign in (-1, 1)]
    return min(corners, key=lambda corner: abs(math.dist(corner, text_at) - radius))


def layer_of(dimension: Dimension, applied: bool) -> str | None:
    """The layer that says how a figure stands; None for a disputed one, which is only listed."""
    if dimension.state is State.AGREED:
        return APPLIED if applied else NOT_APPLIED
    if dimension.state is State.UNPROVEN and dimension.text:
        return UNPROVEN
    return None if dimension.state is State.DISPUTED else SCALED
