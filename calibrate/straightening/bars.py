"""Long level pieces of ink, found on a levelled copy and measured on the original grey."""

from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from calibrate.medians import median
from calibrate.restoring.connected import connected_pieces
from calibrate.sheet import FloatArray, GreyImage, InkImage, apply_homography
from calibrate.transforms import quarter_turn

SHORTEST_PENS, SHORTEST_SHARE = 67.0, 0.05
"""Bars shorter than this many pens (20 mm), or this part of the picture's longer side, say too little of the angle."""
UNBROKEN_SHARE = 1 / 3
"""Part of its least length that a bar runs without a break; longer than the straight parts of letters."""
BRIDGE_SHARE = 0.1
"""Breaks up to this part of the least length, where lettering or a crossing interrupts a line, are bridged."""
COLUMN_SHARE = 1 / 16
"""Runs are looked for in whole pieces of this part of their least length."""
THICKEST_PENS = 5.0
"""Broad lines are twice or thrice as wide as the fine ones that the pen's width stands for."""
MOST_BARS = 400
MOST_COLUMNS = 1500
"""Columns measured on one bar; more add nothing to the angle."""
REACH_PENS = 2.5
"""Half-height of the window in which a column's centre is taken: a broad line fits in."""
GROUND_SAMPLES, GROUND_COLUMNS = 3, 41
"""The ground beside a bar is the lightest of so many outer samples, averaged over so many columns, on each side."""
WIDTH_TOLERANCE = 0.35
"""Columns whose inked width strays from the bar's own by more than this are crossings or touching lettering."""
BOW_PENS, BOW_DEGREE = 0.75, 6
"""A piece that strays from its straight line by more than the first is followed along a curve of the second degree."""
BOW_POINTS = 40
TRACK_POINTS = 32
"""Points kept along a bar, each the middle of as many columns."""
FIT_ROUNDS = 4
OUTLIER_SIGMAS = 2.5
SMALLEST_SIGMA_PX = 0.05
MEDIAN_OVER_MEAN = (np.pi / 2) ** 0.5
"""Standard error of a median over that of a mean, of normal errors."""
FEWEST_COLUMNS = 20


@dataclass(frozen=True)
class Bars:
    """Measured bars.

    Attributes
    ----------
    ends : ndarray, float64, shape (N, 2, 2)
        First and last point (x, y) of each centre line.
    std_deg : ndarray, float64, shape (N,)
        Standard error of each angle.
    tracks : ndarray, float64, shape (N, TRACK_POINTS, 2)
        Points (x, y) along each centre line as it was found, bowed or not; empty where nobody measured them.
    track_std_px : ndarray, float64, shape (N,)
        Standard error of a track's points across it.
    """

    ends: FloatArray
    std_deg: FloatArray
    tracks: FloatArray = field(default_factory=lambda: np.empty((0, TRACK_POINTS, 2)))
    track_std_px: FloatArray = field(default_factory=lambda: np.empty(0))

    @property
    def count(self) -> int:
        """Number of bars."""
        return len(self.ends)

    @property
    def angle_deg(self) -> FloatArray:
        """Turn of each bar from its axis, counter-clockwise as seen, shape (N,); between -45 and 45."""
        along = self.ends[:, 1] - self.ends[:, 0]
        turned = np.degrees(np.arctan2(-along[:, 1], along[:, 0]))
        return np.asarray((turned + 45.0) % 90.0 - 45.0, np.float64)

    @property
    def length_px(self) -> FloatArray:
        """Length of each bar, shape (N,)."""
        return np.asarray(np.linalg.norm(self.ends[:, 1] - self.ends[:, 0], axis=1), np.float64)

    def joined(self, other: "Bars") -> "Bars":
        """Give the bars of both."""
        return Bars(
            np.concatenate([self.ends, other.ends]),
            np.concatenate([self.std_deg, other.std_deg]),
            np.concatenate([self.tracks, other.tracks]),
            np.concatenate([self.track_std_px, other.track_std_px]),
        )

    def mapped(self, homography: FloatArray) -> "Bars":
        """Carry the points into another frame; standard errors stay as they are."""
        ends = apply_homography(homography, self.ends.reshape(-1, 2)).reshape(self.ends.shape)
        tracks = apply_homography(homography, self.tracks.reshape(-1, 2)).reshape(self.tracks.shape)
        return Bars(ends, self.std_deg, tracks, self.track_std_px)


@dataclass(frozen=True)
class Bar:
    """Points (x, y) along a bar's centre line, x growing, to about a pixel; shape (K, 2), K at least 2."""

    path: FloatArray


def find_bars(ink: InkImage, coarse_deg: float, pen_px: float) -> list[Bar]:
    """Find nearly level bars.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
    coarse_deg : float
        Skew, known to about 0.1 degrees.
    pen_px : float

    Returns
    -------
    list of Bar
        In the pixels of ``ink``, longest first.
    """
    slope = float(np.tan(np.radians(coarse_deg)))
    bars = []
    for path in _level_pieces(sheared(ink.view(np.uint8), slope), pen_px):
        path[:, 1] -= slope * path[:, 0] + _fall(slope, ink.shape[1])
        bars.append(Bar(path))
    return sorted(bars, key=lambda bar: float(bar.path[0, 0] - bar.path[-1, 0]))[:MOST_BARS]


