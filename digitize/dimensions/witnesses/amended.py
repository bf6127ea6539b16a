"""Figures that somebody may have changed later: in another ink than the drawing's, or with a mark in one at them.

A shop strikes a size out in red and writes the new one beside it; the print still shows the old length, which bears the
old figure out, and no formula or table knows better. So neither is agreed until a person says which holds.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from calibrate.sheet import OtherInk
from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.reasons import Reason
from digitize.lettering.text import Text, TextBlock

NEAR_HEIGHTS = 1.0
"""A mark is one at a figure where it lies within this of its box, in figure heights."""
LARGEST = 3.0, 6.0
"""A ring or a cross is no longer than the first in figure lengths and the second in figure heights together: what is,
is a line of the drawing in an ink of its own, or the edge of a stamp."""
OWN_HABIT, FEWEST_OF_HABIT = 0.5, 6
"""Where more than this part of all figures is in another ink, and at least so many, the office drew them so."""
FEWEST_TO_TELL = 3
"""Fewer marks, none of them at a figure, are specks, or corners of the paper on a table."""
MARKED = (
    "There are marks in another ink than the drawing's ({colours}): stamps, or changes made after it was drawn. No"
    " figure at one of them is agreed; else they are traced and read as if they were drawn. Look at the scan."
)
HABIT = "Most figures are in another ink than the drawing ({colours}): what was changed later in it can't be told."


def marked_amended(
    entries: Sequence[Entry], texts: Sequence[Text], marks: Sequence[OtherInk]
) -> tuple[tuple[Entry, ...], tuple[str, ...]]:
    """Mark the values that may have been changed.

    Parameters
    ----------
    entries : sequence of Entry
    texts : sequence of Text
    marks : sequence of OtherInk
        In level pixels.

    Returns
    -------
    entries : tuple of Entry
        In the same order.
    warnings : tuple of str
        What to know of the sheet as a whole.
    """
    if not marks:
        return tuple(entries), ()
    figures = {entry.text for entry in entries if entry.value is not None or entry.figures}
    at = {index for index in figures if any(is_at(mark, texts[index].block) for mark in marks)}
    colours = ", ".join(colour for colour, _ in Counter(mark.colour for mark in marks).most_common())
    if len(at) >= FEWEST_OF_HABIT and len(at) > OWN_HABIT * len(figures):
        return tuple(entries), (HABIT.format(colours=colours),)
    if not at and len(marks) < FEWEST_TO_TELL:
        return tuple(entries), ()
    changed = (replace(e, part_for=e.part_for or Reason.OTHER_INK) if e.text in at else e for e in entries)
    return tuple(changed), (MARKED.format(colours=colours),)


def is_at(mark: OtherInk, block: TextBlock) -> bool:
    """Does a mark lie on or at lettering, and no further beyond it than a ring round it would?"""
    sides = [sorted(side) for side in zip(*block.quad, strict=True)]
    near = NEAR_HEIGHTS * block.height_px
    touches = all(
        least < side[-1] + near and most > side[0] - near
        for side, least, most in zip(sides, mark.least_px, mark.most_px, strict=True)
    )
    length = max(side[-1] - side[0] for side in sides)
    reach = max(most - least for least, most in zip(mark.least_px, mark.most_px, strict=True))
    return touches and reach < LARGEST[0] * length + LARGEST[1] * block.height_px
