"""Letter-sized pieces of ink, and how well their shapes stand upright.

Nothing is read here. A piece is brought to a small square raster and compared with a stroke alphabet; the question is
only whether it resembles some letter more as it stands or upside down.
"""

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from calibrate.restoring.connected import connected_pieces
from calibrate.sheet import FloatArray, InkImage

SMALLEST_PENS, LARGEST_PENS = 5.0, 28.0
"""Heights of letters, in widths of the fine pen: about 1.5 to 8 mm of paper."""
SLENDEREST = 0.3
"""Short side over long side; slenderer pieces are dashes, ones and strokes."""
FULLEST = 0.75
"""Inked part of the box; fuller pieces are arrowheads and dots."""
NEIGHBOUR_SIZES = 1.6
"""The next letter of a word is nearer than this many heights, centre to centre."""
ALIKE = 0.6
"""Neighbouring letters have sizes within this ratio."""
LEAST_LIKENESS, FULL_LIKENESS = 0.72, 0.9
"""Correlation with the best letter below which a piece says nothing, and from which it has its full say."""
SURE_Z = 3.5
"""Standard deviations by which one way must win over another to count as told."""
MOST_LETTERS = 600
LOOK_PEN_PX = 2.5
"""Pieces are looked for at a reduction that leaves the pen about this wide."""
BAND_PX = 512
"""Rows looked at together; pictures of labels are four times the size of the ink."""
RASTER = 20
RASTER_MARGIN = 3
BLUR_PX, BLUR_TAPS = 1.2, 11
GRID_HEIGHT = 6.0
DRAWN_SCALE = 16
SLANTS = (0.0, 0.27)
"""Upright lettering and lettering inclined by 15 degrees (ISO 3098)."""


@dataclass(frozen=True)
class Letters:
    """Pieces that stand in a row with another: rasters (N, RASTER, RASTER) and along which axis their row lies."""

    rasters: NDArray[np.float32]
    in_level_row: NDArray[np.bool_]

    @property
    def level(self) -> NDArray[np.float32]:
        """Rasters of the letters in level rows."""
        return self.rasters[self.in_level_row]

    @property
    def upright(self) -> NDArray[np.float32]:
        """Rasters of the letters in upright rows, as whoever looks from the right sees them."""
        return np.rot90(self.rasters[~self.in_level_row], -1, axes=(1, 2))

    @property
    def read_along(self) -> NDArray[np.float32]:
        """Rasters of all letters, each as its row is read, or on its head."""
        return np.concatenate([self.level, self.upright])

    def mirrored(self) -> "Letters":
        """Exchange left and right."""
        return Letters(self.rasters[:, :, ::-1], self.in_level_row)


def find_letters(ink: InkImage, pen_px: float) -> Letters:
    """Find letter-sized pieces of ink that have a neighbour of the same size.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
    pen_px : float
    """
    step = max(1, int(pen_px / LOOK_PEN_PX))
    small = np.ascontiguousarray(ink[::step, ::step])
    bands = [_in_band(small, top, pen_px / step) for top in range(0, len(small), BAND_PX)]
    parts = [part for _, _, found in bands for part in found]
    stats, centres = np.concatenate([band[0] for band in bands]), np.concatenate([band[1] for band in bands])
    offset, has_neighbour = _to_neighbour(centres, stats)
    chosen, offset = np.flatnonzero(has_neighbour), offset[has_neighbour]
    if len(chosen) > MOST_LETTERS:
        every = np.linspace(0, len(chosen) - 1, MOST_LETTERS).astype(int)
        chosen, offset = chosen[every], offset[every]
    rasters = _normalised([parts[k].astype(np.float32) for k in chosen])
    level = np.abs(offset[:, 0]) > np.abs(offset[:, 1])
    return Letters(rasters, level)


def _in_band(ink: InkImage, top: int, pen_px: float) -> tuple[NDArray[np.int32], FloatArray, list[InkImage]]:
    """Letter-sized pieces whose highest row lies in one band of rows: stats, centres, and each piece in its box.

    The band is seen with a margin of the largest letter on both sides, so a piece that is cut off is none of them.
    """
    margin = int(np.ceil(LARGEST_PENS * pen_px)) + 1
    first = max(top - margin, 0)
    found = connected_pieces(ink[first : top + BAND_PX + margin])
    stats = found.stats
    highest = stats[:, cv2.CC_STAT_TOP] + first
    chosen = letter_sized(stats, pen_px)
    chosen = chosen[(highest[chosen] >= top) & (highest[chosen] < top + BAND_PX)]
    parts = [_part(found.labels, int(label), stats[label]) for label in chosen]
    return stats[chosen], found.centres[chosen] + [0, first], parts


