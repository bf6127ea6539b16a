"""Where the scanner or camera saw the sheet: turns, scales and perspectives as one homography."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samples.bends import Camera, Eye, matrix_of
from samples.truth import project

FloatArray = NDArray[np.float64]

MM_PER_INCH = 25.4
QUARTERS = (0, 90, 180, 270)
LENS = 1.3  # height of a camera over the sheet, as a part of the sheet's longer side: a lens of normal length


def _matrix(a: float, b: float, c: float, d: float, e: float, f: float) -> FloatArray:
    return np.array([[a, b, c], [d, e, f], [0.0, 0.0, 1.0]])


@dataclass(frozen=True)
class Geometry:
    """Turns and scales of one exposure."""

    dpi: float
    skew_deg: float = 0.0
    orientation_deg: int = 0
    shrink_percent: tuple[float, float] = (0.0, 0.0)
    pad_px: int = 0


def _turn(degrees: float) -> FloatArray:
    """Rotation that is counter-clockwise as seen, for x right, y down."""
    turn = np.radians(degrees)
    return _matrix(np.cos(turn), np.sin(turn), 0, -np.sin(turn), np.cos(turn), 0)


def _quarter(orientation_deg: int, width: int, height: int) -> tuple[FloatArray, tuple[int, int]]:
    """Clockwise quarter turns of a whole picture, exact in pixels, and its new size."""
    turns = {
        0: np.eye(3),
        90: _matrix(0, -1, height - 1, 1, 0, 0),
        180: _matrix(-1, 0, width - 1, 0, -1, height - 1),
        270: _matrix(0, 1, 0, -1, 0, width - 1),
    }
    size = (height, width) if orientation_deg in (90, 270) else (width, height)
    return turns[orientation_deg], size


def scan(paper: tuple[float, float], geometry: Geometry) -> tuple[FloatArray, tuple[int, int]]:
    """Homography of a flat-bed scan, and the picture's size.

    The upright picture is turned clockwise by ``orientation_deg``, so that as many degrees counter-clockwise set it
    upright again. ``skew_deg`` is counter-clockwise as seen.
    """
    k = geometry.dpi / MM_PER_INCH
    sx, sy = (k * (1 - s / 100) for s in geometry.shrink_percent)
    width, height = round(paper[0] * sx) + 2 * geometry.pad_px, round(paper[1] * sy) + 2 * geometry.pad_px
    upright = _matrix(sx, 0, -sx * paper[0] / 2, 0, -sy, sy * paper[1] / 2)
    centre = _matrix(1, 0, (width - 1) / 2, 0, 1, (height - 1) / 2)
    quarter, size = _quarter(geometry.orientation_deg, width, height)
    return quarter @ centre @ _turn(geometry.skew_deg) @ upright, size


def _tilted(tilts_deg: tuple[float, float, float]) -> FloatArray:
    ax, ay, roll = np.radians(tilts_deg)
    about_x = np.array([[1, 0, 0], [0, np.cos(ax), -np.sin(ax)], [0, np.sin(ax), np.cos(ax)]])
    about_y = np.array([[np.cos(ay), 0, np.sin(ay)], [0, 1, 0], [-np.sin(ay), 0, np.cos(ay)]])
    turn = np.array([[np.cos(roll), np.sin(roll), 0], [-np.sin(roll), np.cos(roll), 0], [0, 0, 1]])
    return np.asarray(about_x @ about_y @ turn, np.float64)


def eye_over(paper: tuple[float, float], tilts_deg: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Eye:
    """Where the camera of `photograph`, or one straight over the sheet's middle, stands."""
    x, y, z = -_tilted(tilts_deg).T @ [0.0, 0.0, LENS * max(paper)]
    return Eye(paper[0] / 2 + float(x), paper[1] / 2 - float(y), -float(z))


def photograph(
    paper: tuple[float, float], dpi: float, tilts_deg: tuple[float, float, float], pad: float = 0.06
) -> tuple[FloatArray, tuple[int, int]]:
    """Homography of a pinhole camera with square pixels, and the picture's size.

    ``tilts_deg`` turns the sheet about its x and y axes and in its own plane; ``dpi`` holds at its centre; the sheet
    keeps ``pad`` of its size of table round it.
    """
    k = dpi / MM_PER_INCH
    focal = LENS * k * max(paper)  # in pixels
    rotation = _tilted(tilts_deg)
    lens = np.diag([focal, focal, 1.0])
    plane = np.column_stack([rotation[:, 0], rotation[:, 1], [0, 0, focal / k]])
    upright = _matrix(1, 0, -paper[0] / 2, 0, -1, paper[1] / 2)
    to_lens = lens @ plane @ upright
    corners = project(to_lens, corners_of(paper))
    low, high = corners.min(axis=0), corners.max(axis=0)
    margin = pad * (high - low).max()
    size = (int(np.ceil(high[0] - low[0] + 2 * margin)), int(np.ceil(high[1] - low[1] + 2 * margin)))
    shift = _matrix(1, 0, margin - low[0], 0, 1, margin - low[1])
    whole = shift @ to_lens
    return whole / whole[2, 2], size


def corners_of(paper: tuple[float, float]) -> FloatArray:
    """Corners of the paper in mm, clockwise from the top left."""
    return np.array([[0, paper[1]], [paper[0], paper[1]], [paper[0], 0], [0, 0]], dtype=np.float64)


def pixels_per_mm(to_source: Camera) -> float:
    """Mean pixels per mm of paper of an exposure."""
    return float(abs(np.linalg.det(matrix_of(to_source)[:2, :2])) ** 0.5)
