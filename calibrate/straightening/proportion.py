"""The proportion of a photographed sheet's sides: what the camera and the paper say of it, and how sure that is.

Straight lines bring a photograph back to squareness, but not to its proportion: that hangs on the focal length and on
where the lens's axis met the picture. The edges of a standard sheet tell it too. Both have standard errors and are
weighed by them; what stays open is told, and is what dimensions and circles start from.
"""

import numpy as np
from scipy.stats import norm

from calibrate.scaling.sizes import quad_sides_px, sheet_sizes
from calibrate.scaling.stretching import STRETCH_PRIOR
from calibrate.sheet import FloatArray, Proportion, apply_homography
from calibrate.straightening.camera import camera_of

PAPER_STD = 0.005
"""Standard error of a cut sheet's proportion, of its log: a millimetre or two on each side, and its edges as found."""
OWN_SHARE, OWN_RANGE = 0.3, 0.7
"""Share of sheets that were cut to no standard size, and the range of their proportion's log (no source)."""
BY_CAMERA = "by the camera alone"
BY_BOTH = "by the camera and the paper's edges"


def in_proportion(
    flat_from_source: FloatArray, shape: tuple[int, ...], quad: FloatArray | None, stated_focus: float | None
) -> tuple[FloatArray, Proportion]:
    """Stretch a rectified picture to the sheet's likeliest proportions.

    Parameters
    ----------
    flat_from_source : ndarray, float64, shape (3, 3)
        From the photograph to a frame in which level and upright lines are square, scales on both axes unknown.
    shape : tuple of int
        Of the photograph.
    quad : ndarray, float64, shape (4, 2), or None
        Corners of the paper in the photograph, clockwise from top left.
    stated_focus : float, optional
        Focal length over the longer side, as the file states it.

    Returns
    -------
    ndarray, float64, shape (3, 3)
        With x drawn out, so that a square, as it was drawn, is one.
    Proportion

    Notes
    -----
    The paper was cut and drawn on before it shrank, so its edges speak of what was drawn; the camera saw it shrunken.
    """
    camera = camera_of(np.asarray(np.linalg.inv(flat_from_source), np.float64), shape, stated_focus)
    stretch, std = camera.stretch, float(np.hypot(camera.stretch_std, STRETCH_PRIOR))
    if quad is not None:
        stretch, std = _with_paper(stretch, std, _paper_stretches(flat_from_source, quad))
    note = BY_CAMERA if quad is None else BY_BOTH
    return np.diag([np.exp(stretch), 1.0, 1.0]) @ flat_from_source, Proportion(std, note)


def _paper_stretches(matrix: FloatArray, quad: FloatArray) -> FloatArray:
    """The stretch that would give the paper the proportion of each standard size, lying and standing."""
    width, height = quad_sides_px(apply_homography(matrix, quad))
    ratios = np.array([size.long_mm / size.short_mm for size in sheet_sizes()])
    return np.concatenate([np.log(ratios * height / width), np.log(height / width / ratios)])


def _with_paper(seen: float, seen_std: float, standard: FloatArray) -> tuple[float, float]:
    """Mean and standard deviation of the stretch over all standard sizes, and none.

    Notes
    -----
    Of each size, equally likely beforehand, the stretch is normal about what would give the paper its proportion; of a
    sheet of no standard size the paper says nothing.
    """
    spread = np.hypot(seen_std, PAPER_STD)
    belief = (1 - OWN_SHARE) / len(standard) * norm.pdf(seen, standard, spread)
    belief = np.append(belief, OWN_SHARE / OWN_RANGE)
    belief /= belief.sum()
    share = seen_std**2 / spread**2
    means = np.append(seen + share * (standard - seen), seen)
    variances = np.append(np.full(len(standard), seen_std**2 * (1 - share)), seen_std**2)
    mean = float(belief @ means)
    return mean, float(np.sqrt(belief @ (variances + (means - mean) ** 2)))
