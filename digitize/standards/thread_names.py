"""From a thread as a print writes it (`1/4-20 UNC`, `2 B.A.`, `M10`) to the rows of the tables."""

import re
from fractions import Fraction
from functools import cache

from digitize.standards.tables import mixed_number
from digitize.standards.thread_sizes import Thread, thread_table

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
