"""Titles of single parts on a sheet of several: ``DET. 6 46 TEETH 8 D.P.``, ``ITEM 2 1 REQ'D C.I. HALF SIZE``."""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from digitize.lettering.meaning.gear_notes import gear_note
from digitize.lettering.meaning.labels import Row
from digitize.standards import abbreviations

_COUNT = re.compile(r"\d{1,4} ?(?:REQ['.]?D?\.?|REQUIRED|OFF)(?![A-Z])\.?")
_BETWEEN = " ,;-."
MARK, SCALE, MATERIAL, COUNT, REMARK = "mark", "scale", "material", "count", "remark"


@dataclass(frozen=True)
class DetailTitle:
    """What the title of a part says: how many are wanted, its scale as written, and its gear data.

    ``count`` and ``scale`` are empty where the title does not say.
    """

    count: str
    scale: str
    gear: tuple[Row, ...]


def detail_title(text: str) -> DetailTitle | None:
    """Part a line, in capitals, into the pieces of a part's title; None where anything else is left.

    A title names its part, or says at least how many are wanted and of what or how large drawn.

    Examples
    --------
    >>> title = detail_title("ITEM 2 1 REQ'D C.I. HALF SIZE")
    >>> title.count, title.scale
    ("1 REQ'D", 'HALF SIZE')
    >>> [(row.label.key, row.filled) for row in detail_title("DET. 6 46 TEETH 8 D.P.").gear]
    [('teeth', '46'), ('diametral_pitch', '8')]
    >>> detail_title("2 REQ'D"), detail_title("DET. 6 3 1/2")
    (None, None)
    """
    found: dict[str, str] = {}
    rest = text.strip(_BETWEEN)
    while rest and (piece := next(_pieces_at(rest, found), None)) is not None:
        what, said = piece
        found[what] = said
        rest = rest[len(said) :].strip(_BETWEEN)
    gear = gear_note(rest) if rest else ()
    said_enough = MARK in found or (COUNT in found and (SCALE in found or MATERIAL in found))
    if (rest and not gear) or not said_enough or (len(found) < 2 and not gear):
        return None
    return DetailTitle(found.get(COUNT, ""), found.get(SCALE, ""), gear)


def _pieces_at(rest: str, found: dict[str, str]) -> Iterator[tuple[str, str]]:
    """The pieces that a line may begin with, none that it has had before; the mark stands first."""
    for what, pattern in _patterns():
        if what in found or (what == MARK and found):
            continue
        match = pattern.match(rest)
        if match is not None and (match.end() == len(rest) or rest[match.end()] in _BETWEEN):
            yield what, match[0]


@cache
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    text = files("digitize.lettering").joinpath("detail_words.csv").read_text(encoding="utf-8")
    words = [(row["what"], row["pattern"]) for row in csv.DictReader(text.splitlines())]
    materials = [(MATERIAL, row.pattern) for row in abbreviations() if row.effect == MATERIAL]
    return (
        (COUNT, _COUNT),
        *((what, re.compile(rf"(?:{pattern})(?![A-Z\d])")) for what, pattern in (*words, *materials)),
    )
