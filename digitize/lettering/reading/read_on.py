"""Lettering that runs into something else, read on to where it ends.

The finder cannot tell where a figure ends that a line runs through, or a word on the arrowhead of a neighbouring
dimension: it finds 3.00 for 23.00, and KEYS for KEYSEAT. The reader can. A block is read on, step by step and through
what was found in its line, where a letter stands that ran into something, or where what it says is never written alone,
until nothing stands beside it. What then reads surely, and says all that the block said and more, stands in for it.
"""

import math
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum
from itertools import islice

from digitize.lettering.grammar import makes_sense
from digitize.lettering.reading.beside import both_ways, grown, stretched
from digitize.lettering.reading.in_line import are_level, whole_of
from digitize.lettering.reading.neighbours import OTHER_FIGURES
from digitize.lettering.reading.run_into import (
    has_one_in_line_beside,
    has_struck_one_beside,
    touched_figures_beside,
)
from digitize.lettering.surroundings import Surroundings
from digitize.lettering.text import Text, TextBlock

STEP_HEIGHTS, FARTHEST_HEIGHTS = 0.5, 6.0
"""A block is read on by half a letter at a time, and no further than a long word goes on, in figure heights."""
BLANK_HEIGHTS = 0.9
"""What stands in line no further off is of the same callout."""
MOST_LOOKS = 3
"""So many of the blocks beside which nothing stands are read, shortest first."""
SURE = 0.9
"""What is read on reads at least so well, or the block is left as it was found."""
WORD_BEGUN = re.compile(r"\d.*[A-Z]$")
"""A size with a word behind it."""
SIZE_LACKING = re.compile(r"[\"'] ?[A-Z.]*|(DIA|D|RAD|R|BORE|KEYSEAT|THDS|DEEP)\.?")
"""Marks and words that stand behind a size and never alone."""

Read = Callable[[Sequence[TextBlock]], list[Text]]


class Side(IntEnum):
    """An end of a block."""

    BEFORE = 0
    BEHIND = 1


@dataclass(frozen=True)
class ReadOn:
    """Lettering read on, and what was found of it: where more than letters came to it, neither is sure."""

    whole: Text
    found: Text

    @property
    def both(self) -> Text:
        """The whole, its readings shared with what was found, but for words alone, which change no size."""
        return self.whole if _is_word_finished(self.found, self.whole) else both_ways(self.found, self.whole)


def read_on(around: Surroundings, texts: Sequence[Text], read: Read) -> tuple[list[Text], list[ReadOn]]:
    """Read lettering on that runs into something else.

    Parameters
    ----------
    around : Surroundings
    texts : sequence of Text
        All blocks of a sheet, as read. Rows of notes and tables are left alone.
    read : callable
        Reads blocks.

    Returns
    -------
    tuple of two lists
        The texts, wholes in the place of what was found of them; and which ones these are.
    """
    out, made = list(texts), list[ReadOn]()
    for text in texts:
        if text.block.group is not None or not text.readings or text not in out:
            continue
        whole, blocks = text, [other.block for other in out]
        for side in Side:
            if _is_open(around, whole, blocks, side):
                whole = _read_on(around, whole, blocks, side, read)
        if whole is not text:
            made.append(ReadOn(whole, text))
            out = [whole if each is text else each for each in out if each is text or not _lies_in(each, whole)]
    return out, made


def _is_open(around: Surroundings, text: Text, blocks: Sequence[TextBlock], side: Side) -> bool:
    """Does lettering go on at an end of a text?"""
    said = text.readings[0].text
    is_begun = side is Side.BEHIND and WORD_BEGUN.search(said) is not None and not makes_sense(said)
    lacks_size = side is Side.BEFORE and SIZE_LACKING.fullmatch(said) is not None
    if is_begun or lacks_size:
        return True
    may_lack_one = side is Side.BEFORE and said[:1] in OTHER_FIGURES
    runs_on = _runs_on if may_lack_one else _is_touched
    return runs_on(around, text.block, blocks, side)


