"""What time does to paper and ink: folds, stains, specks, faded and scraped lines, the drawing on the back.

Glossary
--------
field
    A smooth random picture between about -1 and 1, from coarse noise.
"""

from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from samples.bends import Bent, Camera
from samples.geometry import corners_of, pixels_per_mm
from samples.parts import Rng, pick
from samples.truth import project

Plane = NDArray[np.float32]

OUTLINE_STEPS = 60  # points along each edge of a bent sheet
SOFT = 4  # soft shades are drawn at a quarter of the picture's size


def field(rng: Rng, shape: tuple[int, ...], grid: int) -> Plane:
    """A smooth field: ``grid`` noise values across, interpolated, about -1 to 1."""
    coarse = rng.uniform(-1, 1, (max(2, round(grid * shape[0] / shape[1])) + 1, grid + 1)).astype(np.float32)
    return np.asarray(cv2.resize(coarse, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC), dtype=np.float32)


def paper_mask(to_source: Camera, paper: tuple[float, float], shape: tuple[int, ...]) -> Plane:
    """1 on the paper, 0 beyond it."""
    mask = np.zeros(shape, dtype=np.uint8)
    outline = corners_of(paper)
    if isinstance(to_source, Bent):
        share = np.linspace(0, 1, OUTLINE_STEPS, endpoint=False)[:, None]
        outline = np.vstack([p + (q - p) * share for p, q in zip(outline, np.roll(outline, -1, axis=0), strict=True)])
    polygon = np.rint(project(to_source, outline)).astype(np.int32)
    if isinstance(to_source, Bent):
        cv2.fillPoly(mask, [polygon], 255, cv2.LINE_AA)
    else:
        cv2.fillConvexPoly(mask, polygon, 255, cv2.LINE_AA)
    return np.asarray(mask / np.float32(255), dtype=np.float32)


def _coarse(shape: tuple[int, ...]) -> tuple[int, int]:
    return shape[0] // SOFT + 1, shape[1] // SOFT + 1


def _spread(coarse: Plane, shape: tuple[int, ...]) -> Plane:
    """A soft plane drawn at a fraction of the picture's size, at full size."""
    wide = cv2.resize(coarse, (shape[1] // SOFT * SOFT + SOFT, shape[0] // SOFT * SOFT + SOFT))
    return np.asarray(wide[: shape[0], : shape[1]], dtype=np.float32)


def blurred(plane: Plane, sigma: float) -> Plane:
    """A plane under a Gaussian of a standard deviation in pixels."""
    return np.asarray(cv2.GaussianBlur(plane, (0, 0), max(sigma, 0.3)), dtype=np.float32)


def folds(rng: Rng, to_source: Camera, paper: tuple[float, float], shape: tuple[int, ...]) -> Plane:
    """Creases right across the sheet: a pale line, shade on one side. Change of brightness, -1 to 1."""
    shade = np.zeros(_coarse(shape), dtype=np.float32)
    k = pixels_per_mm(to_source) / SOFT
    for _ in range(int(rng.integers(1, 4))):
        upright = rng.random() < 0.5
        at = float(rng.uniform(0.2, 0.8)) * paper[0 if upright else 1]
        tilt = float(rng.normal(0, 0.6))
        ends = [[at - tilt, 0], [at + tilt, paper[1]]] if upright else [[0, at - tilt], [paper[0], at + tilt]]
        p, q = np.rint(project(to_source, np.array(ends)) / SOFT).astype(int).tolist()
        line = np.zeros(shade.shape, dtype=np.float32)
        cv2.line(line, p, q, 1.0, max(1, round(0.5 * k)))
        pale, dark = float(rng.uniform(0.3, 0.9)), float(rng.uniform(0.4, 1.2))
        shade += pale * blurred(line, 0.25 * k) - dark * blurred(line, 3.0 * k)
    return _spread(np.clip(shade, -1, 1), shape)


def stains(rng: Rng, shape: tuple[int, ...], k: float) -> Plane:
    """Rings and blotches, 0 to about 1; ``k`` is pixels per mm."""
    small, k = _coarse(shape), k / SOFT
    out = np.zeros(small, dtype=np.float32)
    for _ in range(int(rng.integers(1, 5))):
        centre = (int(rng.uniform(0, small[1])), int(rng.uniform(0, small[0])))
        radius = rng.uniform(6, 28) * k
        axes = (int(radius), int(radius * rng.uniform(0.6, 1.0)))
        blot = np.zeros(small, dtype=np.float32)
        width = max(1, round(1.5 * k)) if rng.random() < 0.5 else -1
        cv2.ellipse(blot, centre, axes, float(rng.uniform(0, 180)), 0, 360, 1.0, width)
        out += blurred(blot, float(rng.uniform(0.8, 2.5)) * k) * float(rng.uniform(0.4, 1.0))
    return _spread(out * (1 + 0.4 * field(rng, small, 24)), shape)


def specks(rng: Rng, shape: tuple[int, ...], k: float, per_cm2: float) -> Plane:
    """Dust and fly specks: 0 none, 1 ink-dark."""
    out = np.zeros(shape, dtype=np.uint8)
    count = rng.poisson(per_cm2 * shape[0] * shape[1] / (10 * k) ** 2)
    places = rng.uniform(0, 1, (count, 2)) * [shape[1], shape[0]]
    sizes = 0.06 + rng.exponential(0.07, count)
    tones = rng.uniform(90, 255, count)
    for (x, y), size, tone in zip(places, sizes, tones, strict=True):
        cv2.circle(out, (round(8 * x), round(8 * y)), round(8 * min(size, 0.35) * k), float(tone), -1, cv2.LINE_AA, 3)
    return np.asarray(out / np.float32(255), dtype=np.float32)


def dropout(rng: Rng, ink: Plane, k: float, depth: float) -> Plane:
    """Ink rubbed thin in patches and along hair lines."""
    grain = blurred(rng.normal(0, 1, ink.shape).astype(np.float32), 0.12 * k)
    grain = grain * np.float32(0.35 / max(float(grain.std()), 1e-6))
    wear = np.clip(0.5 + field(rng, ink.shape, 9), 0, 1)
    left = np.clip(1 - depth * wear * np.clip(grain + 0.5, 0, 1.4), 0, 1)
    return np.asarray(ink * left, dtype=np.float32)


def show_through(rng: Rng, ink: Plane) -> Plane:
    """The drawing on the back: mirrored, blurred, faint."""
    back = cv2.flip(ink, int(pick(rng, (0, 1))))
    return np.asarray(cv2.GaussianBlur(back, (0, 0), 2.2) * float(rng.uniform(0.06, 0.14)), dtype=np.float32)


def scratches(rng: Rng, ink: Plane, k: float) -> Plane:
    """Torn and scraped strips where ink and paper went."""
    out = ink.copy()
    for _ in range(int(rng.integers(2, 6))):
        x, y = rng.uniform(0, ink.shape[1]), rng.uniform(0, ink.shape[0])
        points = [(x, y)]
        for _ in range(int(rng.integers(2, 5))):
            points.append((points[-1][0] + rng.normal(0, 20 * k), points[-1][1] + rng.normal(0, 20 * k)))
        for p, q in pairwise(points):
            cv2.line(out, (round(p[0]), round(p[1])), (round(q[0]), round(q[1])), 0.0, max(1, round(0.3 * k)))
    return out
