"""The standard tables as frozen rows with exact lengths.

Every length is a `fractions.Fraction` in the unit its name ends in. Where a table gives both a fraction and its
rounded decimal (5/32 and 0.1562), the fraction is taken.
"""

import csv
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files

INCH_MM = Fraction(254, 10)
"""Millimetres in an inch, exact since 1959; older inches differ by two parts in a million."""

Row = dict[str, str]


@dataclass(frozen=True)
class Source:
    """Where a row was taken from; ``address`` is empty for what was recalled or computed."""

    id: str
    citation: str
    address: str
    provenance: str


@dataclass(frozen=True)
class Drill:
    """A number or letter drill: ``designation`` as ``#7`` or ``F``, ``kind`` "number" or "letter"."""

    designation: str
    kind: str
    diameter_in: Fraction
    source: str
    provenance: str

    @property
    def diameter_mm(self) -> Fraction:
        """Diameter in millimetres, exact."""
        return self.diameter_in * INCH_MM


@dataclass(frozen=True)
class Thread:
    """One thread size.

    Attributes
    ----------
    series : str
        UNC, UNF, NF, ASME_special, SAE, USS, BSW, BSF, BA or "metric".
    designation : str
        Size as the table writes it: ``1/4``, ``#10``, ``2 BA``, ``M10``.
    major_mm, pitch_mm : Fraction
        Exact: major diameter and pitch (25.4 over threads per inch for inch series).
    threads_per_inch : Fraction or None
        As tabled; None for metric threads.
    angle_deg : Fraction
        Included angle of the thread form.
    tap_drill : str
        As tabled (``#7``, ``31/64``, ``5.1mm``), empty where none is given.
    tap_drill_mm : Fraction or None
        The same in millimetres.
    """

    series: str
    designation: str
    major_mm: Fraction
    pitch_mm: Fraction
    threads_per_inch: Fraction | None
    angle_deg: Fraction
    tap_drill: str
    tap_drill_mm: Fraction | None
    source: str
    provenance: str
    note: str

    @property
    def major_in(self) -> Fraction:
        """Major diameter in inches, exact."""
        return self.major_mm / INCH_MM


@dataclass(frozen=True)
class Key:
    """A parallel key for shafts over ``shaft_over`` and up to ``shaft_to``; lengths in ``unit`` ("in" or "mm").

    ``shaft_depth`` and ``hub_depth`` are depths *at the side* of the keyseat for the square key where the table has
    one, else for the rectangular one; metric rows give them as t1 and t2, measured on the centre line.
    """

    standard: str
    unit: str
    shaft_over: Fraction
    shaft_to: Fraction
    width: Fraction
    height_square: Fraction | None
    height_rectangular: Fraction | None
    shaft_depth: Fraction
    hub_depth: Fraction
    source: str
    provenance: str
    note: str


@dataclass(frozen=True)
class KeyDepths:
    """Keyseat depths published for one inch shaft (ANSI B17.1), in inches.

    ``s_*``: bottom of the shaft keyseat to the opposite side of the shaft; ``t_*``: top of the hub keyseat to the
    opposite side of the bore, with 0.005 in clearance. ``chordal_height`` is computed, the others are as printed.
    """

    shaft_in: Fraction
    width_in: Fraction
    height_square_in: Fraction
    height_rectangular_in: Fraction
    chordal_height_in: Fraction
    s_square_in: Fraction
    s_rectangular_in: Fraction
    t_square_in: Fraction
    t_rectangular_in: Fraction
    source: str
    provenance: str


@dataclass(frozen=True)
class WoodruffKey:
    """A half-round (Woodruff) key by its number, lengths in inches.

    ``height_in`` is the most that the key is high, ``centre_below_top_in`` how far its round's centre lies under its
    flat top. Keyseats are measured at the side, like those of parallel keys.
    """

    number: str
    width_in: Fraction
    diameter_in: Fraction
    height_in: Fraction
    centre_below_top_in: Fraction
    shaft_depth_in: Fraction
    hub_depth_in: Fraction
    source: str
    provenance: str


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


def mixed_number(text: str) -> Fraction:
    """Read ``1-3/8``, ``3/8``, ``2`` or ``0.375`` exactly.

    Examples
    --------
    >>> mixed_number("1-3/8"), mixed_number(".25")
    (Fraction(11, 8), Fraction(1, 4))
    """
    return sum((Fraction(part) for part in text.split("-")), Fraction(0))


def read_table(package: str, name: str) -> tuple[Row, ...]:
    """Rows of a CSV file that ships in ``package``, as dictionaries of text."""
    text = files(package).joinpath(name).read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def _rows(name: str) -> tuple[Row, ...]:
    return read_table("digitize.standards", name)


def _optional(text: str) -> Fraction | None:
    return mixed_number(text) if text else None


@cache
def sources() -> dict[str, Source]:
    """All cited sources by id."""
    return {row["id"]: Source(**row) for row in _rows("sources.csv")}


@cache
def drills() -> tuple[Drill, ...]:
    """Number drills 80 to 1, then letter drills A to Z."""
    return tuple(
        Drill(row["drill"], row["kind"], Fraction(row["dia_in"]), row["source"], row["provenance"])
        for row in _rows("drills.csv")
    )


@cache
def thread_table() -> tuple[Thread, ...]:
    """All thread sizes, inch series first."""
    inch = tuple(_inch_thread(row) for row in _rows("threads_inch.csv"))
    return inch + tuple(_metric_thread(row) for row in _rows("threads_metric.csv"))


