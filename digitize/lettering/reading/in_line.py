"""Blocks that stand in line, one behind the other."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from calibrate.sheet import FloatArray
from digitize.lettering.finding.placing import frame_axes
from digitize.lettering.text import Layout, TextBlock

SEAM_HEIGHTS = 2.2
"""Pieces stand no further apart than this, in figure heights: a sign with a blank on both sides."""
OVERLAP_HEIGHTS = 0.3
"""Boxes of pieces with sloping letters reach this far over each other, in figure heights."""
LEVEL_HEIGHTS, ONE_WAY_DEG, LIKE_HEIGHT = 0.35, 5.0, 2.2
"""Pieces are level to this, in figure heights, read the same way to this, and differ in height by no more: figures of
a fraction are lower than its words."""
STACK_SHARE = 0.6
"""Height of the words beside a fraction, in heights of the fraction."""


def follows(first: TextBlock, second: TextBlock) -> bool:
    """Does one block stand in line behind another, at most a sign apart?"""
    one, two = (box_along(block, first.angle_deg) for block in (first, second))
    high = max(letter_height(first), letter_height(second))
    near = -OVERLAP_HEIGHTS * high < two[0] - one[2] < SEAM_HEIGHTS * high
    return bool(near and are_level(first, second))


def are_level(first: TextBlock, second: TextBlock) -> bool:
    """Do two blocks of letters alike stand in one line?"""
    low, high = sorted((letter_height(first), letter_height(second)))
    if abs(math.remainder(first.angle_deg - second.angle_deg, 360.0)) > ONE_WAY_DEG or high > LIKE_HEIGHT * low:
        return False
    one, two = (box_along(block, first.angle_deg) for block in (first, second))
    return bool(abs(one[1] + one[3] - two[1] - two[3]) / 2 < LEVEL_HEIGHTS * high)


def letter_height(block: TextBlock) -> float:
    """Height of the words beside a block: the figures of a fraction are lower."""
    depth = math.dist(block.quad[0], block.quad[3])
    return max(block.height_px, STACK_SHARE * depth) if block.layout is Layout.STACK else block.height_px


def box_along(block: TextBlock, angle_deg: float) -> FloatArray:
    """(left, top, right, bottom) of a block in the frame of a reading direction."""
    turned = np.array(block.quad) @ frame_axes(angle_deg).T
    return np.concatenate([turned.min(axis=0), turned.max(axis=0)])


def whole_of(blocks: Sequence[TextBlock]) -> TextBlock:
    """One block round pieces."""
    angle_deg = blocks[0].angle_deg
    boxes = np.array([box_along(block, angle_deg) for block in blocks])
    (left, top), (right, bottom) = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom)]) @ frame_axes(angle_deg)
    points = [(float(x), float(y)) for x, y in corners]
    stacked = any(block.layout is Layout.STACK for block in blocks)
    return replace(
        blocks[0],
        quad=(points[0], points[1], points[2], points[3]),
        height_px=max(block.height_px for block in blocks),
        layout=Layout.STACK if stacked else Layout.ROW,
    )
