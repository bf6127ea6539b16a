"""Labels of gear-data blocks and title blocks, and how they are spelled.

A row says a label and then what is filled in (``NO. OF TEETH 42``), or for a few gear rows the other way round
(``42 TEETH``). The spellings are in `gear_rows.csv` and `title_rows.csv`.
"""

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

FILL = r"(?:\.{3,}|[\s:=_…-]|\.(?!\d))*"
"""What may stand between a label and its value: blanks, a row of dots, a colon, a rule; never the point of .135."""
VALUE_FIRST = frozenset({"teeth", "diametral_pitch", "module", "pressure_angle"})
"""Rows that are as often written with the value first; ``5.5 O.D.`` is a plain diameter instead."""


@dataclass(frozen=True)
class Label:
    """One spelling of a label.

    Attributes
    ----------
    key : str
        What it names: ``teeth``, ``scale`` ...
    text : str
        As it is spelled in the table.
    value : str
        What is filled in: "integer", "number", "size", "angle" or "words".
    unit : str
        "count", "none", "mm", "deg" or "unmarked".
    """

    key: str
    text: str
    value: str
    unit: str

    @property
    def pattern(self) -> str:
        """A regular expression for the label, with or without the stops of its abbreviations."""
        words = [re.escape(word).replace(r"\.", r"\.?\s?") + r"\.?" for word in self.text.rstrip(".").split()]
        return r"(?:\s|(?<=\.))".join(words)


@dataclass(frozen=True)
class Row:
    """A row that opens, or closes, with a known label: the label and the rest."""

    label: Label
    filled: str


@cache
def gear_labels() -> tuple[Label, ...]:
    """All spellings of gear-data labels, longest first."""
    rows = _table("gear_rows.csv")
    return _longest_first(Label(row["key"], row["label"], row["value"], row["unit"]) for row in rows)


@cache
def title_labels() -> tuple[Label, ...]:
    """All spellings of title-block labels, longest first."""
    return _longest_first(Label(row["key"], row["label"], "words", "none") for row in _table("title_rows.csv"))


def gear_row(text: str) -> Row | None:
    """Split a row of a gear-data block, in capitals, or None where no label is known.

    Examples
    --------
    >>> row = gear_row("NO. OF TEETH: 42")
    >>> row.label.key, row.filled
    ('teeth', '42')
    >>> gear_row("8 D.P.").label.key, gear_row("5.500 O.D.")
    ('diametral_pitch', None)
    """
    return _label_first(text, *_gear_openings()) or _label_last(text)


def title_row(text: str) -> Row | None:
    """Split a row of a title block, in capitals, or None where no label is known.

    Examples
    --------
    >>> title_row("SCALE HALF SIZE").filled, title_row("DRG. NO. A-101").label.key
    ('HALF SIZE', 'drawing_number')
    """
    return _label_first(text, *_title_openings())


Openings = tuple[tuple[Label, ...], re.Pattern[str]]
"""Labels, and any of them before its value as one expression, whose group says which."""


@cache
def _gear_openings() -> Openings:
    return _openings(gear_labels())


@cache
def _title_openings() -> Openings:
    return _openings(title_labels())


def _openings(labels: tuple[Label, ...]) -> Openings:
    return labels, re.compile("|".join(rf"({label.pattern}(?:{FILL}(?<=[^A-Z\d])|$))" for label in labels))


@cache
def _closings() -> tuple[tuple[Label, re.Pattern[str]], ...]:
    labels = [label for label in gear_labels() if label.key in VALUE_FIRST]
    return tuple((label, re.compile(rf"(?<=[\d°\s])\s*{label.pattern}$")) for label in labels)


def _label_first(text: str, labels: tuple[Label, ...], openings: re.Pattern[str]) -> Row | None:
    match = openings.match(text)
    if match is None or match.lastindex is None:
        return None
    return Row(labels[match.lastindex - 1], text[match.end() :].strip())


def _label_last(text: str) -> Row | None:
    for label, closing in _closings():
        match = closing.search(text)
        if match and match.start() > 0:
            return Row(label, text[: match.start()].strip())
    return None


def _table(name: str) -> list[dict[str, str]]:
    text = files("digitize.lettering").joinpath(name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def _longest_first(labels: Iterable[Label]) -> tuple[Label, ...]:
    return tuple(sorted(labels, key=lambda label: -len(label.text)))