def _inch_thread(row: Row) -> Thread:
    size = row["designation"]
    is_gauge_number = size.startswith("#") or size.endswith("BA")
    major_in = Fraction(row["major_in"]) if is_gauge_number else mixed_number(size)
    tpi = Fraction(row["tpi"])
    # British Association pitches are defined in millimetres; their threads per inch are the rounded figure.
    pitch_mm = Fraction(row["pitch_mm"]) if row["series"] == "BA" else INCH_MM / tpi
    return Thread(
        row["series"],
        size,
        major_in * INCH_MM,
        pitch_mm,
        tpi,
        Fraction(row["angle_deg"]),
        row["tap_drill"],
        _tap_drill_mm(row["tap_drill"], row["tap_drill_in"]),
        row["source"],
        row["provenance"],
        row["note"],
    )


def _tap_drill_mm(designation: str, decimal_in: str) -> Fraction | None:
    if not designation:
        return None
    if designation.endswith("mm"):
        return Fraction(designation.removesuffix("mm"))
    if designation[0].isdigit():
        return mixed_number(designation) * INCH_MM
    return Fraction(decimal_in) * INCH_MM


def _metric_thread(row: Row) -> Thread:
    return Thread(
        "metric",
        row["designation"],
        Fraction(row["major_mm"]),
        Fraction(row["pitch_mm"]),
        None,
        Fraction(60),
        f"{row['tap_drill_mm']}mm",
        Fraction(row["tap_drill_mm"]),
        row["source"],
        row["provenance"],
        row["note"],
    )


@cache
def parallel_keys() -> tuple[Key, ...]:
    """Parallel keys: ANSI B17.1 and BS 46 in inches, then DIN 6885-1 in millimetres."""
    inch = tuple(_inch_key(row) for row in _rows("keys_inch.csv"))
    return inch + tuple(_metric_key(row) for row in _rows("keys_metric.csv"))


def _inch_key(row: Row) -> Key:
    square, rectangular = _optional(row["height_square"]), _optional(row["height_rect"])
    height = square or rectangular
    assert height is not None, f"key row {row['width']} has no height"
    return Key(
        row["standard"],
        "in",
        mixed_number(row["shaft_over"]),
        mixed_number(row["shaft_to_incl"]),
        mixed_number(row["width"]),
        square,
        rectangular,
        height / 2,
        height / 2,
        row["source"],
        row["provenance"],
        row["note"],
    )


def _metric_key(row: Row) -> Key:
    width, height = Fraction(row["b_mm"]), Fraction(row["h_mm"])
    return Key(
        "DIN 6885-1",
        "mm",
        Fraction(row["shaft_over_mm"]),
        Fraction(row["shaft_to_incl_mm"]),
        width,
        height if height == width else None,
        None if height == width else height,
        Fraction(row["t1_shaft_mm"]),
        Fraction(row["t2_hub_mm"]),
        row["source"],
        row["provenance"],
        "depths on the centre line",
    )


@cache
def inch_key_depths() -> tuple[KeyDepths, ...]:
    """Published keyseat depths S and T by shaft diameter (ANSI B17.1)."""
    return tuple(
        KeyDepths(
            Fraction(row["shaft_in"]),
            mixed_number(row["W"]),
            mixed_number(row["H_square"]),
            mixed_number(row["H_rect"]),
            Fraction(row["chordal_height_Y"]),
            Fraction(row["S_square_pub"]),
            Fraction(row["S_rect_pub"]),
            Fraction(row["T_square_pub"]),
            Fraction(row["T_rect_pub"]),
            row["source"],
            row["provenance"],
        )
        for row in _rows("keys_inch_depth.csv")
    )


@cache
def woodruff_keys() -> tuple[WoodruffKey, ...]:
    """Half-round keys by number."""
    return tuple(
        WoodruffKey(
            row["key_no"],
            mixed_number(row["width"]),
            mixed_number(row["diameter"]),
            Fraction(row["height_C_max_in"]),
            mixed_number(row["centre_below_top_E"]),
            Fraction(row["shaft_keyseat_depth_in"]),
            Fraction(row["hub_keyseat_depth_in"]),
            row["source"],
            row["provenance"],
        )
        for row in _rows("keys_woodruff.csv")
    )


@cache
def scale_notes() -> tuple[ScaleNote, ...]:
    """Scale notes met on prints, in words, as inches to the foot, and as ratios."""
    return tuple(
        ScaleNote(
            row["note_text"], Fraction(row["fraction"]), row["kind"], row["source"], row["provenance"], row["note"]
        )
        for row in _rows("drawing_scales.csv")
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
        for row in _rows("sheet_sizes.csv")
    )


@cache
def line_widths() -> tuple[LineWidth, ...]:
    """Widths that lines of a drawing are given, by series, the finest first."""
    return tuple(
        LineWidth(row["series"], Fraction(row["width_mm"]), row["source"], row["provenance"])
        for row in _rows("line_widths.csv")
    )


@cache
def abbreviations() -> tuple[Abbreviation, ...]:
    """Words and abbreviations met on prints."""
    return tuple(
        Abbreviation(row["token"], row["regex"], row["meaning"], row["effect"], row["source"], row["provenance"])
        for row in _rows("abbreviations.csv")
    )
