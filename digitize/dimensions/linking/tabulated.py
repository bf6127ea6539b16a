"""Letters in the place of sizes, for which a table gives figures: parts of several sizes drawn once.

On such a sheet (ASME Y14.5M-1982 calls it tabular dimensioning; from memory) a dimension line bears a letter, and the
table has a column or a row for it. What is drawn is one of the sizes or none, so the letter says no figure, nor does a
figure that may be that letter.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from digitize.dimensions.linking.candidates import Parser, gives_number
from digitize.dimensions.linking.directions import across, along, fold_deg, unit
from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.reasons import Reason
from digitize.lettering.meaning.lone_letters import lone_letter
from digitize.lettering.text import Text

FEWEST_LETTERS = 3
"""A table has so many letters in its head: both ends of a cutting plane bear one."""
FEWEST_FIGURES = 2
"""... and figures under so many of them."""
LEVEL_HEIGHTS, SAME_WAY_DEG = 0.6, 5.0
"""Letters of one head have their middles in line to this, in letter heights, and run one way."""
UNDER_HEIGHTS, BEHIND_HEIGHTS = (6.0, 3.0), (20.0, 0.6)
"""The first figure under a letter, or behind it, has its middle no further on and aside, in letter heights."""
LIKELY_LETTER = 0.01
"""A lone figure that reads as one of the letters with this probability may be it."""


@dataclass(frozen=True)
class TableHead:
    """Texts of the heads of tables, as indices, and the letters there."""

    texts: frozenset[int]
    letters: frozenset[str]


def table_head(texts: Sequence[Text], parse: Parser) -> TableHead:
    """The letters that a table of the sheet gives sizes for; none where there is no such table.

    Parameters
    ----------
    texts : sequence of Text
    parse : callable
        Canonical text to Callout or None.
    """
    alone = [i for i, text in enumerate(texts) if lone_letter(text) is not None]
    sizes = [text for text in texts if text.readings and gives_number(text.readings[0], parse)]
    found: set[int] = set()
    for first in alone:
        for turn_deg in (0.0, -90.0):  # letters in a row with figures under them, or in a column with figures behind
            row = [i for i in alone if _in_line(texts[first], texts[i], turn_deg)]
            filled = sum(any(_leads(texts[i], size, turn_deg) for size in sizes) for i in row)
            if len({lone_letter(texts[i]) for i in row}) >= FEWEST_LETTERS and filled >= FEWEST_FIGURES:
                found.update(row)
    letters = frozenset(letter for i in found if (letter := lone_letter(texts[i])) is not None)
    return TableHead(frozenset(found), letters)


def _in_line(one: Text, other: Text, turn_deg: float) -> bool:
    if abs(fold_deg(other.block.angle_deg - one.block.angle_deg, 360.0)) > SAME_WAY_DEG:
        return False
    way = unit(one.block.angle_deg + turn_deg)
    return abs(across(other.block.centre, one.block.centre, way)) < LEVEL_HEIGHTS * one.block.height_px


def _leads(letter: Text, size: Text, turn_deg: float) -> bool:
    """Does a size stand right under a letter of a row, or right behind one of a column?"""
    way = unit(letter.block.angle_deg + (0.0 if turn_deg else -90.0))
    most_on, most_aside = BEHIND_HEIGHTS if turn_deg else UNDER_HEIGHTS
    height = letter.block.height_px
    on, aside = along(size.block.centre, letter.block.centre, way), across(size.block.centre, letter.block.centre, way)
    return 0 < on < most_on * height and abs(aside) < most_aside * height


def refer_to_table(entries: Sequence[Entry], texts: Sequence[Text], parse: Parser) -> tuple[Entry, ...]:
    """Say of each letter that a table gives a size for that it does; the table's own letters are words.

    Parameters
    ----------
    entries : sequence of Entry
        Before they are tied to what they measure.
    texts : sequence of Text
    parse : callable
        Canonical text to Callout or None.

    Returns
    -------
    tuple of Entry
        In order; of a text that stands for a letter one entry, which says nothing else.
    """
    head = table_head(texts, parse)
    return tuple(_referred(entries, texts, head)) if head.letters else tuple(entries)


def _referred(entries: Sequence[Entry], texts: Sequence[Text], head: TableHead) -> Iterator[Entry]:
    for entry in entries:
        letter = _letter_of(texts[entry.text], head.letters)
        if entry.text in head.texts:
            yield replace(entry, figures=False)
        elif letter is None:
            yield entry
        elif entry.which == 0:
            why = Reason.IN_TABLE.say(letter=letter)
            yield Entry(entry.text, 0, None, (), reading=entry.reading, why_not=why)


def _letter_of(text: Text, letters: frozenset[str]) -> str | None:
    """The letter that a text bears in the place of a figure, alone or before a word, or that its figure may be."""
    if not text.readings:
        return None
    first, *words = text.readings[0].text.split()
    if first in letters and not any(sign.isdigit() for word in words for sign in word):
        return first
    if len(first) > 1 or words:
        return None
    likely = (r.text for r in text.readings[1:] if r.probability >= LIKELY_LETTER)
    return next((read for read in likely if read in letters), None)
