"""Heads tip to tip with one that was found, of which lettering or damage covers a part.

Two dimensions meet at one line, and one hand draws both their heads alike. So the fellow of a head is known by its
place, turn and size, and it only has to be seen that the ink is there and ends where the head does.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

from digitize.strokes.ground import Ground
from digitize.strokes.heads.flanks import INK
from digitize.strokes.heads.head import POINTED, Head, are_rivals, beside_each

FloatArray = NDArray[np.float64]

FRONT, BACK = 0.25, 0.85
"""Looked at from here to there, in lengths of the head: its point lies under other ink, its back may be slanted."""
WITHIN_PX, CLEAR_PX = 1.0, 2.0
"""So far within its flanks a filled head is ink, and so far outside them there is paper."""
LEAST_INKED, LEAST_CLEAR = 0.93, 0.5
"""Shares of these places: damage takes a little of the ink, and lettering up to half of the paper."""
LEAST_PARTED = 0.5
"""Of the places between barb and shaft of an open head so many are paper."""
PARTED_FROM = 0.7
"""Paper shows there from this share of the head's length on."""
PLACES = 24


def with_fellows(ground: Ground, heads: list[Head]) -> list[Head]:
    """Add the fellows that are seen of heads that have none."""
    found: dict[int, Head] = {}
    for k, near in enumerate(beside_each(ground, heads)):
        fellow = replace(heads[k], dx=-heads[k].dx, dy=-heads[k].dy)
        others = (head for n in (k, *near) for head in (heads[n], found.get(n)) if head is not None)
        if fellow.form in POINTED and not any(are_rivals(ground, fellow, other) for other in others):
            found |= {k: fellow} if _is_seen(ground, fellow) else {}
    return sorted([*heads, *found.values()], key=lambda h: (h.x, h.y, h.dx, h.dy))


def _is_seen(ground: Ground, head: Head) -> bool:
    back = np.linspace(FRONT, BACK, PLACES) * head.length
    flank = back * head.half_width / head.length
    clear = np.concatenate([_inked(ground, head, back, side * (flank + CLEAR_PX)) for side in (-1.0, 1.0)])
    if float((~clear).mean()) < LEAST_CLEAR:
        return False
    if head.form == "filled":
        inked = [_inked(ground, head, back, share * (flank - WITHIN_PX)) for share in (-1.0, -0.5, 0.0, 0.5, 1.0)]
        return float(np.mean(inked)) >= LEAST_INKED
    behind = back >= PARTED_FROM * head.length
    sides = [side * 0.5 * flank[behind] for side in (-1.0, 1.0)]
    parted = ~np.concatenate([_inked(ground, head, back[behind], side) for side in sides])
    barbs = [_inked(ground, head, back, share * flank) for share in (-1.0, 0.0, 1.0)]
    return float(parted.mean()) >= LEAST_PARTED and float(np.mean(barbs)) >= LEAST_INKED


def _inked(ground: Ground, head: Head, back: FloatArray, aside: FloatArray) -> NDArray[np.bool_]:
    """Whether there is ink, lettering or not, so far behind a head's tip and so far beside its axis."""
    points = np.column_stack([head.x - back * head.dx - aside * head.dy, head.y - back * head.dy + aside * head.dx])
    x, y = ground.in_picture(points).T
    return np.asarray(map_coordinates(ground.all_dark, [y, x], order=1, output=np.float64) >= INK)
