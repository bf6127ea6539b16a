"""Why a sure reading may still not be what the print says: a figure cut off, a point that is dirt, a count run in.

Draughtsmen write another figure; they do not leave out half of one, and they do not drop specks. So where a longer
figure, or the same without its point, fits what is drawn, the reader is at fault and not the print.
"""

import re
from collections.abc import Iterator
from fractions import Fraction

from digitize.dimensions.linking.candidates import Candidate
from digitize.lettering.text import Kind, TypedValue, Unit

FINEST_INCH = 16
"""A fraction cut off a whole number is one of sixteenths or coarser: of finer ones there would always be one."""
OVER = (2, 4, 8)
"""Whole numbers that stand alone where the numerator over them was lost."""
BY_CHANCE = 0.05
"""The drawing tells last places from others where it is exact to this part of the place before them."""
MOST_WHOLE = 200
"""Whole numbers before a fraction are not looked for beyond this."""


def longer_figure(value: TypedValue, measured: float, slack: float, *, closed: bool = False) -> Fraction | None:
    """The longer figure that a reading may be a part of, if the drawing shows one.

    Parameters
    ----------
    value : TypedValue
    measured, slack : float
        What the drawing shows and how far it may be off, in the value's own unit.
    closed : bool
        Does a mark or word stand behind the figure? Then nothing was cut off there (of 261 whole numbers so read on 600
        sheets, none had lost anything behind it, two before).

    Examples
    --------
    >>> from digitize.lettering.grammar import parse
    >>> def shown(text, measured):
    ...     return longer_figure(parse(text).values[0], measured, 0.01)
    >>> shown('1/8"', 1.126), shown('2"', 2.624), shown(".875", 2.874), shown("62", 162.0), shown('1/8"', 0.62)
    (Fraction(9, 8), Fraction(21, 8), Fraction(23, 8), Fraction(162, 1), None)
    >>> shown('5"', 1.626), shown('5"', 1.76), shown('4"', 1.5), shown("250", 1.249), shown("260", 1.249)
    (Fraction(13, 8), None, None, Fraction(5, 4), None)
    >>> shown('5/16"', 0.9376), shown('5/16"', 0.626), shown("2", 0.5), shown("4", 0.749), shown("5°", 45.0)
    (Fraction(15, 16), None, Fraction(1, 2), Fraction(3, 4), Fraction(45, 1))
    >>> shown("1.70", 51.702), shown("1.70", 1.802), shown("1.70 ±0.03", 51.702), shown("1.70", 52.6)
    (Fraction(517, 10), None, Fraction(517, 10), None)
    >>> longer_figure(parse("50").values[0], 1.249, 0.002), longer_figure(parse("50").values[0], 1.249, 0.02)
    (Fraction(5, 4), None)
    >>> longer_figure(parse('4"').values[0], 4.25, 0.01), longer_figure(parse('4"').values[0], 4.25, 0.01, closed=True)
    (Fraction(17, 4), None)
    """
    if not value.nominal or slack <= 0:
        return None
    for longer in _longer(value, measured, slack, closed):
        if longer > 0 and longer != value.nominal and abs(float(longer) - measured) <= slack:
            return longer
    return None


def _longer(value: TypedValue, measured: float, slack: float, closed: bool) -> Iterator[Fraction]:
    """Figures near the measured size whose last or first part the reading is."""
    nominal = value.nominal or Fraction(0)
    whole = Fraction(round(measured - float(nominal)))
    if value.kind is Kind.ANGLE:
        if str(round(measured)).endswith(str(nominal)):
            yield Fraction(round(measured))
    elif value.style == "integer":
        if value.unit is not Unit.MM:
            if int(measured) == nominal and not closed:
                yield Fraction(round(measured * FINEST_INCH), FINEST_INCH)
            yield from _with_numerator(nominal, measured)
            if nominal in OVER and measured < 1:
                yield Fraction(round(measured * nominal), int(nominal))
        near = str(round(measured))
        if near.endswith(str(nominal)) or (near.startswith(str(nominal)) and not closed):
            yield Fraction(near)
        yield from _with_last_places(str(nominal), measured, slack)
    elif nominal < 1:
        if value.style == "fraction" and nominal < measured < 1:
            # A numerator of two figures that lost the first.
            yield nominal + Fraction(
                10 * round((measured - float(nominal)) * nominal.denominator / 10), nominal.denominator
            )
        if 0 < whole < MOST_WHOLE:
            yield nominal + whole
    elif value.style.startswith("decimal"):
        step = 10 ** len(str(int(nominal)))
        before = round((measured - float(nominal)) / step)
        if before > 0:
            yield nominal + before * step


def _with_numerator(nominal: Fraction, measured: float) -> Iterator[Fraction]:
    """Mixed numbers near the measured size of which the reading is the numerator alone."""
    for denominator in (2, 4, 8, FINEST_INCH):
        part = nominal / denominator
        if part < 1 and part.denominator == denominator:
            yield part + max(round(measured - float(part)), 0)


def _with_last_places(figures: str, measured: float, slack: float) -> Iterator[Fraction]:
    """Decimals near the measured size of which the reading is the last places, where hardly one is so by chance."""
    for missing in (1, 10):  # nothing before the last places, or one place more
        step = Fraction(1, missing)
        last = Fraction(figures) / (10 ** len(figures) * missing)
        if slack < BY_CHANCE * step:
            yield last + step * round((measured - float(last)) / float(step))


def without_point(one: TypedValue, other: TypedValue) -> bool:
    """Do two values differ by the place of a decimal point alone, as .62 and 62 do?

    Examples
    --------
    >>> from digitize.lettering.grammar import parse
    >>> one, other, third = (parse(text).values[0] for text in (".62", "62", "65"))
    >>> without_point(one, other), without_point(one, third)
    (True, False)
    """
    if not one.nominal or not other.nominal or one.nominal == other.nominal:
        return False
    ratio = max(one.nominal, other.nominal) / min(one.nominal, other.nominal)
    return ratio.denominator == 1 and set(str(ratio)) == {"1", "0"} and str(ratio).startswith("1")


HOLES = re.compile(r"\bHOLES\b", re.IGNORECASE)


def lacks_count(candidate: Candidate) -> bool:
    """Does a callout speak of holes and not say how many? Then the count may have run into the size.

    Examples
    --------
    >>> from digitize.lettering.grammar import parse
    >>> texts = ("DRILL .281 6 HOLES", "DRILL .2816 HOLES", "DRILL .281")
    >>> [lacks_count(Candidate(text, parse(text).values[0], 1.0)) for text in texts]
    [False, True, False]
    """
    counted = candidate.value.count is not None or candidate.value.name == "bolt_circle"
    return HOLES.search(candidate.text) is not None and not counted
