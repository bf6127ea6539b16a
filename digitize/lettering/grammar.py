"""What a reading means: canonical text to typed values, or the reason why it has none.

Glossary
--------
phrase
    A piece of a callout: a size, sizes joined by X, a count, a thread, a remark.
plain size
    A number with nothing round it that says what it is of: the ordinary linear dimension.

A text is taken as it stands. What does not parse is `NotParsed`, with a reason; nothing is mended to fit.
`grammar.lark` says how phrases are written, `phrases` what each means, `callouts` which of them make sense together,
and `table_rows` knows the rows of gear-data blocks and title blocks.

Names given to values (`TypedValue.name`): a key of `GEAR_ROWS` or of the title block; a thread's designation; for holes
``drill``, ``ream``, ``bore``, ``counterbore``, ``bolt_circle`` ...; ``key_width``, ``key_depth``, ``key_length``;
``square``, ``hexagon``, ``depth``, ``thickness``; ``taper`` and ``taper_per_foot``; ``unit`` for a note on the sheet's
unit; ``not_to_scale``; ``words`` for a note without a figure.
"""

import re
from dataclasses import dataclass
from functools import lru_cache

from lark.exceptions import LarkError

from digitize.lettering.meaning.callouts import callout_values
from digitize.lettering.meaning.labels import gear_labels, title_row
from digitize.lettering.meaning.numbers import Refused
from digitize.lettering.meaning.table_rows import row_values
from digitize.lettering.text import Callout, Kind, TypedValue, Unit
from digitize.standards import abbreviations

GEAR_ROWS: dict[str, tuple[str, ...]] = {
    key: tuple(label.text for label in gear_labels() if label.key == key)
    for key in sorted({label.key for label in gear_labels()})
}
"""Keys of gear data and how each is spelled on prints, from `gear_rows.csv`."""

HYPHEN_BEFORE_COUNT = re.compile(r"([/.]\d+|[A-Z]{2}\.?) ?- ?(\d+ HOLES?\b)")
"""``DRILL 11/32 - 4 HOLES``: after a fraction, decimal or word the hyphen only parts the count."""
OFF_SCALE = re.compile(r"(?<![A-Z])(?:N\.? ?T\.? ?S\.?|NOT\.? TO\.? SCALE)(?![A-Z])")
"""What says of the view that a title names that it is not drawn to scale."""
LONGEST_TEXT = 120
REMEMBERED = 2**13
"""Texts whose meaning is remembered: a sheet has about 400, readings and their slips, a third of them met before."""
FEWEST_NOTE_LETTERS = 4
ONE_SIGN = str.maketrans("×⌀’′“”″º", 'XØ\'\'"""°')
"""Marks that are drawn or typed in several ways."""


@dataclass(frozen=True)
class NotParsed:
    """A reading without a meaning, and why. It is false in a condition."""

    text: str
    reason: str

    def __bool__(self) -> bool:
        return False


@lru_cache(maxsize=REMEMBERED)
def parse(text: str, sheet_unit_hint: Unit | None = None) -> Callout | NotParsed:
    """Say what a canonical text means.

    Parameters
    ----------
    text : str
        Canonical text, see `digitize.lettering.text`.
    sheet_unit_hint : Unit or None
        The sheet's unit where it is known; it only settles what a comma before three figures is.

    Returns
    -------
    Callout or NotParsed

    Examples
    --------
    >>> parse('1 3/8"').values[0].nominal, parse("3/5").reason
    (Fraction(11, 8), '3/5 has no denominator of a rule: 2, 4, 8, 16, 32 or 64.')
    >>> [(value.kind.value, str(value.nominal)) for value in parse("6 HOLES 13/32 DRILL ON 4 1/2 B.C.").values]
    [('count', '6'), ('diameter', '13/32'), ('diameter', '9/2')]
    >>> bool(parse("+.003"))
    False
    """
    capitals = _capitals(text)
    if not capitals or len(capitals) > LONGEST_TEXT:
        return NotParsed(text, "There is no text, or too much of it.")
    comma = sheet_unit_hint is Unit.MM
    try:
        values = row_values(capitals, comma) or callout_values(capitals, comma)
    except Refused as refusal:
        return NotParsed(text, str(refusal))
    except LarkError:
        if _is_words(capitals):
            off_scale = OFF_SCALE.search(capitals) is not None
            name = "not_to_scale" if off_scale else "words"
            values = (TypedValue(Kind.NOTE, None, Unit.NONE, name=name, not_to_scale=off_scale),)
        else:
            return NotParsed(text, "This is not written as sizes are.")
    return Callout(text, values)


def makes_sense(text: str) -> Callout | NotParsed:
    """What a text means where nothing is known of the sheet: a comma before three figures may then be a decimal one.

    Examples
    --------
    >>> bool(parse("28,125")), bool(makes_sense("28,125"))
    (False, True)
    """
    return parse(text, Unit.MM)


def field(text: str) -> tuple[str, str] | None:
    """Key and filled-in words of a title-block row, or None where it is none.

    Examples
    --------
    >>> field("Material: C.I.")
    ('material', 'C.I.')
    """
    row = title_row(_capitals(text))
    return None if row is None or not row.filled else (row.label.key, row.filled)


def _capitals(text: str) -> str:
    """Capitals, one space between words, one sign for each of the marks that have several."""
    text = re.sub(r"[ \t]+", " ", text.upper().translate(ONE_SIGN).strip())
    text = HYPHEN_BEFORE_COUNT.sub(r"\1 \2", text)
    return re.sub(r" ?\n ?", "\n", text)


def _is_words(text: str) -> bool:
    letters = len(re.findall(r"[A-Z]", text))
    if letters < 2 or re.search(r"\d", text):
        return False
    return letters >= FEWEST_NOTE_LETTERS or any(re.fullmatch(row.pattern, text) for row in abbreviations())
