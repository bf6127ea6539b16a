"""Equal holes on one circle: how many there are, and the circle through their centres."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from calibrate.sheet import FloatArray
from digitize.strokes.primitives import Arc, Dash, Point, Role

EQUAL_RADIUS = 0.12
"""Holes are equal when their radii differ by less than this share (a shaky pen on a small hole) ..."""
EQUAL_PX = 1.5
"""... or by less than this, in pixels."""
ROUND_SHARE = 0.03
"""Centres lie on one circle when they are off it by less than this share of its radius."""
FEWEST = 3
"""A circle through centres needs this many."""
WHOLE_DEG = 240.0
"""A hole is drawn as a whole circle: the head of its leader, and what crosses it, cost the trace no more than the
rest."""


@dataclass(frozen=True)
class BoltCircle:
    """Holes (indices into the arcs) whose centres lie on a circle, in level pixels."""

    holes: tuple[int, ...]
    centre: Point
    radius_px: float
    radius_std_px: float


def equal_holes(index: int, arcs: Sequence[Arc]) -> tuple[int, ...]:
    """All whole visible circles of the same view as large as one of them, itself included."""
    one = arcs[index]
    slack = max(EQUAL_PX, EQUAL_RADIUS * one.radius_px)
    return tuple(
        i
        for i, arc in enumerate(arcs)
        if arc.sweep_deg >= WHOLE_DEG
        and arc.role is Role.VISIBLE
        and arc.dash is Dash.SOLID
        and arc.view == one.view
        and abs(arc.radius_px - one.radius_px) < slack
    )


def bolt_circle(index: int, arcs: Sequence[Arc]) -> BoltCircle | None:
    """The circle through the centres of a hole and its equals; None where they lie on none.

    Parameters
    ----------
    index : int
        A hole, as an index into ``arcs``.
    arcs : sequence of Arc

    Returns
    -------
    BoltCircle or None
    """
    holes = equal_holes(index, arcs)
    if len(holes) < FEWEST:
        return None
    centres = np.array([arcs[i].centre for i in holes], dtype=np.float64)
    x, y, radius = _fit(centres)
    off = np.hypot(centres[:, 0] - x, centres[:, 1] - y) - radius
    if radius < 1.5 * arcs[index].radius_px or np.abs(off).max() > ROUND_SHARE * radius:
        return None
    spread = max(float(np.sqrt((off**2).mean())), max(arcs[i].centre_std_px for i in holes))
    return BoltCircle(holes, (x, y), radius, spread / math.sqrt(len(holes)))


def _fit(centres: FloatArray) -> tuple[float, float, float]:
    """Geometric circle through points, started at their middle."""
    middle = centres.mean(axis=0)
    start = float(np.hypot(*(centres - middle).T).mean())

    def off(p: FloatArray) -> FloatArray:
        return np.asarray(np.hypot(centres[:, 0] - p[0], centres[:, 1] - p[1]) - p[2], dtype=np.float64)

    x, y, radius = least_squares(off, [*middle, start]).x
    return float(x), float(y), float(radius)