def upright_margin(rasters: NDArray[np.float32]) -> FloatArray:
    """How much better each piece resembles a letter as it stands than upside down, shape (N,).

    A piece has the more to say the better it resembles any letter, and nothing where it resembles none.
    """
    return _margin(_likeness(rasters), _likeness(rasters[:, ::-1, ::-1]))


def true_margin(rasters: NDArray[np.float32]) -> FloatArray:
    """How much better each piece, standing or on its head, resembles a letter than in a mirror, shape (N,)."""
    as_is, mirrored = (
        np.maximum(_likeness(way), _likeness(way[:, ::-1, ::-1])) for way in (rasters, rasters[:, :, ::-1])
    )
    return _margin(as_is, mirrored)


def sum_in_stds(margins: FloatArray) -> float:
    """Sum of margins in its own standard deviations."""
    spread = float(np.sqrt(np.square(margins).sum()))
    return float(margins.sum()) / spread if spread > 0 else 0.0


def _margin(one: FloatArray, other: FloatArray) -> FloatArray:
    """How much likelier one way is than the other, the less told the less either looks like a letter."""
    say = (np.maximum(one, other) - LEAST_LIKENESS) / (FULL_LIKENESS - LEAST_LIKENESS)
    return np.asarray((one - other) * np.clip(say, 0.0, 1.0), np.float64)


def letter_sized(stats: NDArray[np.int32], pen_px: float) -> NDArray[np.intp]:
    """Choose pieces of a letter's size and build.

    Parameters
    ----------
    stats : ndarray, int32, shape (N, 5)
        Of connected components, the first one being the paper.
    pen_px : float

    Returns
    -------
    ndarray of int
        Their rows in ``stats``.
    """
    width, height = stats[:, cv2.CC_STAT_WIDTH], stats[:, cv2.CC_STAT_HEIGHT]
    longer, shorter = np.maximum(width, height), np.minimum(width, height)
    full = stats[:, cv2.CC_STAT_AREA] / np.maximum(width * height, 1)
    fits = (longer >= SMALLEST_PENS * pen_px) & (longer <= LARGEST_PENS * pen_px)
    fits &= (shorter >= SLENDEREST * longer) & (full <= FULLEST)
    fits[0] = False
    return np.flatnonzero(fits)


def _to_neighbour(centres: FloatArray, stats: NDArray[np.int32]) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Step (x, y) to the nearest piece of like size, and whether there is one near enough."""
    size = np.maximum(stats[:, cv2.CC_STAT_WIDTH], stats[:, cv2.CC_STAT_HEIGHT]).astype(np.float64)
    offset = np.zeros((len(centres), 2))
    found = np.zeros(len(centres), np.bool_)
    if len(centres) < 2:
        return offset, found
    distance, index = (np.asarray(found) for found in cKDTree(centres).query(centres, k=2))
    other = index[:, 1].astype(np.intp)
    alike = np.minimum(size, size[other]) >= ALIKE * np.maximum(size, size[other])
    found = alike & (distance[:, 1] <= NEIGHBOUR_SIZES * size)
    return centres[other] - centres, found


def _part(labels: NDArray[np.int32], label: int, stat: NDArray[np.int32]) -> InkImage:
    x, y, width, height = (int(v) for v in stat[:4])
    return np.asarray(labels[y : y + height, x : x + width] == label, np.bool_)


def _normalised(parts: list[NDArray[np.float32]]) -> NDArray[np.float32]:
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


def _likeness(rasters: NDArray[np.float32]) -> FloatArray:
    templates = _alphabet()
    flat = rasters.reshape(len(rasters), RASTER * RASTER)
    return np.asarray((flat @ templates.T).max(axis=1, initial=-1.0), np.float64)


@lru_cache(maxsize=1)
def _alphabet() -> NDArray[np.float32]:
    """All letters, upright and inclined, as rows of normalised rasters."""
    text = resources.files("calibrate").joinpath("alphabet.toml").read_text(encoding="utf-8")
    glyphs: dict[str, list[list[list[float]]]] = tomllib.loads(text)["strokes"]
    return np.array([_drawn(glyph, slant).ravel() for glyph in glyphs.values() for slant in SLANTS], np.float32)


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
    (raster,) = _normalised([picture.astype(np.float32)])
    return np.asarray(raster, np.float32)
