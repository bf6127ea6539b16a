"""What a text is worth: how surely it is read, weighed by whether that makes sense."""

from digitize.lettering.grammar import NotParsed, makes_sense
from digitize.lettering.text import Text

UNHEARD = 0.02
"""Readings less likely than this do not count."""
SENSELESS = 0.3
"""Weight of a reading that does not parse, against one that does."""
WORDS = 0.8
"""Weight of words without a figure."""


def worth(text: Text, words: float = WORDS) -> float:
    """The best reading's probability, weighed by its sense."""
    told = [reading for reading in text.readings if reading.probability > UNHEARD]
    return max((reading.probability * _sense(reading.text, words) for reading in told), default=0.0)


def figure_worth(text: Text) -> float:
    """The worth of the best reading, words apart."""
    return worth(text, words=0.0)


def _sense(text: str, words: float) -> float:
    callout = makes_sense(text)
    if isinstance(callout, NotParsed):
        return SENSELESS
    return words if all(value.name == "words" for value in callout.values) else 1.0
