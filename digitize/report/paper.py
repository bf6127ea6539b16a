"""What the scale says of the paper: the drawing's nominal scale, and how much the sheet has shrunk on each axis."""

from dataclasses import dataclass
from fractions import Fraction

from calibrate.sheet import LevelSheet, ResolutionStatus
from digitize.dimensions.table import Reconciled, ViewScale
from digitize.report.frame import main_scale
from digitize.standards import scale_note, scale_notes

NEAR_SCALE = 0.04  # shrink stays under 1.5 % and a scanner is true to 3 %; neighbouring drawing scales lie 20 % apart


@dataclass(frozen=True)
class Paper:
    """Paper against drawing.

    Attributes
    ----------
    drawn_over_real : Fraction or None
        Nominal scale: 1/2 for half size. None where none of the customary scales is near, or no scale is known.
    nominal_known : str
        How the nominal scale is known.
    shrink_percent, shrink_std_percent : tuple of float, or None
        On x and y of the level sheet, positive where the paper is smaller than it was. None where the resolution of
        the scan, or the nominal scale, is unknown: only the difference of the axes can then be told.
    difference_percent : float or None
        Shrink on x less shrink on y; needs no resolution.
    """

    drawn_over_real: Fraction | None
    nominal_known: str
    shrink_percent: tuple[float, float] | None
    shrink_std_percent: tuple[float, float] | None
    difference_percent: float | None


NOTHING_KNOWN = Paper(None, "no scale is known", None, None, None)


def paper(sheet: LevelSheet, reconciled: Reconciled) -> Paper:
    """Compare the fitted scale with the paper's size."""
    scale = main_scale(reconciled)
    if scale is None:
        return NOTHING_KNOWN
    difference = (scale.x_mm_per_px / scale.y_mm_per_px - 1) * 100
    if sheet.resolution.status is ResolutionStatus.UNKNOWN:
        return Paper(None, "the scan's resolution is unknown", None, None, difference)
    real_over_drawn = (scale.x_mm_per_px + scale.y_mm_per_px) / 2 / sheet.paper_mm_per_px
    nominal, known = _nominal(1 / real_over_drawn, reconciled.title_block.get("scale", ""))
    if nominal is None:
        return Paper(None, known, None, None, difference)
    return Paper(nominal, known, *_shrink(scale, sheet.paper_mm_per_px / float(nominal)), difference)


def _nominal(measured: float, note_text: str) -> tuple[Fraction | None, str]:
    note = scale_note(note_text) if note_text else None
    if note is not None and _near(note.drawn_over_real, measured):
        return note.drawn_over_real, f"scale note {note_text}, and the dimensions bear it out"
    near = {each.drawn_over_real for each in scale_notes() if _near(each.drawn_over_real, measured)}
    if len(near) == 1:
        return near.pop(), "the customary scale nearest to what the dimensions give"
    return None, "no customary scale is near what the dimensions give"


def _near(nominal: Fraction, measured: float) -> bool:
    return abs(measured / float(nominal) - 1) < NEAR_SCALE


_Pair = tuple[float, float]


def _shrink(scale: ViewScale, unshrunk_mm_per_px: float) -> tuple[_Pair, _Pair]:
    """Shrink and its standard error on each axis, in per cent.

    A length of L pixels is L * unshrunk mm of part on sound paper; on shrunken paper it stands for more.
    """
    pairs = ((scale.x_mm_per_px, scale.x_std), (scale.y_mm_per_px, scale.y_std))
    x, y = ((1 - unshrunk_mm_per_px / value) * 100 for value, _ in pairs)
    x_std, y_std = (unshrunk_mm_per_px / value**2 * std * 100 for value, std in pairs)
    return (x, y), (x_std, y_std)
