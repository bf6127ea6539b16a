"""Inches or millimetres: what every unmarked figure on the sheet hangs on.

The unit is a value like any other and a wrong one spoils all the rest, so evidence is weighed as log-odds, and
nothing unmarked is agreed while it does not decide.
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from digitize.dimensions.linking.entries import Entry
from digitize.lettering.text import Kind, TypedValue, Unit
from digitize.standards import scale_notes

DECISIVE = 4.0
"""Log-odds at which the unit is taken for sure: fifty to one."""
MANY_MARKS, MANY_MARKS_ODDS = 3, 6.0
"""So many figures with one mark are not all misread: as sure as a draughtsman's habit is."""
MOST_NOTE_ODDS = 6.0
"""A note that names the unit may itself be misread, as its reading says; it is no surer than many marks."""
MARK_ODDS = 4.0
"""An inch mark, "mm", a module or a diametral pitch beside a figure."""
STYLE_ODDS = {
    "fraction": -4.0,
    "feet": -6.0,
    "integer": 0.5,
    "decimal1": 1.5,
    "decimal2": -0.9,
    "decimal3": -2.0,
    "decimal4": -2.5,
}
"""Log-odds for millimetres of one unmarked figure by its style (common practice, no source)."""
LARGE = 40
"""A plain whole number above this is rather millimetres ..."""
LARGE_ODDS = 1.5
"""... by these log-odds."""
MOST_STYLE_ODDS = 6.0
"""Figures of one sheet are one draughtsman's habit, not so many witnesses ..."""
MOST_SMALL_ODDS = 3.0
"""... and small whole numbers alone never decide."""
SCALE_STD = 0.012
"""Standard deviation of a drawing scale as measured, relative: shrink and scanner together."""
USUAL_SCALES = {1.0: 0.35, 0.5: 0.25, 2.0: 0.1, 0.25: 0.1}
"""Share of drawn over real among drawings (common practice, no source); other scales of the table share the rest."""
ODD_SCALE_DENSITY = 0.02
"""Density over log scale of a drawing made to no scale of the table."""
NOTED_SHARE = 0.97
"""Trust in a scale note."""


@dataclass(frozen=True)
class SheetUnit:
    """The unit of unmarked figures, the log-odds behind it (positive for millimetres), and whether it is sure."""

    unit: Unit
    log_odds: float

    @property
    def sure(self) -> bool:
        """Is the evidence decisive?"""
        return abs(self.log_odds) >= DECISIVE


def sheet_unit(entries: Sequence[Entry], drawn_over_mm: float | None, noted: float | None) -> SheetUnit:
    """Weigh notes, marks, styles and the drawing scale.

    Parameters
    ----------
    entries : sequence of Entry
    drawn_over_mm : float or None
        Paper mm per unit of nominal value, by the vote of the dimensions; None where the resolution is not known.
    noted : float or None
        Drawn over real by the scale note.

    Returns
    -------
    SheetUnit
    """
    values = [entry.value for entry in entries if entry.value is not None]
    odds = _note_odds(entries) + _mark_odds(values) + _style_odds(values)
    if drawn_over_mm is not None:
        odds += math.log(_scale_density(drawn_over_mm, noted) / _scale_density(drawn_over_mm / 25.4, noted))
    return SheetUnit(Unit.MM if odds > 0 else Unit.INCH, odds)


def _sign(unit: Unit) -> int:
    return 1 if unit is Unit.MM else -1 if unit is Unit.INCH else 0


def _note_odds(entries: Iterable[Entry]) -> float:
    """From notes: for each unit that one names the surest of them, as sure as its reading."""
    noted: dict[Unit, float] = {}
    for entry in entries:
        value = entry.value
        if value is not None and value.kind is Kind.NOTE and value.name == "unit":
            wrong = max(1.0 - entry.reading, math.exp(-MOST_NOTE_ODDS))
            noted[value.unit] = max(noted.get(value.unit, 0.0), math.log((1.0 - wrong) / wrong))
    return sum(_sign(unit) * odds for unit, odds in noted.items())


def _mark_odds(values: Iterable[TypedValue]) -> float:
    """From marks: once for each unit they name, more where there are many."""
    marked: Counter[Unit] = Counter()
    for value in values:
        if value.name in ("module", "diametral_pitch"):
            marked[Unit.MM if value.name == "module" else Unit.INCH] += 1
        elif value.unit in (Unit.MM, Unit.INCH) and value.kind is not Kind.THREAD and value.kind is not Kind.NOTE:
            marked[value.unit] += 1
    return sum(_sign(unit) * (MARK_ODDS if n < MANY_MARKS else MANY_MARKS_ODDS) for unit, n in marked.items())


def _style_odds(values: Iterable[TypedValue]) -> float:
    small = other = 0.0
    for value in values:
        if value.unit is not Unit.UNMARKED or value.nominal is None:
            continue
        if value.style == "integer":
            small += STYLE_ODDS["integer"]
            other += LARGE_ODDS if value.nominal > LARGE else 0.0
        else:
            other += STYLE_ODDS.get(value.style, 0.0)
    odds = min(small, MOST_SMALL_ODDS) + other
    return max(-MOST_STYLE_ODDS, min(MOST_STYLE_ODDS, odds))


def _scale_density(drawn_over_real: float, noted: float | None) -> float:
    """Density over log scale of a drawing's scale, sharper where the sheet states it."""
    log_scale = math.log(drawn_over_real)
    listed = sorted({float(note.drawn_over_real) for note in scale_notes() if note.kind != "ambiguous"})
    rest = (1 - sum(USUAL_SCALES.values())) / max(len(listed) - len(USUAL_SCALES), 1)
    table = sum(USUAL_SCALES.get(scale, rest) * _bell(log_scale - math.log(scale)) for scale in listed)
    usual = (1 - ODD_SCALE_DENSITY) * table + ODD_SCALE_DENSITY
    if noted is None:
        return usual
    return NOTED_SHARE * _bell(log_scale - math.log(noted)) + (1 - NOTED_SHARE) * usual


def _bell(off: float) -> float:
    return math.exp(-0.5 * (off / SCALE_STD) ** 2) / (SCALE_STD * math.sqrt(2 * math.pi))
