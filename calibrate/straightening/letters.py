"""Letter-sized pieces of ink that stand in rows, each brought to a small square raster (see `likeness`)."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from calibrate.restoring.connected import connected_pieces
from calibrate.sheet import FloatArray, InkImage
from calibrate.straightening.likeness import normalised

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
MOST_LETTERS = 600
LOOK_PEN_PX = 2.5
"""Pieces are looked for at a reduction that leaves the pen about this wide."""
BAND_PX = 512
"""Rows looked at together; pictures of labels are four times the size of the ink."""


@dataclass(frozen=True)
class Letters:
    """Pieces that stand in a row with another.

    Attributes
    ----------
    rasters : ndarray, float32, shape (N, RASTER, RASTER)
    in_level_row : ndarray, bool, shape (N,)
    row : ndarray, int, shape (N,)
        Number of each one's row.
    """

    rasters: NDArray[np.float32]
    in_level_row: NDArray[np.bool_]
    row: NDArray[np.intp]

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
        """Rasters of all letters, each as its row is read, or on its head; those in level rows first."""
        return np.concatenate([self.level, self.upright])

    @property
    def row_read(self) -> NDArray[np.intp]:
        """Numbers of the rows of `read_along`."""
        return np.concatenate([self.row[self.in_level_row], self.row[~self.in_level_row]])

    def mirrored(self) -> "Letters":
        """Exchange left and right."""
        return Letters(self.rasters[:, :, ::-1], self.in_level_row, self.row)


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
    level = np.abs(offset[:, 0]) > np.abs(offset[:, 1])
    row = _rows(centres[chosen], stats[chosen], level)
    if len(chosen) > MOST_LETTERS:
        every = np.linspace(0, len(chosen) - 1, MOST_LETTERS).astype(int)
        chosen, level, row = chosen[every], level[every], row[every]
    return Letters(normalised([parts[k].astype(np.float32) for k in chosen]), level, row)


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


def _rows(centres: FloatArray, stats: NDArray[np.int32], level: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Number of the row that each letter stands in: with others of its direction, one near the next."""
    size = stats[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(axis=1)
    if len(size) < 2:
        return np.arange(len(size))
    pairs = cKDTree(centres).query_pairs(NEIGHBOUR_SIZES * float(size.max()), output_type="ndarray")
    one, other = pairs[level[pairs[:, 0]] == level[pairs[:, 1]]].T
    apart = np.hypot(*(centres[one] - centres[other]).T)
    near = apart <= NEIGHBOUR_SIZES * np.minimum(size[one], size[other])
    links = coo_matrix((near[near], (one[near], other[near])), shape=(len(size), len(size)))
    return np.asarray(connected_components(links, directed=False)[1], np.intp)


def _part(labels: NDArray[np.int32], label: int, stat: NDArray[np.int32]) -> InkImage:
    x, y, width, height = (int(v) for v in stat[:4])
    return np.asarray(labels[y : y + height, x : x + width] == label, np.bool_)
