"""Standard sheet sizes as a witness of the scale: what size the paper has, or which sizes its proportions allow."""

import csv
import math
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

import numpy as np

from calibrate.files.resolution import BROADEST_PEN_MM, FINEST_PEN_MM, MM_PER_INCH
from calibrate.sheet import FloatArray, Resolution

LARGEST_DEVIATION = 0.015
"""Paper shrinks by up to 1.2 % and is trimmed by hand; a scan that strays further is of no standard size."""
LARGEST_PICTURE_DEVIATION = 0.005
"""A picture is cut larger than its paper, by any amount: a size that it has by chance is no witness."""
SAME_SIZE = 0.001
"""Sizes of several series that agree to this part are one size."""
RATIO_DEVIATION = 0.006
"""Sides of one sheet shrink alike to about this part."""
USUAL_DPI = (150, 200, 240, 300, 400, 600)
"""Resolutions that drawings are scanned at (common practice, no source)."""
DPI_DEVIATION = 0.01
CANDIDATE = "The {what} may be {said}, by its proportions in {series}; a candidate, not a fact, and not used."
CONTRADICTED = (
    "At the resolution that the file states the paper is {width:.0f} x {height:.0f} mm, no standard size; by its"
    " proportions it would be {said}: check the resolution."
)


@dataclass(frozen=True)
class SheetSize:
    """A standard size: series, name, sides in millimetres."""

    series: str
    name: str
    short_mm: float
    long_mm: float

    @property
    def said(self) -> str:
        """Name with its series."""
        return self.name if self.series == "ISO 216" else f"{self.series} {self.name}"


@lru_cache(maxsize=1)
def sheet_sizes() -> tuple[SheetSize, ...]:
    """Standard sizes that have two sides, in the order of the table."""
    text = resources.files("calibrate").joinpath("sheet_sizes.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return tuple(
        SheetSize(row["series"], row["name"], float(row["short_mm"]), float(row["long_mm"]))
        for row in rows
        if row["long_mm"]
    )


def size_evidence(
    resolution: Resolution, size_px: tuple[float, float], pen_px: float, *, of_paper: bool
) -> tuple[str, ...]:
    """Say what standard sizes witness of the scale.

    Parameters
    ----------
    resolution : Resolution
        Judged.
    size_px : (float, float)
        Width and height in pixels of the paper, or of the whole picture.
    pen_px : float
        Modal width of the pen lines: a size at which they would be no pen lines is no candidate.
    of_paper : bool
        True where the edges of the paper were found.

    Returns
    -------
    tuple of str
        No line, or one. With a known resolution: the standard size that the sheet has. Without: candidates, told as
        such, where the proportions fit one series alone.

    Examples
    --------
    >>> from calibrate.files.resolution import stated, unknown
    >>> size_evidence(stated(200, 200, "TIFF tags"), (3301.0, 2336.0), 2.5, of_paper=True)
    ('The paper is A3 within 0.2 %.',)
    >>> size_evidence(unknown(""), (3301.0, 2336.0), 2.5, of_paper=True)[0][:64]
    'The paper may be A3 at 200 dpi, by its proportions in ISO 216; a'
    """
    what = "paper" if of_paper else "picture"
    if resolution.x_dpi is None or resolution.y_dpi is None:
        said = _candidates(size_px, pen_px)
        return (CANDIDATE.format(what=what, said=said[0], series=said[1]),) if said else ()
    width_mm, height_mm = size_px[0] * MM_PER_INCH / resolution.x_dpi, size_px[1] * MM_PER_INCH / resolution.y_dpi
    short_mm, long_mm = sorted((width_mm, height_mm))
    deviations = [max(abs(short_mm / s.short_mm - 1), abs(long_mm / s.long_mm - 1)) for s in sheet_sizes()]
    least = min(deviations)
    if least > (LARGEST_DEVIATION if of_paper else LARGEST_PICTURE_DEVIATION):
        return _contradicted(size_px, pen_px, (width_mm, height_mm)) if of_paper else ()
    names = " or ".join(
        size.said for size, off in zip(sheet_sizes(), deviations, strict=True) if off - least < SAME_SIZE
    )
    return (f"The {what} is {names} within {100 * least + 0.05:.1f} %.",)


def matching_size(sides_mm: tuple[float, float]) -> SheetSize | None:
    """The standard size nearest to a paper's sides, width and height; None where none is near."""
    short_mm, long_mm = sorted(sides_mm)
    off = [max(abs(short_mm / s.short_mm - 1), abs(long_mm / s.long_mm - 1)) for s in sheet_sizes()]
    best = int(np.argmin(off))
    return sheet_sizes()[best] if off[best] <= LARGEST_DEVIATION else None


def _contradicted(size_px: tuple[float, float], pen_px: float, sides_mm: tuple[float, float]) -> tuple[str, ...]:
    """Say that the paper is of no standard size as the file has it, where it would be at another resolution."""
    said = _candidates(size_px, pen_px)
    return (CONTRADICTED.format(width=sides_mm[0], height=sides_mm[1], said=said[0]),) if said else ()


def _candidates(size_px: tuple[float, float], pen_px: float) -> tuple[str, str] | None:
    """Sizes whose proportions fit at a usual resolution and with a likely pen, and their series, if it is one alone."""
    short_px, long_px = sorted(size_px)
    found = [
        (size.series, f"{size.name} at {dpi} dpi")
        for size in sheet_sizes()
        for dpi in USUAL_DPI
        if abs(long_px / short_px * size.short_mm / size.long_mm - 1) < RATIO_DEVIATION
        and abs(math.sqrt(short_px * long_px / (size.short_mm * size.long_mm)) * MM_PER_INCH / dpi - 1) < DPI_DEVIATION
        and FINEST_PEN_MM <= pen_px * MM_PER_INCH / dpi <= BROADEST_PEN_MM
    ]
    series = {name for name, _ in found}
    return (" or ".join(words for _, words in found), series.pop()) if len(series) == 1 else None


def quad_sides_px(quad: FloatArray) -> tuple[float, float]:
    """Mean width and height of a sheet's corners, clockwise from top left, shape (4, 2)."""
    sides = np.linalg.norm(np.roll(quad, -1, axis=0) - quad, axis=1)
    return float(sides[0] + sides[2]) / 2, float(sides[1] + sides[3]) / 2
