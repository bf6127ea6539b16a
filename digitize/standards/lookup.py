"""From a designation on a print to the row of its table."""

import math
import re
from fractions import Fraction
from functools import cache, lru_cache

from digitize.standards.tables import (
    Drill,
    Key,
    LineWidth,
    ScaleNote,
    Thread,
    WoodruffKey,
    drills,
    line_widths,
    mixed_number,
    parallel_keys,
    scale_notes,
    thread_table,
    woodruff_keys,
)

SERIES_ALIASES = {
    "NC": ("UNC",),
    "UNC": ("UNC",),
    "USS": ("USS",),
    "USF": ("USS",),
    "NF": ("NF", "UNF"),
    "UNF": ("UNF",),
    "SAE": ("SAE",),
    "ASME": ("ASME_special", "UNC", "UNF"),
    "BSW": ("BSW",),
    "WHIT": ("BSW",),
    "WHITWORTH": ("BSW",),
    "BSF": ("BSF",),
    "BA": ("BA",),
}
"""Series as written on prints (dots dropped) and the tables that hold them, first choice first."""

_DRILL = re.compile(r"(?:NO\.?|NUMBER|#)?\s*(?P<number>\d{1,2})|(?:LETTER\s+)?(?P<letter>[A-Z])")
_METRIC = re.compile(r"M\s?(?P<major>\d+(?:[.,]\d+)?)(?:\s?[X×]\s?(?P<pitch>\d+(?:[.,]\d+)?))?")
_ASSOCIATION = re.compile(r"(?:NO\.?\s?|#\s?)?(?P<number>\d{1,2})\s?B\.?\s?A\.?")
_INCH = re.compile(
    r"(?P<number>NO\.?\s?|#\s?)?"
    r"(?P<size>\d+[ -]\d+/\d+|\d+/\d+|\d*\.\d+|\d+)\"?"
    r"(?:\s?[-X×]\s?(?P<tpi>\d+(?:\.\d+)?|\d+[ -]1/2))?"
    r"(?:\s?-?\s?(?P<series>(?:[A-Z]\.?)+))?"
    r"(?:\s?-\s?[1-5][AB]?)?"
)
LARGEST_SCREW_NUMBER = 14
"""Machine screws are numbered 0 to 14 in the tables; a larger bare whole number is a diameter in inches."""


def drill(designation: str) -> Drill | None:
    """The number or letter drill that ``designation`` names, or None.

    Examples
    --------
    >>> drill("NO. 7").diameter_in, drill("#7").designation, drill("LETTER F").diameter_in
    (Fraction(201, 1000), '#7', Fraction(257, 1000))
    >>> drill("#81") is None
    True
    """
    match = _DRILL.fullmatch(designation.strip().upper())
    if match is None:
        return None
    name = match["letter"] or f"#{int(match['number'])}"
    return _drills_by_name().get(name)


@cache
def _drills_by_name() -> dict[str, Drill]:
    return {row.designation: row for row in drills()}


def thread(designation: str) -> Thread | None:
    """The one thread that ``designation`` names, or None where no table, or more than one size, answers to it.

    ``1/2`` alone is None: coarse, fine and Whitworth differ. ``1/4-20`` is one size whatever its series is called.

    Examples
    --------
    >>> thread("1/4-20 UNC").tap_drill, thread("M10").pitch_mm, thread("2 B.A.").angle_deg
    ('#7', Fraction(3, 2), Fraction(95, 2))
    >>> thread("1/2 BSW").threads_per_inch, thread("1/2-13 NC-2").series
    (Fraction(12, 1), 'UNC')
    >>> thread("1/2") is None
    True
    """
    found = threads(designation)
    sizes = {(row.major_mm, row.pitch_mm, row.angle_deg) for row in found}
    return found[0] if len(sizes) == 1 else None


@cache
def threads(designation: str) -> tuple[Thread, ...]:
    """Every row of the tables that ``designation`` may name, in the order of the tables."""
    text = re.sub(r"\s+", " ", designation.strip().upper())
    if re.search(r"/0+(?!\d)", text):
        return ()
    if match := _METRIC.fullmatch(text):
        return _metric_threads(match)
    if match := _ASSOCIATION.fullmatch(text):
        wanted = f"{int(match['number'])} BA"
        return tuple(row for row in thread_table() if row.designation == wanted)
    match = _INCH.fullmatch(text)
    return _inch_threads(match) if match else ()


