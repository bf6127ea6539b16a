"""How the standard tables are read: CSV files with exact lengths, each row with its source.

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


def standard_rows(name: str) -> tuple[Row, ...]:
    """Rows of a table in this folder."""
    return read_table("digitize.standards", name)


@cache
def sources() -> dict[str, Source]:
    """All cited sources by id."""
    return {row["id"]: Source(**row) for row in standard_rows("sources.csv")}
