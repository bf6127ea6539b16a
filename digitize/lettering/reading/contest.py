"""Figures chosen among rivals by what the reader makes of each.

Where a block reads poorly, other ways to part its ink are read too. A rival is worth the ink that it explains: its
reading's probability times its ink. The best ones that do not lie over each other stand in for the block; a rival that
says something else and is nearly as good leaves its reading beside theirs, neither of them sure.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
from shapely import Polygon, STRtree, unary_union

from calibrate.sheet import LevelSheet
from digitize.lettering.crops import cut
from digitize.lettering.reading.candidates import WITHIN, Candidate, areas_of, bare, has_marks, is_within, same_ink
from digitize.lettering.reading.left_over import left_over
from digitize.lettering.reading.more_before import SURE_PIECE, not_outdone, says_before
from digitize.lettering.text import Reading, Text, TextBlock

INK_BELOW = 128
DOUBTFUL = 0.8
"""A block that reads worse than this, as worth goes, is contested."""
WORD_LETTERS, LEAST_WORD = 3, 0.1
"""So many letters and no digit, read with this probability, are a word, and no figure is sought in it."""
LEAST_WORTH = 0.5
LEAST_ALONE = 0.8
"""What stands where no block was found must read this well, and be more than bare digits."""
NEWCOMER = 0.8
"""A rival must be better than the block by this much."""
MOSTLY_WITHIN = 0.75
"""Of what is cut from several figures; the rest is the paper between them."""
LEAST_ALIKE, FEW_ALIKE = 0.4, 3
"""... or this well where so many ways to part the ink, and most of them, say the same."""
LEAST_SHARE = 0.6
"""Bare digits with less of a block's ink are a part of its figure."""
MOST_READINGS = 5

MOST_DRAWN = 0.15
"""Share of ink of the drawing in a rival: a figure that an arrowhead touches has a few pixels of it in its box."""

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
    open_to = _clear_of(areas_of([text.block for text in sure]), rivals)
    candidates = _candidates(sheet, poor, worth, is_new=False)
    candidates += _candidates(sheet, read(open_to), worth, is_new=True)
    candidates.sort(key=lambda candidate: -candidate.score)
    single = [item for item in candidates if not _is_several(item, candidates)]
    won = _winners(not_outdone(single), [item for item in candidates if not item.is_new])
    areas = areas_of([text.block for text in poor])
    left = [text for text, area in zip(poor, areas, strict=True) if not any(same_ink(area, item.area) for item in won)]
    closest = [_closest(item, single) for item in won]
    against = [item for item in single if not _is_cut_from_several(item, closest)]
    beaten = [text.block for text in poor if text not in left]
    unread = left_over(sheet, beaten, [item.text.block for item in closest])
    return (
        [_in_group(_with_doubt(item, against), poor, closest) for item in closest],
        [*sure, *left],
        [Text(block, ()) for block in unread],
    )


def takes_in(sheet: LevelSheet, bare: LevelSheet, rival: TextBlock) -> bool:
    """Does a rival take in ink of the drawing, which ``bare`` is the sheet without, and not only touch it?"""
    within = _window(rival)
    if np.array_equal(sheet.grey[within], bare.grey[within]):
        return False
    own, left = (np.count_nonzero(cut(each, rival, 0.0) < INK_BELOW) for each in (sheet, bare))
    return bool(own - left > MOST_DRAWN * own)


def without_parts(rivals: Sequence[TextBlock], wholes: Sequence[TextBlock]) -> list[TextBlock]:
    """Rivals that are no parts of blocks which read well, and are doubted for what stands beside them.

    Such a block may be a part of something larger; that it is something smaller nothing says.
    """
    areas = areas_of(wholes)
    tree = STRtree(areas)

    def is_part(rival: Polygon) -> bool:
        over = (areas[index] for index in tree.query(rival).tolist())
        return any(rival.intersection(area).area > WITHIN * rival.area for area in over)

    return [rival for rival, area in zip(rivals, areas_of(rivals), strict=True) if not is_part(area)]


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