def _metric_threads(match: re.Match[str]) -> tuple[Thread, ...]:
    major = Fraction(match["major"].replace(",", "."))
    pitch = Fraction(match["pitch"].replace(",", ".")) if match["pitch"] else None
    return tuple(
        row
        for row in thread_table()
        if row.series == "metric" and row.major_mm == major and pitch in (None, row.pitch_mm)
    )


def _inch_threads(match: re.Match[str]) -> tuple[Thread, ...]:
    series = None
    if match["series"]:
        series = SERIES_ALIASES.get(match["series"].replace(".", ""))
        if series is None:
            return ()
    tpi = mixed_number(match["tpi"].replace(" ", "-")) if match["tpi"] else None
    rows = [
        row
        for row in thread_table()
        if row.series not in ("metric", "BA")
        and _has_size(row, bool(match["number"]), match["size"])
        and tpi in (None, row.threads_per_inch)
        and (series is None or row.series in series)
    ]
    return tuple(_first_choice(rows, series))


def _first_choice(rows: list[Thread], series: tuple[str, ...] | None) -> list[Thread]:
    """Keep the rows of the first series in ``series`` that has any."""
    for name in series or ():
        if chosen := [row for row in rows if row.series == name]:
            return chosen
    return rows


def _has_size(row: Thread, numbered: bool, size: str) -> bool:
    """Whether the row is of the size written: a screw number, or a diameter in inches."""
    is_plain = size.isdigit()
    if row.designation.startswith("#"):
        # "10-24" is a numbered machine screw; "1-8" and "2-4 1/2" are inches, told by the pitch that must match too.
        return is_plain and int(size) <= LARGEST_SCREW_NUMBER and row.designation == f"#{int(size)}"
    return not numbered and row.major_in == mixed_number(size.replace(" ", "-"))


def key_for_shaft(diameter: Fraction, standard: str = "ANSI B17.1") -> Key | None:
    """The parallel key a standard gives for a shaft, or None outside its table.

    Parameters
    ----------
    diameter : Fraction
        Shaft diameter in the standard's own unit: inches for "ANSI B17.1" and "BS 46", mm for "DIN 6885-1".

    Examples
    --------
    >>> key_for_shaft(Fraction(1)).width, key_for_shaft(Fraction(25), "DIN 6885-1").hub_depth
    (Fraction(1, 4), Fraction(33, 10))
    """
    for row in parallel_keys():
        if row.standard == standard and row.shaft_over < diameter <= row.shaft_to:
            return row
    return None


def woodruff_key(number: str) -> WoodruffKey | None:
    """The half-round key of a number such as ``404``, or None."""
    wanted = number.strip().lstrip("#0") or "0"
    return next((row for row in woodruff_keys() if row.number == wanted), None)


def scale_note(text: str) -> ScaleNote | None:
    """What a scale note says, or None where it is not in the table.

    Examples
    --------
    >>> scale_note("half size").drawn_over_real, scale_note('SCALE 3" = 1 FT.').drawn_over_real
    (Fraction(1, 2), Fraction(1, 4))
    >>> scale_note("SCALE 1/4").kind
    'ambiguous'
    """
    wanted = _plain_scale(text)
    exact = next((row for row in scale_notes() if row.text == text.strip().upper()), None)
    return exact or next((row for row in scale_notes() if _plain_scale(row.text) == wanted), None)


@lru_cache(maxsize=4096)
def _plain_scale(text: str) -> str:
    """The note without the word SCALE, blanks and the several ways of writing one foot.

    The ambiguous notes keep their word: ``SCALE 1/4`` must not become the plain ``1/4 SIZE``.
    """
    joined = re.sub(r"(\d) (?=\d+/\d)", r"\1-", text.upper().replace("SCALE:", "SCALE"))
    plain = re.sub(r"[\s.]+", "", joined)
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
