"""What is redrawn of one view: its strokes as drawn, and the outlines that are found of it."""

from dataclasses import dataclass, field

from digitize.redraw.planes.curve import Circular
from digitize.redraw.planes.outline import Ring
from digitize.redraw.planes.plane import Plane
from digitize.redraw.solving.figures import Ends
from digitize.report.frame import Frame
from digitize.strokes.primitives import Arc, Line, Point, Spline


@dataclass(frozen=True)
class DrawnView:
    """The strokes of one view with their indices in `Strokes`, the frame that places them in part mm, the pen's
    standard error in mm of paper, whether the frame's scale is proven, the view's bent curves, and the scale's
    relative standard error."""

    name: str | None
    frame: Frame
    lines: tuple[Line, ...]
    arcs: tuple[tuple[int, Arc], ...]
    pen_mm: float = 0.0
    proven: bool = True
    splines: tuple[Spline, ...] = ()
    scale_error: float = 0.0


@dataclass(frozen=True)
class ScaledLength:
    """A length that no figure gives, in mm of part, with its standard error.

    ``what`` is "diameter", "width", "height", "middle across" or "middle up", the way to a circle's middle, or "slant
    across" or "slant up", what a slanted edge runs; ``at`` is a circle's centre or a slanted edge's middle, else the
    two places on an axis between which the length lies.
    """

    what: str
    size_mm: float
    at: tuple[float, float]
    std_mm: float


@dataclass(frozen=True)
class HoleRow:
    """Equal holes that stand in line for no better reason than that a drafter draws them so.

    ``place_mm`` is their one place on ``axis``, "x" or "y", where they are drawn ``apart_mm`` apart, in mm of part.
    """

    axis: str
    place_mm: float
    holes: int
    apart_mm: float


@dataclass(frozen=True)
class Profile:
    """Outlines of one view.

    Attributes
    ----------
    plane : Plane
        As dimensioned where the solution settled, else as drawn.
    rings, cuts : tuple of Ring
        Outlines, and the faces that a section plane cuts.
    centre_lines : tuple of (Point, Point)
        Level and upright centre lines.
    circles : dict of int to Circular
        Visible and pitch circles by index into `Strokes.arcs`.
    determined : tuple of bool
        For each ring and then each cut, whether figures and relations leave nothing of it to drawn lengths; an inner
        ring's place in the outer one counts.
    area_std_mm2 : tuple of float
        For each of them the standard error of its area, in square mm, for lengths that are scaled; 0 where none is.
        Empty where it is open whether they are the part's outlines at all.
    scaled : tuple of ScaledLength
        Lengths of the outlines that are left to the drawing, in so far as they have a name.
    in_line : tuple of HoleRow
        Rows of holes that no figure places each by itself.
    ends : dict of str to Ends
        Ends of each figure that holds, by row id, in part mm, exactly its value apart.
    left_out : tuple of (str, str)
        Row id and reason.
    contradicting : tuple of str
        Those of them that contradict surer figures.
    in_excess : tuple of str
        Figures that say what surer figures and the relations kept say already, and agree.
    freedom : int
        Degrees of freedom that figures and relations leave to the drawing's own lengths; the place of the whole on the
        sheet is none.
    partial : bool
        Whether the part is known to go on outside its outermost outline.
    notes : tuple of str
    """

    plane: Plane
    rings: tuple[Ring, ...] = ()
    cuts: tuple[Ring, ...] = ()
    determined: tuple[bool, ...] = ()
    area_std_mm2: tuple[float, ...] = ()
    scaled: tuple[ScaledLength, ...] = ()
    in_line: tuple[HoleRow, ...] = ()
    ends: dict[str, Ends] = field(default_factory=dict)
    left_out: tuple[tuple[str, str], ...] = ()
    contradicting: tuple[str, ...] = ()
    in_excess: tuple[str, ...] = ()
    freedom: int = 0
    partial: bool = False
    notes: tuple[str, ...] = ()
    centre_lines: tuple[tuple[Point, Point], ...] = ()
    circles: dict[int, Circular] = field(default_factory=dict)
