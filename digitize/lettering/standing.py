"""Which way up a sheet lies, told by reading its figures as they stand and on their heads.

Calibration tells it from the shapes of letters alone; where these are few or of another make than its alphabet, the
reader knows more. A figure speaks where one way reads surely and makes sense and the other does not; what is made of
signs that are others upside down (a 6 and a 9) then says nothing, since both ways read well.
"""

from collections import Counter
from collections.abc import Sequence

from calibrate.sheet import LevelSheet
from digitize.lettering.crops import cut, turned
from digitize.lettering.finding.direction import SLANT_DEG
from digitize.lettering.grammar import makes_sense
from digitize.lettering.reading.once import Reader
from digitize.lettering.text import Reading, TextBlock

SURE = 0.9
"""Least probability of the way that a figure stands."""
POOR = 0.3
"""Most probability of the other way, if it makes sense."""
LEAST_FIGURES = 4
"""Figures that must bear out a turn before it counts as told."""
MOST_AGAINST = 0.2
"""Rows of one direction that stand the other way, as a part of those that stand this way; more leave it open."""
ROWS_LEVEL_WORTH = 2
"""Figures' worth of a turn that brings the commoner rows level: drawings have more level rows than upright ones."""
MARGIN = 2
"""Figures' worth by which a turn must beat every other."""
ENOUGH = 40
"""Blocks of a direction looked at, evenly over the sheet."""


def quarters_by_reading(sheet: LevelSheet, blocks: Sequence[TextBlock], reader: Reader) -> int | None:
    """Quarter turns, counter-clockwise as seen, that bring a sheet upright, or None where its figures do not say.

    Parameters
    ----------
    sheet : LevelSheet
    blocks : sequence of TextBlock
        As found, half turns not told apart; figures read from the bottom or from the right of an upright sheet.
    reader : Reader
    """
    level = _votes(sheet, [block for block in blocks if abs(block.angle_deg) < SLANT_DEG], reader)
    upright = _votes(sheet, [block for block in blocks if abs(block.angle_deg - 90.0) < SLANT_DEG], reader)
    return told_turn(level, upright)


def told_turn(level: Counter[bool], upright: Counter[bool]) -> int | None:
    """Quarter turns from how many level and how many upright rows stand (True), or stand on their heads (False).

    Examples
    --------
    >>> told_turn(Counter({False: 5}), Counter({False: 2}))
    2
    >>> told_turn(Counter({True: 3}), Counter({False: 6}))  # lies on its right side
    1
    >>> told_turn(Counter({True: 3}), Counter()) is None
    True
    """
    if any(min(axis[True], axis[False]) > MOST_AGAINST * max(axis[True], axis[False]) for axis in (level, upright)):
        return None
    # A quarter turn counter-clockwise makes level rows upright and those that stood on their heads, upright, level.
    borne_out = [level[quarters < 2] + upright[quarters in (0, 3)] for quarters in range(4)]
    lies = level.total() < upright.total()
    weight = [votes + ROWS_LEVEL_WORTH * (quarters % 2 == lies) for quarters, votes in enumerate(borne_out)]
    best = max(range(4), key=weight.__getitem__)
    second = max(weight[:best] + weight[best + 1 :])
    return best if borne_out[best] >= LEAST_FIGURES and weight[best] >= second + MARGIN else None


def _votes(sheet: LevelSheet, blocks: Sequence[TextBlock], reader: Reader) -> Counter[bool]:
    """How many blocks read as they stand (True), and how many on their heads (False)."""
    chosen = blocks[:: max(1, -(-len(blocks) // ENOUGH))]
    ways = [[turned(block, half) for block in chosen] for half in (0, 2)]
    read = [reader.read([cut(sheet, block) for block in way], [block.layout for block in way]) for way in ways]
    return Counter(stands for one, two in zip(*read, strict=True) if (stands := _stands(one, two)) is not None)


def _stands(as_is: Sequence[Reading], on_its_head: Sequence[Reading]) -> bool | None:
    one, two = _worth(as_is), _worth(on_its_head)
    if max(one, two) < SURE or min(one, two) > POOR:
        return None
    return one > two


def _worth(readings: Sequence[Reading]) -> float:
    """Probability of the best reading, nothing where it makes no sense or holds no figure."""
    best = readings[0] if readings else None
    return best.probability if best and makes_sense(best.text) and any(sign.isdigit() for sign in best.text) else 0.0
