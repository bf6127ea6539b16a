"""Real DIMENSION entities, each with its rendered block, its words at their place on the print.

The measured text stays wherever it says what the print says; otherwise the print's own words override it. What is
not agreed says so in its text and lies on a layer of its own. A size that stands in a callout at the end of a leader
has that leader and no dimension line.
"""

import math
from typing import Any

from ezdxf.document import Drawing
from ezdxf.entities.dimstyleoverride import DimStyleOverride
from ezdxf.entities.line import Line
from ezdxf.entities.mtext import MText
from ezdxf.layouts.blocklayout import BlockLayout
from ezdxf.layouts.layout import Modelspace
from ezdxf.render.arrows import ARROWS
from shapely import LineString

from digitize.lettering.text import Kind, Unit
from digitize.redraw.planes.curve import FULL_TURN_DEG
from digitize.redraw.writing import layers
from digitize.redraw.writing.figure_room import Room
from digitize.redraw.writing.figure_words import DECIMALS, NO_TRAILING_ZEROS, Words
from digitize.redraw.writing.placed_figure import HALF_TURN_DEG, Placed, angle_deg
from digitize.strokes.primitives import Point

STYLE = "PRINT"
TEXT_MM = 3.5  # of paper: ISO 3098 nominal size
ARROW_MM = 3.0  # of paper: ASME Y14.2
GAP_MM = 1.0  # of paper, between a part's edge and its extension line, and round a figure
NARROW = 0.85  # width of letters: the lettering that stands in for a reader's missing font is wider than ISO 3098's
_TEXT_IN_LINE = 0  # DIMTAD: the figure stands in a break of the line
_OWN_GROUND = 1  # DIMTFILL: the figure clears section lines and edges that it stands on
_LEADER = 1  # DIMTMOVE: a figure that is moved gets a leader
_ROUND = {"dimtofl": 0, "dimcen": 0, "dimtmove": _LEADER}  # a leader and no centre mark
_CALLOUT = {"dimsd1": 1, "dimsd2": 1, "dimse1": 1, "dimse2": 1, "dimblk": ARROWS.none}  # nothing but the leader
_BYLAYER = 256


