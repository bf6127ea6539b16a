"""Number and letter drills, by the name a print gives them."""

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from digitize.standards.tables import INCH_MM, standard_rows

_DRILL = re.compile(r"(?:NO\.?|NUMBER|#)?\s*(?P<number>\d{1,2})|(?:LETTER\s+)?(?P<letter>[A-Z])")


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


@cache
def drills() -> tuple[Drill, ...]:
    """Number drills 80 to 1, then letter drills A to Z."""
    return tuple(
        Drill(row["drill"], row["kind"], Fraction(row["dia_in"]), row["source"], row["provenance"])
        for row in standard_rows("drills.csv")
    )


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
