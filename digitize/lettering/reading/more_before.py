"""Figures with something before them: is the 1 of 1 3/8 there, or is it the tail of a leader?

A leading 1 has so little ink that ink would never choose it, and the tail of a leader has much. So where one candidate
says what another within it says and something before it, the reader alone tells whether that is a figure.
"""

import re
from collections.abc import Sequence

from shapely import STRtree

from digitize.lettering.reading.candidates import MARKS_BEHIND, Candidate, bare, has_marks, is_within

SURE_PIECE = 0.8
"""What reads so well, with its marks, is a whole figure."""
AS_WELL, WORSE = 0.9, 0.75
"""A figure with a number before it reads as well as the figure alone when its probability is this share of that, and
with anything before it worse below this share; between them ink decides."""
NUMBER, ANYTHING = re.compile(r"\d{1,3}( |'-?)?"), re.compile(r".+", re.DOTALL)
"""A whole number before a fraction or digits, or feet before inches; anything."""


def not_outdone(candidates: Sequence[Candidate]) -> list[Candidate]:
    """The candidates without those that are a part of another's figure, or that read something into a whole one."""
    areas = [item.area for item in candidates]
    tree = STRtree(areas)
    outdone = set()
    pairs = ((part, candidates[index]) for part in candidates for index in tree.query(part.area).tolist())
    for part, whole in pairs:
        more = says_before(whole, part)
        if more == 0:
            continue
        if says_before(whole, part, NUMBER) >= AS_WELL * part.worth:
            outdone.add(id(part))
        elif more < WORSE * part.worth and part.worth > SURE_PIECE and has_marks(part):
            outdone.add(id(whole))
    return [item for item in candidates if id(item) not in outdone]


def says_before(whole: Candidate, part: Candidate, what: re.Pattern[str] = ANYTHING) -> float:
    """Probability that a candidate is what another within it says, with something before; 0 where it is not.

    Parameters
    ----------
    whole, part : Candidate
    what : re.Pattern
        What may stand before it.
    """
    said = bare(part)
    best = whole.text.readings[0].text if whole.text.readings else ""
    if not said or _says_more(best, said) is None or not is_within(part, whole):
        return 0.0
    before = ((_says_more(reading.text, said), reading.probability) for reading in whole.text.readings)
    return sum(chance for more, chance in before if more and what.fullmatch(more))


def _says_more(text: str, said: str) -> str | None:
    """What a text says before something said, unit marks apart; None where it does not."""
    own = text.rstrip(MARKS_BEHIND)
    return own.removesuffix(said) if own != said and own.endswith(said) else None
