"""The invented museum: its name, the makers in its collection, and how their drawing offices differed."""

from dataclasses import dataclass

from samples.board import Style
from samples.lettering import HAND, HERSHEY_FONTS, Hand
from samples.notation import Notation
from samples.parts import Rng, pick

MAKERS = (
    "QUILLOW & DRAX, ENGINEERS",
    "THE FENWITHY WORKS",
    "BRANDLECOMBE IRON CO.",
    "OSKERDALE TOOL WORKS",
    "HARROWBECK MILL MUSEUM",
    "TAMWORTHY-LUND MACHINE CO.",
)
INITIALS = ("J.Q.", "E.D.", "W.F.", "M.O.", "A.B.H.", "R.L.", "T.K.")
MONTHS = ("JAN", "FEB", "MAR", "APR", "MAY", "JUNE", "JULY", "AUG", "SEPT", "OCT", "NOV", "DEC")

PAPERS = (  # name, width and height in mm: ISO 216 and ANSI Y14.1; share among the samples
    ("A4", 297.0, 210.0, 0.3),
    ("A", 279.4, 215.9, 0.2),
    ("A3", 420.0, 297.0, 0.28),
    ("B", 431.8, 279.4, 0.17),
    ("C", 558.8, 431.8, 0.05),
)


@dataclass(frozen=True)
class Office:
    """A drawing office on one day: its name, habits, initials, date."""

    maker: str
    style: Style
    drawn: str
    date: str
    number: str


def _hand(rng: Rng, unit: str) -> Hand:
    font = HAND if rng.random() < 0.5 else pick(rng, HERSHEY_FONTS)
    slant = float(pick(rng, (0.0, 0.0, 15.0, 22.0)))
    wobble = float(rng.uniform(0.006, 0.03)) if font == HAND else float(pick(rng, (0.0, 0.004)))
    return Hand(
        font,
        slant,
        float(rng.uniform(0.85, 1.05)),
        wobble,
        int(rng.integers(128)),
        bool(unit == "in" and rng.random() < 0.25),
    )


def _notation(rng: Rng) -> Notation:
    if rng.random() < 0.3:
        return Notation("mm", diameter=pick(rng, ("Ø", "Ø", "DIA.")), radius=pick(rng, ("R.", "R")))
    old = bool(rng.random() < 0.45)
    return Notation(
        "in",
        decimal=bool(rng.random() < 0.25),
        inch_marks=old,
        diameter=pick(rng, ("DIA", "DIA.", "D.", "Ø")),
        radius=pick(rng, ("R", "RAD", "R.")),
    )


def open_office(rng: Rng) -> Office:
    """Choose who drew the sheet, and how."""
    notation = _notation(rng)
    metric = notation.unit == "mm"
    text = float(pick(rng, (3.0, 3.2, 3.5, 4.0)))
    style = Style(
        notation,
        _hand(rng, notation.unit),
        text,
        wide_mm=float(rng.uniform(0.5, 0.7)),
        thin_mm=float(rng.uniform(0.2, 0.3)),
        arrow=pick(rng, ("filled", "filled", "filled", "open")),
        arrow_mm=float(rng.uniform(2.6, 3.6)),
        broken=bool(rng.random() < (0.2 if metric else 0.8)),
        aligned=bool(rng.random() < 0.7),
        dashed=bool(notation.inch_marks and rng.random() < 0.35),
        pen_error_mm=round(float(rng.uniform(0.1, 0.3)), 3) if rng.random() < 0.5 else 0.0,
        hatch_mm=float(rng.uniform(1.8, 3.0)),
    )
    year = int(rng.integers(1936, 1958)) if metric else int(rng.integers(1902, 1952))
    date = f"{int(rng.integers(1, 29))} {pick(rng, MONTHS)} {year}"
    number = f"{pick(rng, 'ABDGMT')}-{int(rng.integers(100, 9900))}"
    return Office(pick(rng, MAKERS), style, pick(rng, INITIALS), date, number)
