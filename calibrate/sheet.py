"""The frozen values that calibration hands on, and the frames they are in.

Glossary
--------
source frame
    Pixels of the file as stored. (0, 0) is the centre of the top-left pixel, x right, y down.
working frame
    The source turned by quarter turns, and turned over where it shows its sheet in mirror image (exact); a photograph
    is freed of its perspective, and a sheet that does not lie flat of its bend as well (its working frame is the level
    one). Grey values here are the ones that lengths are measured on.
level frame
    The working frame turned by the fine skew. Its image is for looking and for reading lettering; coordinates are
    carried into it in float64.
homography
    A 3x3 float64 array that acts on columns (x, y, 1).
"""

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from calibrate.straightening.bend import Bend

FloatArray = NDArray[np.float64]
GreyImage = NDArray[np.uint8]
InkImage = NDArray[np.bool_]


LOOK_STEP = 7
"""Every seventh row and column shows whether a picture has any grey."""


class ResolutionStatus(StrEnum):
    """How the resolution of a scan is known."""

    STATED = "stated"
    DERIVED = "derived"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Resolution:
    """Pixels per inch of paper, and how they are known.

    ``x_dpi`` and ``y_dpi`` are None where the status is UNKNOWN. ``note`` says in words where the figure comes
    from or why it was not believed.
    """

    status: ResolutionStatus
    x_dpi: float | None
    y_dpi: float | None
    note: str


@dataclass(frozen=True)
class PageImage:
    """One page as stored.

    Attributes
    ----------
    pixels : ndarray, uint8, shape (H, W) or (H, W, 3)
        Grey or RGB; any EXIF turn already applied (the source frame is the picture as it is meant to be seen).
    path : Path
        The file.
    sha256 : str
        Of the file's bytes.
    page, page_count : int
        1-based number of this page, and how many the file has.
    resolution : Resolution
        As the file states it, plausibility not yet judged.
    focus : float or None
        Focal length over the picture's longer side, where a camera stated it.
    """

    pixels: NDArray[np.uint8]
    path: Path
    sha256: str
    page: int
    page_count: int
    resolution: Resolution
    focus: float | None = None

    @property
    def one_bit(self) -> bool:
        """Whether the page is black and white without a grey between."""
        sample = self.pixels[::LOOK_STEP, ::LOOK_STEP]
        return bool(((sample == 0) | (sample == 255)).all())


class Polarity(StrEnum):
    """Which of ink and paper is the darker in the source."""

    DARK_ON_LIGHT = "dark_on_light"
    LIGHT_ON_DARK = "light_on_dark"


@dataclass(frozen=True)
class Squares:
    """The squares that a sheet's paper is ruled in: their width and height in source pixels, whether taken off."""

    width_px: float
    height_px: float
    taken_off: bool


@dataclass(frozen=True)
class OtherInk:
    """A mark in another ink than the drawing's: its colour in a word, and its box's corners (x, y), least and most."""

    colour: str
    least_px: tuple[float, float]
    most_px: tuple[float, float]


@dataclass(frozen=True)
class Restored:
    """A page with even light and dark ink on light paper, still in the source frame.

    Attributes
    ----------
    grey : ndarray, uint8, shape (H, W)
        Paper near 255, full ink near 0, illumination flattened, no smoothing of line edges.
    ink : ndarray, bool, shape (H, W)
        True on ink; specks removed, everything outside the sheet False.
    polarity : Polarity
    sheet_quad_px : ndarray, float64, shape (4, 2), or None
        Corners of the paper in the source frame, clockwise from top left, where its edges lie inside the picture.
    pen_px : float
        Modal width of the pen lines, in source pixels.
    squares : Squares or None
        Of squared paper.
    other_ink : tuple of OtherInk
        In source pixels.
    """

    grey: GreyImage
    ink: InkImage
    polarity: Polarity
    sheet_quad_px: FloatArray | None
    pen_px: float
    squares: Squares | None = None
    other_ink: tuple[OtherInk, ...] = ()


class KnownOf(StrEnum):
    """What a person's known length is a length of."""

    PART = "part"
    PAPER = "paper"


@dataclass(frozen=True)
class KnownSpan:
    """A length that a person gave, in mm with its standard error, and its ends in level pixels."""

    value_mm: float
    std_mm: float
    first_px: tuple[float, float]
    second_px: tuple[float, float]


@dataclass(frozen=True)
class KnownScale:
    """Scale from lengths that a person gave.

    Attributes
    ----------
    of : KnownOf
    mm_per_px, std : tuple of float
        Millimetres of the part, or of the paper, per level pixel along x and y, and their standard errors.
    count : int
        Lengths behind it.
    note : str
        How it is known, in words.
    spans : tuple of KnownSpan
        The lengths one by one.
    """

    of: KnownOf
    mm_per_px: tuple[float, float]
    std: tuple[float, float]
    count: int
    note: str
    spans: tuple[KnownSpan, ...] = ()


@dataclass(frozen=True)
class ScaleWitness:
    """One source of the scale.

    Attributes
    ----------
    source : str
        "resolution", "sheet size", "border", "scale note", "scale bar", "known length" or "dimensions".
    of : KnownOf
        What its millimetres are of.
    mm_per_px, std : tuple of float
        Millimetres per level pixel along x and y, and their standard errors.
    note : str
        Where it comes from, in words.
    agrees : bool or None
        With the scale that is used; None where there is nothing to compare it with.
    """

    source: str
    of: KnownOf
    mm_per_px: tuple[float, float]
    std: tuple[float, float]
    note: str
    agrees: bool | None = None