def sheared(image: GreyImage, slope: float) -> GreyImage:
    """Slide columns down by ``slope`` to the right, and all by `_fall`: sheared instead of turned, they stay columns.

    Columns that slide by as many whole pixels go together, in a third of the time that OpenCV takes for each pixel.
    """
    height, width = image.shape
    slide = np.rint(slope * np.arange(width) + _fall(slope, width)).astype(np.intp)
    starts = np.flatnonzero(np.diff(slide, prepend=slide[0] - 1))
    level = np.zeros((height + int(slide.max()), width), np.uint8)
    for first, last in zip(starts, [*starts[1:], width], strict=True):
        level[slide[first] : slide[first] + height, first:last] = image[:, first:last]
    return level


def _fall(slope: float, width: int) -> float:
    """Pixels by which all columns slide down so that none slides beyond the top."""
    return max(0.0, -slope * (width - 1))


def _level_pieces(level: GreyImage, pen_px: float) -> list[FloatArray]:
    """Centre lines of long thin pieces in a levelled picture, each as in `Bar`."""
    shortest = max(SHORTEST_PENS * pen_px, SHORTEST_SHARE * max(level.shape))
    unbroken = max(3, round(UNBROKEN_SHARE * shortest))
    step = max(1, int(COLUMN_SHARE * unbroken))
    runs = _all_inked(level, step)
    kept = cv2.morphologyEx(runs, cv2.MORPH_OPEN, np.ones((1, max(1, unbroken // step - 1)), np.uint8))
    bridge = np.ones((1, max(1, round(BRIDGE_SHARE * shortest / step))), np.uint8)
    joined = cv2.morphologyEx(kept, cv2.MORPH_CLOSE, bridge)
    found = connected_pieces(np.asarray(joined, np.uint8).view(np.bool_))
    pieces = []
    for label in range(1, len(found.stats)):
        x, y, width, height, area = (int(v) for v in found.stats[label])
        if width * step < shortest or area > THICKEST_PENS * pen_px * width:
            continue
        part = found.labels[y : y + height, x : x + width] == label
        middle = y + (part * np.arange(height)[:, None]).sum(axis=0) / np.maximum(part.sum(axis=0), 1)
        along = np.asarray(step * (np.arange(width) + 0.5), np.float64)
        pieces.append(np.add(_path(along, np.asarray(middle, np.float64), BOW_PENS * pen_px), [step * x, 0.0]))
    return pieces


def _path(x: FloatArray, y: FloatArray, bow_px: float) -> FloatArray:
    """Ends of the straight line through points, or points along a curve where they stray from it by ``bow_px``."""
    first, last = 0.0, float(x[0] + x[-1]) - 1
    centred = x - x.mean()
    slope = float(centred @ y / (centred @ centred))
    offset = float(y.mean()) - slope * float(x.mean())
    ends = np.array([[first, offset], [last, offset + slope * last]])
    if len(x) <= 2 * BOW_DEGREE or np.abs(y - offset - slope * x).max() <= bow_px:
        return ends
    curve = np.polynomial.Polynomial.fit(x, y, BOW_DEGREE)
    along = np.linspace(x[0], x[-1], BOW_POINTS)
    bowed = np.column_stack([along, curve(along)])
    return bowed if np.abs(bowed[:, 1] - offset - slope * along).max() > bow_px else ends


def _all_inked(level: GreyImage, step: int) -> GreyImage:
    """Tell of each row's pieces, ``step`` pixels long, whether they are ink throughout, shape (H, W // step)."""
    throughout = cv2.erode(level, np.ones((1, step), np.uint8))
    return np.ascontiguousarray(throughout[:, step // 2 : level.shape[1] // step * step : step], np.uint8)


def measure_bars(grey: GreyImage, bars: list[Bar], pen_px: float) -> Bars:
    """Measure each bar's angle on the grey.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)
        Paper 255, full ink 0.
    bars : list of Bar
    pen_px : float

    Returns
    -------
    Bars
        Those that could be measured.
    """
    found = [one for one in (_measured(grey, bar, pen_px) for bar in bars) if one is not None]
    return Bars(
        np.array([one[0][:4] for one in found], np.float64).reshape(-1, 2, 2),
        np.array([one[0][4] for one in found], np.float64),
        np.array([one[1] for one in found], np.float64).reshape(-1, TRACK_POINTS, 2),
        np.array([one[2] for one in found], np.float64),
    )


def _measured(grey: GreyImage, bar: Bar, pen_px: float) -> tuple[tuple[float, ...], FloatArray, float] | None:
    """End points of one bar and the standard error of its angle, its track and the standard error of that.

    None where the line is too ragged to fit.
    """
    x, middle, width = _columns(grey, bar, pen_px)
    typical = median(width) if len(width) else 0.0
    clean = np.abs(width - typical) <= WIDTH_TOLERANCE * typical
    fitted = _fitted(x[clean], middle[clean])
    return None if fitted is None else (fitted, *_track(x[clean], middle[clean]))


def _track(x: FloatArray, y: FloatArray) -> tuple[FloatArray, float]:
    """Medians of equal shares of the columns, shape (TRACK_POINTS, 2), and their standard error."""
    share = max(1, len(x) // TRACK_POINTS)
    lower, upper = (share - 1) // 2, share // 2
    chosen = np.linspace(0, len(x) - 1, share * TRACK_POINTS).round().astype(np.intp)
    columns = np.column_stack([x, y])[chosen].reshape(TRACK_POINTS, share, 2)
    points = np.asarray(np.partition(columns, (lower, upper), axis=1)[:, [lower, upper]].mean(axis=1), np.float64)
    spread = median(np.abs(columns[:, :, 1] - points[:, None, 1]).ravel())
    return points, max(1.4826 * MEDIAN_OVER_MEAN * spread, SMALLEST_SIGMA_PX) / share**0.5


def _columns(grey: GreyImage, bar: Bar, pen_px: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """For columns along a bar: x, the centre of its darkness, and its inked width, in pixels."""
    x0, x1 = int(np.ceil(bar.path[0, 0])), int(np.floor(bar.path[-1, 0]))
    x = np.arange(x0, x1 + 1, max(1, (x1 - x0) // MOST_COLUMNS))
    expected = np.interp(x, bar.path[:, 0], bar.path[:, 1])
    reach = int(np.ceil(REACH_PENS * pen_px))
    nearest = np.round(expected).astype(np.intp)
    inside = (nearest >= reach) & (nearest < grey.shape[0] - reach) & (x >= 0) & (x < grey.shape[1])
    x, nearest = x[inside], nearest[inside]
    steps = np.arange(-reach, reach + 1)
    darkness = _without_ground(255.0 - grey[nearest + steps[:, None], x], steps)
    total = darkness.sum(axis=0)
    middle = nearest + steps @ darkness / np.maximum(total, 1.0)
    return x.astype(np.float64), middle, total / 255.0


def _without_ground(darkness: FloatArray, steps: NDArray[np.intp]) -> FloatArray:
    """Take off what stains and shadows add on either side: unequal sides would pull the centre."""
    above, below = (
        uniform_filter1d(side.min(axis=0), GROUND_COLUMNS, mode="nearest")
        for side in (darkness[:GROUND_SAMPLES], darkness[-GROUND_SAMPLES:])
    )
    share = np.where(steps < 0, 0.0, np.where(steps > 0, 1.0, 0.5))[:, None]
    return np.asarray(np.maximum(darkness - (above * (1 - share) + below * share), 0.0), np.float64)


def _fitted(x: FloatArray, y: FloatArray) -> tuple[float, ...] | None:
    """Straight line through columns: end points x0, y0, x1, y1 and the angle's standard error in degrees."""
    sigma = np.inf
    for _ in range(FIT_ROUNDS):
        if len(x) < FEWEST_COLUMNS:
            return None
        centre = x.mean()
        across = np.square(x - centre).sum()
        slope = float(((x - centre) * y).sum() / across)
        residual = y - y.mean() - slope * (x - centre)
        sigma = max(1.4826 * median(np.abs(residual)), SMALLEST_SIGMA_PX)
        keep = np.abs(residual) <= OUTLIER_SIGMAS * sigma
        if keep.all():
            break
        x, y = x[keep], y[keep]
    first, last = float(x.min()), float(x.max())
    at = float(y.mean()) - slope * float(x.mean())
    return first, at + slope * first, last, at + slope * last, float(np.degrees(sigma / across**0.5))


def find_and_measure(grey: GreyImage, ink: InkImage, coarse_deg: float, pen_px: float) -> tuple[Bars, Bars]:
    """Find and measure the level and the upright bars of a picture, in its own pixels.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)
        Paper 255, full ink 0.
    ink : ndarray, bool, shape (H, W)
    coarse_deg : float
    pen_px : float

    Returns
    -------
    tuple of Bars
        Level ones, upright ones.
    """
    level = measure_bars(grey, find_bars(ink, coarse_deg, pen_px), pen_px)
    # A quarter turn clockwise makes upright lines level and leaves the skew as it is.
    turned_ink = np.asarray(cv2.rotate(ink.view(np.uint8), cv2.ROTATE_90_CLOCKWISE), np.uint8).view(np.bool_)
    turned = measure_bars(np.rot90(grey, -1), find_bars(turned_ink, coarse_deg, pen_px), pen_px)
    back = quarter_turn(turned_ink.shape[0], turned_ink.shape[1], 1)
    return level, turned.mapped(back)
