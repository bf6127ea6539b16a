"""Pixels per inch: what a file states, and whether the pen lines let one believe it."""

import math

from calibrate.sheet import Resolution, ResolutionStatus

MM_PER_INCH = 25.4
CM_PER_INCH = 2.54

DEFAULT_DPI = (1.0, 72.0, 96.0)
"""Figures that programs write when they know nothing (common practice, no source)."""
WHOLE_FROM_DPI = 1000
DEFAULT_TOLERANCE_DPI = 0.1
LOWEST_DPI, HIGHEST_DPI = 100.0, 2400.0
"""Outside this range no document scanner is used for drawings (common practice, no source)."""
LARGEST_AXIS_RATIO = 2.1
"""Fax machines scan 204 x 98 dpi; nothing usual is more oblong than that (ITU-T T.4, from memory)."""
FINEST_PEN_MM, BROADEST_PEN_MM = 0.16, 0.8
"""The fine lines of a print lie between these (common practice, no source; ISO 128 has 0.13 to 2 mm, from memory)."""
SHORTEST_SHEET_MM, LONGEST_SHEET_MM = 100.0, 5000.0
"""Longer side of a sheet (common practice, no source)."""
ASSUMED_PEN_MM = 0.3
"""Fine lines and lettering of an inked drawing (common practice, no source)."""


def unknown(note: str) -> Resolution:
    """Give a resolution that is not known, with the reason in words."""
    return Resolution(ResolutionStatus.UNKNOWN, None, None, note)


def stated(x_dpi: float | None, y_dpi: float | None, where: str) -> Resolution:
    """Record what a file says of itself, without judging it.

    Parameters
    ----------
    x_dpi, y_dpi : float or None
        Pixels per inch along a row and along a column; None or not positive where the file is silent.
    where : str
        The place in the file that says so, for the note.

    Returns
    -------
    Resolution
        STATED, or UNKNOWN where either figure is missing.
    """
    if not x_dpi or not y_dpi or x_dpi <= 0 or y_dpi <= 0:
        return unknown("the file states no resolution")
    return Resolution(ResolutionStatus.STATED, float(x_dpi), float(y_dpi), f"stated by the file ({where})")


def turned(resolution: Resolution) -> Resolution:
    """Exchange the axes, for a picture turned by a quarter."""
    return Resolution(resolution.status, resolution.y_dpi, resolution.x_dpi, resolution.note)


def judge(
    resolution: Resolution, pen_px: float, shape_px: tuple[int, ...], *, photographed: bool = False
) -> Resolution:
    """Believe a stated resolution or not.

    Parameters
    ----------
    resolution : Resolution
        As stated.
    pen_px : float
        Modal width of the pen lines, in pixels.
    shape_px : tuple of int
        Height and width of the picture.
    photographed : bool
        True where a perspective was found: a camera knows nothing of the paper's size.

    Returns
    -------
    Resolution
        The same, or UNKNOWN with a note that says what was stated and why it is not believed.

    Examples
    --------
    >>> judge(stated(72, 72, "JFIF"), 4.0, (3000, 4000)).note
    'the file states 72 dpi, which programs write when they know nothing; not believed'
    >>> judge(stated(300, 300, "TIFF tags"), 4.0, (3000, 4000)).status
    <ResolutionStatus.STATED: 'stated'>
    """
    if resolution.x_dpi is None or resolution.y_dpi is None:
        return resolution
    if photographed:
        return unknown(f"the file states {_said(resolution)}, but it is a photograph; not believed")
    reason = (
        _absurdity(resolution.x_dpi, resolution.y_dpi)
        or _pen_contradicts(resolution, pen_px)
        or _size_contradicts(resolution, max(shape_px[:2]))
    )
    return unknown(f"the file states {_said(resolution)}, {reason}; not believed") if reason else resolution


def paper_mm_per_px(resolution: Resolution, pen_px: float) -> float:
    """Millimetres of paper per pixel: from the resolution, or a working figure from the pen width.

    The second is good enough for thresholds and never for a length.
    """
    if resolution.x_dpi is not None and resolution.y_dpi is not None:
        return MM_PER_INCH / math.sqrt(resolution.x_dpi * resolution.y_dpi)
    return ASSUMED_PEN_MM / pen_px


def pixel_stretch(resolution: Resolution) -> float:
    """Log of a pixel's width over its height, as the file has it; 0 where it has none."""
    if resolution.x_dpi is None or resolution.y_dpi is None:
        return 0.0
    return math.log(resolution.y_dpi / resolution.x_dpi)


def _said(resolution: Resolution) -> str:
    if resolution.x_dpi == resolution.y_dpi:
        return f"{_figure(resolution.x_dpi)} dpi"
    return f"{_figure(resolution.x_dpi)} x {_figure(resolution.y_dpi)} dpi"


def _figure(dpi: float | None) -> str:
    return "no" if dpi is None else f"{dpi:.4g}" if dpi < WHOLE_FROM_DPI else f"{dpi:.0f}"


def _absurdity(x_dpi: float, y_dpi: float) -> str | None:
    if any(abs(x_dpi - d) < DEFAULT_TOLERANCE_DPI and abs(y_dpi - d) < DEFAULT_TOLERANCE_DPI for d in DEFAULT_DPI):
        return "which programs write when they know nothing"
    if min(x_dpi, y_dpi) < LOWEST_DPI or max(x_dpi, y_dpi) > HIGHEST_DPI:
        return "which no scanner of drawings uses"
    if max(x_dpi / y_dpi, y_dpi / x_dpi) > LARGEST_AXIS_RATIO:
        return "which is too unequal on its axes"
    return None


def _pen_contradicts(resolution: Resolution, pen_px: float) -> str | None:
    pen_mm = pen_px * paper_mm_per_px(resolution, pen_px)
    if FINEST_PEN_MM <= pen_mm <= BROADEST_PEN_MM:
        return None
    return f"at which the pen lines would be {pen_mm:.2f} mm wide"


def _size_contradicts(resolution: Resolution, longer_side_px: int) -> str | None:
    longer_mm = longer_side_px * paper_mm_per_px(resolution, 1.0)
    if SHORTEST_SHEET_MM <= longer_mm <= LONGEST_SHEET_MM:
        return None
    return f"at which the sheet would be {longer_mm:.0f} mm long"
