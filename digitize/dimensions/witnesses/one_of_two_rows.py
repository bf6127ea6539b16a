"""Whether a lone figure is one of two limits whose other was lost whole, so that nothing stands beside it.

Two limits have their dimension line, or the end of their leader, between them; a figure alone has it through its
middle, or stands over it with a space between. Where the line doesn't run along the lettering, or the figure stands
over it, its value tells: a limit is off a round size by what a fit allows.
"""

from fractions import Fraction

from digitize.dimensions.linking.directions import across, bearing_deg, fold_deg, unit
from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.linking.leaders import Leader
from digitize.dimensions.linking.span import Span
from digitize.lettering.text import TextBlock, TypedValue, Unit

ALONG_DEG = 10.0
"""Lettering runs along its line to this."""
IN_LINE_HEIGHTS = 0.33
"""A figure alone has its middle no further from its line than this, in its heights ..."""
OVER_HEIGHTS = 0.66
"""... or at least so far over it: between the two stands the upper of two rows, further under the line the lower (of
some 7,400 agreed on 1,000 sheets about 7 did; of 45 upper limits whose lower was taken away, nearly all)."""
FINEST_FRACTION = Fraction(1, 16)
"""Sizes are round to this, in inches, before a fit is allowed for."""
ALLOWED_IN = Fraction(6, 10000), Fraction(5, 1000)
"""A limit lies so far off a round size: further than rounding to thousandths brings it, and as far as usual fits allow
(ANSI B4.1, from memory; of 1,607 decimals that were agreed without a tolerance two did)."""
HALF_MM, ALLOWED_MM = Fraction(1, 2), (Fraction(5, 1000), Fraction(7, 100))
"""The same in mm (ISO 286, from memory: h9 of 80 mm allows .074)."""
LEAST_MM = 8
"""A number of two places from this one on is of mm."""


def is_one_of_two_rows(entry: Entry, block: TextBlock) -> bool:
    """Does a figure stand where one of two limits does, or read like one where its place does not tell?"""
    if entry.value is None or entry.value.style == "fraction" or entry.value.upper is not None:
        return False
    down = _heights_down(entry, block)
    if down is not None and abs(down) < IN_LINE_HEIGHTS:
        return False
    return (down is not None and down > -OVER_HEIGHTS) or reads_like_a_limit(entry.value)


def _heights_down(entry: Entry, block: TextBlock) -> float | None:
    """How far under its line or leader's end a figure has its middle, in its heights; None where a line crosses it."""
    if isinstance(entry.slot, Span):
        way, origin = bearing_deg(entry.slot.second, entry.slot.first), entry.slot.first
    elif isinstance(entry.slot, Leader):
        way, origin = block.angle_deg, entry.slot.tail
    else:
        return None
    turned_deg = fold_deg(way - block.angle_deg)
    if abs(turned_deg) > ALONG_DEG:
        return None
    return across(block.centre, origin, unit(block.angle_deg + turned_deg)) / block.height_px


def reads_like_a_limit(value: TypedValue) -> bool:
    """Is a value off a round size by as little as a fit allows?

    Examples
    --------
    >>> from digitize.lettering.grammar import parse
    >>> texts = ("1.249", "1.250", "1.187", "1.188", "2.0003", "43.98", "44.00", "43.90", '1.98"', "1.24")
    >>> [reads_like_a_limit(parse(text).values[0]) for text in texts]
    [True, False, False, False, False, True, False, False, False, False]
    """
    if value.nominal is None or not value.style.startswith("decimal"):
        return False
    if value.unit is not Unit.MM and value.place <= Fraction(1, 1000):
        step, allowed = FINEST_FRACTION, ALLOWED_IN
    elif value.unit is not Unit.INCH and value.place == Fraction(1, 100) and value.nominal >= LEAST_MM:
        step, allowed = HALF_MM, ALLOWED_MM
    else:
        return False
    return allowed[0] < abs(value.nominal - round(value.nominal / step) * step) <= allowed[1]
