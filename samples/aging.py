"""From paper to picture: where the scanner or camera saw the sheet, and what time did to it."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from samples.parts import Rng, pick
from samples.raster import ink_coverage
from samples.truth import Drawing, Exposure

FloatArray = NDArray[np.float64]
Picture = NDArray[np.uint8]

MM_PER_INCH = 25.4


def _matrix(a: float, b: float, c: float, d: float, e: float, f: float) -> FloatArray:
    return np.array([[a, b, c], [d, e, f], [0.0, 0.0, 1.0]])


@dataclass(frozen=True)
class Geometry:
    """Turns and scales of one exposure, before the paper's size is known."""

    dpi: float
    skew_deg: float = 0.0
    orientation_deg: int = 0
    shrink_percent: tuple[float, float] = (0.0, 0.0)
    pad_px: int = 0


def scan(paper: tuple[float, float], geometry: Geometry) -> tuple[FloatArray, tuple[int, int]]:
    """Homography of a flat-bed scan, and the picture's size.

    The upright picture is turned clockwise by ``orientation_deg``, so that as many degrees counter-clockwise set it
    upright again.
    """
    k = geometry.dpi / MM_PER_INCH
    sx, sy = (k * (1 - s / 100) for s in geometry.shrink_percent)
    width, height = round(paper[0] * sx) + 2 * geometry.pad_px, round(paper[1] * sy) + 2 * geometry.pad_px
    turn = np.radians(geometry.skew_deg)
    upright = _matrix(sx, 0, -sx * paper[0] / 2, 0, -sy, sy * paper[1] / 2)
    skew = _matrix(np.cos(turn), np.sin(turn), 0, -np.sin(turn), np.cos(turn), 0)
    centre = _matrix(1, 0, (width - 1) / 2, 0, 1, (height - 1) / 2)
    quarter = {
        0: np.eye(3),
        90: _matrix(0, -1, height - 1, 1, 0, 0),
        180: _matrix(-1, 0, width - 1, 0, -1, height - 1),
        270: _matrix(0, 1, 0, -1, 0, width - 1),
    }[geometry.orientation_deg]
    size = (height, width) if geometry.orientation_deg in (90, 270) else (width, height)
    return quarter @ centre @ skew @ upright, size


@dataclass(frozen=True)
class Scan:
    """A finished picture with its exposure, and the format it is to be kept in."""

    picture: Picture
    exposure: Exposure
    suffix: str


def _stated_dpi(rng: Rng, dpi: float) -> float | None:
    draw = rng.random()
    if draw < 0.75:
        return dpi
    return None if draw < 0.9 else float(pick(rng, (72.0, 96.0, 600.0)))


def expose_clean(drawing: Drawing, rng: Rng) -> Scan:
    """A good scan: nearly straight, mild blur and noise."""
    large = drawing.paper_mm[0] > 350
    dpi = float(pick(rng, (200, 200, 300) if large else (200, 300, 300, 400)))
    skew = round(float(rng.uniform(-1, 1)), 4)
    to_source, size = scan(drawing.paper_mm, Geometry(dpi, skew, pad_px=round(0.1 * dpi)))
    ink = ink_coverage(drawing, to_source, size)
    ink = cv2.GaussianBlur(ink, (0, 0), float(rng.uniform(0.3, 0.7)))
    grey = 245 - ink * float(rng.uniform(195, 235))
    grey = grey + rng.normal(0, float(rng.uniform(1, 4)), grey.shape).astype(np.float32)
    picture = np.clip(np.rint(grey), 0, 255).astype(np.uint8)
    exposure = Exposure(to_source, size, skew, 0, "dark_on_light", (0.0, 0.0), dpi, _stated_dpi(rng, dpi))
    return Scan(picture, exposure, ".png")


EXPOSE = {"clean": expose_clean}
