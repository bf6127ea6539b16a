"""The flanks of drawn gear teeth: which edges run outwards from a centre, and where the pen put them.

Glossary
--------
flank
    An edge that runs more outwards than round.
place
    The mean of the centres over one pen width along a flank: as near together as their errors are independent.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.refine import DOUBTFUL, Trail
from digitize.strokes.compiled import compiled
from digitize.strokes.page import Page
from digitize.strokes.primitives import Role

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

SAMPLES = 9
RADII = 200
BUSY_SHARE = 0.98
STEEPEST, LONGEST_SHARE = 0.5, 0.4
"""A flank runs outwards by this much of what it runs round at least, and by this share of its radius at most."""
LEAST_RADIUS_PX = 1.0
OF_ONE_FLANK = 0.25
"""A part lies this near to its flank's crossing, as a share of the step from flank to flank."""
CLEAR_WIDTHS = 0.75
"""Nearer than this to a land, in pen widths, the ink of a flank is also that of the land."""
LEAST_PLACES = 3


@dataclass(frozen=True)
class Edges:
    """Open visible strokes: their numbers, and points along each, shape (N, SAMPLES, 2)."""

    numbers: IntArray
    points: FloatArray


@dataclass(frozen=True)
class Flanks:
    """Edges that run outwards from a centre: numbers, and radius and angle of points along each, shape (N, SAMPLES)."""

    numbers: IntArray
    radius: FloatArray
    angle: FloatArray

    def __len__(self) -> int:
        """Count the edges."""
        return len(self.numbers)

    @property
    def low(self) -> FloatArray:
        """Smallest radius of each."""
        return np.asarray(self.radius.min(axis=1), dtype=np.float64)

    @property
    def high(self) -> FloatArray:
        """Largest radius of each."""
        return np.asarray(self.radius.max(axis=1), dtype=np.float64)

    def busiest_radius(self) -> float:
        """Middle of the radii that most flanks pass."""
        low, high = np.sort(self.low), np.sort(self.high)
        tries = np.linspace(low[0], high[-1], RADII)
        passed = np.searchsorted(low, tries) - np.searchsorted(high, tries, side="right")
        return float(np.median(tries[passed >= BUSY_SHARE * passed.max()]))

    def crossings(self, radius: float) -> tuple[IntArray, FloatArray]:
        """Places in these arrays of the flanks that pass a radius, and the angles, 0 to 2 pi, at which they do."""
        off = self.radius - radius
        owner, at = np.nonzero((off[:, :-1] < 0.0) != (off[:, 1:] < 0.0))
        low, high = off[owner, at], off[owner, at + 1]
        angle, following = self.angle[owner, at], self.angle[owner, at + 1]
        return owner, (angle + (following - angle) * low / (low - high)) % (2 * math.pi)


@dataclass(frozen=True)
class Drawn:
    """One flank in the frame of the pieces.

    ``places`` run from root to tip, shape (N, 2); ``clockwise`` says on which side of its tooth it lies, as seen.
    """

    places: FloatArray
    clockwise: bool
    std: float


def edges_of(page: Page) -> Edges:
    """Lay out the open visible strokes of a sheet."""
    numbers = [k for k, role in enumerate(page.roles) if role == Role.VISIBLE and not page.pieces[k].closed]
    along = [page.pieces[k].track.at(np.linspace(page.pieces[k].s0, page.pieces[k].s1, SAMPLES)) for k in numbers]
    return Edges(np.array(numbers, np.int64), np.array(along).reshape(-1, SAMPLES, 2))


def flanks_about(edges: Edges, x: float, y: float, least_px: float) -> Flanks:
    """Edges that run outwards from a centre by ``least_px`` or more."""
    numbers, radius, angle = _outward(edges.points, x, y, least_px)
    return Flanks(edges.numbers[numbers], radius, angle)


@compiled
def _outward(points: FloatArray, x: float, y: float, least: float) -> tuple[IntArray, FloatArray, FloatArray]:
    """Numbers of the edges that run more outwards than round, with radius and unwrapped angle of their points."""
    count, samples = points.shape[0], points.shape[1]
    found, taken = np.empty(count, np.int64), 0
    radius, angle = np.empty((count, samples)), np.empty((count, samples))
    for k in range(count):
        r, a = radius[taken], angle[taken]
        for n in range(samples):
            r[n] = math.hypot(points[k, n, 0] - x, points[k, n, 1] - y)
        rise = r.max() - r.min()
        if rise < least or r.min() < LEAST_RADIUS_PX or rise > LONGEST_SHARE * r.max():
            continue
        for n in range(samples):
            a[n] = math.atan2(points[k, n, 1] - y, points[k, n, 0] - x)
            if n:
                a[n] -= 2.0 * math.pi * np.round((a[n] - a[n - 1]) / (2.0 * math.pi))
        if rise >= STEEPEST * (a.max() - a.min()) * r.mean():
            found[taken] = k
            taken += 1
    return found[:taken].copy(), radius[:taken].copy(), angle[:taken].copy()


def drawn_flanks(
    page: Page,
    trail: Trail,
    flanks: Flanks,
    centre: tuple[float, float],
    middle: float,
    lands: tuple[float, float],
) -> tuple[Drawn, ...]:
    """Where the pen put the flanks of a ring, one after the other round its centre.

    Parameters
    ----------
    page : Page
    trail : Trail
        That the pieces were fitted to.
    flanks : Flanks
        About ``centre``.
    centre : (float, float)
    middle : float
        Radius that all flanks pass.
    lands : (float, float)
        Root and tip radius.
    """
    _, crossing = flanks.crossings(middle)
    crossing = np.sort(crossing)
    slack = OF_ONE_FLANK * float(np.median(np.diff(np.append(crossing, crossing[0] + 2 * math.pi))))
    nearest = np.argmin(np.abs(flanks.radius - middle), axis=1)
    at = flanks.angle[np.arange(len(flanks)), nearest] % (2 * math.pi)
    first = crossing[np.append(True, np.diff(crossing) > slack)]
    found = []
    for angle in first.tolist():
        off = np.abs((at - angle + math.pi) % (2 * math.pi) - math.pi)
        drawn = _one_flank(page, trail, flanks.numbers[off <= slack], centre, lands)
        if drawn is not None:
            found.append(drawn)
    return tuple(found)


def _one_flank(
    page: Page, trail: Trail, parts: IntArray, centre: tuple[float, float], lands: tuple[float, float]
) -> Drawn | None:
    """The places of the parts of one flank between the lands; None where too few can be trusted."""
    pieces = [page.pieces[k] for k in parts.tolist()]
    if not pieces:
        return None
    picks = np.concatenate([np.arange(a, b) for p in pieces for a, b in p.spans])
    picks = picks[trail.weight[picks] > 5 * DOUBTFUL]
    width = float(np.median([p.width for p in pieces]))
    points = np.stack([trail.x[picks], trail.y[picks]], axis=1)
    radius = np.hypot(*(points - centre).T)
    clear = (radius > lands[0] + CLEAR_WIDTHS * width) & (radius < lands[1] - CLEAR_WIDTHS * width)
    if not clear.any():
        return None
    points, radius = points[clear], radius[clear]
    step = ((radius - radius.min()) / max(width, 1.0)).astype(int)
    places = np.array([points[step == n].mean(axis=0) for n in np.unique(step)])
    if len(places) < LEAST_PLACES:
        return None
    (x0, y0), (x1, y1) = places[0] - centre, places[-1] - centre
    std = math.sqrt(float(np.mean([p.rms**2 for p in pieces])))
    return Drawn(places, x0 * y1 - y0 * x1 < 0.0, std)
