"""Pictures of single blocks, turned level for a reader.

A crop keeps the scan's own resolution: a reader that wants another size scales it itself. Everything that lies
outside the sheet is white.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np

from calibrate.sheet import FloatArray, GreyImage, LevelSheet
from digitize.lettering.text import TextBlock

Corner = tuple[float, float]
PAPER = 255
INK_BELOW = 128
"""Grey levels of a crop's ink are lower."""
DEFAULT_MARGIN = 0.3
"""Paper kept round a block, in figure heights: enough for a pen's width and an error of the finder."""


def cut(sheet: LevelSheet, block: TextBlock, margin: float = DEFAULT_MARGIN) -> GreyImage:
    """Cut a block out of the grey level sheet so that it reads from left to right.

    Parameters
    ----------
    sheet : LevelSheet
    block : TextBlock
    margin : float
        Paper kept on each side, in figure heights.

    Returns
    -------
    ndarray, uint8, shape (h, w)
        Dark ink on white, one crop pixel to a level pixel.
    """
    return cut_grey(sheet.grey, block, margin)


def cut_grey(grey: GreyImage, block: TextBlock, margin: float = DEFAULT_MARGIN) -> GreyImage:
    """Like `cut`, from a grey level image (ndarray, uint8, shape (H, W))."""
    crop_from_level, width, height = crop_frame(block, margin)
    return np.asarray(
        cv2.warpAffine(
            grey,
            crop_from_level[:2],
            (width, height),
            flags=cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_CONSTANT,
            borderValue=PAPER,
        ),
        dtype=np.uint8,
    )


def crop_frame(block: TextBlock, margin: float = DEFAULT_MARGIN) -> tuple[FloatArray, int, int]:
    """The frame of a block's crop.

    Returns
    -------
    crop_from_level : ndarray, float64, shape (3, 3)
        Level pixels to crop pixels.
    width, height : int
        Size of the crop, in pixels.

    Examples
    --------
    >>> block = TextBlock(((10.0, 20.0), (30.0, 20.0), (30.0, 28.0), (10.0, 28.0)), 0.0, 8.0)
    >>> frame, width, height = crop_frame(block, margin=0.5)
    >>> (width, height), (frame @ np.array([10.0, 20.0, 1.0]))[:2].tolist()
    ((29, 17), [4.0, 4.0])
    """
    first, second, third, fourth = block.quad
    edge_px = margin * block.height_px
    along = _mean_side(first, second, fourth, third)
    down = _mean_side(first, fourth, second, third)
    angle = math.atan2(along[1], along[0])
    cos, sin = math.cos(angle), math.sin(angle)
    turn = np.array([[cos, sin], [-sin, cos]])
    width_px = float(np.hypot(*along)) + 2 * edge_px
    height_px = float(np.hypot(*down)) + 2 * edge_px
    middle = [(one + two + three + four) / 4 for one, two, three, four in zip(*block.quad, strict=True)]
    x, y = (turn @ np.array(middle)).tolist()
    frame = np.array([[cos, sin, width_px / 2 - x], [-sin, cos, height_px / 2 - y], [0.0, 0.0, 1.0]])
    return frame, math.ceil(width_px) + 1, math.ceil(height_px) + 1


def turned(block: TextBlock, quarter_turns: int) -> TextBlock:
    """The same block read in another direction, ``quarter_turns`` counter-clockwise from the present one.

    Examples
    --------
    >>> block = TextBlock(((0.0, 0.0), (4.0, 0.0), (4.0, 1.0), (0.0, 1.0)), 0.0, 1.0)
    >>> turned(block, 2).quad[0], turned(block, 2).angle_deg
    ((4.0, 1.0), 180.0)
    >>> turned(block, 1).quad[0], turned(block, 1).angle_deg
    ((0.0, 1.0), 90.0)
    """
    turns = quarter_turns % 4
    corners = block.quad
    moved = tuple(corners[(index - turns) % 4] for index in range(4))
    quad = (moved[0], moved[1], moved[2], moved[3])
    height_px = block.height_px
    if turns % 2:
        height_px = min(height_px, math.dist(quad[0], quad[3]))
    return replace(block, quad=quad, angle_deg=(block.angle_deg + 90.0 * turns) % 360.0, height_px=height_px)


def _mean_side(start: Corner, end: Corner, other_start: Corner, other_end: Corner) -> Corner:
    x, y = (((end[k] - start[k]) + (other_end[k] - other_start[k])) / 2 for k in (0, 1))
    return x, y


def montage(crops: Sequence[GreyImage], gap_px: int) -> tuple[GreyImage, tuple[int, ...]]:
    """Stack crops into one tall white picture, ``gap_px`` of paper apart.

    Returns
    -------
    ndarray, uint8, shape (H, W)
    tuple of int
        The first row of each crop.
    """
    tops: list[int] = []
    bottom = gap_px
    for crop in crops:
        tops.append(bottom)
        bottom += crop.shape[0] + gap_px
    width = max((crop.shape[1] for crop in crops), default=0) + 2 * gap_px
    picture = np.full((bottom, width), PAPER, dtype=np.uint8)
    for top, crop in zip(tops, crops, strict=True):
        picture[top : top + crop.shape[0], gap_px : gap_px + crop.shape[1]] = crop
    return picture, tuple(tops)
