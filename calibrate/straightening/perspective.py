"""The perspective of a photographed sheet, and the map that takes it off.

Two witnesses: the four edges of the paper, where they lie inside the picture, give the map roughly; the long drawn
lines, level ones among themselves parallel and upright ones too, give what is left of it. A flat scan has neither
converging edges nor converging lines, and is left alone.

Terms
-----
convergence
    Degrees by which opposite sides of the whole picture would fail to be parallel: the size of a perspective.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from calibrate.quad import convergence_deg, has_parallel_sides
from calibrate.restoring.moving import moved
from calibrate.sheet import FloatArray, GreyImage, InkImage, Proportion, apply_homography
from calibrate.straightening import two_turns
from calibrate.straightening.bar_measuring import find_and_measure
from calibrate.straightening.bars import Bars
from calibrate.straightening.proportion import in_proportion
from calibrate.straightening.skew import Ruled, find_ruled
from calibrate.straightening.vanishing import family_of, meetings

LINE_SCALE_DEG = 0.05
"""Misfit at which the longest line at first starts to count as drawn slanting."""
LEAST_STRAY_PX = 0.05
"""Straying of a line's end against its beginning that no measured line is freed of."""
MEASURED_FACTOR = 2.0
"""A line's straying along itself goes on over many columns, so that its angle is less sure than single columns say."""


@dataclass(frozen=True)
class Limits:
    """Convergence of lines in degrees, and in its standard errors, below which they are taken for parallel.

    ``one_or_two`` is True where two sheets at turns of their own are to be thought of; ``fewest_bars`` is the number of
    lines each way that have a say.
    """

    least_deg: float
    least_z: float
    one_or_two: bool = True
    fewest_bars: int = 4


FINDING = Limits(0.4, 8.0)
"""Where lines alone speak of a photograph: stretched paper may show a tenth of it on a flat scan."""
FINDING_ON_TABLE = Limits(0.12, 8.0)
"""Where the edges of the paper lie in the picture too, a camera looking almost straight down is likelier."""
REFINING = Limits(0.0, 0.0, one_or_two=False, fewest_bars=3)
"""Where the edges of the paper have shown that there is one: they are cut and found less well than lines are drawn."""


@dataclass(frozen=True)
class Flat:
    """Images without perspective, the lines measured on them, the homography to them from the pictures before.

    ``proportion`` is None where there was no perspective: the images are then the ones given.
    """

    grey: GreyImage
    ink: InkImage
    ruled: Ruled
    matrix: FloatArray
    proportion: Proportion | None = None

    @property
    def rectified(self) -> bool:
        """Whether there was a perspective at all."""
        return self.proportion is not None


def flatten_perspective(
    grey: GreyImage, ink: InkImage, quad: FloatArray | None, pen_px: float, stated_focus: float | None = None
) -> Flat:
    """Take the perspective off a photographed sheet.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)
        Paper 255, full ink 0.
    ink : ndarray, bool, shape (H, W)
    quad : ndarray, float64, shape (4, 2), or None
        Corners of the paper, clockwise from top left.
    pen_px : float
    stated_focus : float, optional
        Focal length over the picture's longer side, as the file states it.

    Returns
    -------
    Flat
    """

    def warped(homography: FloatArray, *, roughly: bool) -> tuple[Proportion, FloatArray, GreyImage, InkImage]:
        matrix, proportion = in_proportion(homography, grey.shape, quad, stated_focus)
        extent = _corners(grey.shape) if quad is None else quad
        return proportion, *_warped(grey, ink, matrix, extent, pen_px, roughly=roughly)

    flat: tuple[Proportion | None, FloatArray, GreyImage, InkImage] = None, np.eye(3), grey, ink
    by_edges = quad is not None and not has_parallel_sides(quad)
    if quad is not None and by_edges:
        flat = warped(from_quad(quad), roughly=True)
    proportion, matrix, seen_grey, seen_ink = flat
    ruled = find_ruled(seen_grey, seen_ink, pen_px)
    limits = REFINING if by_edges else FINDING if quad is None else FINDING_ON_TABLE
    finer = from_lines(ruled.level, ruled.upright, seen_grey.shape, limits)
    if finer is None:
        if quad is not None and by_edges:
            _, _, seen_grey, seen_ink = warped(from_quad(quad), roughly=False)
        return Flat(seen_grey, seen_ink, ruled, matrix, proportion)
    if by_edges and _convergence_deg(finer @ matrix, grey.shape) < FINDING_ON_TABLE.least_deg:
        # What looked like the paper's edge was none: the drawn lines lie flat.
        return Flat(grey, ink, find_ruled(grey, ink, pen_px), np.eye(3))
    proportion, matrix, seen_grey, seen_ink = warped(finer @ matrix, roughly=False)
    ruled = Ruled(0.0, *find_and_measure(seen_grey, seen_ink, 0.0, pen_px), pen_px)  # the map has made them level
    return Flat(seen_grey, seen_ink, ruled, matrix, proportion)