@dataclass(frozen=True)
class Proportion:
    """Standard error of the proportion of a photographed sheet's sides, of its log, and what told it, in words."""

    std: float
    note: str


@dataclass(frozen=True)
class CirclesSay:
    """What a sheet's drawn circles say of across against up.

    Attributes
    ----------
    stretch, std : float
        Log of the circles' width over their height, in mm of paper as the file has it, and its standard error;
        infinite where the circles do not agree.
    circles, places : int
        How many say so, and at how many places, circles within a wider one being at one with it.
    agree : bool
        Whether more than half of all places do.
    """

    stretch: float
    std: float
    circles: int
    places: int
    agree: bool


@dataclass(frozen=True)
class LevelSheet:
    """A straight sheet: the result of calibration before any dimension has been read.

    Attributes
    ----------
    path, sha256, page, page_count
        As in `PageImage`.
    source_shape_px : tuple of int
        (height, width) of the source frame.
    polarity : Polarity
    resolution : Resolution
        Judged: a stated figure that the pen lines contradict becomes UNKNOWN, with a note.
    working_grey, working_ink : ndarray, shape (H, W)
        Working frame, dark ink on light paper.
    grey, ink : ndarray, shape (H2, W2)
        Level frame.
    working_from_source, level_from_working : ndarray, float64, shape (3, 3)
    orientation_deg : int
        Quarter turns applied to the source, counter-clockwise as seen: 0, 90, 180 or 270.
    skew_deg : float
        Fine turn then still to be removed, counter-clockwise positive as seen; ``skew_std_deg`` its standard error.
    rectified : bool
        True where a perspective was removed.
    paper_mm_per_px : float
        Millimetres of paper per level pixel: from the resolution, or, where that is UNKNOWN, a working figure
        from the width of the pen lines, good enough for thresholds and never for a length.
    pen_px : float
        Modal width of the pen lines, in level pixels.
    warnings : tuple of str
    known : KnownScale or None
        Where a person gave a length.
    evidence : tuple of str
        What else speaks for the scale, in words: standard sheet sizes.
    witnesses : tuple of ScaleWitness
        What speaks for millimetres of paper per pixel, each source by itself.
    bend : Bend or None
        How the sheet bends, where its ruled lines show that it doesn't lie flat. Where it is corrected, the working and
        the level picture show the sheet as it would lie flat; ``level_from_source`` leads to level pixels as seen, the
        bend from these to flat ones.
    proportion : Proportion or None
        Of a photograph: how well across and up the sheet are known to have one scale.
    circles : CirclesSay or None
        Where somebody looked for circles and there are any.
    one_bit : bool
        Whether the file is black and white without a grey between.
    turned_over : bool
        Whether the source shows its sheet in mirror image; working and level frame do not.
    other_ink : tuple of OtherInk
        Marks in another ink than the drawing's, in level pixels.
    """

    path: Path
    sha256: str
    page: int
    page_count: int
    source_shape_px: tuple[int, int]
    polarity: Polarity
    resolution: Resolution
    working_grey: GreyImage
    working_ink: InkImage
    grey: GreyImage
    ink: InkImage
    working_from_source: FloatArray
    level_from_working: FloatArray
    orientation_deg: int
    skew_deg: float
    skew_std_deg: float
    rectified: bool
    paper_mm_per_px: float
    pen_px: float
    warnings: tuple[str, ...] = ()
    known: KnownScale | None = None
    evidence: tuple[str, ...] = ()
    bend: Bend | None = None
    witnesses: tuple[ScaleWitness, ...] = ()
    proportion: Proportion | None = None
    one_bit: bool = False
    circles: CirclesSay | None = None
    turned_over: bool = False
    other_ink: tuple[OtherInk, ...] = ()

    @property
    def level_from_source(self) -> FloatArray:
        """Homography from source to level pixels, shape (3, 3)."""
        return self.level_from_working @ self.working_from_source

    def flat_points(self, source: FloatArray) -> FloatArray:
        """Source points, shape (N, 2), to level ones, the bend taken out."""
        level = apply_homography(self.level_from_source, source)
        return level if self.bend is None else self.bend.flattened(level)

    def source_points(self, flat: FloatArray) -> FloatArray:
        """Undo `flat_points`."""
        level = flat if self.bend is None else self.bend.bent(flat)
        return apply_homography(np.asarray(np.linalg.inv(self.level_from_source), np.float64), level)

    def px(self, length_mm: float) -> float:
        """Turn a length in mm of paper into level pixels."""
        return length_mm / self.paper_mm_per_px


def apply_homography(homography: FloatArray, points: FloatArray) -> FloatArray:
    """Map points by a homography.

    Parameters
    ----------
    homography : ndarray, float64, shape (3, 3)
    points : ndarray, float64, shape (N, 2)
        (x, y) rows.

    Returns
    -------
    ndarray, float64, shape (N, 2)

    Examples
    --------
    >>> import numpy as np
    >>> apply_homography(np.diag([2.0, 2.0, 1.0]), np.array([[1.0, 3.0]]))
    array([[2., 6.]])
    """
    points = np.asarray(points, dtype=np.float64)
    mapped = points @ homography[:, :2].T + homography[:, 2]
    return np.asarray(mapped[:, :2] / mapped[:, 2:3], dtype=np.float64)
