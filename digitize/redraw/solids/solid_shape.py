"""Solids as values: what a kernel builds, and its volume by area and Pappus.

Glossary
--------
corner
    x, y and the bulge of the arc that leaves it, as in a DXF polyline.
prism
    An outline carried along z, with holes right through.
turned
    A profile in (z, radius) turned about the z axis.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from shapely import Polygon, unary_union

from digitize.redraw.dxf import Corner
from digitize.strokes.primitives import Point

FINE_DEG = 0.1  # chord angle of arcs in the volume that the solid is checked against: wrong by 3e-7 of the arc's part
THROUGH = "outlines within the face are taken as holes right through"
Corners = tuple[Corner, ...]


@dataclass(frozen=True)
class Prism:
    """An outline carried from z = 0 to ``height``; None, where it is as high as what it is cut from."""

    outer: Corners
    height: float | None


@dataclass(frozen=True)
class Turned:
    """Faces in (z, radius) to be turned about the z axis; what lies below radius 0 is left away."""

    faces: tuple[Corners, ...]


@dataclass(frozen=True)
class Slot:
    """A keyseat in a turned part: outline in (z, across), the floor's distance from the axis, and what tells that."""

    outline: Corners
    floor: float
    told: str


class Asked(StrEnum):
    """A size that a person can measure on the old part, by the option that takes it."""

    THICKNESS = "--thickness"
    HUB = "--hub-length"
    HUB_DIAMETER = "--hub-diameter"
    WEB = "--web-thickness"
    RIM = "--rim-thickness"


@dataclass(frozen=True)
class SolidPlan:
    """A solid: what ``prism`` and ``turned`` have in common, less ``holes`` right through along z and ``pockets``.

    Attributes
    ----------
    what : str
        "plate", "turned part" or "spur gear".
    prism : Prism or None
    turned : Turned or None
    holes : tuple of Corners
    notes : tuple of str
        What a person must know before believing it.
    pockets : tuple of (Corners, float)
        Outlines cut into a prism by itself from its top, and how deep.
    slots : tuple of Slot
        Cut into the turned part from one side.
    off_mm3 : float
        By how much its volume may be off for lengths that are scaled, at most (95 %).
    asked : tuple of Asked
        Sizes that would leave less of it scaled.
    """

    what: str
    prism: Prism | None = None
    turned: Turned | None = None
    holes: tuple[Corners, ...] = ()
    notes: tuple[str, ...] = ()
    pockets: tuple[tuple[Corners, float], ...] = ()
    slots: tuple[Slot, ...] = ()
    off_mm3: float = 0.0
    asked: tuple[Asked, ...] = ()


@dataclass(frozen=True)
class Missing:
    """Why there is no solid, as a sentence; ``asked`` are the options that would settle it, `Asked` by name alone."""

    why: str
    asked: tuple[str, ...] = ()

    def and_(self, other: "SolidPlan | Missing") -> "Missing":
        """This, with what is missing besides."""
        if isinstance(other, SolidPlan):
            return self
        return Missing(f"{self.why}; {other.why}", (*self.asked, *other.asked))


def unlike(what: str, given_mm: float, drawn_mm: float) -> Missing:
    """That a size which a person gave is not the one that the print's figures give."""
    return Missing(f"the {what} given, {given_mm:.3f} mm, is not that of the print, {drawn_mm:.3f} mm")


def flat(corners: Sequence[Corner], step_deg: float = FINE_DEG) -> list[Point]:
    """Corners as a polygon's points, arcs cut into chords.

    Examples
    --------
    >>> flat([(0.0, 0.0, 1.0), (2.0, 0.0, 0.0)], 90.0)
    [(0.0, 0.0), (1.0, -1.0), (2.0, 0.0)]
    """
    points: list[Point] = []
    for (x, y, bulge), (next_x, next_y, _) in zip(corners, [*corners[1:], corners[0]], strict=True):
        start, end = complex(x, y), complex(next_x, next_y)
        sweep = 4 * math.atan(bulge)
        count = max(1, math.ceil(math.degrees(abs(sweep)) / step_deg)) if bulge else 1
        centre = (start + end) / 2 + 1j * (end - start) * (1 - bulge**2) / (4 * bulge) if bulge else start
        for k in range(count):
            turn = complex(math.cos(sweep * k / count), math.sin(sweep * k / count))
            at = centre + (start - centre) * turn if k else start
            points.append((round(at.real, 12), round(at.imag, 12)))
    return points


def volume_mm3(plan: SolidPlan) -> float | None:
    """Volume by area times height, or by Pappus; None where both shape the solid or a turned one is cut."""
    if plan.turned is not None:
        return (
            None if plan.holes or plan.slots or plan.prism is not None else sum(map(turned_volume, plan.turned.faces))
        )
    assert plan.prism is not None
    assert plan.prism.height is not None
    height, outer = plan.prism.height, Polygon(flat(plan.prism.outer))
    cut = [(Polygon(flat(each)), height) for each in plan.holes]
    cut += [(Polygon(flat(each)), depth) for each, depth in plan.pockets]
    floors = sorted({0.0, height, *(depth for _, depth in cut)})
    return float(
        sum(
            (low - high) * outer.difference(unary_union([shape for shape, depth in cut if depth >= low])).area
            for high, low in pairwise(floors)
        )
    )


def blank_mm3(plan: SolidPlan) -> float:
    """Volume of the turned body, else of the prism, before anything is cut from it."""
    if plan.turned is not None:
        return sum(map(turned_volume, plan.turned.faces))
    assert plan.prism is not None
    assert plan.prism.height is not None
    return float(Polygon(flat(plan.prism.outer)).area * plan.prism.height)


def turned_volume(face: Corners) -> float:
    """2 pi times the moment of the face's upper half about the axis."""
    shape = Polygon(flat(face))
    low, _, high, top = shape.bounds
    upper = shape.intersection(Polygon([(low, 0), (high, 0), (high, top), (low, top)]))
    return float(2 * math.pi * upper.area * upper.centroid.y) if upper.area else 0.0


def parts_of(plan: SolidPlan) -> Iterator[str]:
    """What the solid is made of, in words."""
    if plan.prism is not None and plan.prism.height is not None:
        yield f"{plan.prism.height:.4f} mm thick"
    if plan.holes:
        yield "1 hole right through" if len(plan.holes) == 1 else f"{len(plan.holes)} holes right through"
    for _, depth in plan.pockets:
        yield f"a pocket {depth:.4f} mm deep"
    for slot in plan.slots:
        yield f"a keyseat {slot.told}"
