"""Sharp ink becomes a scan: bleed, dropout, blur, uneven paper, noise, compression, two-level scans."""

import cv2
import numpy as np
from numpy.typing import NDArray

Rng = np.random.Generator
Grey = NDArray[np.uint8]
Real = NDArray[np.float32]
LEVELS = ("clean", "medium", "harsh")
NOISE = np.random.default_rng(20).standard_normal(1 << 20).astype(np.float32)  # dealt out in stretches: fresh is slow


def damaged(rng: Rng, ink: Grey, level: str) -> Grey:
    """Scan of ink.

    Parameters
    ----------
    rng : numpy Generator
    ink : ndarray, uint8
        Share of ink, 0 to 255, at the scan's own resolution.
    level : str
        "clean", "medium" or "harsh".
    """
    cover: Real = ink.astype(np.float32) / np.float32(255)
    hard = {"clean": 0.0, "medium": 0.5, "harsh": 1.0}[level]
    if rng.random() < 0.5 * hard:
        cover = _dropout(rng, cover, hard)
    if rng.random() < 0.45 * hard:
        cover = _bled(rng, cover)
    if rng.random() < 0.3 * hard:
        cover = _ragged(rng, cover)
    if rng.random() < 0.2 * hard:
        cover = _fading(rng, cover)
    cover = _blurred(cover, float(rng.uniform(0.25, 0.55 + 0.6 * hard)))
    grey = _printed(rng, cover, hard)
    if rng.random() < 0.25 + 0.25 * hard:
        grey = _compressed(grey, int(rng.integers(95 - int(60 * hard), 97)))
    if rng.random() < (0.15 + 0.2 * hard):
        grey = _two_level(rng, grey, hard)
    return grey


def _smooth_noise(rng: Rng, shape: tuple[int, int], grain_px: float) -> Real:
    small = (max(2, int(shape[0] / grain_px)), max(2, int(shape[1] / grain_px)))
    noise = rng.random(small, np.float32)
    return np.asarray(cv2.resize(noise, (shape[1], shape[0]), interpolation=cv2.INTER_LINEAR), np.float32)


def _dropout(rng: Rng, cover: Real, hard: float) -> Real:
    noise = _smooth_noise(rng, (cover.shape[0], cover.shape[1]), float(rng.uniform(1.2, 5.0)))
    share = float(rng.uniform(0.05, 0.18 + 0.15 * hard))
    holes = np.clip((noise - (1 - share)) * 8, 0, 1)
    return np.asarray(cover * (1 - holes * rng.uniform(0.6, 1.0)), np.float32)


def _fading(rng: Rng, cover: Real) -> Real:
    """Ink that pales along the row, as where the pen ran dry or the plate is worn."""
    along = np.linspace(0, 1, cover.shape[1], dtype=np.float32)
    steep, middle = float(rng.uniform(4, 30)) * (1 if rng.random() < 0.6 else -1), float(rng.uniform(0.1, 0.9))
    depth = np.float32(rng.uniform(0.25, 0.65))
    pale = depth / (1 + np.exp(np.clip((middle - along) * np.float32(steep), -30, 30)))
    return np.asarray(cover * (1 - pale), np.float32)


def _bled(rng: Rng, cover: Real) -> Real:
    kernel = np.ones((2, 2), np.uint8) if rng.random() < 0.6 else cv2.getStructuringElement(cv2.MORPH_CROSS, (3, 3))
    spread = cv2.dilate(cover, kernel)
    share = float(rng.uniform(0.3, 1.0))
    return np.asarray(cover * (1 - share) + spread * share, np.float32)


def _ragged(rng: Rng, cover: Real) -> Real:
    """Uneven edges and weight, as of a worn plate or a thirsty paper."""
    soft = _blurred(cover, float(rng.uniform(0.6, 1.1)))
    noise = _smooth_noise(rng, (cover.shape[0], cover.shape[1]), float(rng.uniform(1.0, 4.0))) - 0.5
    level = float(rng.uniform(0.35, 0.55))
    edge = soft - level + noise * rng.uniform(0.2, 0.6)
    return np.asarray(np.clip(edge * rng.uniform(2.0, 6.0) + 0.5, 0, 1) * (soft > 0.02), np.float32)


def _noise(rng: Rng, shape: tuple[int, int]) -> Real:
    size = shape[0] * shape[1]
    start = int(rng.integers(0, max(1, len(NOISE) - size)))
    return np.resize(NOISE[start : start + size], shape)


def _blurred(cover: Real, sigma_px: float) -> Real:
    return np.asarray(cv2.GaussianBlur(cover, (0, 0), sigma_px), np.float32)


def _printed(rng: Rng, cover: Real, hard: float) -> Grey:
    shape = (cover.shape[0], cover.shape[1])
    paper = float(rng.uniform(165 - 40 * hard, 255))
    dark = float(rng.uniform(0, 70 + 50 * hard))
    dark = min(dark, paper - 70)
    grey = paper - (paper - dark) * cover
    if rng.random() < 0.3 + 0.5 * hard:
        grey += (_smooth_noise(rng, shape, float(rng.uniform(8, 60))) - 0.5) * rng.uniform(5, 15 + 45 * hard)
    sigma = float(rng.uniform(0, 5 + 13 * hard))
    grey += _noise(rng, shape) * np.float32(sigma)
    if rng.random() < 0.4 * hard:
        _speckle(rng, grey, dark, paper)
    return np.asarray(np.clip(grey, 0, 255), np.uint8)


def _speckle(rng: Rng, grey: Real, dark: float, paper: float) -> None:
    count = int(grey.size * rng.uniform(0.0005, 0.01))
    ys, xs = rng.integers(0, grey.shape[0], count), rng.integers(0, grey.shape[1], count)
    grey[ys, xs] = np.where(rng.random(count) < 0.6, dark, paper)


def _compressed(grey: Grey, quality: int) -> Grey:
    _, data = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, quality])
    return np.asarray(cv2.imdecode(data, cv2.IMREAD_GRAYSCALE), np.uint8)


def _two_level(rng: Rng, grey: Grey, hard: float) -> Grey:
    level, _ = cv2.threshold(grey, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    level = float(np.clip(level + rng.normal(0, 10 + 12 * hard), 20, 235))
    two = np.where(grey > level, 255, 0).astype(np.uint8)
    if rng.random() < 0.5:
        two = np.asarray(cv2.GaussianBlur(two, (0, 0), float(rng.uniform(0.3, 0.6))), np.uint8)
    return two
