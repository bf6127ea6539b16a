"""Screw threads as the tables give them: diameter, pitch, angle and tap drill."""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from digitize.standards.tables import INCH_MM, Row, mixed_number, standard_rows


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


@cache
def thread_table() -> tuple[Thread, ...]:
    """All thread sizes, inch series first."""
    inch = tuple(_inch_thread(row) for row in standard_rows("threads_inch.csv"))
    return inch + tuple(_metric_thread(row) for row in standard_rows("threads_metric.csv"))


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
