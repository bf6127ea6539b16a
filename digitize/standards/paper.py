"""What is settled about the paper itself: scale notes, sheet sizes, widths of lines, abbreviations."""

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from digitize.standards.tables import INCH_MM, standard_rows


@dataclass(frozen=True)
class ScaleNote:
    """What a scale note says: ``drawn_over_real`` is 1/2 for HALF SIZE.

    A note of ``kind`` "ambiguous" must be settled by a dimension.
    """

    text: str
    drawn_over_real: Fraction
    kind: str
    source: str
    provenance: str
    note: str


@dataclass(frozen=True)
class LineWidth:
    """A nominal width of lines; ``series`` is the standard that holds it."""

    series: str
    width_mm: Fraction
    source: str
    provenance: str


@dataclass(frozen=True)
class SheetSize:
    """A sheet of drawing paper; ``long_mm`` is None for a roll, whose width is ``short_mm``."""

    series: str
    name: str
    short_mm: Fraction
    long_mm: Fraction | None
    source: str
    provenance: str
    note: str


@dataclass(frozen=True)
class Abbreviation:
    """A word met on prints, the pattern that finds it, and what it means for the value beside it."""

    token: str
    pattern: str
    meaning: str
    effect: str
    source: str
    provenance: str


@cache
def scale_notes() -> tuple[ScaleNote, ...]:
    """Scale notes met on prints, in words, as inches to the foot, and as ratios."""
    return tuple(
        ScaleNote(
            row["note_text"], Fraction(row["fraction"]), row["kind"], row["source"], row["provenance"], row["note"]
        )
        for row in standard_rows("drawing_scales.csv")
    )


@cache
def sheet_sizes() -> tuple[SheetSize, ...]:
    """Sheets and rolls of drawing paper, exact from the unit the table states."""
    return tuple(
        SheetSize(
            row["series"],
            row["name"],
            Fraction(row["short"]) * (INCH_MM if row["unit"] == "in" else 1),
            Fraction(row["long"]) * (INCH_MM if row["unit"] == "in" else 1) if row["long"] else None,
            row["source"],
            row["provenance"],
            row["note"],
        )
        for row in standard_rows("sheet_sizes.csv")
    )


@cache
def line_widths() -> tuple[LineWidth, ...]:
    """Widths that lines of a drawing are given, by series, the finest first."""
    return tuple(
        LineWidth(row["series"], Fraction(row["width_mm"]), row["source"], row["provenance"])
        for row in standard_rows("line_widths.csv")
    )


@cache
def abbreviations() -> tuple[Abbreviation, ...]:
    """Words and abbreviations met on prints."""
    return tuple(
        Abbreviation(row["token"], row["regex"], row["meaning"], row["effect"], row["source"], row["provenance"])
        for row in standard_rows("abbreviations.csv")
    )


def scale_note(text: str) -> ScaleNote | None:
    """What a scale note says, or None where it is not in the table.

    Examples
    --------
    >>> scale_note("half size").drawn_over_real, scale_note('SCALE 3" = 1 FT.').drawn_over_real
    (Fraction(1, 2), Fraction(1, 4))
    >>> scale_note("SCALE 1/4").kind, scale_note('SCALE 9" 1 FT').drawn_over_real, scale_note('9" 1 FT')
    ('ambiguous', Fraction(3, 4), None)
    """
    exact, plain = _scale_notes_by_text()
    return exact.get(text.strip().upper()) or plain.get(_plain_scale(text))


@cache
def _scale_notes_by_text() -> tuple[dict[str, ScaleNote], dict[str, ScaleNote]]:
    """The notes by their text, and by its plain form; of several alike the first."""
    last_first = scale_notes()[::-1]
    return {row.text: row for row in last_first}, {_plain_scale(row.text): row for row in last_first}


def _plain_scale(text: str) -> str:
    """The note without the word SCALE, blanks and the several ways of writing one foot.

    The ambiguous notes keep their word: ``SCALE 1/4`` must not become the plain ``1/4 SIZE``.
    """
    joined = re.sub(r"(\d) (?=\d+/\d)", r"\1-", text.upper().replace("SCALE:", "SCALE"))
    plain = re.sub(r"[\s.]+", "", joined)
    plain = re.sub(r"^(SCALE[\d/-]+\")(?=1(?:FT|FOOT|'))", r"\1=", plain)  # a worn sign of equality
    plain = re.sub(r"=1(FT|FOOT|'|'-?0\"?)$", "=1'-0\"", plain)
    return plain.removeprefix("SCALE") if "=" in plain or ":" in plain or plain.endswith("SIZE") else plain


def nearest_line_widths(width_mm: float) -> tuple[LineWidth, ...]:
    """The nearest nominal width of each series, by ratio.

    Examples
    --------
    >>> [(row.series, float(row.width_mm)) for row in nearest_line_widths(0.27)]
    [('ISO 128', 0.25), ('ASME Y14.2', 0.3)]
    """
    series: dict[str, list[LineWidth]] = {}
    for row in line_widths():
        series.setdefault(row.series, []).append(row)
    return tuple(min(rows, key=lambda row: abs(math.log(width_mm / row.width_mm))) for rows in series.values())
