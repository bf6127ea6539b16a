"""How well the shapes of letter-sized pieces stand upright, and unmirrored.

Nothing is read here. A piece on its raster is compared with a stroke alphabet; the question is only whether it
resembles some letter more as it stands, or upside down, or in a mirror.
"""

import tomllib
from functools import lru_cache
from importlib import resources

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import FloatArray

LEAST_LIKENESS, FULL_LIKENESS = 0.72, 0.9
"""Correlation with the best letter below which a piece says nothing, and from which it has its full say."""
SURE_Z = 3.5
"""Standard deviations by which one way must win over another to count as told."""
RASTER = 20
RASTER_MARGIN = 3
BLUR_PX, BLUR_TAPS = 1.2, 11
GRID_HEIGHT = 6.0
DRAWN_SCALE = 16
SLANTS = (0.0, 0.27)
"""Upright lettering and lettering inclined by 15 degrees (ISO 3098)."""


def upright_margin(rasters: NDArray[np.float32]) -> FloatArray:
    """How much better each piece resembles a letter as it stands than upside down, shape (N,).

    A piece has the more to say the better it resembles any letter, and nothing where it resembles none.
    """
    return _margin(_likeness(rasters), _likeness(rasters[:, ::-1, ::-1]))


def true_margin(rasters: NDArray[np.float32]) -> FloatArray:
    """How much better each piece, standing or on its head, resembles a letter than in a mirror, shape (N,).

    A bare slanting stroke says nothing: section lines, which all lean one way, are many.
    """
    as_is, mirrored = (
        np.maximum(_likeness(way), _likeness(way[:, ::-1, ::-1])) for way in (rasters, rasters[:, :, ::-1])
    )
    bare = _likeness(rasters, _slanting_strokes()) >= np.maximum(as_is, mirrored)
    return np.where(bare, 0.0, _margin(as_is, mirrored))


def sum_in_stds(margins: FloatArray) -> float:
    """Sum of margins in its own standard deviations."""
    spread = float(np.sqrt(np.square(margins).sum()))
    return float(margins.sum()) / spread if spread > 0 else 0.0


def _margin(one: FloatArray, other: FloatArray) -> FloatArray:
    """How much likelier one way is than the other, the less told the less either looks like a letter."""
    say = (np.maximum(one, other) - LEAST_LIKENESS) / (FULL_LIKENESS - LEAST_LIKENESS)
    return np.asarray((one - other) * np.clip(say, 0.0, 1.0), np.float64)


def normalised(parts: list[NDArray[np.float32]]) -> NDArray[np.float32]:
    """Bring pieces to the raster, each one's box stretched to the full square, blurred, mean 0 and norm 1."""
    inner = slice(RASTER_MARGIN, RASTER - RASTER_MARGIN)
    framed = np.zeros((len(parts), RASTER, RASTER), np.float32)
    for n, part in enumerate(parts):
        framed[n, inner, inner] = cv2.resize(part, (RASTER - 2 * RASTER_MARGIN,) * 2, interpolation=cv2.INTER_AREA)
    blur = cv2.GaussianBlur(np.eye(RASTER, dtype=np.float32), (1, BLUR_TAPS), BLUR_PX)
    blurred = blur @ framed @ blur.T
    centred = blurred - blurred.mean(axis=(1, 2), keepdims=True)
    norm = np.linalg.norm(centred.reshape(len(parts), RASTER * RASTER), axis=1)[:, None, None]
    return np.asarray(centred / np.maximum(norm, 1e-6), np.float32)


def _likeness(rasters: NDArray[np.float32], templates: NDArray[np.float32] | None = None) -> FloatArray:
    """Correlation of each piece with the best template, of the alphabet where no others are given."""
    templates = _alphabet() if templates is None else templates
    flat = rasters.reshape(len(rasters), RASTER * RASTER)
    return np.asarray((flat @ templates.T).max(axis=1, initial=-1.0), np.float64)


@lru_cache(maxsize=1)
def _alphabet() -> NDArray[np.float32]:
    """All letters, upright and inclined, as rows of normalised rasters."""
    text = resources.files("calibrate").joinpath("alphabet.toml").read_text(encoding="utf-8")
    glyphs: dict[str, list[list[list[float]]]] = tomllib.loads(text)["strokes"]
    return np.array([_drawn(glyph, slant).ravel() for glyph in glyphs.values() for slant in SLANTS], np.float32)


@lru_cache(maxsize=1)
def _slanting_strokes() -> NDArray[np.float32]:
    """A stroke that leans to the right, and one to the left, as rows of normalised rasters."""
    glyphs = [[[[0.0, y], [GRID_HEIGHT, GRID_HEIGHT - y]]] for y in (0.0, GRID_HEIGHT)]
    return np.array([_drawn(glyph, 0.0).ravel() for glyph in glyphs], np.float32)


def _drawn(glyph: list[list[list[float]]], slant: float) -> NDArray[np.float32]:
    strokes = [np.array(stroke, np.float64) for stroke in glyph]
    placed = [np.column_stack([s[:, 0] + slant * s[:, 1], GRID_HEIGHT - s[:, 1]]) for s in strokes]
    points = np.vstack(placed)
    low, high = points.min(axis=0), points.max(axis=0)
    pen = DRAWN_SCALE * 0.7
    size = np.ceil((high - low) * DRAWN_SCALE + pen).astype(int) + 1
    picture = np.zeros((int(size[1]), int(size[0])), np.uint8)
    for stroke in placed:
        pixels = np.round((stroke - low) * DRAWN_SCALE + pen / 2).astype(np.int32)
        cv2.polylines(picture, [pixels], False, 255, int(pen), cv2.LINE_8)
    (raster,) = normalised([picture.astype(np.float32)])
    return np.asarray(raster, np.float32)
