"""The camera that saw a flat sheet: its focal length, where its axis met the picture, and how sure both are.

The picture tells them through one thing alone, that level lines are square to upright ones on the sheet. What it leaves
open, a usual camera fills in, with a standard error that is carried on to the sheet's proportion.

Terms
-----
longer side
    Of the picture; lengths in the picture are told as parts of it.
focus
    Focal length in longer sides.
axis
    Where the lens's axis meets the picture, from the picture's middle, in longer sides.
stretch
    Log of the factor by which the flat frame must be drawn out along x so that both axes have one scale.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from calibrate.sheet import FloatArray

USUAL_FOCUS, FOCUS_SPREAD = 0.9, 0.35
"""Median focus of cameras for near things, and the spread of its log: 0.7 for a telephone, 1.4 for a lens of 50 mm on
film (no source)."""
STATED_FOCUS_SPREAD = 0.03
"""Spread of the log of a focus that the file states: focusing near draws the lens out by a few percent (no source)."""
AXIS_STD = 0.02
"""The axis lies so near the middle: lenses are centred to about one percent, pictures are cut a little (no source)."""
SQUARE_STD = 3e-4
"""Cosine of the angle between a sheet's level and upright lines, as they are found and as they were drawn."""
STEP = 1e-5


@dataclass(frozen=True)
class Camera:
    """A camera as a flat sheet's homography tells it.

    Attributes
    ----------
    focus : float
    axis : ndarray, float64, shape (2,)
    stretch, stretch_std : float
        The sheet's stretch, and its standard error.
    """

    focus: float
    axis: FloatArray
    stretch: float
    stretch_std: float


def camera_of(source_from_flat: FloatArray, shape: tuple[int, ...], stated_focus: float | None = None) -> Camera:
    """Find the likeliest camera with square pixels, and the sheet's stretch that goes with it.

    Parameters
    ----------
    source_from_flat : ndarray, float64, shape (3, 3)
        From a frame in which level and upright lines are square, scales on its axes unknown.
    shape : tuple of int
        Height and width of the source.
    stated_focus : float, optional
        As the file states it.

    Notes
    -----
    With K the camera's matrix, the columns h1 and h2 of a plane's homography have K^-1 h1 square to K^-1 h2, and
    lengths in the proportion of the plane's scales (Zhang, A flexible new technique for camera calibration, 2000, from
    memory; checked in the tests by projecting rectangles). Log focus and axis are found by least squares from that and
    what is usual; the standard error is that of the stretch under their covariance.
    """
    centred = _centred(source_from_flat, shape)
    lengths = np.linalg.norm(centred[:, :2], axis=0)
    columns = centred[:, :2] / lengths
    known, spread = _beforehand(stated_focus)

    def misfit(terms: FloatArray) -> FloatArray:
        across, down = _seen(columns, terms).T
        cosine = float(across @ down) / float(np.linalg.norm(across) * np.linalg.norm(down))
        return np.array([(terms[0] - np.log(known)) / spread, *(terms[1:] / AXIS_STD), cosine / SQUARE_STD])

    def stretch(terms: FloatArray) -> float:
        across, down = np.linalg.norm(_seen(columns, terms), axis=0) * lengths
        return float(np.log(across / down))

    fit = least_squares(misfit, np.array([np.log(known), 0.0, 0.0]))
    terms, jacobian = np.asarray(fit.x, np.float64), np.asarray(fit.jac, np.float64)
    covariance = np.linalg.inv(jacobian.T @ jacobian)
    slope = np.array([(stretch(terms + step) - stretch(terms - step)) / (2 * STEP) for step in STEP * np.eye(3)])
    std = float(np.sqrt(slope @ covariance @ slope))
    return Camera(float(np.exp(terms[0])), terms[1:], stretch(terms), std)


def _beforehand(stated_focus: float | None) -> tuple[float, float]:
    """The likeliest focus, and the spread of its log."""
    return (USUAL_FOCUS, FOCUS_SPREAD) if stated_focus is None else (stated_focus, STATED_FOCUS_SPREAD)


def eye_over(
    source_from_flat: FloatArray, source_shape: tuple[int, ...], stated_focus: float | None = None
) -> tuple[FloatArray, float, float]:
    """Foot of the camera's eye on a sheet, shape (2,), its height over it, in pixels of the flat frame, and the
    standard error of the height's log.

    Parameters
    ----------
    source_from_flat : ndarray, float64, shape (3, 3)
    source_shape : tuple of int
    stated_focus : float, optional
        As the file states it.

    Notes
    -----
    The height goes with the focal length; what the picture itself tells of that hangs on a sheet that lies flat.
    """
    camera = camera_of(source_from_flat, source_shape, stated_focus)
    seen = _seen(_centred(source_from_flat, source_shape), np.array([np.log(camera.focus), *camera.axis]))
    across, down = seen[:, 0], seen[:, 1]
    eye = -np.linalg.solve(np.column_stack([across, down, np.cross(across, down)]), seen[:, 2])
    scale = np.sqrt(np.linalg.norm(across) * np.linalg.norm(down))
    return np.asarray(eye[:2], np.float64), abs(float(eye[2] * scale)), _beforehand(stated_focus)[1]


def _centred(source_from_flat: FloatArray, shape: tuple[int, ...]) -> FloatArray:
    """The homography to source coordinates about the picture's middle, in longer sides."""
    longer = float(max(shape[:2]))
    middle = (np.array([shape[1], shape[0]]) - 1) / 2
    onto = np.array([[1 / longer, 0, -middle[0] / longer], [0, 1 / longer, -middle[1] / longer], [0, 0, 1]])
    return np.asarray(onto @ source_from_flat, np.float64)


def _seen(columns: FloatArray, terms: FloatArray) -> FloatArray:
    """Columns of a centred homography, shape (3, N), as directions in the camera's own frame."""
    focus, (x, y) = np.exp(terms[0]), terms[1:]
    lens = np.array([[1 / focus, 0, -x / focus], [0, 1 / focus, -y / focus], [0, 0, 1]])
    return np.asarray(lens @ columns, np.float64)