def from_quad(quad: FloatArray) -> FloatArray:
    """Homography that brings a sheet's corners, clockwise from top left, shape (4, 2), to a unit square."""
    square = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], np.float32)
    return np.asarray(cv2.getPerspectiveTransform(quad.astype(np.float32), square), np.float64)


def from_lines(level: Bars, upright: Bars, shape: tuple[int, ...], limits: Limits) -> FloatArray | None:
    """Homography that makes level lines parallel to the x axis, and upright ones to the y axis.

    Parameters
    ----------
    level, upright : Bars
    shape : tuple of int
        Of the picture.
    limits : Limits
        Below which the picture counts as flat.

    Returns
    -------
    ndarray, float64, shape (3, 3), or None
        None where there are too few lines, or where they hardly converge.
    """
    if min(level.count, upright.count) < limits.fewest_bars:
        return None
    normal = _normalising(shape)
    # Upright lines are level ones with the axes exchanged.
    across, up = (
        family_of(_ends(bars, normal)[..., order], MEASURED_FACTOR * bars.std_deg)
        for bars, order in ((level, (0, 1)), (upright, (1, 0)))
    )
    first = np.radians(LINE_SCALE_DEG) * max(float(across.length.max()), float(up.length.max()))
    met = meetings((across, up), LEAST_STRAY_PX * normal[0, 0], first)
    (turn, convergence), (other_turn, other_convergence) = met.terms
    rectifier = _rectifier(np.array([1, turn, convergence]), np.array([other_turn, 1, other_convergence]))
    homography = np.linalg.inv(normal) @ rectifier @ normal
    if met.z < limits.least_z or _convergence_deg(homography, shape) < limits.least_deg:
        return None
    return None if limits.one_or_two and two_turns.explain(across, up, met) else homography


def _ends(bars: Bars, normal: FloatArray) -> FloatArray:
    return apply_homography(normal, bars.ends.reshape(-1, 2)).reshape(-1, 2, 2)


def _normalising(shape: tuple[int, ...]) -> FloatArray:
    """Map of pixels to coordinates about the middle, the half diagonal being 1."""
    middle = (np.array([shape[1], shape[0]]) - 1) / 2
    half = float(np.hypot(*middle))
    return np.array([[1 / half, 0, -middle[0] / half], [0, 1 / half, -middle[1] / half], [0, 0, 1]])


def _rectifier(level: FloatArray, upright: FloatArray) -> FloatArray:
    """Homography that brings the vanishing points of level and upright lines to the ends of the axes."""
    horizon = np.cross(level, upright)
    tilts = np.array([[1, 0, 0], [0, 1, 0], horizon / horizon[2]])
    axes = np.column_stack([(tilts @ point)[:2] for point in (level, upright)])
    square = np.eye(3)
    square[:2, :2] = np.linalg.inv(axes / np.linalg.norm(axes, axis=0))
    return np.asarray(square @ tilts, np.float64)


def _corners(shape: tuple[int, ...]) -> FloatArray:
    height, width = shape[:2]
    return np.array([[0.0, 0], [width - 1, 0], [width - 1, height - 1], [0, height - 1]])


def _convergence_deg(homography: FloatArray, shape: tuple[int, ...]) -> float:
    return convergence_deg(apply_homography(homography, _corners(shape)))


def _warped(
    grey: GreyImage, ink: InkImage, homography: FloatArray, extent: FloatArray, pen_px: float, *, roughly: bool
) -> tuple[FloatArray, GreyImage, InkImage]:
    """Warp both images, matrix first, so that the figure ``extent`` fills the new picture, at its middle's scale."""
    matrix = _at_own_scale(homography, grey.shape)
    corners = apply_homography(matrix, extent)
    placed = np.eye(3)
    placed[:2, 2] = -corners.min(axis=0)
    matrix = placed @ matrix
    width, height = (int(np.ceil(side)) + 1 for side in np.ptp(corners, axis=0))
    return matrix, *moved(grey, ink, matrix, (height, width), pen_px, roughly=roughly)


def _at_own_scale(homography: FloatArray, shape: tuple[int, ...]) -> FloatArray:
    """Scale a homography so that it keeps areas at the picture's middle."""
    middle = (np.array([shape[1], shape[0]]) - 1) / 2
    around = apply_homography(homography, middle + np.array([[0.0, 0], [1, 0], [0, 1]]))
    across, down = around[1] - around[0], around[2] - around[0]
    area = abs(float(across[0] * down[1] - across[1] * down[0]))
    return np.diag([area**-0.5, area**-0.5, 1.0]) @ homography
