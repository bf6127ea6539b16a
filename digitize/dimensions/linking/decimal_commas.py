"""What a comma before three figures is: on a sheet that writes 62,25 the one of 28,125 parts no thousands."""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace

from digitize.lettering.text import Callout, Text

DECIMAL_COMMA = re.compile(r"(?<![\d.,])\d+,(?:\d{1,2}|\d{4})(?![\d.,])")
DECIMAL_POINT = re.compile(r"(?<![\d,])\d+\.\d+(?![\d.,])")
BEFORE_THREE = re.compile(r"(?<![\d.,])(\d+),(\d{3})(?![\d.,])")
SURE_ENOUGH = 0.9
"""Readings less probable than this tell nothing of how the office writes."""


def with_decimal_commas(texts: Sequence[Text], parse: Callable[[str], object]) -> Callable[[str], object]:
    """The grammar as it holds on a sheet.

    Parameters
    ----------
    texts : sequence of Text
    parse : callable
        Canonical text to Callout, or a falsy value with its reason.

    Returns
    -------
    callable
        The same; where the sheet's other decimals are written with a comma, and none with a point, a comma before
        three figures is one too.
    """
    sure = [t.readings[0].text for t in texts if t.readings and t.readings[0].probability >= SURE_ENOUGH]
    commas = sum(DECIMAL_COMMA.search(said) is not None for said in sure)
    points = sum(DECIMAL_POINT.search(said) is not None for said in sure)
    if not commas or points:
        return parse

    def parsed(text: str) -> object:
        meaning = parse(BEFORE_THREE.sub(r"\1.\2", text))
        return replace(meaning, text=text) if isinstance(meaning, Callout) else meaning

    return parsed
