"""Which rivals are let into a contest of figures: such as are no ink of the drawing, and no part of what reads well."""

import math
from collections.abc import Sequence

import numpy as np
from shapely import Polygon, STRtree

from calibrate.sheet import LevelSheet
from digitize.lettering.crops import INK_BELOW, cut
from digitize.lettering.reading.candidates import WITHIN, areas_of, same_ink
from digitize.lettering.text import TextBlock

MOST_DRAWN = 0.15
"""Share of ink of the drawing in a rival: a figure that an arrowhead touches has a few pixels of it in its box."""


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


def clear_of(areas: Sequence[Polygon], rivals: Sequence[TextBlock]) -> list[TextBlock]:
    """Rivals that do not lie over what reads well."""
    tree = STRtree(list(areas))

    def is_over(rival: Polygon) -> bool:
        return any(same_ink(rival, areas[index]) for index in tree.query(rival).tolist())

    return [rival for rival, area in zip(rivals, areas_of(rivals), strict=True) if not is_over(area)]


def _window(block: TextBlock) -> tuple[slice, slice]:
    """Rows and columns of a level picture that hold a block, and a pixel more all round."""
    xs, ys = zip(*block.quad, strict=True)
    rows, columns = (slice(max(math.floor(min(at)) - 1, 0), max(math.ceil(max(at)) + 2, 0)) for at in (ys, xs))
    return rows, columns
