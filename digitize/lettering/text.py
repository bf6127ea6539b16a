"""Words on the sheet: where they lie, how they may be read, and what they then mean.

Glossary
--------
block
    One piece of lettering that belongs together: a dimension figure with its stacked parts, or one row of a note or
    of a table. Found by shape alone, not yet read.
reading
    One string that a block may say, with the reader's probability for the whole string.
canonical text
    How a reading is spelled: ``1 3/8"``, ``2'-3 1/2"``, ``.625``, ``12,5`` becomes ``12.5`` only in the value, ``Ø``
    for the diameter sign however it is drawn, ``°``, ``'`` and ``"`` for marks, ``±``. Two figures stacked without a
    fraction bar (limits, unequal deviations) are joined by a line feed, upper first: ``1.250\\n1.248``,
    ``.750 +.002\\n-.000``. One space between words.
typed value
    What a reading means: a nominal value as an exact fraction, its unit, kind and tolerance.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cached_property

import numpy as np
from numpy.typing import NDArray


class Layout(StrEnum):
    """How the figures of a block lie."""

    ROW = "row"
    STACK = "stack"


@dataclass(frozen=True)
class TextBlock:
    """A piece of lettering, not yet read.

    Attributes
    ----------
    quad : tuple of 4 points
        Corners in level pixels in reading order from its top left: top left, top right, bottom right, bottom left
        *as the reader sees them*, so that a figure turned on its side keeps its own top left.
    angle_deg : float
        Reading direction, counter-clockwise as seen: 0 left to right, 90 up the sheet.
    height_px : float
        Height of its plain figures (not of a whole stack), in level pixels.
    layout : Layout
        STACK where some part of it lies over another (a stacked fraction, limits).
    group : str or None
        Id of the note or table that this row belongs to.
    row, column : int or None
        Place in that group, from 0.
    """

    quad: tuple[tuple[float, float], tuple[float, float], tuple[float, float], tuple[float, float]]
    angle_deg: float
    height_px: float
    layout: Layout = Layout.ROW
    group: str | None = None
    row: int | None = None
    column: int | None = None

    @cached_property
    def centre(self) -> tuple[float, float]:
        """Middle of the quad, in level pixels."""
        xs, ys = zip(*self.quad, strict=True)
        return sum(xs) / 4, sum(ys) / 4

    def holds(self, point: tuple[float, float]) -> bool:
        """Whether a point lies in the box."""
        (x, y), right, _, down = self.quad
        sides = [(side[0] - x, side[1] - y) for side in (right, down)]
        return all(0.0 <= (point[0] - x) * u + (point[1] - y) * v <= u * u + v * v for u, v in sides)


@dataclass(frozen=True)
class Lettering:
    """All lettering of a sheet as the finder saw it.

    ``mask`` (ndarray, bool, level frame) is True on the ink that belongs to the blocks, and on noise in their likeness,
    which is no stroke either. ``rivals`` are other ways to part the ink of short blocks, and of what may be lettering;
    the reader chooses among them where it reads a block poorly.
    """

    blocks: tuple[TextBlock, ...]
    mask: NDArray[np.bool_]
    rivals: tuple[TextBlock, ...] = ()


@dataclass(frozen=True)
class Reading:
    """One string a block may say, in canonical text, with the probability of the whole string."""

    text: str
    probability: float


def merged(readings: Iterable[Reading]) -> tuple[Reading, ...]:
    """Readings best first, each string once with the probabilities of all that say it.

    Examples
    --------
    >>> merged([Reading("8", 0.3), Reading("3", 0.5), Reading("8", 0.125)])
    (Reading(text='3', probability=0.5), Reading(text='8', probability=0.425))
    """
    chances: dict[str, float] = {}
    for reading in readings:
        chances[reading.text] = chances.get(reading.text, 0.0) + reading.probability
    return tuple(Reading(*chance) for chance in sorted(chances.items(), key=lambda item: -item[1]))


class LineThrough(StrEnum):
    """A line that runs through a figure."""

    NONE = "none"
    OUT = "out"
    """One that begins and ends with it, as when a figure is struck out."""
    ALONG = "along"
    """One that may go on before and behind it, as a dimension line does that nobody broke."""
    PERHAPS = "perhaps"
    """One that crosses too few strokes, or strokes that lean too far, to be sure."""


@dataclass(frozen=True)
class Text:
    """A block and its readings, best first; no reading at all means that the reader rejected it.

    ``cut_before`` is True where its readings are doubted for nothing but a figure that may stand right before it;
    ``line_through`` tells of a line that runs through it.
    """

    block: TextBlock
    readings: tuple[Reading, ...]
    reader: str = ""
    cut_before: bool = False
    line_through: LineThrough = LineThrough.NONE


class Kind(StrEnum):
    """What a value is of; the table's ``kind``."""

    LINEAR = "linear"
    DIAMETER = "diameter"
    RADIUS = "radius"
    ANGLE = "angle"
    CHAMFER = "chamfer"
    THREAD = "thread"
    COUNT = "count"
    GEAR_DATA = "gear_data"
    NOTE = "note"


class Unit(StrEnum):
    """Unit of a value; UNMARKED lengths take the sheet's unit."""

    MM = "mm"
    INCH = "in"
    DEGREE = "deg"
    COUNT = "count"
    NONE = "none"
    UNMARKED = "unmarked"


@dataclass(frozen=True)
class Restated:
    """The same length in another unit, as written beside it.

    ``nominal`` in ``unit``; ``agrees`` is False where the two are further apart than they may have been rounded.
    """

    nominal: Fraction
    unit: Unit
    style: str
    agrees: bool


@dataclass(frozen=True)
class TypedValue:
    """One value that a reading means.

    Attributes
    ----------
    kind : Kind
    nominal : Fraction or None
        In ``unit``; for limits the larger of the two limits of a shaft or of a hole alike, with the other as deviation.
    unit : Unit
    upper, lower : Fraction or None
        Signed deviations from nominal, in ``unit``.
    place : Fraction
        Last written place: 1/8 for 3/8, 1/1000 for .625, 1 for 12; the value is right to half of it.
    style : str
        "fraction", "integer", "decimal1" to "decimal4", "limits", "angle", "feet": figures are judged by style.
    name : str or None
        For gear data: the key in `digitize.lettering.grammar.GEAR_ROWS` ("teeth", "diametral_pitch",
        "outside_diameter" ...). For a thread: its designation. For a note field: "scale", "material" ...
    count : int or None
        "6 HOLES", "2 REQ'D": how many features the value holds for.
    reference, not_to_scale : bool
        REF or in brackets; underlined or N.T.S.
    restated : Restated or None
        Of a dual dimension: what stands beside it in inches or millimetres.
    """

    kind: Kind
    nominal: Fraction | None
    unit: Unit
    upper: Fraction | None = None
    lower: Fraction | None = None
    place: Fraction = Fraction(1)
    style: str = "integer"
    name: str | None = None
    count: int | None = None
    reference: bool = False
    not_to_scale: bool = False
    restated: Restated | None = None


@dataclass(frozen=True)
class Callout:
    """A reading that parses: its canonical text and the values it holds, in reading order."""

    text: str
    values: tuple[TypedValue, ...]
