"""Lettering and what lies near it, cut out as a finder would, inked, brought to a scan's resolution and damaged."""

import cv2
import numpy as np
from numpy.typing import NDArray

from digitize.lettering.training.damage import damaged
from digitize.lettering.training.inked import DRAWN_PX, a_pen
from digitize.lettering.training.legible import EASILY_LOST, is_seen
from digitize.lettering.training.pieces import Piece

Rng = np.random.Generator
Grey = NDArray[np.uint8]
Box = tuple[float, float, float, float]
SCANS = 3  # scans of one drawing
LEAST_HEIGHT_PX = {"medium": 11.0, "harsh": 9.0}  # ISO 3098's smallest figure, 1.8 mm, at 150 dpi is 10.6 pixels
NEIGHBOUR_SHARE = {"clean": 0.06, "medium": 0.24, "harsh": 0.24}  # crops into which other lettering reaches
LOOSE_SHARE, TRAINED_LOOSE_SHARE = 0.06, 0.16  # crops with room for arrowheads at their ends
SHOWN_SHARE = 0.55  # of a neighbour, at most: more would be lettering of the crop


def cut(rng: Rng, box: Box, level: str, loose: float = LOOSE_SHARE) -> Box:
    """The finder's box: some 0.3 figure heights of margin, seldom exact, now and then cutting in, or loose.

    ``loose`` is the share of crops with much room to their left and right.
    """
    spread = 0.06 if level == "clean" else 0.12
    left, foot, right, top = np.clip(rng.normal(0.3, spread, 4), 0.02, 0.8)
    if level != "clean" and rng.random() < 0.04:
        margins = [left, foot, right, top]
        margins[rng.integers(4)] = float(rng.uniform(-0.05, 0.04))
        left, foot, right, top = margins
    if rng.random() < loose:
        left, right = left + rng.uniform(0, 1.0), right + rng.uniform(0, 1.0)
    if rng.random() < (0.04 if level == "clean" else 0.15):
        left, foot, right, top = np.array((left, foot, right, top)) + rng.exponential((0.35, 0.15, 0.35, 0.15))
    return box[0] - left, box[1] - foot, box[2] + right, box[3] + top


def scanned(rng: Rng, pieces: list[Piece], near: list[Piece], frame: Box, level: str, least: float) -> Grey | None:
    """Draw, bring to the scan's resolution, damage; None if every scan loses some of it."""
    pen = a_pen(rng, any(piece.filled for piece in pieces))
    marks = [pen.drawn([piece], frame) for piece in pieces if piece.char in EASILY_LOST and piece.char]
    rest = pen.drawn([piece for piece in pieces if piece.char not in EASILY_LOST or not piece.char], frame)
    text = np.maximum.reduce([rest, *marks])
    lines = a_pen(rng, False).drawn(near, frame)
    if pieces and near and rng.random() < 0.3:
        reach = int(rng.integers(3, 11))
        lines[cv2.dilate(text, np.ones((reach, reach), np.uint8)) > 0] = 0
    ink = np.maximum(text, lines)
    if pieces and rng.random() < NEIGHBOUR_SHARE[level]:
        for _ in range(int(rng.integers(1, 4))):
            _neighbour(rng, ink, pieces, frame)
    scale = _height_px(rng, level, least) / DRAWN_PX
    sized = _resized(ink, scale)
    small = [_resized(mark, scale) for mark in marks]
    for _ in range(SCANS):
        scan = damaged(rng, sized, level)
        if not pieces or is_seen(scan, _resized(text, scale), small):
            return scan
    return None


def _height_px(rng: Rng, level: str, least: float) -> float:
    """Pixels to a figure height, fewer for stacks, whose block is taller."""
    if level == "clean":
        return float(rng.uniform(14, 60))
    return float(np.exp(rng.uniform(np.log(LEAST_HEIGHT_PX[level] / least), np.log(62.0))))


def _resized(ink: Grey, scale: float) -> Grey:
    size = (max(4, round(ink.shape[1] * scale)), max(4, round(ink.shape[0] * scale)))
    return np.asarray(cv2.resize(ink, size, interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR), np.uint8)


def _neighbour(rng: Rng, ink: Grey, pieces: list[Piece], frame: Box) -> None:
    """Pieces of the row above or below, or of the next figure, that reach into the crop."""
    part = pieces[rng.integers(len(pieces))]
    low, high = np.min([p.min(axis=0) for p in part.parts], axis=0), np.max([p.max(axis=0) for p in part.parts], axis=0)
    side = rng.integers(4)
    deep = float(rng.uniform(0.03, 0.26)) if rng.random() < 0.4 else float(rng.uniform(0.03, 0.16))
    reach = min(deep, SHOWN_SHARE * float((high - low)[1 if side < 2 else 0]) + part.pen / 2)
    left, foot, right, top = frame
    x, y = float(rng.uniform(left, right)) - low[0], float(rng.uniform(foot, top)) - low[1]
    if side == 0:
        y = top - reach - low[1]
    elif side == 1:
        y = foot + reach - high[1]
    elif side == 2:
        x = left + reach - high[0]
    else:
        x = right - reach - low[0]
    np.maximum(ink, a_pen(rng, part.filled).drawn([part.moved(float(x), float(y))], frame), out=ink)
