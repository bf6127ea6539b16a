"""Standard pitches, as data: diametral pitches, modules and circular pitches, each exact in its own unit."""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import pi

from digitize.standards.tables import INCH_MM, read_table

PREFERRED_SERIES = ("coarse_preferred", "fine_preferred", "ISO54_I", "DIN780_1", "legacy_CP")
"""Series of ``pitches.csv`` that name first choices."""


@dataclass(frozen=True)
class Pitch:
    """A standard pitch.

    Attributes
    ----------
    kind : str
        "DP" (diametral pitch, teeth per inch of pitch diameter), "MODULE" (mm) or "CP" (circular pitch, in).
    value : Fraction
        In that kind's own unit, exact.
    label : str
        As a machinist writes it: ``8 P``, ``module 3``, ``1/2 in circular pitch``.
    module_mm : float
    preferred : bool
        Whether some series names it as a first choice.
    """

    kind: str
    value: Fraction
    label: str
    module_mm: float
    preferred: bool
    source: str

    @property
    def diametral_pitch(self) -> float:
        """Teeth per inch of pitch diameter."""
        return float(INCH_MM) / self.module_mm


@cache
def pitches() -> tuple[Pitch, ...]:
    """Every standard pitch once, with the source of its first row; worm pitches are left out."""
    found: dict[tuple[str, Fraction], Pitch] = {}
    for row in read_table("digitize.gears", "pitches.csv"):
        if row["series"] == "worm_CP_threads_per_inch":
            continue
        value = Fraction(row["value"])
        preferred = row["series"] in PREFERRED_SERIES
        earlier = found.get((row["kind"], value))
        if earlier is None or (preferred and not earlier.preferred):
            found[row["kind"], value] = make_pitch(row["kind"], value, preferred, row["source"])
    return tuple(found.values())


def make_pitch(kind: str, value: Fraction, preferred: bool = False, source: str = "") -> Pitch:
    """A pitch of any value, standard or not.

    Examples
    --------
    >>> make_pitch("DP", Fraction(8)).module_mm, make_pitch("CP", Fraction(1, 2)).label
    (3.175, '1/2 in circular pitch')
    """
    module_mm, label = {
        "DP": lambda: (float(INCH_MM / value), f"{_plain(value)} P"),
        "MODULE": lambda: (float(value), f"module {_plain(value)}"),
        "CP": lambda: (float(value * INCH_MM) / pi, f"{mixed(value)} in circular pitch"),
    }[kind]()
    return Pitch(kind, value, label, module_mm, preferred, source)


def _plain(value: Fraction) -> str:
    return f"{float(value):g}"


def mixed(value: Fraction) -> str:
    """A fraction as written on a print: ``1 3/8``.

    Examples
    --------
    >>> mixed(Fraction(11, 8)), mixed(Fraction(2)), mixed(Fraction(1, 16))
    ('1 3/8', '2', '1/16')
    """
    whole, rest = divmod(value.numerator, value.denominator)
    part = f"{rest}/{value.denominator}" if rest else ""
    return " ".join(word for word in (str(whole) if whole else "", part) if word) or "0"
