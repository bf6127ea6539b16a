"""One spelling of what is written in several ways that mean the same, so that their probabilities add up.

Offices letter the times sign as a letter x, and leave more or less paper round signs; no eye can tell which was meant,
and a reader that may give only one of them its whole belief would seem in doubt where it is not.
"""

import re

_SAME: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(r"(?<![^\s\"'°])[xX](?= [\d.])"), "×"),  # a lone x before a size
    (re.compile(r"(?<=\S) ?× (?=[\d.Ø])|(?<=\S) ×(?=[\d.Ø])"), " × "),  # paper on one side is paper on both
    (re.compile(r"(?<=[\d\"])(?: - |- )(?=\d+ [A-Z])"), "-"),  # of a thread; a deviation has no gap
    (re.compile(r"(?<=[A-Za-z.]):(?=[\d.Ø+])|(?<=\S):(?=[A-Za-z])"), ": "),  # after and before words
    (re.compile(r"(?<=\d')(?: - |- | -)(?=\d)"), "-"),  # of feet and inches
    (re.compile(r"(?<![°\d.])(\d+)'(?=\d+(?: \d+/\d+|/\d+)?\")"), r"\1'-"),  # the same without a dash; not minutes
    (re.compile(r"(?<![^\s(])(S?R|Ø|□) (?=\.?\d)"), r"\1"),  # signs before their size
    (re.compile(r"(?<=\d)(?: : | :|: )(?=\d)"), ":"),  # of a scale
    # A dash before what kind of size it is, as old offices wrote.
    (re.compile(r"(?<=[\"'°]) ?- ?(?=(?:R(?:AD(?:IUS)?)?|D(?:IA(?:M(?:ETER)?)?)?)\b)", re.IGNORECASE), " "),
    (re.compile(r"(?<=\d) ?DEG(?:REES|\.)?(?![\w.])"), "°"),
)
_IDLE_SPACE = re.compile(r"(?<![\d.,]) | (?![\d.,])")


def one_spelling(text: str) -> str:
    """The text as it is spelled here.

    >>> one_spelling("14 1/2 DEG."), one_spelling("PRESSURE ANGLE 20 DEG")
    ('14 1/2°', 'PRESSURE ANGLE 20°')
    >>> one_spelling('3/32" X 3/64" KEYSEAT'), one_spelling("3/4 - 10 THDS."), one_spelling("SCALE 1: 2")
    ('3/32" × 3/64" KEYSEAT', '3/4-10 THDS.', 'SCALE 1:2')
    >>> one_spelling('4"-Rad.'), one_spelling('3/4"-10 THDS.')
    ('4" Rad.', '3/4"-10 THDS.')
    """
    for spellings, one in _SAME:
        text = spellings.sub(one, text)
    return text


def without_idle_spaces(text: str) -> str:
    """The text without the spaces that tell nothing: all but those between two figures, which part numbers.

    >>> without_idle_spaces("4 HOLES"), without_idle_spaces("1 1/16 D."), without_idle_spaces(".5 × 2")
    ('4HOLES', '1 1/16D.', '.5×2')
    """
    return _IDLE_SPACE.sub("", text)
