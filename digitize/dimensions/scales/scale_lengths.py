"""The lengths that a scale is fitted to: what figures, people and the scale note say of what is drawn."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from calibrate.scaling.nominal import Length, vote
from digitize.dimensions.linking.edges import edges_of
from digitize.dimensions.linking.entries import Entry, in_mm, is_length
from digitize.dimensions.scales.given import GivenLength
from digitize.dimensions.table import Measured
from digitize.lettering.text import Kind, TypedValue, Unit

RADIUS_SHARE = 0.5
"""A radius carries half of its diameter's error: a circle is as far off its size however it is dimensioned."""
LEAST_CIRCLE_STD_PX = 0.025
"""A traced circle's size is not known better than this, whatever its own fit says (measured on clean sample sheets)."""
LEAST_LENGTH_MM = 1.5
"""Shorter lengths, in mm of paper, say nothing of a scale."""
NOTE_LENGTH_MM = 100.0
"""Length that a scale note is worth a statement about ..."""
NOTE_STD_MM = 1.2
"""... and its standard error, in mm of paper: a print shrinks by up to 1.2 %, a scan is off by one."""
NOTE_VIEW = -1
"""Stands for the title block where the note is put among the views' lengths."""
GIVEN_TRUST = 0.97
"""Trust in a length that a person gives: points may be taken wrongly."""
LEAST_VOTES = 2.5
"""Summed trust that a separate view scale needs."""
FINE_PLACE = {Unit.INCH: Fraction(1, 1000), Unit.MM: Fraction(1, 100)}
"""Figures to this place that are no binary fraction are often worked out and rounded: 3 9/16 as 3.562, a gear's outside
diameter as 5.167 (of 80 on plotted sheets half are off by a third of the place and more)."""
COMMON_FRACTION = 64
ROUNDED_STD, LIMITS_STD = 12**-0.5, 2.0
"""Standard error in last places: of rounding, and of limits, whose drawn size is that of the fit they were taken from
(drawn sheets: one to two off the larger)."""


def cos2_of(measured: Measured) -> float:
    """Cosine of twice the angle of a measured length to the x axis; 0 where a whole circle was measured."""
    if measured.kind is Kind.RADIUS or (measured.kind is Kind.DIAMETER and not measured.lines):
        return 0.0
    dx, dy = measured.second[0] - measured.first[0], measured.second[1] - measured.first[1]
    return (dx * dx - dy * dy) / (dx * dx + dy * dy)


def figure_lengths(
    entries: Sequence[Entry], number: Mapping[str, int], unit: Unit, mm_per_px: float, bent: bool
) -> tuple[dict[int, int], list[Length]]:
    """The lengths that figures give, and the place among them of each entry that gives one."""
    lengths: list[Length] = []
    length_of: dict[int, int] = {}
    for index, (entry, ends) in enumerate(zip(entries, edges_of(entries, mm_per_px), strict=True)):
        length = _length(entry, number[entry.view or ""], unit, mm_per_px)
        if length is not None:
            length_of[index] = len(lengths)
            lengths.append(replace(length, ends=ends, grain=length.grain and not bent))
    return length_of, lengths


def given_length(given: GivenLength, view: int, mm_per_px: float) -> Length:
    """A length from elsewhere than the figures."""
    (x0, y0), (x1, y1) = given.first_px, given.second_px
    dx, dy = x1 - x0, y1 - y0
    length_px = math.hypot(dx, dy)
    std_mm = given.relative_std * length_px * mm_per_px
    cos2 = (dx * dx - dy * dy) / length_px**2
    return Length(view, length_px * mm_per_px, std_mm, given.value_mm, cos2, GIVEN_TRUST, drawn=False)


def note_length(part_per_paper: float, choices: int = 1) -> Length:
    """A scale note as a statement about a length; it stands among the views' lengths as that of `NOTE_VIEW`.

    Where it was one of several ``choices``, one of them is so much the likelier to fit by chance.
    """
    std_mm = choices * NOTE_STD_MM
    return Length(NOTE_VIEW, NOTE_LENGTH_MM, std_mm, NOTE_LENGTH_MM * part_per_paper, 0.0, 0.9, drawn=False)


def drawn_over_mm(entries: Sequence[Entry], mm_per_px: float) -> float | None:
    """Paper mm a unit of the unmarked figures by the vote of the dimensions; None where too few are measured.

    Parameters
    ----------
    entries : sequence of Entry
    mm_per_px : float
        Paper millimetres per level pixel.
    """
    unmarked = [entry for entry in entries if entry.value is not None and entry.value.unit is Unit.UNMARKED]
    found = [_length(entry, 0, Unit.MM, mm_per_px) for entry in unmarked]
    lengths = [length for length in found if length is not None]
    if not lengths:
        return None
    log_scale, support = vote(lengths)
    return math.exp(-log_scale) if support >= LEAST_VOTES else None


def figure_std(value: TypedValue, sheet_unit: Unit) -> float:
    """Standard error of a written value, as a part of it: that of its rounding, or of the limits it is one of.

    Examples
    --------
    >>> told = TypedValue(Kind.LINEAR, Fraction(2500, 1000), Unit.INCH, place=Fraction(1, 1000))
    >>> figure_std(told, Unit.INCH), round(figure_std(replace(told, nominal=Fraction(2501, 1000)), Unit.INCH), 6)
    (0.0, 0.000115)
    """
    fine = FINE_PLACE.get(sheet_unit if value.unit is Unit.UNMARKED else value.unit)
    if fine is None or not value.nominal or value.place > fine:
        return 0.0
    if value.style == "limits":
        return LIMITS_STD * float(value.place / value.nominal)
    is_whole = (value.nominal * COMMON_FRACTION).denominator == 1
    return 0.0 if is_whole else ROUNDED_STD * float(value.place / value.nominal)


def _length(entry: Entry, view: int, unit: Unit, mm_per_px: float) -> Length | None:
    value, measured = entry.value, entry.measured
    if value is None or measured is None or not is_length(value) or value.not_to_scale:
        return None
    nominal_mm = in_mm(value, unit)
    measured_mm = measured.size * mm_per_px
    if nominal_mm is None or nominal_mm <= 0 or measured_mm < LEAST_LENGTH_MM:
        return None
    if not entry.certain_line:
        return None
    circle = cos2_of(measured) == 0.0 and bool(measured.arcs)
    std_mm = max(measured.size_std, LEAST_CIRCLE_STD_PX if circle else 0.0) * mm_per_px
    own = Length(view, measured_mm, std_mm, float(nominal_mm), cos2_of(measured), entry.reading, grain=not circle)
    own = replace(own, figure_std=figure_std(value, unit))
    return replace(own, pen_share=RADIUS_SHARE) if measured.kind is Kind.RADIUS else own
