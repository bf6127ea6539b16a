"""The scale from lengths that a person measured or read off, each between two points of the picture.

Terms
-----
known length
    A length of the part, as its drawing says, or of the paper, as a rule laid on the print says; with the two source
    pixels that it lies between.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from calibrate.errors import InputError
from calibrate.files.resolution import MM_PER_INCH, pixel_stretch
from calibrate.lengths import GivenLength, parse_length
from calibrate.scaling.nominal import PEN_START_MM
from calibrate.scaling.stretching import STRETCH_PRIOR, Stretch, stretch_from_circles
from calibrate.sheet import (
    FloatArray,
    KnownOf,
    KnownScale,
    KnownSpan,
    LevelSheet,
    Resolution,
    ResolutionStatus,
)

PICK_STD_PX = 1.0
"""Standard error of each end as a person points to it, in source pixels (common practice, no source)."""
SHORTEST_PX = 20.0
"""Between nearer points nothing is learnt of a scale."""
CONTRADICTION_STDS = 4.0
SURE_OF_DISAGREEMENT = 0.01
"""A stated resolution that differs by more than this part, and by `CONTRADICTION_STDS`, is told to be wrong."""
_FORM = re.compile(r"(?P<length>.+?)\s+(?P<start>\S+)\s+(?P<end>\S+)")
_POINT = re.compile(r"(-?\d+(?:\.\d*)?),(-?\d+(?:\.\d*)?)")


@dataclass(frozen=True)
class KnownLength:
    """A length with its ends, shape (2, 2): rows (x, y) in source pixels."""

    length: GivenLength
    ends_px: FloatArray


def parse_known(text: str) -> KnownLength:
    """Read a known length: ``LENGTH X1,Y1 X2,Y2``.

    Raises
    ------
    InputError
        Where a part is missing or is no length or no point.

    Examples
    --------
    >>> known = parse_known("7 1/2in 120,300 1890.5,300")
    >>> known.length.value_mm, known.ends_px.tolist()
    (Fraction(381, 2), [[120.0, 300.0], [1890.5, 300.0]])
    """
    form = _FORM.fullmatch(text.strip())
    points = [_POINT.fullmatch(form[end]) for end in ("start", "end")] if form else []
    if form is None or None in points:
        raise InputError(f'The known length "{text}" is not understood; write it like 7.5in 120,300 1890,300.')
    ends = np.array([[float(number) for number in point.groups()] for point in points if point], np.float64)
    return KnownLength(parse_length(form["length"], "known length"), ends)


def with_known(sheet: LevelSheet, lengths: Sequence[KnownLength], of: KnownOf = KnownOf.PART) -> LevelSheet:
    """Give a sheet the scale that known lengths tell.

    Parameters
    ----------
    sheet : LevelSheet
    lengths : sequence of KnownLength
        At least one.
    of : KnownOf
        What all of them are lengths of. Where it is the paper, they replace the file's resolution.

    Returns
    -------
    LevelSheet

    Raises
    ------
    InputError
        Where a point lies outside the picture, two points lie too near, or the lengths contradict each other.
    """
    scale = known_scale(sheet, lengths, of)
    if of is KnownOf.PART:
        return replace(sheet, known=scale)
    x_mm, y_mm = scale.mm_per_px
    resolution = Resolution(ResolutionStatus.DERIVED, MM_PER_INCH / x_mm, MM_PER_INCH / y_mm, scale.note)
    return replace(
        sheet,
        known=scale,
        resolution=resolution,
        paper_mm_per_px=float(np.sqrt(x_mm * y_mm)),
        warnings=(*sheet.warnings, *_disagreement(sheet.resolution, scale)),
    )


def known_scale(sheet: LevelSheet, lengths: Sequence[KnownLength], of: KnownOf) -> KnownScale:
    """Fit the scale on both axes of the level picture to known lengths.

    Notes
    -----
    log(length / pixels) = log scale + stretch cos(2 angle) / 2, by least squares. The stretch between the axes is
    held to what circles tell, where somebody looked for them, or to the usual shrinkage of paper; the axis that no
    length lies along gets the larger standard error. A length's own error is that of pointing at its two ends, its
    tolerance or, where it was measured with a rule, its rounding, and, where it is the part's, the draughtsman's error.
    """
    rows = np.array([_row(sheet, known, of) for known in lengths], np.float64)
    y, cos2, std = rows.T
    stretch = _stretch(sheet)
    _check_agreement(rows, [known.length.text for known in lengths], stretch)
    design = np.column_stack([np.ones(len(y)), cos2 / 2])
    precision = np.diag([0.0, stretch.std**-2])
    covariance = np.linalg.inv(design.T @ (design / std[:, None] ** 2) + precision)
    parameters = covariance @ (design.T @ (y / std**2) + precision @ [0.0, stretch.mean])
    axes = np.array([[1.0, 0.5], [1.0, -0.5]])
    values = np.exp(axes @ parameters)
    errors = values * np.sqrt(np.einsum("ij,jk,ik->i", axes, covariance, axes))
    said = ", ".join(known.length.text for known in lengths)
    note = f"from {said} of the {of.value} given between points of the picture"
    spans = tuple(_span(sheet, known, float(each)) for known, each in zip(lengths, std, strict=True))
    return KnownScale(
        of, (float(values[0]), float(values[1])), (float(errors[0]), float(errors[1])), len(y), note, spans
    )


def _stretch(sheet: LevelSheet) -> Stretch:
    """What is known of the log of mm per pixel across over that up, before any length."""
    usual_std = STRETCH_PRIOR if sheet.proportion is None else sheet.proportion.std
    circles, pixel = sheet.circles, pixel_stretch(sheet.resolution)
    if circles is None or not circles.agree:
        return Stretch(pixel, usual_std)
    told = stretch_from_circles(float(np.expm1(-circles.stretch)), circles.std, usual_std)
    return replace(told, mean=pixel + told.mean)


def _span(sheet: LevelSheet, known: KnownLength, relative_std: float) -> KnownSpan:
    (x0, y0), (x1, y1) = sheet.flat_points(known.ends_px)
    value_mm = float(known.length.value_mm)
    return KnownSpan(value_mm, relative_std * value_mm, (float(x0), float(y0)), (float(x1), float(y1)))


def _row(sheet: LevelSheet, known: KnownLength, of: KnownOf) -> tuple[float, float, float]:
    """Log of mm per level pixel, cosine of twice the angle to the x axis, relative standard error."""
    height, width = sheet.source_shape_px
    text = known.length.text
    if (known.ends_px < -0.5).any() or (known.ends_px > [width - 0.5, height - 0.5]).any():
        raise InputError(f"A point of the known length {text} lies outside the picture of {width} x {height} pixels.")
    source = known.ends_px[1] - known.ends_px[0]
    source_px = float(np.hypot(*source))
    if source_px < SHORTEST_PX:
        raise InputError(f"The points of the known length {text} are {source_px:.0f} pixels apart; give a longer one.")
    ends = sheet.flat_points(known.ends_px)
    along = ends[1] - ends[0]
    length_px, value_mm = float(np.hypot(*along)), float(known.length.value_mm)
    pointing = 2**0.5 * PICK_STD_PX / source_px
    drawing = PEN_START_MM / (length_px * sheet.paper_mm_per_px) if of is KnownOf.PART else 0.0
    cos2 = float((along[0] ** 2 - along[1] ** 2) / length_px**2)
    std = float(np.sqrt(pointing**2 + drawing**2 + (_own_std_mm(known.length, of) / value_mm) ** 2))
    return float(np.log(value_mm / length_px)), cos2, std


def _own_std_mm(length: GivenLength, of: KnownOf) -> float:
    if length.std_mm is not None:
        return length.std_mm
    return float(length.place_mm) / 12**0.5 if of is KnownOf.PAPER else 0.0


def _check_agreement(rows: FloatArray, texts: Sequence[str], stretch: Stretch) -> None:
    for (a, first), (b, second) in combinations(zip(rows, texts, strict=True), 2):
        turned = (a[1] - b[1]) / 2
        std = float(np.sqrt(a[2] ** 2 + b[2] ** 2 + (turned * stretch.std) ** 2))
        if abs(a[0] - b[0] - turned * stretch.mean) > CONTRADICTION_STDS * std:
            raise InputError(
                f"The known lengths {first} and {second} contradict each other: {np.exp(a[0]):.4g} and"
                f" {np.exp(b[0]):.4g} mm a pixel; check the points, and give lengths of one scale only."
            )


def _disagreement(stated: Resolution, scale: KnownScale) -> tuple[str, ...]:
    """Say where a resolution that was believed so far is contradicted."""
    if stated.x_dpi is None or stated.y_dpi is None:
        return ()
    off = [mm * dpi / MM_PER_INCH - 1 for mm, dpi in zip(scale.mm_per_px, (stated.x_dpi, stated.y_dpi), strict=True)]
    clear = [
        abs(part) > max(SURE_OF_DISAGREEMENT, CONTRADICTION_STDS * std / mm)
        for part, std, mm in zip(off, scale.std, scale.mm_per_px, strict=True)
    ]
    if not any(clear):
        return ()
    return (
        f"The known length makes the picture {MM_PER_INCH / scale.mm_per_px[0]:.1f} x"
        f" {MM_PER_INCH / scale.mm_per_px[1]:.1f} dpi, not {stated.x_dpi:.4g} x {stated.y_dpi:.4g} as"
        " the file states; the file's figure is not used.",
    )
