"""Pieces of lettering and of drawing inked with one pen, much finer than any scan."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from digitize.lettering.training.faces import Points
from digitize.lettering.training.pieces import Piece, parted

Rng = np.random.Generator
Grey = NDArray[np.uint8]
Box = tuple[float, float, float, float]
DRAWN_PX = 36  # pixels to a figure height while drawing; the scan's resolution comes after
SUBPIXEL_BITS = 4
FINE = np.array((DRAWN_PX << SUBPIXEL_BITS, -(DRAWN_PX << SUBPIXEL_BITS)), np.float32)  # figure heights to these


@dataclass(frozen=True)
class Pen:
    """One pen, or one type's weight: ``nib`` shifts in fixed-point pixels, ``weight`` pixels of growth or of loss."""

    nib: NDArray[np.int32]
    weight: int
    shape: tuple[int, int]

    def drawn(self, pieces: Sequence[Piece], frame: Box) -> Grey:
        """Share of ink, 0 to 255, of pieces in a frame."""
        left, foot, right, top = frame
        image = np.zeros((max(8, round((top - foot) * DRAWN_PX)), max(8, round((right - left) * DRAWN_PX))), np.uint8)
        for piece in pieces:
            points = parted(_pixels(np.concatenate(piece.parts), left, top), piece.parts)
            if piece.filled:
                cv2.fillPoly(image, points, 255, cv2.LINE_AA, SUBPIXEL_BITS)
                continue
            thick = max(1, round(piece.pen * DRAWN_PX))
            for shift in self.nib:
                cv2.polylines(image, [p + shift for p in points], False, 255, thick, cv2.LINE_AA, SUBPIXEL_BITS)
        if not self.weight:
            return image
        kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, self.shape)
        return np.asarray((cv2.dilate if self.weight > 0 else cv2.erode)(image, kernel), np.uint8)


def a_pen(rng: Rng, filled: bool) -> Pen:
    """A pen, or for outlines a type's weight."""
    weight = 0 if not filled or rng.random() < 0.5 else 1 if rng.random() < 0.6 else -1
    return Pen(_nib(rng), weight, (3, 3) if rng.random() < 0.6 else (2, 2))


def _nib(rng: Rng) -> NDArray[np.int32]:
    """Shifts of a broad nib, which swells the strokes across it; a round pen has one."""
    if rng.random() < 0.65:
        return np.zeros((1, 1, 2), np.int32)
    wide, angle = float(rng.uniform(0.02, 0.12)), float(rng.normal(0.2, 0.4))
    ends = wide * DRAWN_PX * np.array([math.cos(angle), -math.sin(angle)])
    steps = np.array([-0.5, 0.0, 0.5])[:, None] * ends
    return np.asarray(np.round(steps * (1 << SUBPIXEL_BITS)), np.int32)[:, None, :]


def _pixels(points: Points, left: float, top: float) -> NDArray[np.int32]:
    scaled = (points - np.array((left, top), np.float32)) * FINE
    return np.rint(scaled).astype(np.int32)[:, None, :]
