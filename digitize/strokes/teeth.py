"""Gear teeth drawn in full: counted where their flanks cross a circle about the gear's centre.

Glossary
--------
flank
    An edge that runs more outwards than round.
crossing
    The angle at which a flank passes the middle circle of a ring. Two crossings make a tooth, and every second one
    repeats at the angle of the pitch.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.fit import ARC
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Role

FloatArray = NDArray[np.float64]

FEWEST_TEETH = 8
MOST_TEETH = 400
LEAST_DRAWN_TEETH = 4
"""Part of a ring is counted from this many neighbouring teeth."""
FLANK_SAMPLES = 9
LEAST_FLANK_MM = 0.4
SAME_FLANK = 0.2
"""Crossings nearer than this share of the usual step are of one flank."""
REGULAR = 0.06
"""Scatter of the pitch angle over the pitch, within which crossings repeat."""
WHOLE_TEETH = 0.4
"""How near to a whole number a part of a ring must put the tooth count, three standard errors included."""
SAME_CENTRE_MM = 0.5
SAME_RADIUS_MM = 0.3
"""Parts of a flank meet within this, in mm of paper."""
MOST_PARTS = 4
"""A flank is cut into no more parts than this."""


@dataclass(frozen=True)
class Ring:
    """A toothed ring in the frame of the pieces; ``member`` is the number of one of its flanks."""

    x: float
    y: float
    teeth: int
    tip_radius: float
    root_radius: float
    member: int


def find_tooth_rings(page: Page) -> list[Ring]:
    """Find the toothed rings about the centres of all circles; one a centre, sorted by centre."""
    edges = [k for k, role in enumerate(page.roles) if role == Role.VISIBLE and not page.pieces[k].closed]
    found: list[Ring] = []
    for x, y in _centres(page):
        ring = _ring_about(page, edges, x, y)
        if ring is not None and not any(math.hypot(r.x - x, r.y - y) < page.px(5.0) for r in found):
            found.append(ring)
    return sorted(found, key=lambda r: (r.x, r.y))


def _centres(page: Page) -> list[tuple[float, float]]:
    """Centres of circles, of the widest first, each once."""
    round_ = [p for p in page.pieces if p.track.kind == ARC and p.length >= 0.4 * p.track.period]
    centres: list[tuple[float, float]] = []
    for piece in sorted(round_, key=lambda p: (-p.length, p.start)):
        x, y = piece.track.x, piece.track.y
        if all(math.hypot(x - a, y - b) > page.px(SAME_CENTRE_MM) for a, b in centres):
            centres.append((x, y))
    return centres


def _ring_about(page: Page, edges: list[int], x: float, y: float) -> Ring | None:
    """Count the teeth about one centre; None where flanks do not repeat about it."""
    flanks = [(k, polar) for k in edges if (polar := _flank(page, page.pieces[k], x, y)) is not None]
    if len(flanks) < 2 * LEAST_DRAWN_TEETH:
        return None
    radii = np.concatenate([polar[0] for _, polar in flanks])
    middle = _busiest_radius(flanks, radii)
    crossing = _each_flank_once(np.array(sorted(a for _, polar in flanks for a in _crossings(polar, middle))))
    teeth = count_teeth(crossing)
    if teeth is None:
        return None
    own = [(k, polar) for k, polar in flanks if len(_crossings(polar, middle))]
    spans = [(float(polar[0].min()), float(polar[0].max())) for _, polar in flanks]
    tip = _followed(float(np.median([polar[0].max() for _, polar in own])), spans, teeth, page.px(SAME_RADIUS_MM))
    inward = [(-high, -low) for low, high in spans]
    root = -_followed(-float(np.median([polar[0].min() for _, polar in own])), inward, teeth, page.px(SAME_RADIUS_MM))
    reached = _reach(page, edges, x, y, (root, tip))
    return Ring(x, y, teeth, reached[1], reached[0], own[0][0])


def _flank(page: Page, piece: Piece, x: float, y: float) -> tuple[FloatArray, FloatArray] | None:
    """Radius and angle of points along a piece; None where it runs more round the centre than outwards."""
    points = piece.track.at(np.linspace(piece.s0, piece.s1, FLANK_SAMPLES)) - np.array([x, y])
    radius = np.hypot(points[:, 0], points[:, 1])
    if np.ptp(radius) < page.px(LEAST_FLANK_MM) or radius.min() < 1.0:
        return None
    angle = np.unwrap(np.arctan2(points[:, 1], points[:, 0]))
    if np.ptp(radius) < 0.5 * np.ptp(angle) * radius.mean() or np.ptp(radius) > 0.4 * radius.max():
        return None
    return radius, angle


def _followed(end: float, spans: list[tuple[float, float]], teeth: int, slack: float) -> float:
    """Follow flanks that were cut, at the pitch circle say, to where most of their further parts end."""
    for _ in range(MOST_PARTS):
        further = [high for low, high in spans if low < end + slack < high - slack]
        if len(further) < teeth:
            return end
        end = float(np.median(further))
    return end


def _busiest_radius(flanks: list[tuple[int, tuple[FloatArray, FloatArray]]], radii: FloatArray) -> float:
    """Middle of the radii that most flanks pass."""
    tries = np.linspace(radii.min(), radii.max(), 200)
    passed = sum(((polar[0].min() < tries) & (tries < polar[0].max())).astype(int) for _, polar in flanks)
    best = tries[np.asarray(passed) >= 0.98 * np.max(passed)]
    return float(np.median(best))


def _crossings(polar: tuple[FloatArray, FloatArray], middle: float) -> list[float]:
    """Angles, 0 to 2 pi, at which a flank passes a radius."""
    radius, angle = polar
    found = []
    for k in range(len(radius) - 1):
        low, high = radius[k] - middle, radius[k + 1] - middle
        if (low < 0) != (high < 0):
            found.append(float(angle[k] + (angle[k + 1] - angle[k]) * low / (low - high)) % (2 * math.pi))
    return found


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


def _reach(page: Page, edges: list[int], x: float, y: float, band: tuple[float, float]) -> tuple[float, float]:
    """Root and tip radius: the inner and outer lands that the flanks run into."""
    depth = band[1] - band[0]
    radii = []
    for k in edges:
        piece = page.pieces[k]
        points = piece.track.at(np.linspace(piece.s0, piece.s1, FLANK_SAMPLES)) - np.array([x, y])
        radius = np.hypot(points[:, 0], points[:, 1])
        if radius.min() > band[0] - 0.5 * depth and radius.max() < band[1] + 0.5 * depth:
            radii.append(radius)
    every = np.concatenate(radii)
    low, high = np.percentile(every, [2, 98])
    return float(low), float(high)
