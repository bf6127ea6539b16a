"""Real DIMENSION entities, each with its rendered block.

The measured text stays wherever it says what the print says; otherwise the print's own words override it. What is
not agreed says so in its text and lies on a layer of its own.
"""

import math
from dataclasses import dataclass, replace
from typing import Any

from ezdxf.document import Drawing
from ezdxf.entities.dimension import Dimension as DimensionEntity
from ezdxf.entities.dimstyleoverride import DimStyleOverride
from ezdxf.layouts.layout import Modelspace
from ezdxf.render.dim_base import format_text

from digitize.dimensions.table import Dimension, State
from digitize.lettering.text import Kind, Unit
from digitize.redraw import dxf
from digitize.redraw.curve import FULL_TURN_DEG
from digitize.redraw.figures import Ends
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
_OWN_GROUND = 1  # DIMTFILL: the figure clears section lines and edges that it stands on
_ROUND = {"dimtofl": 0, "dimcen": 0, "dimtmove": 1, "dimtih": 1, "dimtoh": 1}  # a leader to a level figure, no mark
_BYLAYER = 256
_NEEDS_ESCAPE = str.maketrans({"\\": "\\\\", "{": "\\{", "}": "\\}", "\n": "\\P"})  # MTEXT
HALF_TURN_DEG, RIGHT_ANGLE_DEG = 180.0, 90.0
UPRIGHT_SLACK_DEG = 1.0
"""A dimension line drawn upright is never quite so; its figure is read from the right all the same."""


@dataclass(frozen=True)
class Placed:
    """A figure ready to be drawn: its ends and where its text stands, and the layer that says its standing."""

    dimension: Dimension
    layer: str
    ends: Ends
    text_at: Point

    def scaled(self, factor: float) -> "Placed":
        """With all lengths times a factor."""
        points = (self.ends.first, self.ends.second, self.ends.first_foot, self.ends.second_foot)
        return replace(
            self, ends=Ends(*(scaled(each, factor) for each in points)), text_at=scaled(self.text_at, factor)
        )


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
            "dimtfill": _OWN_GROUND,
            "dimtxsty": "Standard",
            "dimtih": 0,
            "dimtoh": 0,
            "dimclrd": _BYLAYER,
            "dimclre": _BYLAYER,
            "dimclrt": _BYLAYER,
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
    printed = _printed(dimension).translate(_NEEDS_ESCAPE)
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


def _printed(dimension: Dimension) -> str:
    """The print's words; stacked limits on one line, the lower one first with a dash between (ASME Y14.5)."""
    rows = dimension.text.split("\n")
    return "-".join(reversed(rows)) if dimension.style == "limits" and len(rows) == 2 else dimension.text


def add_dimension(drawing: Drawing, placed: Placed, unit: Unit, sheet_unit: Unit, said_elsewhere: bool = False) -> bool:
    """Add one DIMENSION and render its block; False where there is nothing to draw.

    Parameters
    ----------
    drawing : Drawing
        With the style of `add_style`.
    placed : Placed
    unit, sheet_unit : Unit
    said_elsewhere : bool
        Whether another DIMENSION shows the words of its callout: this one shows its own size alone, and nothing where
        the size does not hold.
    """
    geometry = placed.dimension.geometry
    assert geometry is not None
    size = math.dist(placed.ends.first, placed.ends.second)
    if size == 0 or (said_elsewhere and placed.layer != APPLIED):
        return False
    dxf.add_layer(drawing, placed.layer, LAYERS[placed.layer])
    add = _add_angular if geometry.kind is Kind.ANGLE else _add_round if geometry.arcs else _add_linear
    measured = _angle(placed) if geometry.kind is Kind.ANGLE else size
    text = text_override(placed.dimension, placed.layer, measured, unit, sheet_unit)
    if said_elsewhere:
        text = "<>"
    attributes = {"text": text, "dimstyle": STYLE, "dxfattribs": {"layer": placed.layer}}
    style = add(drawing.modelspace(), placed.scaled(dxf.per_mm(unit)), attributes)
    style.render()
    _keep_on_layer(style.dimension, placed.layer)
    return True


def _keep_on_layer(dimension: DimensionEntity, layer: str) -> None:
    """Put what the renderer left on layer 0 on the dimension's layer, for readers that show the block by itself."""
    for entity in dimension.get_geometry_block() or ():
        if entity.dxf.layer == "0":
            entity.dxf.layer = layer


def scaled(point: Point, factor: float) -> Point:
    """A point with both coordinates times a factor."""
    return point[0] * factor, point[1] * factor


def _add_linear(space: Modelspace, placed: Placed, common: dict[str, Any]) -> DimStyleOverride:
    ends = placed.ends
    (x0, y0), (x1, y1) = ends.first, ends.second
    angle = reading_angle_deg(math.degrees(math.atan2(y1 - y0, x1 - x0)))
    prefix = {"dimpost": "Ø<>"} if placed.dimension.kind is Kind.DIAMETER else {}
    return space.add_linear_dim(
        base=ends.first, p1=ends.first_foot, p2=ends.second_foot, angle=angle, override=prefix, **common
    )


def reading_angle_deg(angle_deg: float) -> float:
    """The one of a line's two directions in which its figure is read: from the foot of the sheet or from its right.

    Examples
    --------
    >>> [round(reading_angle_deg(angle), 3) for angle in (-0.002, 180.0, 90.3, -90.0, 135.0, 179.998)]
    [-0.002, 0.0, 90.3, 90.0, -45.0, -0.002]
    """
    folded = angle_deg % HALF_TURN_DEG
    return folded - HALF_TURN_DEG if folded > RIGHT_ANGLE_DEG + UPRIGHT_SLACK_DEG else folded


def _add_round(space: Modelspace, placed: Placed, common: dict[str, Any]) -> DimStyleOverride:
    """Diameter or radius of a circle with a leader to where the print has its figure, which is level there."""
    first, second = placed.ends.first, placed.ends.second
    common = common | {"override": _ROUND, "location": placed.text_at}
    if placed.dimension.kind is Kind.RADIUS:
        angle, radius = _angle_deg(first, placed.text_at), math.dist(first, second)
        return space.add_radius_dim(center=first, radius=radius, angle=angle, **common)
    centre = (first[0] + second[0]) / 2, (first[1] + second[1]) / 2
    away, radius = _angle_deg(placed.text_at, centre), math.dist(first, second) / 2
    return space.add_diameter_dim(center=centre, radius=radius, angle=away, **common)


def _angle_deg(centre: Point, point: Point) -> float:
    return math.degrees(math.atan2(point[1] - centre[1], point[0] - centre[0]))


def _add_angular(space: Modelspace, placed: Placed, common: dict[str, Any]) -> DimStyleOverride:
    first, second = placed.ends.first, placed.ends.second
    vertex = _vertex(first, second, _angle(placed), placed.text_at)
    if (_angle_deg(vertex, second) - _angle_deg(vertex, first)) % FULL_TURN_DEG > FULL_TURN_DEG / 2:
        first, second = second, first
    return space.add_angular_dim_3p(base=placed.text_at, center=vertex, p1=first, p2=second, **common)


def _angle(placed: Placed) -> float:
    """Degrees that the entity shows: the value where it holds, else what is drawn."""
    geometry, value = placed.dimension.geometry, placed.dimension.value
    assert geometry is not None
    return float(value) if placed.layer == APPLIED and value is not None else geometry.size


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
