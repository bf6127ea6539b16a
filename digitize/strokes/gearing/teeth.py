"""Gear teeth drawn in full: counted where their flanks cross a circle about the gear's centre.

Glossary
--------
flank
    See `tooth_flanks`.
crossing
    The angle at which a flank passes the middle circle of a ring. Two crossings make a tooth, and every second one
    repeats at the angle of the pitch.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import ARC
from digitize.strokes.centre_lines.refine import Trail
from digitize.strokes.gearing.tooth_flanks import Drawn, Edges, drawn_flanks, edges_of, flanks_about
from digitize.strokes.page import Page

FloatArray = NDArray[np.float64]

FEWEST_TEETH = 8
MOST_TEETH = 400
LEAST_DRAWN_TEETH = 4
"""Part of a ring is counted from this many neighbouring teeth."""
LEAST_FLANK_MM = 0.4
SAME_FLANK = 0.2
"""Crossings nearer than this share of the usual step are of one flank."""
REGULAR = 0.06
"""Scatter of the pitch angle over the pitch, within which crossings repeat."""
WHOLE_TEETH = 0.4
"""How near to a whole number a part of a ring must put the tooth count, three standard errors included."""
SAME_CENTRE_MM, APART_MM = 0.5, 5.0
"""Circles have one centre within this; two rings are this far apart."""
SAME_RADIUS_MM = 0.3
"""Parts of a flank meet within this, in mm of paper."""
RIM_PERCENTILES, LAND_SHARE = (2.0, 98.0), 0.15
"""Lands lie about the innermost and outermost points, and rise by less than this share of the depth of teeth."""
MOST_PARTS = 4
"""A flank is cut into no more parts than this."""


@dataclass(frozen=True)
class Ring:
    """A toothed ring in the frame of the pieces; ``member`` is the number of one of the pieces of its flanks."""

    x: float
    y: float
    teeth: int
    tip_radius: float
    root_radius: float
    member: int
    flanks: tuple[Drawn, ...] = ()


def find_tooth_rings(page: Page, trail: Trail) -> list[Ring]:
    """Find the toothed rings about the centres of all circles; one a centre, sorted by centre.

    Parameters
    ----------
    page : Page
        With a role for every piece.
    trail : Trail
        That the pieces were fitted to.
    """
    edges = edges_of(page)
    found: list[Ring] = []
    for x, y in _centres(page):
        if any(math.hypot(r.x - x, r.y - y) < page.px(APART_MM) for r in found):
            continue
        ring = _ring_about(page, trail, edges, x, y)
        if ring is not None:
            found.append(ring)
    return sorted(found, key=lambda r: (r.x, r.y))


def _centres(page: Page) -> list[tuple[float, float]]:
    """Centres of circles, of the widest first, each once."""
    round_ = [p for p in page.pieces if p.track.kind == ARC and p.length >= 0.4 * p.track.period]
    round_.sort(key=lambda p: (-p.length, p.start))
    every = np.array([(p.track.x, p.track.y) for p in round_]).reshape(-1, 2)
    free, centres = np.ones(len(every), bool), []
    for k, (x, y) in enumerate(every.tolist()):
        if free[k]:
            centres.append((x, y))
            free &= np.hypot(every[:, 0] - x, every[:, 1] - y) > page.px(SAME_CENTRE_MM)
    return centres


def _ring_about(page: Page, trail: Trail, edges: Edges, x: float, y: float) -> Ring | None:
    """Count the teeth about one centre; None where flanks do not repeat about it."""
    flanks = flanks_about(edges, x, y, page.px(LEAST_FLANK_MM))
    if len(flanks) < 2 * LEAST_DRAWN_TEETH:
        return None
    middle = flanks.busiest_radius()
    owner, angles = flanks.crossings(middle)
    teeth = count_teeth(_each_flank_once(np.sort(angles)))
    if teeth is None:
        return None
    slack = page.px(SAME_RADIUS_MM)
    tip = _followed(float(np.median(flanks.high[owner])), flanks.low, flanks.high, teeth, slack)
    root = -_followed(-float(np.median(flanks.low[owner])), -flanks.high, -flanks.low, teeth, slack)
    low, high = _reach(edges, x, y, (root, tip))
    drawn = drawn_flanks(page, trail, flanks, (x, y), middle, (low, high))
    return Ring(x, y, teeth, high, low, int(flanks.numbers[owner[0]]), drawn)


def _followed(end: float, low: FloatArray, high: FloatArray, teeth: int, slack: float) -> float:
    """Follow flanks that were cut, at the pitch circle say, to where most of their further parts end."""
    for _ in range(MOST_PARTS):
        further = high[(low < end + slack) & (end + slack < high - slack)]
        if len(further) < teeth:
            return end
        end = float(np.median(further))
    return end


def _each_flank_once(crossing: FloatArray) -> FloatArray:
    """Merge the crossings of the parts of one flank that was drawn or traced in pieces."""
    if len(crossing) < 2:
        return crossing
    steps = np.diff(np.append(crossing, crossing[0] + 2 * math.pi))
    return crossing[steps > SAME_FLANK * float(np.percentile(steps, 75))]


def count_teeth(crossing: FloatArray) -> int | None:
    """Count teeth from the sorted angles (radians) of their flanks.

    A full ring is counted outright. Of a part, the pitch angle gives the number, and only if it comes out whole within
    three standard errors.

    Returns
    -------
    int or None
        None where the crossings are too few, do not repeat, or leave the number open.

    Examples
    --------
    >>> import numpy as np
    >>> flank = np.arange(24) * 2 * np.pi / 24
    >>> count_teeth(np.sort(np.concatenate([flank - 0.05, flank + 0.06]) % (2 * np.pi)))
    24
    """
    if len(crossing) < 2 * LEAST_DRAWN_TEETH:
        return None
    steps = np.diff(np.append(crossing, crossing[0] + 2 * math.pi))
    double = steps + np.roll(steps, -1)
    pitch = float(np.median(double))
    regular = np.abs(double - pitch) <= REGULAR * pitch
    if regular.all() and len(crossing) % 2 == 0:
        teeth = len(crossing) // 2
        return teeth if FEWEST_TEETH <= teeth <= MOST_TEETH else None
    return _count_part(crossing, steps)


def _count_part(crossing: FloatArray, steps: FloatArray) -> int | None:
    """Count from the longest run of regular crossings."""
    start = int(np.argmax(steps)) + 1
    run = np.unwrap(np.roll(crossing, -start))
    if len(run) < 2 * LEAST_DRAWN_TEETH:
        return None
    pitches = []
    for offset in (0, 1):
        angles = run[offset::2]
        n = np.arange(len(angles))
        slope, intercept = np.polyfit(n, angles, 1)
        off = angles - slope * n - intercept
        error = float(np.std(off)) / math.sqrt(float(((n - n.mean()) ** 2).sum()))
        if slope <= 0 or np.abs(off).max() > REGULAR * slope:
            return None
        pitches.append((slope, error))
    teeth = 2 * math.pi / np.array([p for p, _ in pitches])
    spread = max(3 * error / slope * n for (slope, error), n in zip(pitches, teeth, strict=True))
    whole = round(float(teeth.mean()))
    certain = abs(teeth - whole).max() + spread <= WHOLE_TEETH
    return whole if certain and FEWEST_TEETH <= whole <= MOST_TEETH else None


def _reach(edges: Edges, x: float, y: float, band: tuple[float, float]) -> tuple[float, float]:
    """Root and tip radius: those of the inner and outer lands that the flanks run into.

    Ends of flanks at a corner lie a little beyond it, or short of it; so where lands were drawn, their middles tell.
    """
    depth = band[1] - band[0]
    radius = np.hypot(edges.points[..., 0] - x, edges.points[..., 1] - y)
    least, most = radius.min(axis=1), radius.max(axis=1)
    within = (least > band[0] - 0.5 * depth) & (most < band[1] + 0.5 * depth)
    rim = np.percentile(radius[within], RIM_PERCENTILES)
    lands = within & (most - least < LAND_SHARE * depth)
    of_rim = [radius[lands & (np.abs(radius.mean(axis=1) - r) < LAND_SHARE * depth)].mean(axis=1) for r in rim]
    low, high = (float(np.median(own)) if len(own) else float(r) for own, r in zip(of_rim, rim, strict=True))
    return low, high
