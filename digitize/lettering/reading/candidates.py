"""What stands in a contest: a way to part ink, as read, and how two of them lie to each other."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from digitize.lettering.text import Text, TextBlock

WITHIN = 0.9
OVERLAP = 0.2
"""Two blocks are of the same ink when so much of the smaller lies in the other."""
MARKS = "\"°'/"
MARKS_BEHIND = "\"'° "


@dataclass(frozen=True)
class Candidate:
    """A block as read.

    ``worth`` is how well it reads, from 0 to 1; ``score`` that times its ink, in pixels; ``is_new`` is False for what
    the finder found.
    """

    text: Text
    worth: float
    ink_px: int
    score: float
    area: Polygon
    is_new: bool


def areas_of(blocks: Sequence[TextBlock]) -> list[Polygon]:
    """The areas of blocks, in level pixels."""
    if not blocks:
        return []
    return list(shapely.convex_hull(shapely.polygons(np.array([block.quad for block in blocks]))))


def same_ink(one: Polygon, two: Polygon) -> bool:
    """Whether two blocks are of the same ink."""
    return bool(one.intersection(two).area > OVERLAP * min(one.area, two.area))


def is_within(part: Candidate, whole: Candidate) -> bool:
    """Whether a candidate lies within another."""
    return part is not whole and part.area.intersection(whole.area).area > WITHIN * part.area.area


def bare(candidate: Candidate) -> str:
    """What a candidate says, its unit marks left out."""
    said = candidate.text.readings[0].text if candidate.text.readings else ""
    return said.rstrip(MARKS_BEHIND)


def has_marks(candidate: Candidate) -> bool:
    """Whether a candidate reads with a unit mark, or as a fraction."""
    return bool(candidate.text.readings) and any(mark in candidate.text.readings[0].text for mark in MARKS)


def without_parts_said(texts: Sequence[Text], wholes: Sequence[Text]) -> list[Text]:
    """Texts that say no part of what a whole says of the same ink.

    A whole is doubted for what stands beside it: it may be a part of something larger. That it is something smaller, as
    a rival that takes in a dash and leaves out a figure would have it, nothing says.
    """
    areas = areas_of([whole.block for whole in wholes])
    said = [whole.readings[0].text for whole in wholes]

    def is_part(text: Text, area: Polygon) -> bool:
        own = text.readings[0].text if text.readings else ""
        return any(
            own != whole and own in whole and same_ink(area, its) for whole, its in zip(said, areas, strict=True)
        )

    return [
        text
        for text, area in zip(texts, areas_of([text.block for text in texts]), strict=True)
        if not text.readings or not is_part(text, area)
    ]
