"""Words that run into something else: KEYS, where EAT stands on the arrowhead of a neighbouring dimension.

The finder cannot tell where such letters end, but the reader can. A block that ends within a word, for ink goes on
there, or for nobody writes such a word, as BOR before an edge that runs through its E, is read on, step by step, and
the longest reading that finishes the word stands in for it. Only letters are read on: no number changes.
"""

import math
import re
from collections.abc import Callable, Sequence

import numpy as np

from calibrate.sheet import LevelSheet
from digitize.lettering.grammar import parse
from digitize.lettering.reading.beside import stretched
from digitize.lettering.reading.run_into import touched_figures_beside
from digitize.lettering.text import Text, TextBlock

STEP_HEIGHTS, FARTHEST_HEIGHTS = 0.5, 6.0
"""A block is read on by half a letter at a time, and no further than a long word goes on, in figure heights."""
SURE = 0.8
"""A word that is read on reads at least so well, or it is left as it was found."""
WORD_BEGUN = re.compile(r"\d.*[A-Z]$")
"""A size with a word behind it."""

Read = Callable[[Sequence[TextBlock]], list[Text]]


def with_words_finished(sheet: LevelSheet, texts: Sequence[Text], read: Read) -> list[Text]:
    """Read callouts on whose last word runs into something else.

    Parameters
    ----------
    sheet : LevelSheet
    texts : sequence of Text
        All blocks of a sheet, as read.
    read : callable
        Reads blocks.
    """
    blocks = [text.block for text in texts]

    def runs_on(block: TextBlock) -> bool:
        _before, behind = touched_figures_beside(sheet, block, blocks)
        return behind

    begun = [text for text in texts if text.readings and WORD_BEGUN.search(text.readings[0].text)]
    cut_short = [text for text in begun if not parse(text.readings[0].text) or runs_on(text.block)]
    finished = {text.block: _finished(text, read, runs_on) for text in cut_short}
    return [finished.get(text.block, text) for text in texts]


def _finished(text: Text, read: Read, runs_on: Callable[[TextBlock], bool]) -> Text:
    """The longest sure reading that says what a text says and finishes its word, best of a block that ends there."""
    goes_on = re.compile(re.escape(text.readings[0].text) + "[A-Z]+")
    sure = [more for more in read(_longer_blocks(text.block)) if more.readings and more.readings[0].probability > SURE]
    sound = [more for more in sure if goes_on.fullmatch(more.readings[0].text) and parse(more.readings[0].text)]
    most = max((len(more.readings[0].text) for more in sound), default=0)
    longest = [more for more in sound if len(more.readings[0].text) == most]
    return next((more for more in longest if not runs_on(more.block)), longest[0] if longest else text)


def _longer_blocks(block: TextBlock) -> list[TextBlock]:
    """A block made longer step by step; what a neighbour writes there is no word of its own right behind a letter."""
    length = math.dist(block.quad[0], block.quad[1])
    steps = np.arange(STEP_HEIGHTS, FARTHEST_HEIGHTS + STEP_HEIGHTS / 2, STEP_HEIGHTS) * block.height_px
    return [stretched(block, 0.0, 1.0 + float(step_px) / length) for step_px in steps]
