"""The keyseat that a shaft's side view outlines, as deep as a cross-section shows it or its figure and a key table say.

Glossary
--------
floor
    The flat bottom of a keyseat, told by its distance from the axis.
depth
    A figure of it is measured at the keyseat's side or on its middle line: each key table by its own rule.
"""

import math
from collections.abc import Sequence

from shapely import Polygon, box

from digitize.dimensions.table import Dimension, Reconciled, State
from digitize.gears.bore import KEY_STANDARDS, SAME_KEY_MM, chordal_height_mm
from digitize.redraw.dxf import Corner
from digitize.redraw.solids.solid_shape import Corners, Missing, Slot, flat
from digitize.redraw.solids.view_outlines import PAIR_MM, SAME, outer_ring, ring_corners
from digitize.redraw.solving.figures import length_mm
from digitize.redraw.solving.solved import SolvedView
from digitize.standards import Key
from digitize.standards.key_sizes import parallel_keys

WIDTH, DEPTH = ("width", "key_width"), ("depth", "key_depth")
FLOOR_CORNERS = 2


def keyseat_slot(
    side: SolvedView, outer: Corners, seat: Corners, others: Sequence[SolvedView], reconciled: Reconciled
) -> Slot | Missing:
    """What is milled out of a shaft whose side view, laid along its axis, has one outline within its outer one.

    Parameters
    ----------
    side : SolvedView
    outer, seat : Corners
        Outer and inner outline, in z and the distance from the axis.
    others : sequence of SolvedView
        The sheet's other views, of which one may be a cross-section.
    reconciled : Reconciled
    """
    name = side.view.name
    left, low, right, high = Polygon(flat(seat)).bounds
    body = Polygon(flat(outer))
    step = body.intersection(box(left, body.bounds[1], right, body.bounds[3]))
    radius, width = step.bounds[3], high - low
    if abs(high + low) > SAME * width or abs(step.area - 2 * radius * (right - left)) > SAME * step.area:
        return Missing(f"view {name} shows an outline on the turned side that is no keyseat along one step of it")
    floors = [found for each in others if (found := _floor_of_section(each, radius, width)) is not None]
    told = _told_by_figure(side, seat, radius, width, reconciled)
    floors += [told.floor] if isinstance(told, Slot) else []
    if floors and max(floors) - min(floors) > SAME * radius:
        return Missing(f"a cross-section and a figure give the keyseat in view {name} unlike depths")
    return told if isinstance(told, Slot) or not floors else Slot(seat, floors[0], "as its cross-section shows it")


def _told_by_figure(
    side: SolvedView, seat: Corners, radius: float, width: float, reconciled: Reconciled
) -> Slot | Missing:
    """A keyseat as deep as its figure and a key table say."""
    name = side.view.name
    depth = _depth_mm(side, width, reconciled)
    if depth is None:
        return Missing(f"view {name} shows a keyseat, and no agreed figure or cross-section gives how deep it is")
    key = _tabled(2 * radius, width, depth)
    if key is None:
        return Missing(
            f"the keyseat in view {name} is in no key table: whether its depth is measured at its side or on its "
            "middle line is not told"
        )
    floor = radius - depth - (0.0 if key.on_middle_line else chordal_height_mm(2 * radius, width))
    where = "on its middle line" if key.on_middle_line else "at its side"
    return Slot(seat, floor, f"{depth:.4f} mm deep {where}, as {key.standard} measures it")


def _floor_of_section(view: SolvedView, radius: float, width: float) -> float | None:
    """How far from the axis of a round step the floor of its keyseat lies, whose depth agreed figures of a
    cross-section give; None where its outline is of no such step, or none gives it.

    The cross-section's circle and its keyseat's width are as given, or as drawn where no figure of the view gives them.
    """
    slack = PAIR_MM * view.view.frame.paper_mm
    corners = ring_corners(view.profile, outer_ring(view))
    arcs = [pair for pair in zip(corners, [*corners[1:], corners[0]], strict=True) if pair[0][2]]
    if not arcs or outer_ring(view).circle:
        return None
    centre = _arc_centre(*arcs[0])
    rim = abs(centre - complex(*arcs[0][0][:2]))
    if abs(rim - radius) > slack or any(abs(_arc_centre(*each) - centre) > SAME * rim for each in arcs):
        return None
    within = [at for x, y, _ in corners if abs((at := complex(x, y)) - centre) < rim - slack]
    if len(within) != FLOOR_CORNERS or abs(abs(within[0] - within[1]) - width) > slack:
        return None
    middle = sum(within) / FLOOR_CORNERS - centre
    return _floor_as_told(view, centre, middle, rim, radius) if middle else None


def _floor_as_told(view: SolvedView, centre: complex, middle: complex, rim: float, radius: float) -> float | None:
    """The floor that a figure of the cross-section measures to, from the rim over it or from the one across."""
    up, floor = middle / abs(middle), abs(middle)
    for each in view.profile.ends.values():
        heights = [((complex(*end) - centre) * up.conjugate()).real for end in (each.first, each.second)]
        near, far = sorted(heights, key=lambda height: abs(height - floor))
        if abs(near - floor) <= SAME * rim < abs(far - floor):
            return radius - (rim - floor) if far > floor else floor - far - radius
    return None


def _arc_centre(start: Corner, end: Corner) -> complex:
    first, last, bulge = complex(*start[:2]), complex(*end[:2]), start[2]
    return (first + last) / 2 + 1j * (last - first) * (1 - bulge**2) / (4 * bulge)


def _depth_mm(side: SolvedView, width: float, reconciled: Reconciled) -> float | None:
    """The agreed depth of the one callout whose width is the keyseat's."""
    agreed = [each for each in reconciled.dimensions if each.state is State.AGREED and each.view == side.view.name]
    seats = [each.id for each in agreed if each.name in WIDTH and _spans(side, each, width)]
    depths = [each for each in agreed if each.name in DEPTH and any(_one_callout(each.id, seat) for seat in seats)]
    return length_mm(depths[0], reconciled.unit) if len(depths) == 1 else None


def _spans(side: SolvedView, row: Dimension, width: float) -> bool:
    ends = side.profile.ends.get(row.id)
    return ends is not None and abs(math.dist(ends.first, ends.second) - width) <= SAME * width


def _one_callout(one: str, other: str) -> bool:
    return one.rpartition(".")[0] == other.rpartition(".")[0]


def _tabled(shaft_mm: float, width_mm: float, depth_mm: float) -> Key | None:
    """The key for a shaft that a table has with this width and depth of its keyseat."""
    for key in parallel_keys():
        low, high, width = (float(each * key.mm_per_unit) for each in (key.shaft_over, key.shaft_to, key.width))
        depths = [float(key.shaft_depth * key.mm_per_unit)]
        if not key.on_middle_line and key.height_rectangular is not None:
            depths.append(float(key.height_rectangular * key.mm_per_unit / 2))
        fits = any(abs(each - depth_mm) <= SAME_KEY_MM for each in depths) and abs(width - width_mm) <= SAME_KEY_MM
        if key.standard in KEY_STANDARDS and fits and low < shaft_mm <= high + SAME_KEY_MM:
            return key
    return None
