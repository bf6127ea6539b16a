"""Views that stand level with each other: one is projected from the other and shares its scale."""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence

from digitize.dimensions.table import ViewScale
from digitize.strokes.primitives import Arc, Point, Role, Strokes

LEVEL_MM = 0.5
"""Both ends of two views' extents lie within this of each other, in mm of paper: drawn with one T-square."""
LEAST_EXTENT_MM = 8.0
"""Smaller extents may agree by chance, in mm of paper."""

LEAST_SCALE_STEP = 0.05
"""Two scales differ by more than this, relative: paper stretches less, and no two scales of drawings are as near."""

Extent = tuple[float, float, float, float]


def twins(strokes: Strokes, mm_per_px: float) -> Mapping[str, tuple[str, ...]]:
    """Which views have the same height at the same level, or the same width one above the other.

    Parameters
    ----------
    strokes : Strokes
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    mapping of view to views
        Both ways round; views without a twin are left out.
    """
    extents = view_extents(strokes)
    found: dict[str, list[str]] = defaultdict(list)
    for one, a in extents.items():
        for other, b in extents.items():
            if one != other and (
                _level(a[1], a[3], b[1], b[3], mm_per_px) or _level(a[0], a[2], b[0], b[2], mm_per_px)
            ):
                found[one].append(other)
    return {view: tuple(sorted(others)) for view, others in found.items()}


def of_one_scale(level_with: Mapping[str, Sequence[str]], scales: Sequence[ViewScale]) -> Mapping[str, tuple[str, ...]]:
    """Views that stand level with each other and are not drawn to different scales: those show different parts."""
    known = {scale.view: scale.y_mm_per_px for scale in scales if scale.known}

    def differ(one: str, other: str) -> bool:
        return one in known and other in known and abs(math.log(known[one] / known[other])) > LEAST_SCALE_STEP

    return {view: tuple(o for o in others if not differ(view, o)) for view, others in level_with.items()}


def _level(low: float, high: float, other_low: float, other_high: float, mm_per_px: float) -> bool:
    together = max(abs(low - other_low), abs(high - other_high)) * mm_per_px < LEVEL_MM
    return together and min(high - low, other_high - other_low) * mm_per_px > LEAST_EXTENT_MM


def view_extents(strokes: Strokes) -> dict[str, Extent]:
    """Left, top, right and bottom of the visible edges and tooth tips of each drawn view, in level pixels."""
    points: dict[str, list[Point]] = defaultdict(list)
    views = {view.id: view for view in strokes.views if view.kind == "view"}
    for line in strokes.lines:
        if line.role is Role.VISIBLE and line.view in views and views[line.view].holds(line):
            points[line.view] += [line.start, line.end]
    for arc in strokes.arcs:
        if arc.role is Role.VISIBLE and arc.view in views and views[arc.view].holds(arc):
            points[arc.view] += _outermost(arc)
    for ring in strokes.tooth_rings:
        if ring.view in views:
            points[ring.view] += _round(ring.centre, ring.tip_radius_px)
    return {
        view: (min(x for x, _ in ends), min(y for _, y in ends), max(x for x, _ in ends), max(y for _, y in ends))
        for view, ends in points.items()
    }


def _outermost(arc: Arc) -> list[Point]:
    """Ends of an arc and those of its four poles that it passes."""
    turns = [arc.start_deg, arc.start_deg + arc.sweep_deg]
    turns += [pole for pole in (0.0, 90.0, 180.0, 270.0) if (pole - arc.start_deg) % 360.0 <= arc.sweep_deg]
    return [_at(arc.centre, arc.radius_px, turn) for turn in turns]


def _round(centre: Point, radius: float) -> list[Point]:
    return [_at(centre, radius, turn) for turn in (0.0, 90.0, 180.0, 270.0)]


def _at(centre: Point, radius: float, turn_deg: float) -> Point:
    turn = math.radians(turn_deg)
    return centre[0] + radius * math.cos(turn), centre[1] - radius * math.sin(turn)
