"""Sizes that the shop names: threads, drills by number or letter, tapers."""

import re
from fractions import Fraction

from lark import Token, Tree

from digitize import standards
from digitize.lettering.meaning import numbers
from digitize.lettering.meaning.numbers import Refused
from digitize.lettering.text import Kind, TypedValue, Unit

NAMED_PLACE = Fraction(1, 10000)
"""Last place of the tables of drills and of numbered threads, in inches."""


def thread(tree: Tree[Token], comma: bool) -> TypedValue:
    """A thread, by its designation."""
    token = next(item for item in tree.children if isinstance(item, Token) and item.type.endswith("_THREAD"))
    text = str(token)
    if token.type == "METRIC_THREAD":
        number = numbers.any_number(re.findall(r"\d+(?:[.,]\d+)?", text)[0], comma)
        return TypedValue(Kind.THREAD, number.value, Unit.MM, place=number.place, style=number.style, name=text)
    rows = standards.threads(text)
    if token.type == "PLAIN_THREAD" and not rows:
        raise Refused(f"{text} is in no table of threads.")
    if re.match(r"NO|#", text) or re.search(r"B\.?A\.?$", text):
        return _numbered_thread(text)
    if re.fullmatch(r"\d+ TH(?:REA)?DS\.?", text):
        raise Refused(f"{text} tells how many threads there are, not of what size.")
    size = re.match(r"\d+[ -]\d+/\d+|\d+/\d+|\d*\.\d+|\d+", text)
    number = numbers.any_number(size[0] if size else text, comma)
    return TypedValue(Kind.THREAD, number.value, Unit.INCH, place=number.place, style=number.style, name=text)


def _numbered_thread(text: str) -> TypedValue:
    row = standards.thread(text)
    if row is None:
        raise Refused(f"{text} is in no table of threads.")
    is_metric = row.series == "BA"
    major = row.major_mm if is_metric else row.major_mm / Fraction(254, 10)
    unit = Unit.MM if is_metric else Unit.INCH
    return TypedValue(Kind.THREAD, major, unit, place=NAMED_PLACE, name=text)


def named_drill(text: str) -> TypedValue:
    """A drill of the tables."""
    name = text.removesuffix("DRILL").removeprefix("DRILL").replace('"', "").strip()
    row = standards.drill(name)
    if row is None:
        raise Refused(f"{name} is no drill.")
    return TypedValue(Kind.DIAMETER, row.diameter_in, Unit.INCH, place=NAMED_PLACE, name=f"drill {row.designation}")


def taper(text: str) -> TypedValue:
    """A taper as a ratio, or by the foot."""
    rest = re.sub(r"^TAPER(?: PER F(?:OO)?T\.?)? ?:? ", "", text)
    if match := re.fullmatch(r"1 ?(?::|IN) ?(\d+(?:\.\d+)?)", rest):
        return TypedValue(Kind.NOTE, 1 / Fraction(match[1]), Unit.NONE, name="taper")
    figures = re.match(r"(?:\d+ )?(?:\d+/\d+|\d*\.\d+|\d+)", rest)
    number = numbers.any_number(figures[0] if figures else rest)
    return TypedValue(Kind.NOTE, number.value, Unit.INCH, place=number.place, style=number.style, name="taper_per_foot")
