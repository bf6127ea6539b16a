"""Words that take a drawing back: superseded, obsolete, void."""

import re
from collections.abc import Sequence
from functools import cache

from digitize.lettering.text import Text
from digitize.standards.tables import read_table

LEAST_PROBABILITY = 0.2
"""A stamp is blurred and lies across lines: a likely reading is enough to send somebody to look."""
WITHDRAWN = 'The sheet says "{words}": find out which drawing is in force before anything is made from it.'


def withdrawn_warnings(texts: Sequence[Text]) -> tuple[str, ...]:
    """Say where lettering takes the drawing back, each wording once.

    Parameters
    ----------
    texts : sequence of Text

    Returns
    -------
    tuple of str
    """
    said = [reading.text for text in texts for reading in text.readings if reading.probability >= LEAST_PROBABILITY]
    found = dict.fromkeys(line for line in said if _withdraws().search(line.upper()))
    return tuple(WITHDRAWN.format(words=" ".join(words.split())) for words in found)


@cache
def _withdraws() -> re.Pattern[str]:
    rows = read_table("digitize.lettering", "withdrawn.csv")
    return re.compile(r"\b(?:" + "|".join(re.escape(row["words"]) for row in rows) + r")\b")
