"""Long level or upright pieces of ink as they were measured."""

from dataclasses import dataclass, field

import numpy as np

from calibrate.sheet import FloatArray, apply_homography

TRACK_POINTS = 32
"""Points kept along a bar, each the middle of as many columns."""


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