def _window(block: TextBlock) -> tuple[slice, slice]:
    """Rows and columns of a level picture that hold a block, and a pixel more all round."""
    xs, ys = zip(*block.quad, strict=True)
    rows, columns = (slice(max(math.floor(min(at)) - 1, 0), max(math.ceil(max(at)) + 2, 0)) for at in (ys, xs))
    return rows, columns


def _clear_of(areas: Sequence[Polygon], rivals: Sequence[TextBlock]) -> list[TextBlock]:
    """Rivals that do not lie over what reads well."""
    tree = STRtree(list(areas))

    def is_over(rival: Polygon) -> bool:
        return any(same_ink(rival, areas[index]) for index in tree.query(rival).tolist())

    return [rival for rival, area in zip(rivals, areas_of(rivals), strict=True) if not is_over(area)]


def _candidates(
    sheet: LevelSheet, texts: Sequence[Text], worth: Callable[[Text], float], is_new: bool
) -> list[Candidate]:
    found = []
    for text, area in zip(texts, areas_of([text.block for text in texts]), strict=True):
        ink_px = int(np.count_nonzero(cut(sheet, text.block, 0.0) < INK_BELOW))
        score = worth(text) * ink_px * (NEWCOMER if is_new else 1.0)
        found.append(Candidate(text, worth(text), ink_px, score, area, is_new))
    return found


def _winners(candidates: Sequence[Candidate], poor: Sequence[Candidate]) -> list[Candidate]:
    """The best candidates that do not lie over each other, best first."""
    won: list[Candidate] = []
    for candidate in candidates:
        if any(same_ink(candidate.area, other.area) for other in won):
            continue
        beaten = [other for other in poor if other is not candidate and same_ink(candidate.area, other.area)]
        if beaten or not candidate.is_new:
            sound = candidate.worth > LEAST_WORTH and (
                has_marks(candidate) or all(candidate.ink_px > LEAST_SHARE * other.ink_px for other in beaten)
            )
        else:
            sound = _is_sound_alone(candidate, candidates)
        if sound:
            won.append(candidate)
    return won


def _is_sound_alone(candidate: Candidate, candidates: Sequence[Candidate]) -> bool:
    """Whether a figure where no block was found reads well, or reads alike however its ink is parted."""
    if not has_marks(candidate):
        return False
    over = [
        other
        for other in candidates
        if other.ink_px > LEAST_SHARE * candidate.ink_px and same_ink(candidate.area, other.area)
    ]
    alike = sum(bare(other) == bare(candidate) for other in over)
    least = LEAST_ALIKE if alike >= FEW_ALIKE and 2 * alike > len(over) else LEAST_ALONE
    return candidate.worth > least


def _is_several(whole: Candidate, candidates: Sequence[Candidate]) -> bool:
    """Whether two whole figures lie in a block and explain more of its ink than it does."""
    pieces = [
        item
        for item in candidates
        if item is not whole
        and item.worth > SURE_PIECE
        and has_marks(item)
        and item.area.intersection(whole.area).area > WITHIN * item.area.area
    ]
    return any(
        one.score + two.score > NEWCOMER * whole.score and not same_ink(one.area, two.area)
        for one, two in combinations(pieces, 2)
    )


def _is_cut_from_several(candidate: Candidate, won: Sequence[Candidate]) -> bool:
    """Whether a candidate is of the ink of several figures, and the whole of none: it speaks against none of them."""
    over = [item for item in won if same_ink(item.area, candidate.area)]
    if len(over) < 2 or any(is_within(item, candidate) for item in over):
        return False
    held = candidate.area.intersection(unary_union([item.area for item in over])).area
    return bool(held > MOSTLY_WITHIN * candidate.area.area)


def _closest(winner: Candidate, candidates: Sequence[Candidate]) -> Candidate:
    """What reads best of those within the winner that say the same: the more ink it leaves out is none of the figure.

    It keeps the winner's score against what says something else.
    """
    said = winner.text.readings[0].text
    within = [
        other
        for other in candidates
        if other.text.readings and other.text.readings[0].text == said and is_within(other, winner)
    ]
    best = max([winner, *within], key=lambda item: item.worth)
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
