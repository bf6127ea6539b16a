"""The circles of a drawn gear that its data block speaks of, found without looking at the block."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from digitize.dimensions.table import Measured
from digitize.lettering.text import Kind
from digitize.strokes.primitives import Arc, Point, Role, Strokes, ToothRing

WHOLE_DEG = 350.0
"""A circle is drawn whole."""
CONCENTRIC = 0.03
"""Circles share a centre within this share of the radius."""
MOST_DEG = 240.0
"""An outside circle is broken off where a few teeth are drawn, but most of it is there."""
LARGEST_ADDENDUM = 1.35
"""Outside over pitch diameter of the smallest pinions: (N + 2) / N at six teeth."""
AS_BROAD = 0.01
"""Two lengths on one sheet, drawn of one size, differ by no more than this share: the pens and the paper's stretch."""
NEAR_TIPS = 0.98
"""A circle that goes on from drawn teeth is no smaller than this share of their tips' own."""
MOST_OF_A_CIRCLE_DEG = 300.0
"""A bore that its keyseat interrupts is still a circle."""
RING_STD = 0.003
"""Standard error of a tooth ring's tip radius, relative: tips are short strokes (common practice, no source)."""


@dataclass(frozen=True)
class GearCircle:
    """A circle in level pixels: its centre, radius and standard error, view, and index of its arc (None for a ring)."""

    centre: Point
    radius_px: float
    radius_std_px: float
    view: str | None
    arc: int | None


def gear_circles(strokes: Strokes) -> dict[str, GearCircle]:
    """Outside and pitch circle of the sheet's gear by the names of its data; empty where no face is drawn.

    A ring of drawn teeth gives its tips, or the outside circle that goes on from them where only some are drawn. A gear
    drawn by its circles has a chain circle with a visible one just outside it; the largest such pair is taken.
    """
    ring = max(strokes.tooth_rings, key=lambda r: (r.teeth, r.tip_radius_px), default=None)
    if ring is not None:
        return _of_ring(ring, strokes.arcs)
    whole = [(i, arc) for i, arc in enumerate(strokes.arcs) if arc.sweep_deg >= WHOLE_DEG]
    most = [(i, arc) for i, arc in enumerate(strokes.arcs) if arc.sweep_deg >= MOST_DEG]
    chains = sorted((pair for pair in whole if pair[1].role is Role.CENTRE), key=lambda pair: -pair[1].radius_px)
    for index, pitch in chains:
        outside = [pair for pair in most if pair[1].role is Role.VISIBLE and _just_outside(pair[1], pitch)]
        if outside:
            nearest = min(outside, key=lambda pair: pair[1].radius_px)
            return {"outside_diameter": _circle(*nearest), "pitch_diameter": _circle(index, pitch)}
    return {}


def is_as_broad(measured: Measured, circle: GearCircle) -> bool:
    """Whether a length on the sheet is a circle's diameter, in whatever view."""
    broad = 2 * circle.radius_px
    return measured.kind in (Kind.LINEAR, Kind.DIAMETER) and abs(measured.size - broad) < AS_BROAD * broad


def outside_elsewhere(
    circle: GearCircle, arcs: Sequence[Arc], diameters: Sequence[tuple[str | None, float]]
) -> int | None:
    """Which diameter is the outside circle's in another view, drawn at another size than the face.

    It is the largest diameter measured there, and every other one there (one at the least) is as much larger or
    smaller than some circle of the face as it is than the outside circle.

    Parameters
    ----------
    circle : GearCircle
        The outside circle of the face.
    arcs : sequence of Arc
    diameters : sequence of (str or None, float)
        View and length in level pixels of what each diameter was measured on.

    Returns
    -------
    int or None
        Index of the diameter; None where none is it, or one in each of two views.
    """
    faces = [arc for arc in arcs if arc.view == circle.view and arc.sweep_deg >= MOST_OF_A_CIRCLE_DEG]
    shares_of_face = (arc.radius_px / circle.radius_px for arc in faces if arc.role is Role.VISIBLE)
    inner = [share for share in shares_of_face if share < 1 - AS_BROAD]
    measured: dict[str | None, list[tuple[float, int]]] = defaultdict(list)
    for index, (view, size_px) in enumerate(diameters):
        if view != circle.view:
            measured[view].append((size_px, index))
    found = []
    for sizes in measured.values():
        (largest_px, index), *others = sorted(sizes, reverse=True)
        shares = [size_px / largest_px for size_px, _ in others]
        if shares and all(any(abs(share - each) < AS_BROAD * each for each in inner) for share in shares):
            found.append(index)
    return found[0] if len(found) == 1 else None


def _of_ring(ring: ToothRing, arcs: Sequence[Arc]) -> dict[str, GearCircle]:
    tips = GearCircle(ring.centre, ring.tip_radius_px, RING_STD * ring.tip_radius_px, ring.view, None)
    found = {"outside_diameter": tips}
    for index, arc in enumerate(arcs):
        between = ring.root_radius_px < arc.radius_px < ring.tip_radius_px
        same_centre = math.dist(arc.centre, ring.centre) < CONCENTRIC * ring.tip_radius_px
        if between and same_centre and arc.role is Role.CENTRE and arc.sweep_deg >= WHOLE_DEG:
            found["pitch_diameter"] = _circle(index, arc)
        beyond = NEAR_TIPS * ring.tip_radius_px < arc.radius_px < LARGEST_ADDENDUM * ring.tip_radius_px
        if beyond and same_centre and arc.role is Role.VISIBLE and arc.sweep_deg >= MOST_DEG:
            found["outside_diameter"] = _circle(index, arc)
    return found


def _just_outside(arc: Arc, pitch: Arc) -> bool:
    same_centre = math.dist(arc.centre, pitch.centre) < CONCENTRIC * pitch.radius_px
    return same_centre and 1.0 < arc.radius_px / pitch.radius_px < LARGEST_ADDENDUM


def _circle(index: int, arc: Arc) -> GearCircle:
    return GearCircle(arc.centre, arc.radius_px, arc.radius_std_px, arc.view, index)
