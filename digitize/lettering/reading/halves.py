"""Halves of a fraction that were found as blocks of their own: each reads well, and as another size.

The bar may be lost in a line of the drawing, so that figures over each other stand alone. Where something larger that
holds one of them reads as a fraction of which it is the numerator or the denominator, the half is doubted, and so
contested by the whole.
"""

import math
import re
from collections.abc import Callable, Sequence

import numpy as np
from shapely import Polygon, STRtree

from digitize.lettering.finding.placing import frame_axes
from digitize.lettering.reading.beside import doubted
from digitize.lettering.reading.candidates import MARKS_BEHIND, WITHIN, areas_of
from digitize.lettering.text import Layout, Text, TextBlock

HALF = re.compile(r"\d{1,3}[\"'°]?")
WHOLE = re.compile(r"(?:\d+ )?(\d{1,3})/(\d{1,3})(?!\d).*", re.DOTALL)
SURE_WHOLE = 0.8
"""A fraction that reads worse than this raises no doubt."""
ONE_WAY_DEG = 5.0
MIDDLE = 0.1
"""A half reaches no further over the middle of the whole than this, in depths of the whole."""

Read = Callable[[Sequence[TextBlock]], list[Text]]


def with_halves_doubted(texts: Sequence[Text], rivals: Sequence[TextBlock], read: Read) -> list[Text]:
    """The texts, those doubted that a rival reads as a numerator or a denominator.

    Parameters
    ----------
    texts : sequence of Text
        The blocks of a sheet, as read.
    rivals : sequence of TextBlock
        Other ways to part the ink.
    read : callable
        Reads blocks.
    """
    stacks = [rival for rival in rivals if rival.layout is Layout.STACK]
    areas = areas_of(stacks)
    tree = STRtree(areas)
    over = {
        index: wholes
        for index, text in enumerate(texts)
        if _may_be_half(text) and (wholes := _held_by(text.block, stacks, areas, tree))
    }
    wanted = sorted({whole for wholes in over.values() for whole in wholes})
    said = dict(zip(wanted, read([stacks[whole] for whole in wanted]), strict=True))
    return [
        doubted(text) if any(_says(said[whole], text) for whole in over.get(index, ())) else text
        for index, text in enumerate(texts)
    ]


def _may_be_half(text: Text) -> bool:
    return text.block.group is None and bool(text.readings) and HALF.fullmatch(text.readings[0].text) is not None


def _held_by(block: TextBlock, stacks: Sequence[TextBlock], areas: Sequence[Polygon], tree: STRtree) -> list[int]:
    """Which of the stacks that read the same way hold a block in their upper or in their lower half."""
    (area,) = areas_of([block])
    return [
        index
        for index in tree.query(area).tolist()
        if abs(math.remainder(stacks[index].angle_deg - block.angle_deg, 360.0)) < ONE_WAY_DEG
        and area.intersection(areas[index]).area > WITHIN * area.area
        and _side(block, stacks[index]) is not None
    ]


def _side(block: TextBlock, whole: TextBlock) -> int | None:
    """0 for a block in the upper half of a larger one, 1 in the lower, None across its middle."""
    down = frame_axes(whole.angle_deg)[1]
    (top, bottom), (upper, lower) = (np.sort(np.array(each.quad) @ down)[[0, -1]] for each in (whole, block))
    middle, slack = (top + bottom) / 2, MIDDLE * (bottom - top)
    if lower < middle + slack:
        return 0
    return 1 if upper > middle - slack else None


def _says(whole: Text, half: Text) -> bool:
    """Does the whole say surely that a half is its numerator, or its denominator, where it stands?"""
    best = whole.readings[0] if whole.readings else None
    parts = WHOLE.fullmatch(best.text) if best and best.probability > SURE_WHOLE else None
    side = _side(half.block, whole.block)
    return parts is not None and side is not None and parts[side + 1] == half.readings[0].text.rstrip(MARKS_BEHIND)
