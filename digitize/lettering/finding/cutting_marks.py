"""The heavy corners that mark a cutting plane: two arms of a thick line beside a letter, and no letter themselves."""

from collections.abc import Sequence
from itertools import product

import numpy as np
from scipy.spatial import cKDTree

from calibrate.restoring.connected import Pieces
from calibrate.sheet import InkImage, LevelSheet
from digitize.lettering.finding.parts import Look, Part

HEAVY_PENS = 1.7
"""The ends of a cutting plane are drawn at least this much thicker than the sheet's usual line (ISO 128: twice)."""
MOST_TURNING = 1.7
"""Two arms turn the pen once, an arrowhead on one of them a little more."""
SHORTEST_ARM, UNLIKE_ARMS = 4.0, 2.5
"""Least length of an arm in its own thicknesses; arms differ in length by no more than this factor."""
BAND = 2.0
"""An arm with an arrowhead on it is no broader than this, in its thicknesses."""
WITHIN, COVERED = 0.93, 0.85
"""Share of the ink that lies in the two arms; of their length that is inked: a head stands out beyond their corner."""
ALIKE, AS_TALL, NEAR = 0.8, 0.65, 1.5
"""A letter of a heavy title has neighbours of this share of its thickness and size, this near to it, in its sizes."""


def heavy_corners(sheet: LevelSheet, parts: Sequence[Part], pieces: Pieces) -> frozenset[int]:
    """Labels of the parts that are corners of a cutting plane.

    Parameters
    ----------
    sheet : LevelSheet
    parts : sequence of Part
    pieces : Pieces
        Their ink.
    """
    corners = [
        part
        for part in parts
        if part.area > HEAVY_PENS * sheet.pen_px * _way(part)
        and part.look is not Look.DOT
        and part.turning < MOST_TURNING
        and _has_two_arms(pieces.picture(part.label))
    ]
    if not corners:
        return frozenset()
    near = cKDTree(np.array([part.centre for part in parts]))
    found = set()
    for part in corners:
        around = (parts[index] for index in near.query_ball_point(part.centre, NEAR * part.size))
        if not any(_is_letter_beside(other, part) for other in around):
            found.add(part.label)
    return frozenset(found)


def _way(part: Part) -> float:
    """Length of the pen's way, in pixels."""
    return part.turning * float(np.hypot(part.length, part.thickness))


def _is_letter_beside(other: Part, part: Part) -> bool:
    """Whether a part is drawn with the same heavy pen as a corner, and as tall."""
    as_heavy = other.area / _way(other) > ALIKE * part.area / _way(part)
    return other is not part and other.free and as_heavy and other.size > AS_TALL * part.size


def _has_two_arms(window: InkImage) -> bool:
    """Whether ink lies along two sides of its box that meet, and hardly anywhere else.

    Examples
    --------
    >>> corner = np.zeros((30, 24), bool)
    >>> corner[:6] = corner[:, :6] = True
    >>> _has_two_arms(corner), _has_two_arms(corner | corner[::-1])
    (True, False)
    """
    height, width = window.shape
    area = int(np.count_nonzero(window))
    thickness = area / max(height + width - area / (height + width), 1.0)
    shorter, longer = min(height, width), max(height, width)
    if shorter < SHORTEST_ARM * thickness or longer > UNLIKE_ARMS * shorter:
        return False
    band = max(round(BAND * thickness), 1)
    for level, upright in product((window, window[::-1]), (False, True)):
        turned = level[:, ::-1] if upright else level
        level_arm, upright_arm = turned[:band], turned[:, :band]
        inside = area - int(np.count_nonzero(turned[band:, band:]))
        covered = min(float(level_arm.any(axis=0).mean()), float(upright_arm.any(axis=1).mean()))
        if inside > WITHIN * area and covered > COVERED:
            return True
    return False
