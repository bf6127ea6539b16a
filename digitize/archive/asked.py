"""What a person writes to find a sheet, on the command line or on the page, becomes a query."""

from collections.abc import Mapping, Sequence
from fractions import Fraction

from calibrate.errors import InputError
from calibrate.lengths import INCH_MM, exact_number, parse_length
from digitize.archive.query import Query, SizeWanted

FIELDS = {"title": "title", "number": "drawing_number", "material": "material", "date": "date"}
"""Names of the options, and the columns that they search."""
KINDS = ("diameter", "radius", "length")


def query_of(
    words: str = "",
    fields: Mapping[str, str] | None = None,
    sizes: Mapping[str, Sequence[str]] | None = None,
    within: str = "",
    teeth: int | None = None,
    pitch: str = "",
    module: str = "",
    state: str = "",
    most: int = 50,
    skip: int = 0,
) -> Query:
    """Build a query from texts.

    Parameters
    ----------
    words : str
    fields : mapping of str to str
        By the names in `FIELDS`.
    sizes : mapping of str to sequence of str
        Lengths with their units, by the names in `KINDS`.
    within, pitch, module, state : str
        Empty where not asked for.
    teeth : int, optional
    most, skip : int
        How many sheets to give, and how many of the first to leave out.

    Raises
    ------
    InputError
        A text is no length or number, or two contradict each other.
    """
    off = parse_length(within, "--within").value_mm if within else Fraction(0)
    wanted = tuple(
        SizeWanted(kind, parse_length(text, kind).value_mm, off)
        for kind in KINDS
        for text in (sizes or {}).get(kind) or ()
    )
    if within and not wanted:
        raise InputError('A tolerance ("within") goes with a diameter, a radius or a length; give one.')
    columns = {FIELDS[name]: text for name, text in (fields or {}).items() if text}
    return Query(words, columns, wanted, teeth, _module_mm(pitch, module), state, most, skip)


def _module_mm(pitch: str, module: str) -> float | None:
    if pitch and module:
        raise InputError("Give the pitch or the module, not both: one follows from the other.")
    text = pitch or module
    if not text:
        return None
    value = exact_number(text)
    if value <= 0:
        raise InputError(f'The pitch "{text}" must be larger than zero.')
    return float(INCH_MM / value if pitch else value)
