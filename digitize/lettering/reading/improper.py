"""Fractions of one and more, which no drawing has: their probability goes to what looks like them.

A 1 with a flag and a 7 are one stroke in many hands. Where the reader wavers between 12 1/2 and 12 7/2, only one of
the two can have been written.
"""

import re
from collections.abc import Sequence
from dataclasses import replace

from digitize.lettering.grammar import makes_sense
from digitize.lettering.text import Reading

FRACTION = re.compile(r"(\d+)/(\d+)")


def without_improper(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Share what improper fractions have among the readings that make sense and differ from them in one character.

    Parameters
    ----------
    readings : sequence of Reading
        Best first.

    Returns
    -------
    tuple of Reading
        Best first; an improper one that nothing else looks like stays as it was.

    Examples
    --------
    >>> (one,) = without_improper([Reading("2 7/2", 0.6), Reading("2 1/2", 0.3)])
    >>> one.text, round(one.probability, 2)
    ('2 1/2', 0.9)
    """
    if not any(_is_improper(one.text) for one in readings):
        return tuple(readings)
    sound = [one for one in readings if makes_sense(one.text)]
    gained = dict.fromkeys((one.text for one in sound), 0.0)
    left = []
    for one in readings:
        if one in sound:
            continue
        heirs = [other for other in sound if _is_improper(one.text) and _differ_in_one(one.text, other.text)]
        whole = sum(heir.probability for heir in heirs)
        if whole <= 0:
            left.append(one)
        for heir in heirs if whole > 0 else ():
            gained[heir.text] += one.probability * heir.probability / whole
    richer = [replace(one, probability=one.probability + gained[one.text]) for one in sound]
    return tuple(sorted((*richer, *left), key=lambda one: -one.probability))


def _is_improper(text: str) -> bool:
    return any(int(over) >= int(under) for over, under in FRACTION.findall(text))


def _differ_in_one(one: str, other: str) -> bool:
    return len(one) == len(other) and sum(a != b for a, b in zip(one, other, strict=True)) == 1
