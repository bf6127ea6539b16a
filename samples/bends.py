"""Paper that doesn't lie flat: a sheet curled like part of a cylinder, or standing up along a fold.

The sheet is bent, never stretched: along it every distance stays. What the eye sees of a raised point lies further off
from the foot of the eye than the point itself, and the slopes are foreshortened.

Glossary
--------
across
    Distance along the flat sheet, square to the lines that stay straight (the cylinder's, or the crease).
eye
    The lens: its foot on the flat paper, and its height over it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Rng = np.random.Generator
CURL, FOLD = "curl", "fold"
KINDS = (CURL, FOLD)
CURL_HEIGHT_MM, FOLD_HEIGHT_MM = (4.0, 10.0), (2.0, 6.0)
FOLD_WIDTH_MM = (40.0, 90.0)
LEAN_DEG = 8.0
FOLD_PLACE = (0.3, 0.7)
STEPS = 4000


@dataclass(frozen=True)
class Eye:
    """Foot of the lens on the flat paper, mm from the lower left corner, and its height over it."""

    x_mm: float
    y_mm: float
    height_mm: float


@dataclass(frozen=True)
class Bend:
    """How a sheet bends.

    Attributes
    ----------
    kind : str
        "curl": half a wave of height over the sheet's whole breadth. "fold": a ridge with a crease on top.
    angle_deg : float
        Direction, counter-clockwise from x, in which the height changes.
    height_mm : float
        Largest height over the table.
    start_mm, width_mm : float
        Where the raised part begins across the sheet, and how broad it is.
    eye : Eye
    """

    kind: str
    angle_deg: float
    height_mm: float
    start_mm: float
    width_mm: float
    eye: Eye

    def seen(self, points: FloatArray) -> FloatArray:
        """Points of the paper, mm, to where the eye sees them on the flat table, shape (N, 2)."""
        points = np.asarray(points, np.float64).reshape(-1, 2)
        direction = np.array([np.cos(np.radians(self.angle_deg)), np.sin(np.radians(self.angle_deg))])
        across = points @ direction
        flat, height, shortened = self._profile()
        lost = np.interp(across, flat, shortened)
        raised = np.interp(across, flat, height)
        lying = points - lost[:, None] * direction
        foot = np.array([self.eye.x_mm, self.eye.y_mm])
        return np.asarray(foot + (lying - foot) * (self.eye.height_mm / (self.eye.height_mm - raised))[:, None])

    def _profile(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Across, height, and what foreshortening has taken off from the middle of the bend on."""
        share = np.linspace(0, 1, STEPS + 1)
        shape = np.sin(np.pi * share) if self.kind == CURL else 1 - np.abs(2 * share - 1)
        across, height = self.start_mm + share * self.width_mm, self.height_mm * shape
        slope = np.diff(height) / np.diff(across)
        lost = np.concatenate([[0.0], np.cumsum((1 - np.sqrt(1 - slope**2)) * np.diff(across))])
        return across, height, lost - lost[STEPS // 2]


@dataclass(frozen=True)
class Bent:
    """What a camera sees of a bent sheet: ``matrix`` is the flat sheet's homography to the picture."""

    matrix: FloatArray
    bend: Bend


Camera = FloatArray | Bent
"""How paper comes into the picture: the homography of a flat sheet, or a bent one."""


def matrix_of(camera: Camera) -> FloatArray:
    """The flat sheet's homography."""
    return camera.matrix if isinstance(camera, Bent) else camera


def bend_of(camera: Camera) -> Bend | None:
    """The bend, if there is one."""
    return camera.bend if isinstance(camera, Bent) else None


def bent(matrix: FloatArray, paper: tuple[float, float], eye: Eye, kind: str, rng: Rng) -> Bent:
    """Bend a sheet by a random amount."""
    upright = bool(rng.random() < 0.5)
    angle = 90.0 * upright + float(rng.uniform(-LEAN_DEG, LEAN_DEG))
    direction = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    reach = np.array([[0, 0], [paper[0], 0], [0, paper[1]], paper]) @ direction
    start, breadth = float(reach.min()), float(np.ptp(reach))
    height = float(rng.uniform(*(CURL_HEIGHT_MM if kind == CURL else FOLD_HEIGHT_MM)))
    if kind == CURL:
        return Bent(matrix, Bend(kind, angle, height, start, breadth, eye))
    width = float(rng.uniform(*FOLD_WIDTH_MM))
    middle = start + float(rng.uniform(*FOLD_PLACE)) * breadth
    return Bent(matrix, Bend(kind, angle, height, middle - width / 2, width, eye))
