"""The dimension table: one row a value, with the state that its witnesses give it."""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from calibrate.sheet import ScaleWitness
from digitize.lettering.text import Kind, TypedValue, Unit

Point = tuple[float, float]


class State(StrEnum):
    """What is known of a value: see the witness rule in DEVELOPERS.md."""

    AGREED = "agreed"
    UNPROVEN = "unproven"
    DISPUTED = "disputed"
    UNREAD = "unread"


@dataclass(frozen=True)
class Legs:
    """How far an angle may be off by what its lines are drawn with.

    ``arm_px`` is the length that an error of the pen turns them about, both together, in level pixels;
    ``per_stretch_deg`` by how many degrees the angle grows with each unit of the log of the sheet's stretch.
    """

    arm_px: float
    per_stretch_deg: float


@dataclass(frozen=True)
class Measured:
    """What a figure measures on the sheet, found without looking at what the figure says.

    Attributes
    ----------
    kind : Kind
        LINEAR, DIAMETER, RADIUS or ANGLE.
    first, second : Point
        The two ends of the measured length in level pixels (feature points, carried along the extension lines onto
        the dimension line's direction); for a radius centre and rim; for an angle the two arrow tips.
    size : float
        Length in level pixels, or degrees for an angle.
    size_std : float
        Standard error of the same.
    text_at : Point
        Where the figure stands, for the DIMENSION entity.
    arcs : tuple of int
        Indices into `Strokes.arcs` of the circles or arcs measured.
    lines : tuple of int
        Indices into `Strokes.lines` of the dimension line and its extension lines or edges.
    legs : Legs or None
        Of an angle between two lines.
    """

    kind: Kind
    first: Point
    second: Point
    size: float
    size_std: float
    text_at: Point
    arcs: tuple[int, ...] = ()
    lines: tuple[int, ...] = ()
    legs: Legs | None = None


@dataclass(frozen=True)
class Dimension:
    """One row of the table. Lengths in ``unit``; ``quad_px`` in source pixels; ``geometry`` in level pixels.

    ``place`` says which value of which piece of lettering it is; ``confirmed_by`` and ``confirmed_on`` (ISO date) name
    the person who vouches for it; ``contradicted`` is True where the rest of the sheet disputes what he confirmed.
    ``item`` says which of several gears a row of their common table is of, by its column; None elsewhere.
    """

    id: str
    zone: str
    view: str | None
    kind: Kind
    callout: str | None
    text: str
    value: Fraction | None
    unit: Unit
    upper: Fraction | None
    lower: Fraction | None
    measured: float | None
    measured_std: float | None
    state: State
    confidence: float
    quad_px: tuple[Point, Point, Point, Point]
    alternatives: tuple[str, ...]
    evidence: tuple[str, ...]
    name: str | None = None
    style: str = ""
    geometry: Measured | None = None
    typed: TypedValue | None = None
    place: tuple[int, int] = (0, 0)
    confirmed_by: str | None = None
    confirmed_on: str | None = None
    contradicted: bool = False
    item: int | None = None

    @property
    def residual(self) -> float | None:
        """Measured minus value, in ``unit``."""
        if self.measured is None or self.value is None:
            return None
        return self.measured - float(self.value)


@dataclass(frozen=True)
class ViewScale:
    """Part millimetres per level pixel of one view, on each axis, with standard errors.

    ``witnesses`` counts the dimensions that carried the fit. ``not_to_scale`` is True where no common scale fits;
    ``marked_not_to_scale`` where the print says so, and the view then has its own scale or none.
    ``known`` says in words how the scale is known; empty where it is not, and lengths are then paper millimetres.
    ``pen_std_mm`` is the draughtsman's error in mm of paper; ``part_per_paper`` is the drawing scale.
    ``half_width_95`` is half the width of the 95 % interval on each axis, wider than 1.96 standard errors where few
    dimensions tell how exact the pen was; None where it is not known.
    """

    view: str
    x_mm_per_px: float
    y_mm_per_px: float
    x_std: float
    y_std: float
    witnesses: int
    pen_std_mm: float
    not_to_scale: bool = False
    known: str = ""
    part_per_paper: float = 1.0
    half_width_95: tuple[float, float] | None = None
    marked_not_to_scale: bool = False


@dataclass(frozen=True)
class Stretched:
    """How much longer a mm of paper is across the sheet than up it, in per cent, with its standard error.

    ``source`` says what tells it. ``decided`` is False where it can't be told whether it is more than paper does.
    """

    percent: float
    std_percent: float
    source: str
    decided: bool = True


@dataclass(frozen=True)
class Lacking:
    """A drawn size that no figure gives: ``size`` +- ``std`` in ``unit``, scaled from the print between two points.

    ``what`` says of which size, ``words`` the whole as a sentence; the points are level pixels.
    """

    what: str
    view: str
    size: float
    std: float
    unit: Unit
    first: Point
    second: Point
    words: str


@dataclass(frozen=True)
class BareLine:
    """A dimension line without a figure, between two points in level pixels, and the zone of its middle."""

    first: Point
    second: Point
    zone: str


@dataclass(frozen=True)
class Reconciled:
    """The sheet after all witnesses have been heard.

    ``scales`` has one entry a view; the first is the sheet's main view, whose scale `sheet.json` states.
    ``title_block`` holds the fields read: scale, material, drawing_number ... ``witnesses`` are the sources of the main
    view's scale; ``stretch`` is how the sheet's axes differ, None where nothing tells it. ``lacking`` are sizes that
    no figure gives, ``bare`` dimension lines without a figure, ``excess`` sentences on chains that are closed.
    """

    dimensions: tuple[Dimension, ...]
    scales: tuple[ViewScale, ...]
    unit: Unit
    title_block: dict[str, str]
    warnings: tuple[str, ...] = ()
    witnesses: tuple[ScaleWitness, ...] = ()
    stretch: Stretched | None = None
    lacking: tuple[Lacking, ...] = ()
    excess: tuple[str, ...] = ()
    bare: tuple[BareLine, ...] = ()
