"""Whether the picture holds one whole sheet: lines that run off it, second frames, parts that lie at other turns."""

import cv2
import numpy as np

from calibrate.several import CUT_APART, GIVEN_FOR_ALL, Box, box_of, places
from calibrate.sheet import InkImage
from calibrate.straightening.apart import doubt_of_one_sheet
from calibrate.straightening.skew import Ruled

EDGE_SHARE = 0.01
"""A line ends at the picture's edge within this part of the side."""
BORDER_SHARE, BORDER_COVER = 0.06, 0.6
"""Ink within the first part of the side from its edge, along more than the second, is a border: the sheet ends."""
FEWEST_RUNNING_OFF = 2
LOOK_PX = 800
FRAME_SIDE, FRAME_AREA = 0.3, 0.12
"""Least side and area of a frame, as parts of the picture's."""
LARGEST_AREA_RATIO = 4.0
RECTANGULAR = 0.93
"""Part of its turned box that a frame's outline fills."""

RUNS_OFF = (
    "{count} lines run off the {side} edge of the picture as scanned: part of the sheet may lie outside it; check."
)
TWO_FRAMES = (
    "The picture holds {count} frames side by side, at {places} in pixels, perhaps {count} sheets in one scan;"
    f" {GIVEN_FOR_ALL}: {CUT_APART}."
)
SIDES = {"left": 0, "top": 1, "right": 2, "bottom": 3}
"""Quarter turns, counter-clockwise, that bring each side to the left."""


def doubts_of_wholeness(ink: InkImage, ruled: Ruled) -> tuple[str, ...]:
    """Say where the picture seems not to hold one whole sheet.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
        As scanned, before any quarter turn.
    ruled : Ruled
        Its long lines.
    """
    doubts = []
    for side, turns in SIDES.items():
        along = 0 if side in ("left", "right") else 1
        extent = ink.shape[1 - along]
        ends = (ruled.level, ruled.upright)[along].ends[..., along]
        gap = ends.min(axis=1) if side in ("left", "top") else extent - 1 - ends.max(axis=1)
        count = int(np.count_nonzero(gap <= EDGE_SHARE * extent))
        strip = np.rot90(ink, turns)[:, : max(1, round(BORDER_SHARE * extent))]
        if count >= FEWEST_RUNNING_OFF and strip.any(axis=1).mean() < BORDER_COVER:
            doubts.append(RUNS_OFF.format(count=count, side=side))
    frames = _frames_apart(ink)
    several = len(frames) > 1
    apart = TWO_FRAMES.format(count=len(frames), places=places(frames)) if several else doubt_of_one_sheet(ink, ruled)
    return (*doubts, *([apart] if apart else []))


def _frames_apart(ink: InkImage) -> list[Box]:
    """Large outlines, none within another, that lie side by side like the borders of two sheets."""
    step = max(1, round(max(ink.shape) / LOOK_PX))
    size = (ink.shape[1] // step, ink.shape[0] // step)
    whole = ink[: size[1] * step, : size[0] * step]  # the last rows and columns would make OpenCV slow
    small = cv2.resize(whole.view(np.uint8) * np.uint8(255), size, interpolation=cv2.INTER_AREA)
    outlines, _ = cv2.findContours((small > 0).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    areas, boxes = [], []
    for outline in outlines:
        (_, _), sides, _ = cv2.minAreaRect(outline)
        area = float(cv2.contourArea(outline))
        framed = min(sides) >= FRAME_SIDE * min(size) and area >= FRAME_AREA * size[0] * size[1]
        if framed and area >= RECTANGULAR * sides[0] * sides[1]:
            areas.append(area)
            boxes.append(box_of(outline, 1 / step))
    return [box for area, box in zip(areas, boxes, strict=True) if area * LARGEST_AREA_RATIO >= max(areas)]
