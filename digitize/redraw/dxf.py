"""DXF documents: line types and layers by role, the unit, and a file that is the same byte for byte each time.

DXF R2010. Layer names are the roles in capitals. Line types follow ISO 128-2: dashes, gaps and dots are multiples of
the pen width.
"""

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from ezdxf import bbox
from ezdxf._options import options
from ezdxf.document import Drawing
from ezdxf.filemanagement import new

from digitize.lettering.text import Unit
from digitize.strokes.primitives import Dash, Point, Role

MM_PER_INCH = Fraction(254, 10)  # exact since 1959
UNITLESS = 0  # $INSUNITS codes of the DXF reference
INCHES = 1
MILLIMETRES = 4

WIDE_PEN = 50  # 1/100 mm: ISO 128-2 line groups, wide to narrow 2 : 1
NARROW_PEN = 25
BORDER_PEN = 70  # ISO 5457: frame of the drawing space 0.7 mm

_PEN_MM = NARROW_PEN / 100
# ISO 128-2 table 1, in pen widths: long dash 24, dash 12, gap 3, dot 0.5 or less. DXF writes a gap as a negative.
_LINE_TYPES: dict[str, tuple[str, tuple[float, ...]]] = {
    "HIDDEN": ("Dashed __ __ __", (12, -3)),
    "CENTER": ("Long dash dot ____ . ____", (24, -3, 0.5, -3)),
    "PHANTOM": ("Long dash double dot ____ . . ____", (24, -3, 0.5, -3, 0.5, -3)),
}
LINE_TYPE_OF_DASH = {
    Dash.SOLID: "CONTINUOUS",
    Dash.DASHED: "HIDDEN",
    Dash.CHAIN: "CENTER",
    Dash.DOUBLE_CHAIN: "PHANTOM",
}


@dataclass(frozen=True)
class LayerStyle:
    """How a layer looks: DXF colour index, line type name, line weight in 1/100 mm."""

    colour: int
    line_type: str = "CONTINUOUS"
    weight: int = NARROW_PEN


BLACK_OR_WHITE = 7
RED, GREEN, CYAN, BLUE, MAGENTA, GREY = 1, 3, 4, 5, 6, 8

ROLE_STYLES: dict[Role, LayerStyle] = {
    Role.VISIBLE: LayerStyle(BLACK_OR_WHITE, weight=WIDE_PEN),
    Role.HIDDEN: LayerStyle(CYAN, "HIDDEN"),
    Role.CENTRE: LayerStyle(RED, "CENTER"),
    Role.PHANTOM: LayerStyle(MAGENTA, "PHANTOM"),
    Role.HATCH: LayerStyle(GREY),
    Role.DIMENSION: LayerStyle(BLUE),
    Role.EXTENSION: LayerStyle(BLUE),
    Role.LEADER: LayerStyle(BLUE),
    Role.CUTTING: LayerStyle(RED, "CENTER", WIDE_PEN),
    Role.BREAK: LayerStyle(GREY),
    Role.BORDER: LayerStyle(GREY, weight=BORDER_PEN),
    Role.TABLE: LayerStyle(GREY),
    Role.TAPE: LayerStyle(GREY),
}


def layer_name(role: Role) -> str:
    """Name of a role's layer.

    Examples
    --------
    >>> layer_name(Role.CENTRE)
    'CENTRE'
    """
    return role.value.upper()


def per_mm(unit: Unit) -> float:
    """File units in one millimetre.

    Examples
    --------
    >>> round(per_mm(Unit.INCH) * 25.4, 12)
    1.0
    """
    return float(1 / MM_PER_INCH) if unit is Unit.INCH else 1.0


PLACE_DECIMALS = {Unit.INCH: 3, Unit.MM: 2}
"""Enough to find a place again, in the file or on the print."""


def place_words(at_mm: Point, unit: Unit) -> str:
    """A place in a file's own coordinates.

    Examples
    --------
    >>> place_words((25.4, 50.8), Unit.INCH), place_words((25.4, 50.8), Unit.MM)
    ('1.000, 2.000', '25.40, 50.80')
    """
    return ", ".join(f"{value * per_mm(unit):.{PLACE_DECIMALS[unit]}f}" for value in at_mm)


