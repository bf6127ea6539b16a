"""The ink round a place that nothing traced accounts for: what of it may be a figure."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.connected import pieces_of
from calibrate.sheet import LevelSheet
from digitize.dimensions.linking.directions import fold_deg, line_angle_deg, unit
from digitize.lettering.text import TextBlock
from digitize.strokes.primitives import Arrowhead, Line, Point, Role, Strokes

LONG_MM = 8.0
"""A line that runs straight for so long is no stroke of a figure."""
DRAWN = (Role.DIMENSION, Role.EXTENSION, Role.CENTRE, Role.HATCH, Role.LEADER, Role.BORDER, Role.TABLE)
RIM_PX = 1.5
HEAD_BREADTH = 0.5
"""Breadth of an arrowhead with some room, in its lengths."""
NEAR_REACHES, FEWEST_PX, SLENDER, SAME_WAY_DEG = 2.0, 5, 0.2, 6.0
"""Section lines end this near to a figure, in reaches of its window; a scrap of one has so many pixels, is no broader
against its length, and runs as the others do. (A fraction's slanting bar is steeper than section lines are.)"""


@dataclass(frozen=True)
class Frame:
    """A window: its middle, the way in which figures there read, and how far it reaches along that and across it."""

    middle: Point
    along: Point
    reach: tuple[float, float]

    @property
    def matrix(self) -> NDArray[np.float64]:
        """From window to level pixels, shape (2, 3)."""
        (ux, uy), (x, y), (a, b) = self.along, self.middle, self.reach
        return np.array([[ux, -uy, x - a * ux + b * uy], [uy, ux, y - a * uy - b * ux]])

    @property
    def size(self) -> tuple[int, int]:
        """Width and height, in pixels."""
        return 2 * math.ceil(self.reach[0]) + 1, 2 * math.ceil(self.reach[1]) + 1


def ink_left(sheet: LevelSheet, strokes: Strokes, blocks: Sequence[TextBlock], frame: Frame) -> NDArray[np.uint8]:
    """The ink of a window without lines of the drawing, arrowheads and known lettering.

    Parameters
    ----------
    sheet : LevelSheet
    strokes : Strokes
        Level pixels, as seen.
    blocks : sequence of TextBlock
        What is lettering already.
    frame : Frame

    Returns
    -------
    ndarray, uint8
        1 where ink is left, in pixels of the window.
    """
    to_window = np.asarray(cv2.invertAffineTransform(frame.matrix), np.float64)
    ink = np.asarray(cv2.warpAffine(sheet.ink.view(np.uint8), to_window, frame.size, flags=cv2.INTER_NEAREST), np.uint8)
    for line in strokes.lines:
        if not _may_cross(line, frame):
            continue
        if math.dist(line.start, line.end) * sheet.paper_mm_per_px > LONG_MM or _is_drawn(line, strokes.arrowheads):
            _rub_out_between(ink, to_window, (line.start, line.end), line.width_px + 2 * RIM_PX)
    for head in strokes.arrowheads:
        _rub_out(ink, to_window, (head.tip, _tail(head)), HEAD_BREADTH * head.length_px)
    for block in blocks:
        corners = np.rint(moved(to_window, block.quad)).astype(np.int32)
        cv2.fillConvexPoly(ink, corners, 0)
    frame_deg = math.degrees(math.atan2(-frame.along[1], frame.along[0]))
    near = (line for line in strokes.lines if line.role is Role.HATCH and _is_near(line, frame))
    _rub_out_scraps(ink, {round(fold_deg(line_angle_deg(line) - frame_deg)) for line in near})
    return ink


def _may_cross(line: Line, frame: Frame) -> bool:
    """Whether a line may come into a window: one that lies clear of the square round it does not."""
    reach = math.hypot(*frame.reach) + line.width_px + 2 * RIM_PX + 2.0
    return all(
        min(one, two) < at + reach and max(one, two) > at - reach
        for one, two, at in zip(line.start, line.end, frame.middle, strict=True)
    )


def _rub_out_between(
    ink: NDArray[np.uint8], to_window: NDArray[np.float64], ends: tuple[Point, Point], width_px: float
) -> None:
    """Rub out a line, but not where ink that crosses it goes on at both of its sides: it may run through a figure."""
    before = ink.copy()
    _rub_out(ink, to_window, ends, width_px)
    if not np.any(gone := before - ink):
        return
    (x0, y0), (x1, y1) = ends
    away = width_px / 2 + 1.0  # the rows of ink next to the line
    length = max(math.dist(*ends), 1.0)
    normal = away * (y0 - y1) / length, away * (x1 - x0) / length
    reach = np.ones((2 * math.ceil(width_px + 1.0) + 3,) * 2, np.uint8)
    for side in (1, -1):
        edge = np.zeros_like(ink)
        shifted = [(x + side * normal[0], y + side * normal[1]) for x, y in ends]
        _draw(edge, to_window, shifted, 1.0, 1)
        gone &= np.asarray(cv2.dilate(edge & ink, reach), np.uint8)
    ink |= gone


def _is_near(line: Line, frame: Frame) -> bool:
    return min(math.dist(end, frame.middle) for end in (line.start, line.end)) < NEAR_REACHES * max(frame.reach)


def _rub_out_scraps(ink: NDArray[np.uint8], hatch_deg: Collection[int]) -> None:
    """Take away the ends of section lines that stop at a figure: straight ink along others of them."""
    if not hatch_deg:
        return
    pieces = pieces_of(ink.view(np.bool_))
    for label, (left, top, _, _, area) in enumerate(pieces.stats.tolist()):
        if label == 0 or area < FEWEST_PX:
            continue
        y, x = np.nonzero(pieces.picture(label))
        x, y = x + left, y + top
        spread, ways = np.linalg.eigh(np.cov(x, y))
        along_deg = math.degrees(math.atan2(-ways[1, 1], ways[0, 1]))
        straight = spread[0] < SLENDER**2 * spread[1]
        if straight and any(abs(fold_deg(along_deg - way)) < SAME_WAY_DEG for way in hatch_deg):
            ink[y, x] = 0


def _is_drawn(line: Line, heads: Sequence[Arrowhead]) -> bool:
    """Whether a short line is of the drawing; what is an extension line by its pen alone may be of a figure."""
    return line.role in DRAWN and (line.role is not Role.EXTENSION or any(_is_on(head.tip, line) for head in heads))


def _is_on(tip: Point, line: Line) -> bool:
    """Whether a tip lies on a line, between its ends."""
    to_start, to_end = math.dist(tip, line.start), math.dist(tip, line.end)
    detour = to_start + to_end - math.dist(line.start, line.end)
    return detour <= RIM_PX and min(to_start, to_end) > line.width_px


def _tail(head: Arrowhead) -> Point:
    x, y = unit(head.direction_deg)
    return head.tip[0] - head.length_px * x, head.tip[1] - head.length_px * y


def moved(matrix: NDArray[np.float64], points: Sequence[Point]) -> NDArray[np.float64]:
    """Points through an affine map of shape (2, 3), as (x, y) rows."""
    return np.asarray(np.array(points) @ matrix[:, :2].T + matrix[:, 2], np.float64)


def _rub_out(ink: NDArray[np.uint8], to_window: NDArray[np.float64], ends: Sequence[Point], width_px: float) -> None:
    _draw(ink, to_window, ends, width_px, 0)


def _draw(
    ink: NDArray[np.uint8], to_window: NDArray[np.float64], ends: Sequence[Point], width_px: float, value: int
) -> None:
    (x0, y0), (x1, y1) = np.rint(moved(to_window, ends)).astype(int).tolist()
    cv2.line(ink, (x0, y0), (x1, y1), value, max(round(width_px), 1))
