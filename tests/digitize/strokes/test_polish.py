"""Full circles against what their pixels can tell at best, and without the pull of the blur."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from digitize.strokes.ground import ground_of
from digitize.strokes.trace import traced_pieces
from tests.digitize.strokes.drawn import SCANNER_BLUR_PX, Picture, sheet_of

NOISE = 8.0


def clean(x: float, y: float, radius: float, width: float) -> np.ndarray:
    """Grey levels of a circle without noise."""
    picture = Picture(round(2.4 * radius) + 40, round(2.4 * radius) + 40).arc((x, y), radius, width=width)
    return np.asarray(250.0 - 240.0 * gaussian_filter(picture.cover, SCANNER_BLUR_PX))


def bound_on_radius(x: float, y: float, radius: float, width: float) -> float:
    """Cramer-Rao bound on the radius from all pixels, with centre, width and blackness unknown (from memory)."""
    at, step = np.array([x, y, radius, width]), 0.05
    slopes = [(clean(*(at + d)) - clean(*(at - d))).ravel() / (2 * step) for d in step * np.eye(4)]
    slopes.append((250.0 - clean(*at)).ravel())
    design = np.array(slopes).T
    return float(NOISE * np.sqrt(np.linalg.inv(design.T @ design)[2, 2]))


def radii(x: float, y: float, radius: float, width: float, count: int) -> np.ndarray:
    """Radii found under different noise."""
    rng, found = np.random.default_rng(24), []
    base = clean(x, y, radius, width)
    for _ in range(count):
        grey = np.clip(np.rint(base + rng.normal(0.0, NOISE, base.shape)), 0, 255).astype(np.uint8)
        ground = ground_of(sheet_of(grey), np.zeros(grey.shape, bool))
        (piece,) = traced_pieces(ground).pieces
        found.append(piece.track.radius)
    return np.array(found)


@pytest.mark.parametrize(("radius", "width"), [(12.0, 4.0), (25.0, 3.0), (60.0, 4.0)])
def test_a_circle_is_as_good_as_its_pixels_allow(radius: float, width: float) -> None:
    at = 1.2 * radius + 20.3, 1.2 * radius + 19.8, radius, width
    off = radii(*at, count=24) - radius
    # 24 draws know a scatter to 15 %
    assert float(np.sqrt(np.mean(off**2))) < 1.5 * bound_on_radius(*at)


@pytest.mark.parametrize("radius", [6.0, 9.0, 14.0])
def test_blur_does_not_shrink_a_small_circle(radius: float) -> None:
    """Unpolished, the radius comes out short by the blur's variance over twice the radius: some 0.035 px at 6 px."""
    off = radii(1.2 * radius + 20.3, 1.2 * radius + 19.8, radius, 4.0, count=6) - radius
    assert abs(float(off.mean())) < 0.012
