"""A few teeth drawn at the rim of a gear that is otherwise drawn by its circles: the angle from one to the next.

Glossary
--------
flank
    A visible stroke that runs outwards all along, rather than round, where it crosses the pitch circle.
run
    Neighbouring flanks, turn by turn the two sides of a tooth; every second one stands one tooth further on.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.dimensions.linking.gear_circles import CONCENTRIC, WHOLE_DEG
from digitize.strokes.primitives import Arc, Line, Role, Strokes

FEWEST_DRAWN = 3
"""Of two teeth nothing tells whether they are evenly spaced."""
LEAST_TEETH, MOST_TEETH = 8, 400
SAMPLES = 33
INNER, OUTER = 0.72, 1.35
"""Flanks lie within these shares of the pitch radius: roots and tips of the smallest pinions."""
STEEP = 0.5
"""A flank goes outwards by more than this share of what it goes round."""
HALF_SHARE = (0.35, 0.65)
"""Tooth and space are each about half the pitch at the pitch circle; backlash and the pen take a little."""
CUT_THERE = 0.03
"""A flank that is traced in two at the pitch circle ends within this share of its radius."""
SAME_FLANK = 0.25
"""Crossings nearer than this share of the usual step are of one flank, traced in pieces."""
GAP = 1.8
"""A step so many times the usual ends the run."""
CROSSING_STD_WIDTHS = 0.25
"""Of a flank's place at the pitch circle, in widths of its stroke, at the least: the pen's slips (common practice)."""
STRETCH_STD = 0.004
"""Of an angle at one place of the rim, as a share: what uneven shrinkage leaves (common practice, no source)."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class FewTeeth:
    """Teeth that are drawn, and the angle from one to the next with its standard error."""

    drawn: int
    angle_deg: float
    std_deg: float


def few_teeth(strokes: Strokes) -> FewTeeth | None:
    """The teeth drawn about the largest pitch circle; None where there are too few, or they are not evenly spaced."""
    chains = [arc for arc in strokes.arcs if arc.role is Role.CENTRE and arc.sweep_deg >= WHOLE_DEG]
    for pitch in sorted(chains, key=lambda arc: -arc.radius_px):
        found = None if _has_whole_rim(pitch, strokes) else _about(pitch, strokes)
        if found is not None:
            return found
    return None


def _has_whole_rim(pitch: Arc, strokes: Strokes) -> bool:
    """Whether a whole circle is drawn where the tips would be: teeth break it off, the holes of a flange do not."""
    return any(
        arc.role is Role.VISIBLE
        and arc.sweep_deg >= WHOLE_DEG
        and math.dist(arc.centre, pitch.centre) < CONCENTRIC * pitch.radius_px
        and 1 < arc.radius_px / pitch.radius_px < OUTER
        for arc in strokes.arcs
    )


def _about(pitch: Arc, strokes: Strokes) -> FewTeeth | None:
    flanks = list(_flanks(pitch, strokes))
    angles = np.array(sorted(_crossing(pitch, flank) for flank in flanks))
    if len(angles) < 2 * FEWEST_DRAWN:
        return None
    run = _run(_each_once(angles))
    if len(run) < 2 * FEWEST_DRAWN or not _tooth_and_space_alike(run):
        return None
    width_px = float(np.median([flank.width_px for flank in flanks]))
    step, std = _spacing(run, CROSSING_STD_WIDTHS * width_px / pitch.radius_px)
    if not LEAST_TEETH <= 2 * math.pi / step <= MOST_TEETH:
        return None
    return FewTeeth(len(run) // 2, math.degrees(step), math.degrees(math.hypot(std, STRETCH_STD * step)))


def _flanks(pitch: Arc, strokes: Strokes) -> Iterator[Line | Arc]:
    """Visible strokes of the view that cross a pitch circle and run outwards."""
    every: tuple[Line | Arc, ...] = (*strokes.lines, *strokes.arcs)
    for stroke in every:
        if stroke.role is not Role.VISIBLE or stroke.view != pitch.view:
            continue
        radius, angle = _polar(stroke, pitch)
        low, high = sorted((float(radius[0]), float(radius[-1])))
        crosses = INNER < low < 1 + CUT_THERE and 1 - CUT_THERE < high < OUTER
        if crosses and np.ptp(radius) <= high - low and np.ptp(radius) > STEEP * np.ptp(angle):
            yield stroke


def _crossing(pitch: Arc, flank: Line | Arc) -> float:
    """Angle, 0 to 2 pi, at which a flank crosses a pitch circle, or would where it is cut there."""
    radius, angle = _polar(flank, pitch)
    first = min(int(np.argmin(np.abs(radius - 1))), len(radius) - 2)
    part = (1 - radius[first]) / (radius[first + 1] - radius[first])
    return float(angle[first] + part * (angle[first + 1] - angle[first])) % (2 * math.pi)


def _polar(stroke: Line | Arc, pitch: Arc) -> tuple[Floats, Floats]:
    """Radius in pitch radii and angle in radians of points along a stroke, about the pitch circle's centre."""
    x, y = (_points(stroke) - np.array(pitch.centre)).T
    return np.hypot(x, y) / pitch.radius_px, np.unwrap(np.arctan2(-y, x))


def _points(stroke: Line | Arc) -> Floats:
    """Points along a stroke, shape (SAMPLES, 2), in level pixels."""
    share = np.linspace(0.0, 1.0, SAMPLES)[:, None]
    if isinstance(stroke, Line):
        return np.array(stroke.start) * (1 - share) + np.array(stroke.end) * share
    turn = np.radians(stroke.start_deg + stroke.sweep_deg * share)
    return np.array(stroke.centre) + stroke.radius_px * np.hstack([np.cos(turn), -np.sin(turn)])


def _each_once(angles: Floats) -> Floats:
    """Crossings of one flank that was traced in pieces, as one."""
    steps = np.diff(np.append(angles, angles[0] + 2 * math.pi))
    return angles[steps > SAME_FLANK * float(np.median(steps))]


def _run(angles: Floats) -> Floats:
    """The longest run of neighbours, an even number of them, unwrapped."""
    if len(angles) < 2:
        return angles
    start = int(np.argmax(np.diff(np.append(angles, angles[0] + 2 * math.pi)))) + 1
    turned = np.unwrap(np.roll(angles, -start))
    steps = np.diff(turned)
    runs = np.split(turned, np.flatnonzero(steps > GAP * float(np.median(steps))) + 1)
    longest = max(runs, key=len)
    return longest[: 2 * (len(longest) // 2)]


def _tooth_and_space_alike(run: Floats) -> bool:
    steps = np.diff(run)
    pitch = steps[:-1] + steps[1:]
    low, high = HALF_SHARE
    return bool(np.all((steps[:-1] > low * pitch) & (steps[:-1] < high * pitch)))


def _spacing(run: Floats, least_std: float) -> tuple[float, float]:
    """Angle from tooth to tooth by least squares, both sides of the teeth together, with its standard error."""
    number, side = np.divmod(np.arange(len(run)), 2)
    design = np.column_stack([number, side == 0, side == 1]).astype(np.float64)
    fit, *_ = np.linalg.lstsq(design, run, rcond=None)
    off = run - design @ fit
    scatter = max(math.sqrt(float(off @ off) / (len(run) - 3)), least_std)
    return float(fit[0]), scatter * math.sqrt(float(np.linalg.inv(design.T @ design)[0, 0]))
