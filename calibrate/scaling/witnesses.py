"""What speaks for the scale of a sheet before a figure is read: each source a witness with its standard error."""

from dataclasses import replace

import numpy as np

from calibrate.files.resolution import MM_PER_INCH
from calibrate.quad import has_parallel_sides
from calibrate.scaling.borders import find_border, matching_border
from calibrate.scaling.sizes import matching_size, quad_sides_px
from calibrate.sheet import FloatArray, KnownOf, LevelSheet, ScaleWitness

RESOLUTION_STD = 0.01
"""A good archive scan is within 1 to 3 % of size (FADGI 2016, oversize originals)."""
SIZE_STD_MM = 1.0
"""Standard error of a paper's side: cut to 1.5 to 3 mm (ISO 216, from memory), often trimmed since."""
BORDER_STD_MM = 0.7
"""Standard error of a drawn border's side (common practice, no source)."""
UNSHRUNK = "of the paper as it was cut, before it shrank"


def paper_witnesses(sheet: LevelSheet, quad_px: FloatArray | None) -> tuple[ScaleWitness, ...]:
    """Collect what the file, the paper's edges and the border say of millimetres of paper per level pixel.

    Parameters
    ----------
    sheet : LevelSheet
    quad_px : ndarray, float64, shape (4, 2), or None
        Corners of the paper in source pixels, clockwise from top left, where its edges were found.

    Returns
    -------
    tuple of ScaleWitness
        None at all where the resolution is not known: sizes are then candidates, not witnesses.
    """
    x_dpi, y_dpi = sheet.resolution.x_dpi, sheet.resolution.y_dpi
    if x_dpi is None or y_dpi is None:
        return ()
    mm_per_px = MM_PER_INCH / x_dpi, MM_PER_INCH / y_dpi
    stds = mm_per_px[0] * RESOLUTION_STD, mm_per_px[1] * RESOLUTION_STD
    stated = ScaleWitness("resolution", KnownOf.PAPER, mm_per_px, stds, sheet.resolution.note)
    if sheet.known is not None and sheet.known.of is KnownOf.PAPER:
        stated = replace(stated, source="known length", std=sheet.known.std)
    return (stated, *_size(sheet, quad_px, mm_per_px), *_border(sheet, mm_per_px))


def known_witness(sheet: LevelSheet) -> tuple[ScaleWitness, ...]:
    """What a person's lengths of the part say; those of the paper make the resolution."""
    known = sheet.known
    if known is None or known.of is not KnownOf.PART:
        return ()
    return (ScaleWitness("known length", known.of, known.mm_per_px, known.std, known.note),)


def witness_record(witness: ScaleWitness) -> dict[str, object]:
    """A witness in plain values, ready for JSON."""
    return {
        "source": witness.source,
        "of": witness.of.value,
        "mm_per_px": list(witness.mm_per_px),
        "std": list(witness.std),
        "agrees": witness.agrees,
        "note": witness.note,
    }


def _size(sheet: LevelSheet, quad: FloatArray | None, mm_per_px: tuple[float, float]) -> tuple[ScaleWitness, ...]:
    if quad is None or sheet.rectified or not has_parallel_sides(quad):
        return ()
    sides_px = quad_sides_px(_from_top_left(sheet.flat_points(quad)))
    size = matching_size((sides_px[0] * mm_per_px[0], sides_px[1] * mm_per_px[1]))
    if size is None:
        return ()
    lying = sides_px[0] * mm_per_px[0] > sides_px[1] * mm_per_px[1]
    sides_mm = (size.long_mm, size.short_mm) if lying else (size.short_mm, size.long_mm)
    return (_witness("sheet size", sides_mm, sides_px, SIZE_STD_MM, f"{size.said}, {UNSHRUNK}"),)


def _from_top_left(quad: FloatArray) -> FloatArray:
    """Begin with the upper side, whatever quarter turn the sheet has had."""
    turn = int(np.argmin(quad.sum(axis=1)))
    return np.roll(quad, -turn, axis=0)


def _border(sheet: LevelSheet, mm_per_px: tuple[float, float]) -> tuple[ScaleWitness, ...]:
    seen = None if sheet.rectified else find_border(sheet.ink, sheet.paper_mm_per_px)
    standard = None if seen is None else matching_border(seen, mm_per_px)
    if seen is None or standard is None:
        return ()
    sides_mm, sides_px = (standard.width_mm, standard.height_mm), (seen.width_px, seen.height_px)
    note = f"the border of {standard.size.said}, {UNSHRUNK}"
    return (_witness("border", sides_mm, sides_px, BORDER_STD_MM, note),)


def _witness(
    source: str, sides_mm: tuple[float, float], sides_px: tuple[float, float], std_mm: float, note: str
) -> ScaleWitness:
    x, y = (mm / px for mm, px in zip(sides_mm, sides_px, strict=True))
    stds = std_mm / sides_px[0], std_mm / sides_px[1]
    return ScaleWitness(source, KnownOf.PAPER, (x, y), stds, note)