def add_style(drawing: Drawing, paper_mm: float, unit: Unit) -> None:
    """Add the dimension style; ``paper_mm`` is one mm of paper in file units."""
    drawing.styles.get("Standard").dxf.width = NARROW
    drawing.dimstyles.add(
        STYLE,
        dxfattribs={
            "dimtxt": TEXT_MM * paper_mm,
            "dimasz": ARROW_MM * paper_mm,
            "dimexo": GAP_MM * paper_mm,
            "dimexe": GAP_MM * paper_mm,
            "dimgap": GAP_MM * paper_mm,
            "dimdec": DECIMALS[unit],
            "dimdsep": ord("."),  # a print with commas overrides what is measured
            "dimadec": 2,
            "dimlunit": 2,
            "dimzin": NO_TRAILING_ZEROS,
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


def add_dimension(drawing: Drawing, placed: Placed, words: Words, room: Room) -> None:
    """Add one DIMENSION and render its block.

    Parameters
    ----------
    drawing : Drawing
        With the style of `add_style`.
    placed : Placed
        In file units.
    words : Words
    room : Room
        Where its words are to stand.
    """
    geometry = placed.dimension.geometry
    assert geometry is not None
    add = (
        _add_angular
        if geometry.kind is Kind.ANGLE
        else _add_round
        if geometry.arcs
        else _add_callout
        if placed.called_out
        else _add_linear
    )
    attributes = {
        "text": words.override, "dimstyle": STYLE, "dxfattribs": layers.on_layer(drawing, placed.layer),
    }  # fmt: skip
    style = add(drawing.modelspace(), placed, room, attributes)
    style.render()
    block = style.dimension.get_geometry_block()
    assert block is not None
    if add is _add_callout:
        _lead_from(block, placed)
    if add is _add_round:
        _level_words(block, room)
    for entity in block:  # what the renderer left on layer 0, for readers that show the block by itself
        if entity.dxf.layer == "0":
            entity.dxf.layer = placed.layer


def _level_words(block: BlockLayout, room: Room) -> None:
    """Turn the words that the renderer has laid along a leader, and lead it up to them as they now stand."""
    for entity in block:
        if isinstance(entity, MText):
            entity.set_rotation(0.0)
    lines = [each for each in block if isinstance(each, Line)]
    if lines:
        leader = min(lines, key=lambda line: line.dxf.end.vec2.distance(room.at))
        clear = room.box(room.at).buffer(room.height / 2, join_style="mitre")
        left = LineString([leader.dxf.start.vec2, room.at]).difference(clear)
        if left.geom_type == "LineString" and not left.is_empty:
            leader.dxf.end = left.coords[-1]


def _lead_from(block: BlockLayout, placed: Placed) -> None:
    """Have a callout's leader begin, with an arrowhead, at the nearer end of what it measures."""
    ends, tip = (placed.ends.first, placed.ends.second), placed.tip
    for entity in list(block):
        if isinstance(entity, Line) and math.dist(entity.dxf.start.vec2, placed.middle) < math.dist(*ends) / 2:
            entity.dxf.start = tip
            turn_deg = angle_deg(entity.dxf.end.vec2, tip)
            block.add_arrow(ARROWS.closed_filled, tip, ARROW_MM / TEXT_MM * placed.text_height, turn_deg)


def _add_linear(space: Modelspace, placed: Placed, room: Room, common: dict[str, Any]) -> DimStyleOverride:
    ends = placed.ends
    return space.add_linear_dim(
        base=ends.first, p1=ends.first_foot, p2=ends.second_foot, angle=room.turn_deg, location=room.at,
        override=_sign(placed), **common,
    )  # fmt: skip


def _add_callout(space: Modelspace, placed: Placed, room: Room, common: dict[str, Any]) -> DimStyleOverride:
    ends = placed.ends
    override = _CALLOUT | _sign(placed)
    style = space.add_linear_dim(
        base=ends.first, p1=ends.first, p2=ends.second, angle=placed.line_angle_deg, text_rotation=0.0,
        override=override, **common,
    )  # fmt: skip
    style.set_location(room.at, leader=True)
    return style


def _sign(placed: Placed) -> dict[str, Any]:
    return {"dimpost": "Ø<>"} if placed.dimension.kind is Kind.DIAMETER else {}


def _add_round(space: Modelspace, placed: Placed, room: Room, common: dict[str, Any]) -> DimStyleOverride:
    """Diameter or radius of a circle with a leader towards the middle of its words, which are level."""
    first, second = placed.ends.first, placed.ends.second
    radius = math.dist(first, second) / (1 if placed.dimension.kind is Kind.RADIUS else 2)
    centre = first if placed.dimension.kind is Kind.RADIUS else placed.middle
    level = {"dxfattribs": common["dxfattribs"] | {"text_rotation": 0.0}}
    common = common | {"override": _ROUND, "location": room.at} | level
    angle = angle_deg(centre, room.at)
    if placed.dimension.kind is Kind.RADIUS:
        return space.add_radius_dim(center=centre, radius=radius, angle=angle, **common)
    return space.add_diameter_dim(center=centre, radius=radius, angle=angle + HALF_TURN_DEG, **common)


def _add_angular(space: Modelspace, placed: Placed, room: Room, common: dict[str, Any]) -> DimStyleOverride:
    first, second = placed.ends.first, placed.ends.second
    vertex = _vertex(first, second, placed.size, placed.text_at)
    if (angle_deg(vertex, second) - angle_deg(vertex, first)) % FULL_TURN_DEG > FULL_TURN_DEG / 2:
        first, second = second, first
    return space.add_angular_dim_3p(base=room.at, center=vertex, p1=first, p2=second, **common)


def _vertex(first: Point, second: Point, angle_deg: float, text_at: Point) -> Point:
    """Corner of an angle from the two arrow tips on its arc: of the two that fit, the one whose arc passes the text."""
    half = math.dist(first, second) / 2
    away = half / math.tan(math.radians(angle_deg) / 2)
    radius = half / math.sin(math.radians(angle_deg) / 2)
    middle = (first[0] + second[0]) / 2, (first[1] + second[1]) / 2
    normal = -(second[1] - first[1]) / (2 * half), (second[0] - first[0]) / (2 * half)
    corners = [(middle[0] + sign * away * normal[0], middle[1] + sign * away * normal[1]) for sign in (-1, 1)]
    return min(corners, key=lambda corner: abs(math.dist(corner, text_at) - radius))
