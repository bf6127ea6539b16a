"""Who wins a contest of figures: the best that do not lie over each other, where they read well enough."""

from collections.abc import Sequence
from itertools import combinations

from shapely import unary_union

from digitize.lettering.reading.candidates import WITHIN, Candidate, bare, has_marks, is_within, same_ink
from digitize.lettering.reading.more_before import SURE_PIECE

NEWCOMER = 0.8
"""A rival must be better than the block by this much."""
LEAST_WORTH = 0.5
LEAST_ALONE = 0.8
"""What stands where no block was found must read this well, and be more than bare digits."""
LEAST_ALIKE, FEW_ALIKE = 0.4, 3
"""... or this well where so many ways to part the ink, and most of them, say the same."""
LEAST_SHARE = 0.6
"""Bare digits with less of a block's ink are a part of its figure."""
MOSTLY_WITHIN = 0.75
"""Of what is cut from several figures; the rest is the paper between them."""


def winners(candidates: Sequence[Candidate], poor: Sequence[Candidate]) -> list[Candidate]:
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


def is_several(whole: Candidate, candidates: Sequence[Candidate]) -> bool:
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


def is_cut_from_several(candidate: Candidate, won: Sequence[Candidate]) -> bool:
    """Whether a candidate is of the ink of several figures, and the whole of none: it speaks against none of them."""
    over = [item for item in won if same_ink(item.area, candidate.area)]
    if len(over) < 2 or any(is_within(item, candidate) for item in over):
        return False
    held = candidate.area.intersection(unary_union([item.area for item in over])).area
    return bool(held > MOSTLY_WITHIN * candidate.area.area)
