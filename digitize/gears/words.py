"""What the lettering around a gear says about its system, or that it is no plain spur gear."""

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from digitize.gears.systems import ToothSystem
from digitize.lettering.text import Text

LEAST_WORD_PROBABILITY = 0.5
"""Words less surely read than this say nothing of a gear."""


@dataclass(frozen=True)
class SystemWord:
    """A word that speaks for some systems; the others are believed ``doubt`` times as much beside it."""

    word: str
    pattern: str
    for_id: tuple[str, ...]
    for_kind: tuple[str, ...]
    for_form: tuple[str, ...]
    doubt: float
    source: str

    def is_in(self, lettering: str) -> bool:
        """Whether the lettering holds the word."""
        return re.search(self.pattern, lettering.upper()) is not None

    def speaks_for(self, system: ToothSystem) -> bool:
        """Whether the system is one that the word means."""
        return (
            (not self.for_id or system.id in self.for_id)
            and (not self.for_kind or system.kind in self.for_kind)
            and (not self.for_form or system.form in self.for_form)
        )


def _table() -> dict[str, Any]:
    return tomllib.loads(files("digitize.gears").joinpath("words.toml").read_text(encoding="utf-8"))


@cache
def system_words() -> tuple[SystemWord, ...]:
    """All words that speak for systems."""
    return tuple(
        SystemWord(
            row["word"],
            row["pattern"],
            tuple(row.get("for_id", ())),
            tuple(row.get("for_kind", ())),
            tuple(row.get("for_form", ())),
            row["doubt"],
            row["source"],
        )
        for row in _table()["system_word"]
    )


def words_on(texts: Sequence[Text]) -> tuple[str, ...]:
    """The rows of a sheet with words in them, read well enough."""
    best = (text.readings[0] for text in texts if text.readings)
    return tuple(r.text for r in best if r.probability >= LEAST_WORD_PROBABILITY and re.search(r"[A-Za-z]{3}", r.text))


def words_found(lettering: tuple[str, ...]) -> tuple[SystemWord, ...]:
    """The words that speak for systems in some lettering.

    Examples
    --------
    >>> [word.word for word in words_found(("FULL DEPTH INVOLUTE",))]
    ['full depth', 'involute']
    """
    return tuple(word for word in system_words() if any(word.is_in(line) for line in lettering))


def other_kind(lettering: tuple[str, ...]) -> str | None:
    """What the lettering says the gear is, other than a plain spur gear; None where it says nothing of the sort.

    Examples
    --------
    >>> other_kind(("BEVEL GEAR",)), other_kind(("CHANGE WHEEL",))
    ('bevel', None)
    """
    for row in _table()["other_kind"]:
        if any(re.search(row["pattern"], line.upper()) for line in lettering):
            return str(row["kind"])
    return None
