"""What a drafter's pen leaves: lines, arcs, curves, arrowheads, each once, with a centre and a width.

Glossary
--------
stroke
    One pass of the pen: a `Line`, an `Arc` or a `Spline`. A dashed line is one stroke with a dash pattern.
role
    What the stroke is for (ISO 128 / ASME Y14.2): an edge, a hidden edge, a centre line, a dimension line ...
view
    A group of strokes that shows the part from one side. Scale, shrink and "not to scale" belong to a view.

All coordinates are level pixels, x right, y down; angles in degrees, counter-clockwise *as seen* (so that 90
points up the sheet), 0 along +x.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

Point = tuple[float, float]


class Role(StrEnum):
    """What a stroke is for."""

    VISIBLE = "visible"
    HIDDEN = "hidden"
    CENTRE = "centre"
    PHANTOM = "phantom"
    HATCH = "hatch"
    DIMENSION = "dimension"
    EXTENSION = "extension"
    LEADER = "leader"
    CUTTING = "cutting"
    BREAK = "break"
    BORDER = "border"
    TABLE = "table"
    TAPE = "tape"


class Dash(StrEnum):
    """How a stroke is broken."""

    SOLID = "solid"
    DASHED = "dashed"
    CHAIN = "chain"
    DOUBLE_CHAIN = "double_chain"


@dataclass(frozen=True)
class Line:
    """A straight stroke from ``start`` to ``end`` with a pen width, in level pixels.

    ``std_px`` is the standard error of its offset across its own direction.
    """

    start: Point
    end: Point
    width_px: float
    std_px: float = 0.1
    dash: Dash = Dash.SOLID
    role: Role = Role.VISIBLE
    view: str | None = None


@dataclass(frozen=True)
class Arc:
    """A circular stroke. ``sweep_deg`` is 360 for a full circle, and is counter-clockwise from ``start_deg`` as seen.

    ``centre_std_px`` and ``radius_std_px`` are standard errors.
    """

    centre: Point
    radius_px: float
    start_deg: float
    sweep_deg: float
    width_px: float
    centre_std_px: float = 0.1
    radius_std_px: float = 0.1
    dash: Dash = Dash.SOLID
    role: Role = Role.VISIBLE
    view: str | None = None


@dataclass(frozen=True)
class Spline:
    """A solid curve that is neither straight nor round: a cubic B-spline along the middle of the stroke.

    Attributes
    ----------
    control : tuple of Point
        Control points.
    knots : tuple of float
        From 0 to 1, four more than control points; the first four and the last four are alike, so that the curve
        begins and ends in its first and last control points.
    width_px : float
    std_px : float
        Standard error of the curve across its own direction.
    role : Role
    view : str or None
    """

    control: tuple[Point, ...]
    knots: tuple[float, ...]
    width_px: float
    std_px: float = 0.1
    role: Role = Role.VISIBLE
    view: str | None = None


@dataclass(frozen=True)
class Arrowhead:
    """The mark that ends a dimension line or leader.

    Attributes
    ----------
    tip : Point
        Where it points.
    direction_deg : float
        The way it points, from its tail to its tip.
    length_px : float
    form : str
        "filled", "open", "blank", "tick" or "dot".
    line : int or None
        Index into `Strokes.lines` of the stroke that it ends.
    """

    tip: Point
    direction_deg: float
    length_px: float
    form: str = "filled"
    line: int | None = None


@dataclass(frozen=True)
class HatchedRegion:
    """A region that section lines fill: its outline through their ends, their angle, and their step across.

    ``lines`` are the places in `Strokes.lines` of the section lines, from one side of the region to the other.
    """

    outline: tuple[Point, ...]
    angle_deg: float
    step_px: float
    lines: tuple[int, ...]
    view: str | None = None


@dataclass(frozen=True)
class View:
    """One view of the part, or another division of the sheet.

    ``kind`` is "view", "title_block", "table" or "notes". ``box`` is (left, top, right, bottom) in level pixels.
    """

    id: str
    kind: str
    box: tuple[float, float, float, float]

    def holds(self, stroke: Line | Arc, slack_px: float = 1.0) -> bool:
        """Whether some of a stroke lies in the box: an edge of the view does, a stray stroke near it does not."""
        ends = (stroke.start, stroke.end) if isinstance(stroke, Line) else (stroke.centre, stroke.centre)
        reach = slack_px if isinstance(stroke, Line) else slack_px + stroke.radius_px
        left, top, right, bottom = self.box
        (x0, y0), (x1, y1) = ends
        return (
            max(x0, x1) >= left - reach
            and min(x0, x1) <= right + reach
            and max(y0, y1) >= top - reach
            and min(y0, y1) <= bottom + reach
        )


@dataclass(frozen=True)
class Flank:
    """One side of a drawn tooth.

    ``points`` lie along the middle of its stroke from root to tip, a pen width apart, in level pixels; what crosses
    the flank is left out. ``side`` is "left" or "right" of its tooth for one who looks out from the gear's centre.
    ``std_px`` is the standard error of one point across the flank; those of different points are independent.
    """

    points: tuple[Point, ...]
    side: str
    std_px: float


@dataclass(frozen=True)
class ToothRing:
    """Gear teeth drawn in full round a centre: how many, and the tip and root radii in level pixels.

    ``flanks`` go clockwise round the centre as seen. Like all points they lie where the ink lies, so that a squeeze of
    the sheet (see `Strokes`) is still in them, while the two radii are free of it.
    """

    centre: Point
    teeth: int
    tip_radius_px: float
    root_radius_px: float
    view: str | None = None
    flanks: tuple[Flank, ...] = ()


@dataclass(frozen=True)
class Pen:
    """Strokes of one width: ISO 128 and ASME Y14.2 draw with two pens, one twice as wide as the other.

    Attributes
    ----------
    width_px, std_px : float
        By the ink that the strokes leave, with its standard error.
    seen_px : float
        Their usual ``width_px``, which blur widens in fine lines.
    length_px : float
        Drawn with it.
    strokes : int
    """

    width_px: float
    std_px: float
    seen_px: float
    length_px: float
    strokes: int


@dataclass(frozen=True)
class Strokes:
    """Everything the pen left that is not lettering.

    ``squeeze`` is the height over the width of the sheet's circles less 1, as the paper's uneven shrinkage left them,
    with its standard error (infinite where no circle tells). Where it is not 0, an arc's ``radius_px`` is the geometric
    mean of an ellipse's half axes: ``radius_px / sqrt(1 + squeeze)`` along x and ``radius_px * sqrt(1 + squeeze)``
    along y. ``strain_std`` is the standard error of any length as a part of itself that the bend of the sheet leaves.
    ``pens`` are the groups of width, the finest first. ``laid_on`` are edges of tape and patches that a scan of one bit
    made as black as the drawing: they are no lines of it, but a person may see it otherwise.
    """

    lines: tuple[Line, ...] = ()
    arcs: tuple[Arc, ...] = ()
    arrowheads: tuple[Arrowhead, ...] = ()
    views: tuple[View, ...] = ()
    tooth_rings: tuple[ToothRing, ...] = ()
    squeeze: float = 0.0
    squeeze_std: float = float("inf")
    strain_std: float = 0.0
    splines: tuple[Spline, ...] = ()
    hatched: tuple[HatchedRegion, ...] = ()
    pens: tuple[Pen, ...] = ()
    laid_on: tuple[Line, ...] = ()

    def pen_of(self, stroke: Line | Arc | Spline) -> Pen | None:
        """The pen that drew a stroke, by its width; None where no pen is known."""
        return min(self.pens, key=lambda pen: abs(math.log(stroke.width_px / pen.seen_px)), default=None)