def scaled(point: Point, factor: float) -> Point:
    """A point with both coordinates times a factor."""
    return point[0] * factor, point[1] * factor


def new_drawing(unit: Unit, pattern_mm: float) -> Drawing:
    """Start an empty drawing.

    Parameters
    ----------
    unit : Unit
        INCH, MM, or NONE for a trace whose scale and resolution are unknown.
    pattern_mm : float
        File units in one millimetre of paper, for the line patterns.
    """
    with fixed_metadata():
        drawing = new("R2010", units={Unit.INCH: INCHES, Unit.MM: MILLIMETRES}.get(unit, UNITLESS))
    drawing.header["$MEASUREMENT"] = 0 if unit is Unit.INCH else 1
    drawing.header["$LUNITS"] = 2  # decimal
    drawing.header["$LWDISPLAY"] = 1
    for name, (description, multiples) in _LINE_TYPES.items():
        lengths = [multiple * _PEN_MM * pattern_mm for multiple in multiples]
        drawing.linetypes.add(name, [sum(map(abs, lengths)), *lengths], description=description)
    return drawing


def add_layer(drawing: Drawing, name: str, style: LayerStyle) -> None:
    """Add a layer, once."""
    if name not in drawing.layers:
        drawing.layers.add(name, color=style.colour, linetype=style.line_type, lineweight=style.weight)


def add_role_layer(drawing: Drawing, role: Role) -> str:
    """Add a role's layer, once, and give its name."""
    add_layer(drawing, layer_name(role), ROLE_STYLES[role])
    return layer_name(role)


@contextmanager
def view_group(drawing: Drawing, view: str | None) -> Iterator[None]:
    """Make what is drawn meanwhile members of a view's GROUP, so that the view can be taken alone.

    Its members are still picked one by one.
    """
    before = len(drawing.modelspace())
    yield
    if view is None or not (drawn := list(drawing.modelspace())[before:]):
        return
    name = group_name(view)
    group = drawing.groups.get(name) or drawing.groups.new(name, f"View {view}", selectable=False)
    group.extend(drawn)


def group_name(view: str) -> str:
    """Name of the GROUP that holds a view.

    Examples
    --------
    >>> group_name("A")
    'VIEW_A'
    """
    return f"VIEW_{view}"


Corner = tuple[float, float, float]
"""x, y and the bulge of the arc that leaves the corner: the tangent of a quarter of its sweep."""


def without_wide_arcs(corners: Sequence[Corner]) -> list[Corner]:
    """Halve every arc of a closed polyline that is wider than a half circle: some readers take it for its other side.

    Examples
    --------
    >>> without_wide_arcs([(0.0, 0.0, 2.0), (2.0, 0.0, 0.0)])
    [(0.0, 0.0, 0.618...), (1.0, -2.0, 0.618...), (2.0, 0.0, 0.0)]
    """
    halved: list[Corner] = []
    for (x, y, bulge), (next_x, next_y, _) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if abs(bulge) <= 1 + 1e-9:
            halved.append((x, y, bulge))
            continue
        half = math.tan(math.atan(bulge) / 2)
        middle = (x + next_x) / 2 + bulge * (next_y - y) / 2, (y + next_y) / 2 - bulge * (next_x - x) / 2
        halved += [(x, y, half), (*middle, half)]
    return halved


def save(drawing: Drawing, path: Path) -> None:
    """Set the extents and write the file."""
    extents = bbox.extents(drawing.modelspace(), fast=True)
    if extents.has_data:
        # The header's own extents are taken from the layout when the file is written.
        drawing.modelspace().reset_extents(tuple(extents.extmin), tuple(extents.extmax))
        drawing.set_modelspace_vport(height=max(extents.size.y, extents.size.x, 1.0), center=extents.center.vec2)
    _sort_classes(drawing)
    with fixed_metadata():
        drawing.saveas(path)


def _sort_classes(drawing: Drawing) -> None:
    """Put the CLASSES section in order: ezdxf gathers it from a set, whose order changes from run to run."""
    section = drawing.classes
    section.add_required_classes(drawing.dxfversion)
    section.classes = dict(sorted(section.classes.items()))


@contextmanager
def fixed_metadata() -> Iterator[None]:
    """Have ezdxf write constant dates and identifiers, so that the same input gives the same bytes."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