def _is_touched(around: Surroundings, block: TextBlock, blocks: Sequence[TextBlock], side: Side) -> bool:
    """Does a figure that ran into something else stand at an end of a block?"""
    return touched_figures_beside(around, block, blocks)[side]


def _runs_on(around: Surroundings, block: TextBlock, blocks: Sequence[TextBlock], side: Side) -> bool:
    """Does such a figure, or a 1 that ran into a line, stand at an end of a block?"""
    if _is_touched(around, block, blocks, side):
        return True
    return side is Side.BEFORE and (
        has_one_in_line_beside(around, block) or has_struck_one_beside(around, block, blocks)
    )


def _read_on(around: Surroundings, text: Text, blocks: Sequence[TextBlock], side: Side, read: Read) -> Text:
    """The first sure reading of a longer block that says what a text says and more; the text where there is none.

    A word that is only begun is read to its end though something stands on it.
    """
    longer = list(_longer_blocks(text.block, blocks, side))
    closed = (block for block in longer if not _goes_on_beside(around, block, side))
    sure = [more for more in read(list(islice(closed, MOST_LOOKS))) if _says_more(text, more)]
    if not sure and side is Side.BEHIND and WORD_BEGUN.search(text.readings[0].text):
        finished = [more for more in read(longer) if _says_more(text, more) and _is_word_finished(text, more)]
        sure = sorted(finished, key=lambda more: -len(more.readings[0].text))
    return sure[0] if sure else text


def _longer_blocks(block: TextBlock, blocks: Sequence[TextBlock], side: Side) -> Iterator[TextBlock]:
    """A block made longer step by step, each time with all that was found in its line and is reached."""
    in_line = [other for other in blocks if other is not block and other.group is None and are_level(block, other)]
    longer = block
    for step in range(1, round(FARTHEST_HEIGHTS / STEP_HEIGHTS) + 1):
        reached = whole_of([longer, _stretched(block, side, step * STEP_HEIGHTS)])
        while held := [other for other in in_line if _reaches(reached, other, side)]:
            reached = whole_of([reached, *held])
            in_line = [other for other in in_line if other not in held]
        if reached != longer:
            yield reached
        longer = reached


def _stretched(block: TextBlock, side: Side, heights: float) -> TextBlock:
    """A block made longer at one end, by so many figure heights."""
    share = heights * block.height_px / math.dist(block.quad[0], block.quad[1])
    return stretched(block, -share, 1.0) if side is Side.BEFORE else stretched(block, 0.0, 1.0 + share)


def _reaches(block: TextBlock, other: TextBlock, side: Side) -> bool:
    """Does a block in its line stand no more than a blank beyond an end of a block, or begin within it?"""
    reach = _stretched(block, side, BLANK_HEIGHTS)
    near_end = [other.quad[1 - side], other.quad[2 + side]]
    return reach.holds(((near_end[0][0] + near_end[1][0]) / 2, (near_end[0][1] + near_end[1][1]) / 2))


def _goes_on_beside(around: Surroundings, block: TextBlock, side: Side) -> bool:
    """Does anything like a figure stand at an end of a block, whatever block it is of?"""
    larger = grown(around, block, ())
    has_free = larger is not None and math.dist(larger.quad[side], block.quad[side]) > 1.0
    return has_free or _runs_on(around, block, (), side)


def _says_more(text: Text, more: Text) -> bool:
    """Does a reading make sense, say surely what a text says, in that order, and more?"""
    if not more.readings or more.readings[0].probability < SURE or not makes_sense(more.readings[0].text):
        return False
    said, all_said = (re.sub(r"\s", "", each.readings[0].text) for each in (text, more))
    signs = iter(all_said)
    return len(all_said) > len(said) and all(sign in signs for sign in said)


def _is_word_finished(text: Text, more: Text) -> bool:
    """Are letters alone what a reading adds to a text, behind it?"""
    said, all_said = text.readings[0].text, more.readings[0].text
    return all_said.startswith(said) and all_said[len(said) :].isalpha()


def _lies_in(text: Text, whole: Text) -> bool:
    """Is a block's middle within the whole, in its line?"""
    return whole.block.holds(text.block.centre) and are_level(text.block, whole.block)
