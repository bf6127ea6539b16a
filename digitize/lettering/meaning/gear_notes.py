"""Gear data that stand on one line, as notes say them: ``30 TEETH 8/10 D.P. STUB``, ``34 T. 8 PITCH 14 1/2° INVOLUTE``.

A line is a gear note when it can be parted into data, each a number beside its label, and words of gear makers, with
nothing left over, and in one way only. Short labels (``T.``, ``P.``, a bare ``PITCH``) mean something else on other
lines; `gear_notes.csv` says in whose company they are believed.
"""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from digitize.lettering.meaning.labels import FILL, Label, Row, gear_labels

_SPEAKS_OF_TEETH = re.compile(r"(?<![A-Z])(?:TEETH|TOOTH|STUB|INV|DEPTH|PITCH|D\.? ?P|[TPZ](?![A-Z]))")
_SEPARATOR = re.compile(r"(?: ?[,;] ?| - | |\n)")
_VALUE = re.compile(r"(?:\d+[ -]\d+/\d+|\d+/\d+|\d{1,2}-\d{1,2}|\d*[.,]\d+|\d+)(?![\d/]|[.,]\d)\"?")
_DEGREES = re.compile(r"(?:\d+ \d+/\d+|\d*[.,]\d+|\d+) ?°(?: ?\d+ ?')?")
LEAST_BARE_PITCH = 3
"""A bare PITCH of less may be the circular one, in inches (common practice, no source)."""
PRESSURE_ANGLE = "pressure_angle"


@dataclass(frozen=True)
class _Short:
    """A label that only a note abbreviates so, and what must stand beside it: another "item", or a "word" of gears."""

    label: Label
    company: str


@dataclass(frozen=True)
class _Parted:
    """One way of parting a line: its data, how many words are between them, and the short labels used."""

    rows: tuple[Row, ...] = ()
    words: int = 0
    short: tuple[_Short, ...] = ()

    @property
    def is_a_note(self) -> bool:
        """Enough is said together for its short labels to mean what they do beside gears."""
        others = len(self.rows) - 1
        in_company = all(others or (short.company == "word" and self.words) for short in self.short)
        names_once = len({row.label.key for row in self.rows}) == len(self.rows)
        return bool(others or self.words) and in_company and names_once


def gear_note(text: str) -> tuple[Row, ...]:
    """The data of a gear note, in capitals; none where the line says something else, or may be read in two ways.

    Examples
    --------
    >>> [(row.label.key, row.filled) for row in gear_note("30 TEETH 8/10 D.P. STUB")]
    [('teeth', '30'), ('diametral_pitch', '8/10')]
    >>> [(row.label.key, row.filled) for row in gear_note("14 1/2° INVOLUTE")], gear_note("8 PITCH"), gear_note("34 T.")
    ([('pressure_angle', '14 1/2°')], (), ())
    """
    if _SPEAKS_OF_TEETH.search(text) is None:
        return ()
    notes = [parted.rows for parted in _ways(text, 0, _Parted()) if parted.rows and parted.is_a_note]
    ways = {tuple((row.label.key, row.filled) for row in rows) for rows in notes}
    return notes[0] if len(ways) == 1 else ()


def _ways(text: str, at: int, so_far: _Parted) -> Iterator[_Parted]:
    if separator := _SEPARATOR.match(text, at):
        at = separator.end()
    if at >= len(text):
        yield so_far
        return
    for row, short, end in _data_at(text, at):
        kept = so_far.short if short is None else (*so_far.short, short)
        yield from _ways(text, end, _Parted((*so_far.rows, row), so_far.words, kept))
    if word := _words().match(text, at):
        yield from _ways(text, word.end(), _Parted(so_far.rows, so_far.words + 1, so_far.short))


def _data_at(text: str, at: int) -> Iterator[tuple[Row, _Short | None, int]]:
    """Every datum that may begin at a place, with its short label and where it ends."""
    degrees = _DEGREES.match(text, at)
    for label, short, pattern in _labels():
        value = degrees if label.value == "angle" and degrees else _VALUE.match(text, at)
        if value is not None and _may_be(label, value[0]) and (named := pattern.match(text, value.end())):
            yield Row(label, value[0]), short, named.end()
        opening = None if label.text == "PITCH" else pattern.match(text, at)
        if opening is not None:
            fill = re.compile(FILL).match(text, opening.end())
            start = opening.end() if fill is None else fill.end()
            behind = (_DEGREES.match(text, start) if label.value == "angle" else None) or _VALUE.match(text, start)
            if behind is not None and start > opening.end() and _may_be(label, behind[0]):
                yield Row(label, behind[0]), short, behind.end()
    if degrees and not any(p.match(text, degrees.end()) for label, _, p in _labels() if label.value == "angle"):
        yield Row(_angle_label(), degrees[0]), None, degrees.end()


def _may_be(label: Label, value: str) -> bool:
    """Whether a short pitch may have this value: no fraction of an inch, and not so few as to be inches."""
    if label.value == "integer":
        return value.isdigit()
    if label.value != "pitch":
        return True
    whole = re.match(r"\d+", value)
    return whole is not None and int(whole[0]) >= LEAST_BARE_PITCH


@cache
def _labels() -> tuple[tuple[Label, _Short | None, re.Pattern[str]], ...]:
    """Every label that a note may use, its pattern with a blank before it."""
    plain = [(label, None) for label in gear_labels() if label.value != "words"]
    brief = [
        (short.label, short)
        for row in _table()
        if row["key"]
        for short in [_Short(Label(row["key"], row["label"], row["value"], row["unit"]), row["company"])]
    ]
    return tuple((label, short, re.compile(rf" ?{label.pattern}(?![A-Z])")) for label, short in (*plain, *brief))


@cache
def _words() -> re.Pattern[str]:
    words = [Label("", row["label"], "words", "none").pattern for row in _table() if not row["key"]]
    return re.compile(rf"(?:{'|'.join(sorted(words, key=len, reverse=True))})(?![A-Z\d])")


@cache
def _angle_label() -> Label:
    return next(label for label in gear_labels() if label.key == PRESSURE_ANGLE)


@cache
def _table() -> tuple[dict[str, str], ...]:
    text = files("digitize.lettering").joinpath("gear_notes.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))
