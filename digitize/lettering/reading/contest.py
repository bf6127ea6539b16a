"""Figures chosen among rivals by what the reader makes of each.

Where a block reads poorly, other ways to part its ink are read too. A rival is worth the ink that it explains: its
reading's probability times its ink. The best ones that do not lie over each other stand in for the block; a rival that
says something else and is nearly as good leaves its reading beside theirs, neither of them sure.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from calibrate.sheet import LevelSheet
from digitize.lettering.crops import INK_BELOW, cut
from digitize.lettering.reading.candidates import Candidate, areas_of, bare, is_within, same_ink
from digitize.lettering.reading.left_over import left_over
from digitize.lettering.reading.let_in import clear_of
from digitize.lettering.reading.more_before import not_outdone, says_before
from digitize.lettering.reading.winners import NEWCOMER, is_cut_from_several, is_several, winners
from digitize.lettering.text import Reading, Text, TextBlock

DOUBTFUL = 0.8
"""A block that reads worse than this, as worth goes, is contested."""
AS_WELL = 0.01
"""Two parts of one piece of ink that differ by less in worth read equally well."""
WORD_LETTERS, LEAST_WORD = 3, 0.1
"""So many letters and no digit, read with this probability, are a word, and no figure is sought in it."""
MOST_READINGS = 5


Read = Callable[[Sequence[TextBlock]], list[Text]]


def contested(
    sheet: LevelSheet,
    texts: Sequence[Text],
    rivals: Sequence[TextBlock],
    read: Read,
    worth: Callable[[Text], float],
) -> tuple[list[Text], list[Text], list[Text]]:
    """Let rivals stand in for blocks that read poorly.

    Parameters
    ----------
    sheet : LevelSheet
    texts : sequence of Text
        The blocks as read.
    rivals : sequence of TextBlock
        Other ways to part their ink, and ink that may be lettering.
    read : callable
        Reads blocks.
    worth : callable
        How well a text reads, from 0 to 1.

    Returns
    -------
    tuple of three lists of Text
        Those that won; the sound ones as they are, and poor ones that no rival bettered; what the winners leave of the
        lettering of the others, unread.
    """
    poor = [text for text in texts if worth(text) < DOUBTFUL and not _is_word(text)]
    sure = [text for text in texts if text not in poor]
    open_to = clear_of(areas_of([text.block for text in sure]), rivals)
    candidates = _candidates(sheet, poor, worth, is_new=False)
    candidates += _candidates(sheet, read(open_to), worth, is_new=True)
    candidates.sort(key=lambda candidate: -candidate.score)
    single = [item for item in candidates if not is_several(item, candidates)]
    won = winners(not_outdone(single), [item for item in candidates if not item.is_new])
    areas = areas_of([text.block for text in poor])
    left = [text for text, area in zip(poor, areas, strict=True) if not any(same_ink(area, item.area) for item in won)]
    closest = [_closest(item, single) for item in won]
    against = [item for item in single if not is_cut_from_several(item, closest)]
    beaten = [text.block for text in poor if text not in left]
    unread = left_over(sheet, beaten, [item.text.block for item in closest])
    return (
        [_in_group(_with_doubt(item, against), poor, closest) for item in closest],
        [*sure, *left],
        [Text(block, ()) for block in unread],
    )


def _is_word(text: Text) -> bool:
    """Whether a block says a word, if not surely which."""
    best = text.readings[0] if text.readings else Reading("", 0.0)
    letters = sum(sign.isalpha() for sign in best.text)
    return letters >= WORD_LETTERS and best.probability > LEAST_WORD and not any(map(str.isdigit, best.text))


def _in_group(text: Text, poor: Sequence[Text], won: Sequence[Candidate]) -> Text:
    """The text in the note or table of the block that it alone stands in for."""
    (area,) = areas_of([text.block])
    others = zip(poor, areas_of([other.block for other in poor]), strict=True)
    beaten = [(other.block, its) for other, its in others if same_ink(area, its)]
    if len(beaten) != 1:
        return text
    ((old, its),) = beaten
    if sum(same_ink(its, item.area) for item in won) != 1:
        return text
    return replace(text, block=replace(text.block, group=old.group, row=old.row, column=old.column))


def _candidates(
    sheet: LevelSheet, texts: Sequence[Text], worth: Callable[[Text], float], is_new: bool
) -> list[Candidate]:
    found = []
    for text, area in zip(texts, areas_of([text.block for text in texts]), strict=True):
        ink_px = int(np.count_nonzero(cut(sheet, text.block, 0.0) < INK_BELOW))
        score = worth(text) * ink_px * (NEWCOMER if is_new else 1.0)
        found.append(Candidate(text, worth(text), ink_px, score, area, is_new))
    return found


def _closest(winner: Candidate, candidates: Sequence[Candidate]) -> Candidate:
    """What reads best of those within the winner that say the same: the more ink it leaves out is none of the figure.

    Of those that read about as well the one with the most ink stands, its marks with it.
    It keeps the winner's score against what says something else.
    """
    said = winner.text.readings[0].text
    within = [
        other
        for other in candidates
        if other.text.readings and other.text.readings[0].text == said and is_within(other, winner)
    ]
    least = max(item.worth for item in (winner, *within)) - AS_WELL
    best = max((item for item in (winner, *within) if item.worth >= least), key=lambda item: item.ink_px)
    return replace(best, score=winner.score)


def _with_doubt(winner: Candidate, candidates: Sequence[Candidate]) -> Text:
    """The winner's text, its probabilities shared with the best rival that says something else."""
    said = winner.text.readings[0].text
    against = [
        other
        for other in candidates
        if other is not winner
        and other.text.readings
        and other.text.readings[0].text not in said
        and not (bare(other) in said and is_within(other, winner))
        and same_ink(winner.area, other.area)
    ]
    if not against or against[0].score <= 0:
        return winner.text
    other = against[0]
    more = says_before(other, winner)
    share = winner.worth / (winner.worth + more) if more > 0 else winner.score / (winner.score + other.score)
    chances: dict[str, float] = {}
    for text, part in ((winner.text, share), (other.text, 1 - share)):
        for reading in text.readings:
            chances[reading.text] = chances.get(reading.text, 0.0) + part * reading.probability
    ranked = sorted(chances.items(), key=lambda item: -item[1])[:MOST_READINGS]
    return replace(winner.text, readings=tuple(Reading(string, chance) for string, chance in ranked))
