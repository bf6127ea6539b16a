"""What a maker would look for on the sheet and not find.

A drawn circle or arc of a size that no figure gives, and an overall size that neither a figure nor a row of figures end
to end gives, are scaled from the print, each with its uncertainty. Positions of holes and inner edges are not looked
for, nor roundings so small that the print tells no size of them.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from digitize.dimensions.linking.bolt_circles import WHOLE_DEG, equal_holes
from digitize.dimensions.reasons import Reason
from digitize.dimensions.scales.projection import Extent, view_extents
from digitize.dimensions.table import Dimension, Lacking, State, ViewScale
from digitize.dimensions.witnesses.chains import SAME_PLACE_MM
from digitize.dimensions.witnesses.weighing import LEAST_PEN_MM
from digitize.lettering.text import Kind, Unit
from digitize.strokes.primitives import Arc, Dash, Point, Role, Strokes

MM_PER_INCH = Fraction(254, 10)
SAME_Z = 4.0
"""A figure gives a drawn size when it is within this many standard errors of it ..."""
SAME_SHARE = 0.01
"""... or within this share: how exactly the pen drew it is not known that well."""
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
LEAST_EDGE_MM = 3.0
"""Shorter strokes, in mm of paper, may be no edges: they bound no view and end no rounding."""
MEETS_MM = 0.5
"""An edge ends on a rounding, or lies along the side of a view, when it is this near, in mm of paper."""
FLAT = 0.02
"""Sine of the slope up to which a length counts as level or upright."""


@dataclass(frozen=True)
class _Sheet:
    """What the search leans on: strokes, the rows that say a size, scales by view, the unit, paper mm per pixel."""

    strokes: Strokes
    rows: tuple[Dimension, ...]
    scales: Mapping[str, ViewScale]
    unit: Unit
    mm_per_px: float

    def given_mm(self) -> Iterator[float]:
        """Every length that a figure gives, in mm; a radius also as the diameter, and the other way."""
        for row in self.rows:
            size = length_mm(row, self.unit)
            if size is not None:
                yield float(size)
                if row.kind in (Kind.RADIUS, Kind.DIAMETER):
                    yield float(size) * (2.0 if row.kind is Kind.RADIUS else 0.5)

    def is_given(self, size_mm: float, std_mm: float) -> bool:
        """Does a figure give this size?"""
        slack = max(SAME_Z * std_mm, SAME_SHARE * size_mm)
        return any(abs(given - size_mm) < slack for given in self.given_mm())


def length_mm(row: Dimension, sheet_unit: Unit) -> Fraction | None:
    """The length that a row gives in mm; None for what is no length."""
    unit = sheet_unit if row.unit is Unit.UNMARKED else row.unit
    if row.value is None or unit not in (Unit.INCH, Unit.MM):
        return None
    return row.value * MM_PER_INCH if unit is Unit.INCH else row.value


def find_lacking(
    strokes: Strokes, rows: Sequence[Dimension], scales: Sequence[ViewScale], unit: Unit, mm_per_px: float
) -> tuple[Lacking, ...]:
    """Drawn sizes that no figure gives, in the views whose scale is known.

    Parameters
    ----------
    strokes : Strokes
    rows : sequence of Dimension
    scales : sequence of ViewScale
    unit : Unit
        Of the sheet's figures.
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    tuple of Lacking
    """
    known = {scale.view: scale for scale in scales if scale.known}
    sheet = _Sheet(strokes, tuple(row for row in rows if row.state is not State.UNREAD), known, unit, mm_per_px)
    return (*_round_sizes(sheet), *_overall_sizes(sheet))


def _round_sizes(sheet: _Sheet) -> Iterator[Lacking]:
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
        pen_mm = _std_mm(size_mm, scale, 1.0 if whole else 0.5)
        std_mm = math.hypot(pen_mm / _bulge(arc), arc.radius_std_px * per_px)
        wide = HALF_DEG <= arc.sweep_deg < ROUND_DEG and sheet.is_given(2 * size_mm, 2 * pen_mm)
        told = not measured.isdisjoint(equal) or wide or sheet.is_given(size_mm, pen_mm)
        if not told and std_mm < WORTH_SCALING * size_mm:
            word = "diameter" if whole else "radius"
            what = f"{word} of {len(equal)} equal {'circles' if whole else 'arcs'}" if len(equal) > 1 else word
            rim = arc.centre[0] + arc.radius_px, arc.centre[1]
            ends = ((2 * arc.centre[0] - rim[0], rim[1]) if whole else arc.centre), rim
            yield _lacking(what, arc.view or "", size_mm, std_mm, ends, sheet.unit)


def _bulge(arc: Arc) -> float:
    """Height of a bow over its chord in radii, at most 1: by its inverse an error across the bow enters the radius."""
    return 1.0 - math.cos(math.radians(min(arc.sweep_deg, 180.0)) / 2)


def _is_feature(arc: Arc, sheet: _Sheet) -> bool:
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


def _meets_edge(point: Point, sheet: _Sheet) -> bool:
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


def _overall_sizes(sheet: _Sheet) -> Iterator[Lacking]:
    """Width and height of each view that no figure and no row of figures gives."""
    for view, extent in view_extents(sheet.strokes).items():
        scale = sheet.scales.get(view)
        if scale is None:
            continue
        for word, (first, second), per_px in zip(
            ("width", "height"), _sides(extent), (scale.x_mm_per_px, scale.y_mm_per_px), strict=True
        ):
            size_mm = math.dist(first, second) * per_px
            std_mm = _std_mm(size_mm, scale, 1.0)
            edged = all(_is_edged(end, word == "width", view, sheet) for end in (first, second))
            edged = edged and not _is_round(first, second, word == "width", view, sheet)
            if edged and not sheet.is_given(size_mm, std_mm) and not _rowed(first, second, view, sheet):
                yield _lacking(f"overall {word}", view, size_mm, std_mm, (first, second), sheet.unit)


def _is_edged(side: Point, upright: bool, view: str, sheet: _Sheet) -> bool:
    """Does an edge, or the pole of a circle, lie along this side of a view? Else the side is that of a stray stroke."""
    axis, slack = (0 if upright else 1), MEETS_MM / sheet.mm_per_px
    edges = (line for line in sheet.strokes.lines if line.view == view and line.role is Role.VISIBLE)
    if any(
        max(abs(line.start[axis] - side[axis]), abs(line.end[axis] - side[axis])) < slack
        and math.dist(line.start, line.end) * sheet.mm_per_px > LEAST_EDGE_MM
        for line in edges
    ):
        return True
    rounds = (arc for arc in sheet.strokes.arcs if arc.view == view and arc.role is Role.VISIBLE)
    wide = (arc for arc in rounds if arc.sweep_deg >= WHOLE_DEG / 2)
    return any(abs(abs(arc.centre[axis] - side[axis]) - arc.radius_px) < slack for arc in wide)


def _is_round(first: Point, second: Point, across: bool, view: str, sheet: _Sheet) -> bool:
    """Does a circle reach from side to side? Then the view is as large as its circle, though a keyseat cuts into it."""
    axis, slack = (0 if across else 1), MEETS_MM / sheet.mm_per_px
    low, high = sorted((first[axis], second[axis]))
    return any(
        arc.centre[axis] - arc.radius_px < low + slack and arc.centre[axis] + arc.radius_px > high - slack
        for arc in sheet.strokes.arcs
        if arc.view == view and arc.role is Role.VISIBLE and arc.sweep_deg >= ROUND_DEG
    )


def _sides(extent: Extent) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
    left, top, right, bottom = extent
    return ((left, bottom), (right, bottom)), ((left, bottom), (left, top))


def _rowed(first: Point, second: Point, view: str, sheet: _Sheet) -> bool:
    """Do measured lengths of the view, end to end, lead from one side to the other?"""
    axis = 0 if abs(first[0] - second[0]) > abs(first[1] - second[1]) else 1
    slack = SAME_PLACE_MM / sheet.mm_per_px
    steps = list(_steps(axis, view, sheet))
    reached, frontier = [first[axis]], [first[axis]]
    while frontier:
        at = frontier.pop()
        for one, other in (*steps, *((b, a) for a, b in steps)):
            if abs(one - at) < slack and all(abs(other - been) >= slack for been in reached):
                reached.append(other)
                frontier.append(other)
    return any(abs(at - second[axis]) < slack for at in reached)


def _steps(axis: int, view: str, sheet: _Sheet) -> Iterator[tuple[float, float]]:
    for row in sheet.rows:
        if row.geometry is None or row.view != view or row.kind not in (Kind.LINEAR, Kind.DIAMETER):
            continue
        (x0, y0), (x1, y1) = row.geometry.first, row.geometry.second
        run, rise = (x1 - x0, y1 - y0) if axis == 0 else (y1 - y0, x1 - x0)
        if abs(rise) <= FLAT * abs(run):
            yield (x0, x1) if axis == 0 else (y0, y1)


def _std_mm(size_mm: float, scale: ViewScale, pen_share: float) -> float:
    """Standard error of a size scaled from the print: the pen's, and the scale's."""
    relative = max(scale.x_std / scale.x_mm_per_px, scale.y_std / scale.y_mm_per_px)
    pen_mm = max(scale.pen_std_mm, LEAST_PEN_MM)
    return math.hypot(pen_share * pen_mm * scale.part_per_paper, relative * size_mm)


def _lacking(what: str, view: str, size_mm: float, std_mm: float, ends: tuple[Point, Point], unit: Unit) -> Lacking:
    per_mm = 1 / 25.4 if unit is Unit.INCH else 1.0
    size, std = size_mm * per_mm, std_mm * per_mm
    places = max(1, min(4, 1 - math.floor(math.log10(max(std, 1e-6)))))
    words = Reason.LACKING.say(
        what=what, view=view, size=f"{size:.{places}f}", std=f"{std:.{places}f}", unit=unit.value
    )
    return Lacking(what, view, size, std, unit, *ends, words)
