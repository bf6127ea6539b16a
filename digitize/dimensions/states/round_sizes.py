"""Drawn circles and arcs of a size that no figure gives."""

import math
from collections.abc import Iterator, Sequence

from digitize.dimensions.linking.bolt_circles import WHOLE_DEG, equal_holes
from digitize.dimensions.states.drawn_sizes import LEAST_EDGE_MM, MEETS_MM, Drawing, as_lacking, error_mm
from digitize.dimensions.table import Lacking
from digitize.strokes.primitives import Arc, Dash, Point, Role

LEAST_SWEEP_DEG = 30.0
"""Shorter bows are not scaled: their radius is not known."""
HALF_DEG, ROUND_DEG = 170.0, 190.0
"""A bow of half a circle closes a slot, whose width may be what is given; one of more is measured across (ASME Y14.5:
beyond 180 deg by its diameter; from memory)."""
WORTH_SCALING = 1 / 8
"""What is known no better than to this part of itself is no size to make anything to: within four standard errors it
may be half as large again (judgement)."""
LEAST_RADIUS_MM = 0.8
"""Smaller roundings, in mm of paper, are those of the pen."""
LEAST_RADIUS_PENS = 2.0
"""Within two widths of its pen a rounding looks like a chamfer (four of 40 clean sheets were told so)."""


def round_sizes(sheet: Drawing) -> Iterator[Lacking]:
    """Diameters of whole circles and radii of bows, each size of a view once."""
    measured = {index for row in sheet.rows if row.geometry is not None for index in row.geometry.arcs}
    seen: set[int] = set()
    for index, arc in enumerate(sheet.strokes.arcs):
        if index in seen or not _is_feature(arc, sheet):
            continue
        equal = _equal(index, sheet.strokes.arcs)
        seen.update(equal)
        whole = arc.sweep_deg >= ROUND_DEG
        scale = sheet.scales[arc.view or ""]
        per_px = math.sqrt(scale.x_mm_per_px * scale.y_mm_per_px) * (2.0 if whole else 1.0)
        size_mm = arc.radius_px * per_px
        pen_mm = error_mm(size_mm, scale, 1.0 if whole else 0.5)
        std_mm = math.hypot(pen_mm / _bulge(arc), arc.radius_std_px * per_px)
        wide = HALF_DEG <= arc.sweep_deg < ROUND_DEG and sheet.is_given(2 * size_mm, 2 * pen_mm)
        told = not measured.isdisjoint(equal) or wide or sheet.is_given(size_mm, pen_mm)
        if not told and std_mm < WORTH_SCALING * size_mm:
            word = "diameter" if whole else "radius"
            what = f"{word} of {len(equal)} equal {'circles' if whole else 'arcs'}" if len(equal) > 1 else word
            rim = arc.centre[0] + arc.radius_px, arc.centre[1]
            ends = ((2 * arc.centre[0] - rim[0], rim[1]) if whole else arc.centre), rim
            yield as_lacking(what, arc.view or "", size_mm, std_mm, ends, sheet.unit)


def _bulge(arc: Arc) -> float:
    """Height of a bow over its chord in radii, at most 1: by its inverse an error across the bow enters the radius."""
    return 1.0 - math.cos(math.radians(min(arc.sweep_deg, 180.0)) / 2)


def _is_feature(arc: Arc, sheet: Drawing) -> bool:
    """Is it a drawn circle, or a rounding that joins two edges? Flanks of teeth are the gear's affair."""
    drawn = arc.role is Role.VISIBLE and arc.dash is Dash.SOLID and (arc.view or "") in sheet.scales
    if not drawn or arc.radius_px * sheet.mm_per_px < LEAST_RADIUS_MM:
        return False
    if arc.sweep_deg >= WHOLE_DEG:
        return True
    if arc.radius_px < LEAST_RADIUS_PENS * arc.width_px:
        return False
    toothed = any(ring.view == arc.view for ring in sheet.strokes.tooth_rings)
    return arc.sweep_deg >= LEAST_SWEEP_DEG and not toothed and all(_meets_edge(end, sheet) for end in _ends(arc))


def _ends(arc: Arc) -> tuple[Point, Point]:
    first, last = (math.radians(turn) for turn in (arc.start_deg, arc.start_deg + arc.sweep_deg))
    (x, y), r = arc.centre, arc.radius_px
    return (x + r * math.cos(first), y - r * math.sin(first)), (x + r * math.cos(last), y - r * math.sin(last))


def _meets_edge(point: Point, sheet: Drawing) -> bool:
    """Does a visible edge of some length end here?"""
    return any(
        line.role is Role.VISIBLE
        and math.dist(line.start, line.end) * sheet.mm_per_px > LEAST_EDGE_MM
        and min(math.dist(line.start, point), math.dist(line.end, point)) * sheet.mm_per_px < MEETS_MM
        for line in sheet.strokes.lines
    )


def _equal(index: int, arcs: Sequence[Arc]) -> tuple[int, ...]:
    """The arcs of a view as large as one of them, whole circles and bows apart."""
    one = arcs[index]
    if one.sweep_deg >= WHOLE_DEG:
        return tuple(sorted({index, *equal_holes(index, arcs)}))
    return tuple(
        i
        for i, arc in enumerate(arcs)
        if LEAST_SWEEP_DEG <= arc.sweep_deg < WHOLE_DEG
        and (arc.role, arc.view) == (one.role, one.view)
        and abs(arc.radius_px - one.radius_px) < 3 * math.hypot(arc.radius_std_px, one.radius_std_px, 0.5)
    )
