"""Which quarter turn brings a sheet upright.

Lettering on a drawing reads from the bottom or, turned a quarter counter-clockwise, from the right; never from the top
or the left (ISO 129, aligned figures; from memory). So the directions in which level and upright rows of letters read
settle the turn between them. Where the letters do not decide, the title block does: it lies lower right (ISO 7200,
from memory). Where that does not either, the sheet is left as it is and the doubt is told.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from calibrate.sheet import FloatArray, InkImage
from calibrate.straightening.letters import Letters
from calibrate.straightening.likeness import SURE_Z, sum_in_stds, upright_margin

TOLD_BY_TITLE_BLOCK = "Which way up the sheet lies was told from its title block alone; check it."
NOT_TOLD = "Which way up the sheet lies can't be told from its lettering; it is left as scanned."
COUNTED_SHARE = 0.4
"""The rarer row direction has a say when it has at least this share of the letters of the commoner one."""
CORNER_SHARE = 0.22
"""Side of the corner boxes compared for a title block, as part of the drawing's sides."""
TITLE_RATIO = 1.6
"""A title block's corner holds at least this many times the ink of the opposite one."""
LEAST_CORNER_INK = 0.004
FRAME_LOOK_PX = 1000
"""Longer side of the reduced picture in which the border is looked for."""
FRAME_COVER = 0.6
"""A border line covers at least this part of the picture's side."""
FRAME_MARGIN_SHARE = 0.2
"""The border lies within this part of the picture from its edge."""


@dataclass(frozen=True)
class Turn:
    """Quarter turns to apply, counter-clockwise as seen, and a doubt in one sentence or None."""

    quarters: int
    doubt: str | None


def without_turn_doubt(warnings: tuple[str, ...]) -> tuple[str, ...]:
    """Leave out of a sheet's warnings the one that its turn was not told by its lettering."""
    return tuple(warning for warning in warnings if warning not in (TOLD_BY_TITLE_BLOCK, NOT_TOLD))


def find_turn(ink: InkImage, letters: Letters) -> Turn:
    """Find the quarter turns that bring a sheet upright.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
        Nearly level or nearly upright.
    letters : Letters
        Found on it.
    """
    # Letters that read from the right stand upright after a quarter turn clockwise.
    level, upright = upright_margin(letters.level), upright_margin(letters.upright)
    by_letters = _by_letters(level, upright)
    if by_letters is not None:
        return Turn(by_letters, None)
    by_title = _by_title_block(ink, level_rows=len(level) >= len(upright))
    if by_title is not None:
        return Turn(by_title, TOLD_BY_TITLE_BLOCK)
    return Turn(0, NOT_TOLD)


def _by_letters(level: FloatArray, upright: FloatArray) -> int | None:
    """Quarter turns from the margins of letters in level rows and of those in upright rows (as read from the right)."""
    level_z, upright_z = sum_in_stds(level), sum_in_stds(upright)
    both_count = min(len(level), len(upright)) >= COUNTED_SHARE * max(len(level), len(upright))
    if both_count and min(abs(level_z), abs(upright_z)) >= SURE_Z:
        return {(True, True): 0, (False, False): 2, (True, False): 1, (False, True): 3}[level_z > 0, upright_z > 0]
    if len(level) >= len(upright):
        return None if abs(level_z) < SURE_Z else (0 if level_z > 0 else 2)
    return None if abs(upright_z) < SURE_Z else (3 if upright_z > 0 else 1)


def _by_title_block(ink: InkImage, *, level_rows: bool) -> int | None:
    """Quarter turns that bring the fuller of two opposite corners of a framed sheet to the lower right."""
    box = _frame(ink)
    if box is None:
        return None
    left, top, right, bottom = box
    drawn = ink[top:bottom, left:right]
    height, width = (max(1, round(CORNER_SHARE * side)) for side in drawn.shape)
    corners = (drawn[-height:, -width:], drawn[-height:, :width], drawn[:height, :width], drawn[:height, -width:])
    share = [float(corner.mean()) for corner in corners]
    # Corner k comes to the lower right by k quarter turns counter-clockwise.
    first, second = (0, 2) if level_rows else (1, 3)
    more, less = (first, second) if share[first] >= share[second] else (second, first)
    clear = share[more] >= TITLE_RATIO * share[less] and share[more] >= LEAST_CORNER_INK
    return more if clear else None


def _frame(ink: InkImage) -> tuple[int, int, int, int] | None:
    """Inside of a drawn border (left, top, right, bottom) in pixels, or None where the sheet has none."""
    step = max(1, round(max(ink.shape) / FRAME_LOOK_PX))
    height, width = ink.shape
    small = cv2.resize(
        ink.view(np.uint8) * np.uint8(255), (width // step, height // step), interpolation=cv2.INTER_AREA
    )
    spans = []
    for lines in (small > 0, small.T > 0):
        ruled = np.flatnonzero(lines.mean(axis=1) >= FRAME_COVER)
        reach = FRAME_MARGIN_SHARE * len(lines)
        low, high = ruled[ruled < reach], ruled[ruled > len(lines) - reach]
        if len(low) == 0 or len(high) == 0:
            return None
        spans.append(((int(low.max()) + 2) * step, (int(high.min()) - 1) * step))
    (top, bottom), (left, right) = spans
    return left, top, right, bottom
