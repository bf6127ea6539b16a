"""Sizes that may be parts: lettering of no line of its own stands right behind or before them, or over or under them.

A length says nothing of its tolerance, so a figure whose tolerance was parted from it fits what is drawn as well as the
whole one; so does the size of a thread that a word of its neighbour was joined to, and one of two limits. Nothing but
the lettering itself can tell: what stands beside it, or that it leans across two rows as no figure does.
"""

from collections.abc import Sequence
from dataclasses import replace

from digitize.dimensions.linking.directions import across, along, bearing_deg, fold_deg, unit
from digitize.dimensions.linking.entries import Entry, is_length
from digitize.dimensions.linking.leaders import Leader
from digitize.dimensions.linking.span import Span
from digitize.dimensions.reasons import Reason
from digitize.dimensions.witnesses.one_of_two_rows import is_one_of_two_rows
from digitize.lettering.text import Kind, LineThrough, Text, TextBlock

GAP_HEIGHTS = 1.8
"""What belongs to a figure stands no further from it than this, in figure heights: a wide space, or a sign lost."""
WORD_GAP_HEIGHTS = 4.0
"""... and a word of a size, such as DIA., that has no figure of its own no further behind it than this: a fraction that
a line runs through may be lost between the two, 15/16" with its spaces at the most."""
INTO_HEIGHTS = 0.5
"""... and its box reaches no further into the figure's."""
ASIDE_HEIGHTS = 0.6
"""Lettering of one row has its middles in one line to this."""
ROW_GAP_HEIGHTS = 0.7
"""Limits stand over each other with no more than this between them: rows of notes are set wider."""
ROW_SHARE = 0.5
"""... and at least this much of the shorter stands over the other."""
ONE_WAY_DEG = 5.0
LEANING_DEG = 10.0
"""A figure lies level, upright or along its dimension line or leader to this."""
ON_LEADER_HEIGHTS = 1.5
"""A figure written along its leader has its middle no further from it than this: on it, or a space over or under it."""


def marked_run_on(entries: Sequence[Entry], texts: Sequence[Text]) -> tuple[Entry, ...]:
    """Mark the sizes that may go on in lettering which belongs to nothing else.

    Parameters
    ----------
    entries : sequence of Entry
        Tied to what they measure.
    texts : sequence of Text

    Returns
    -------
    tuple of Entry
        In the same order.
    """
    loose = [texts[index] for index in sorted(_loose(entries))]
    return tuple(replace(entry, part_for=_part_for(entry, texts[entry.text], loose)) for entry in entries)


def _part_for(entry: Entry, text: Text, loose: Sequence[Text]) -> Reason | None:
    if text.line_through is not LineThrough.NONE:
        return Reason.STRUCK_OUT
    if entry.slot is None or entry.value is None or not is_length(entry.value):
        return None
    block = text.block
    if _leans(entry, block) or any(_adjoins(other.block, block, _gap_heights(other)) for other in loose):
        return Reason.RUNS_ON
    return Reason.ONE_LIMIT if is_one_of_two_rows(entry, block) else None


def _loose(entries: Sequence[Entry]) -> set[int]:
    """Texts that are neither words nor tied to anything."""
    tied = {entry.text for entry in entries if entry.slot is not None}
    bare = {entry.text for entry in entries if _is_bare_or_unread(entry)}
    return bare - tied


def _is_bare_or_unread(entry: Entry) -> bool:
    if entry.value is None:
        return entry.figures
    return is_length(entry.value) and (entry.value.name is None or entry.value.kind is Kind.THREAD)


def _leans(entry: Entry, block: TextBlock) -> bool:
    """Does the lettering lie neither along its dimension line or its leader nor square to the sheet?"""
    along_it = []
    if isinstance(entry.slot, Span):
        along_it = [bearing_deg(entry.slot.first, entry.slot.second)]
    elif isinstance(entry.slot, Leader) and _is_in_line(block, entry.slot):
        along_it = [entry.slot.direction_deg]
    return all(abs(fold_deg(block.angle_deg - way)) > LEANING_DEG for way in (0.0, 90.0, *along_it))


def _is_in_line(block: TextBlock, leader: Leader) -> bool:
    """Is a figure written on its leader, or over or under it?"""
    return abs(across(block.centre, leader.tip, unit(leader.direction_deg))) < ON_LEADER_HEIGHTS * block.height_px


def _gap_heights(other: Text) -> tuple[float, float]:
    """How far before a figure, and how far behind it, lettering may stand that belongs to it, in heights."""
    reading = other.readings[0].text if other.readings else ""
    word = any(letter.isalpha() for letter in reading) and not any(letter.isdigit() for letter in reading)
    return GAP_HEIGHTS, WORD_GAP_HEIGHTS if word else GAP_HEIGHTS


def _adjoins(other: TextBlock, block: TextBlock, gap_heights: tuple[float, float]) -> bool:
    """Does a block stand right behind or before another in its row, or right over or under it?"""
    if other.group not in (None, block.group):
        return False
    way, height = unit(block.angle_deg), max(block.height_px, other.height_px)
    own, its = ([along(corner, block.centre, way) for corner in each.quad] for each in (block, other))
    gap = _gap(own, its)
    aside = abs(across(other.centre, block.centre, way)) / height
    if aside < ASIDE_HEIGHTS:
        allowed = gap_heights[min(its) > min(own)]
        return -INTO_HEIGHTS * height < gap < allowed * height
    rows = ([across(corner, block.centre, way) for corner in each.quad] for each in (block, other))
    shorter = min(max(own) - min(own), max(its) - min(its))
    one_way = abs(fold_deg(other.angle_deg - block.angle_deg, 360.0)) <= ONE_WAY_DEG
    return one_way and _gap(*rows) < ROW_GAP_HEIGHTS * height and -gap > ROW_SHARE * shorter


def _gap(some: Sequence[float], others: Sequence[float]) -> float:
    """What lies between two stretches of one axis; below nought where they overlap.

    Between the edges, not the middles: a box that took in an arrowhead has its middle elsewhere.
    """
    return max(min(others) - max(some), min(some) - max(others))
