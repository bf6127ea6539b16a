"""`part.dxf`: the part as dimensioned: closed outlines, DIMENSION entities, the gear's true teeth."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from pathlib import Path

from ezdxf.document import Drawing

from digitize.dimensions.table import Dimension, Reconciled, State
from digitize.gears.finding import GearFinding
from digitize.lettering.text import Kind, Text, Unit
from digitize.redraw import dimensioned, dxf, outline
from digitize.redraw.bent import Bent
from digitize.redraw.dimensioned import Placed, scaled
from digitize.redraw.drawn_views import part_frame
from digitize.redraw.figures import Ends, nominal_mm, strays
from digitize.redraw.gear_outline import GearCurve, GearPlan, covered
from digitize.redraw.hatch import add_hatch, pattern_of
from digitize.redraw.open_chains import OpenChain, ends_of, open_chains, where
from digitize.redraw.plane import GAP_MM, Piece, Straight
from digitize.redraw.profile import DrawnView, Profile
from digitize.redraw.report import Outline, OutlineKind, PartReport
from digitize.redraw.set_screw import add_set_screw
from digitize.redraw.sheet_blocks import add_sheet_blocks
from digitize.redraw.solved import Part, SolvedView, solve_part
from digitize.redraw.trace import add_circular
from digitize.report.frame import Frame
from digitize.strokes.primitives import Point, Role, Strokes

OUTLINE, INNER, CUT, EDGE, GEAR, DISPUTED = "OUTLINE", "INNER_OUTLINE", "CUT_OUTLINE", "EDGE", "GEAR", "DISPUTED"
GEAR_UNPROVEN = "GEAR_UNPROVEN"
OPEN, SCALE_UNPROVEN = "OPEN_OUTLINE", "SCALE_UNPROVEN"
_LAYERS = {
    OUTLINE: dxf.LayerStyle(dxf.BLACK_OR_WHITE, weight=dxf.WIDE_PEN),
    INNER: dxf.LayerStyle(dxf.BLACK_OR_WHITE, weight=dxf.WIDE_PEN),
    CUT: dxf.LayerStyle(dxf.CYAN, weight=dxf.WIDE_PEN),
    EDGE: dxf.LayerStyle(dxf.GREEN),
    GEAR: dxf.LayerStyle(dxf.BLACK_OR_WHITE, weight=dxf.WIDE_PEN),
    GEAR_UNPROVEN: dxf.LayerStyle(dxf.MAGENTA, weight=dxf.WIDE_PEN),
    DISPUTED: dxf.LayerStyle(dxf.RED),
    OPEN: dxf.LayerStyle(dxf.RED),
    SCALE_UNPROVEN: dxf.LayerStyle(dxf.RED, weight=dxf.WIDE_PEN),
}
_OUTLINE_LAYERS = {OutlineKind.OUTER: OUTLINE, OutlineKind.INNER: INNER, OutlineKind.CUT: CUT}
_DIGITS = 9  # decimals of a coordinate: below any meaning, above the solution's rounding
_MARK_MM = 1.5  # of paper: radius of the ring round an open outline's end
_LINE_PITCH = 1.6  # of listed text, in text heights
NO_FIGURE = "it is not tied to anything drawn"


def write_part(
    path: Path,
    strokes: Strokes,
    reconciled: Reconciled,
    gear: GearFinding | None,
    frame: Frame,
    unit: Unit,
    texts: Sequence[Text] = (),
) -> PartReport:
    """Write the part as dimensioned.

    Parameters
    ----------
    path : Path
    strokes : Strokes
    reconciled : Reconciled
    gear : GearFinding or None
        Its teeth are drawn where its system, pitch and pressure angle can be stated; on their own layer while unproven.
    frame : Frame
        Of the sheet; each view keeps its place on the sheet and has its own scale.
    unit : Unit
        INCH or MM, the file's.
    texts : sequence of Text
        All lettering of the sheet, for title block and tables.

    Returns
    -------
    PartReport
        What was closed, which figures hold, what was left out and why.
    """
    frame = part_frame(frame, reconciled)
    part = solve_part(strokes, reconciled, gear, frame)
    solved, plan = part.views, part.gear
    drawing = dxf.new_drawing(unit, frame.paper_mm * dxf.per_mm(unit))
    dimensioned.add_style(drawing, frame.paper_mm * dxf.per_mm(unit), unit)
    outlines: list[Outline] = []
    for each in solved:
        outlines += _add_profile(drawing, each, plan, unit)
    outlines += _add_teeth(drawing, plan, part.curves, unit)
    screw = add_set_screw(drawing, plan, part.curves, reconciled, strokes, unit)
    _add_figures(drawing, solved, reconciled, unit)
    _list_below(drawing, part, reconciled, frame, unit)
    unclosed = list(_open(part))
    _add_open(drawing, unclosed, unit)
    if solved:
        add_sheet_blocks(drawing, strokes, texts, reconciled.title_block, frame, dxf.per_mm(unit))
    dxf.save(drawing, path)
    used = tuple(name for each in solved for name in each.profile.ends)
    ends = [end for each, chain in unclosed for end in ends_of(each.view, chain)]
    notes = (note for each in solved for note in (*each.profile.notes, *_left_free(each)))
    said = (*part.notes, *(where(each.view, chain) for each, chain in unclosed), *notes, *plan.notes, *screw)
    return PartReport(
        tuple(outlines),
        used,
        _left_out(solved, reconciled, used),
        contradicting=tuple(name for each in solved for name in each.profile.contradicting),
        in_excess=tuple(name for each in solved for name in each.profile.in_excess),
        freedom=tuple((each.view.name, each.profile.freedom) for each in solved if each.profile.rings),
        open_ends=tuple(ends),
        notes=said,
    )


def _left_free(solved: SolvedView) -> Iterator[str]:
    """Sentences on the degrees of freedom that are left, and on the figures in excess."""
    shape, name = solved.profile, solved.view.name
    if shape.freedom:
        lengths = "1 length is" if shape.freedom == 1 else f"{shape.freedom} lengths are"
        yield f"view {name}: {lengths} left to the print's own scale (degrees of freedom)"
    if shape.in_excess:
        yield f"view {name}: {', '.join(shape.in_excess)} in excess: they repeat what other figures give, and agree"


def _add_profile(drawing: Drawing, solved: SolvedView, plan: GearPlan, unit: Unit) -> list[Outline]:
    shape, factor, written = solved.profile, dxf.per_mm(unit), []
    drawn: set[frozenset[Piece]] = set()  # a face that is cut from edge to edge is an outline too
    outermost = OutlineKind.PARTIAL if shape.partial else OutlineKind.OUTER
    kinds = [outermost if ring.within is None else OutlineKind.INNER for ring in shape.rings]
    kinds += [OutlineKind.CUT] * len(shape.cuts)
    for ring, kind, determined in zip((*shape.rings, *shape.cuts), kinds, shape.determined, strict=True):
        if covered(plan, solved.view.name, outline.ring_polygon(shape.plane, ring)):
            continue
        pieces = frozenset(step.piece for step in ring.steps)
        if pieces not in drawn:
            scaled_layer = dimensioned.SCALED if solved.view.proven else SCALE_UNPROVEN
            _add_ring(drawing, shape, ring, _OUTLINE_LAYERS[kind] if determined else scaled_layer, factor)
        drawn.add(pieces)
        if kind is OutlineKind.CUT:
            _add_hatching(drawing, solved, ring, factor)
        written.append(Outline(solved.view.name, kind, outline.ring_area(shape.plane, ring), determined))
    if shape.rings:
        _add_edges(drawing, shape, plan, solved.view, factor)
        _add_centres(drawing, solved.view, shape, factor)
    return written


def _add_centres(drawing: Drawing, view: DrawnView, shape: Profile, factor: float) -> None:
    pitch_circles = {index for index, arc in view.arcs if arc.role is Role.CENTRE}
    attributes = {"layer": dxf.add_role_layer(drawing, Role.CENTRE)}
    for start, end in shape.centre_lines:
        drawing.modelspace().add_line(scaled(start, factor), scaled(end, factor), attributes)
    for arc, circle in shape.circles.items():
        if arc in pitch_circles:
            add_circular(drawing.modelspace(), circle, factor, attributes)


def _style(layer: str) -> dxf.LayerStyle:
    return _LAYERS.get(layer) or dimensioned.LAYERS[layer]


def _add_ring(drawing: Drawing, shape: Profile, ring: outline.Ring, layer: str, factor: float) -> None:
    dxf.add_layer(drawing, layer, _style(layer))
    if ring.circle:
        circle = outline.ring_circle(shape.plane, ring)
        centre = tuple(round(value * factor, _DIGITS) for value in circle.centre)
        drawing.modelspace().add_circle(centre, round(circle.radius * factor, _DIGITS), {"layer": layer})
        return
    _add_closed(drawing, _corners(shape, ring, factor), layer)


def _corners(shape: Profile, ring: outline.Ring, factor: float) -> list[dxf.Corner]:
    return [
        (round(x * factor, _DIGITS), round(y * factor, _DIGITS), bulge)
        for x, y, bulge in outline.bulged(shape.plane, ring.steps)
    ]


def _add_hatching(drawing: Drawing, solved: SolvedView, ring: outline.Ring, factor: float) -> None:
    """Hatch a cut face as the print hatches it."""
    view, shape = solved.view, solved.profile
    strokes = [(view.frame.point(a.start), view.frame.point(a.end)) for a in view.lines if a.role is Role.HATCH]
    pattern = pattern_of(strokes, outline.ring_polygon(shape.plane, ring), view.frame.paper_mm)
    corners = dxf.without_wide_arcs(_corners(shape, ring, factor))
    add_hatch(drawing.modelspace(), corners, pattern, factor, dxf.add_role_layer(drawing, Role.HATCH))


def _add_closed(drawing: Drawing, corners: Sequence[dxf.Corner], layer: str) -> None:
    rounded = dxf.without_wide_arcs(corners)
    drawing.modelspace().add_lwpolyline(rounded, format="xyb", close=True, dxfattribs={"layer": layer})


def _add_edges(drawing: Drawing, shape: Profile, plan: GearPlan, view: DrawnView, factor: float) -> None:
    """The other visible pieces within the outlines: shoulders, steps. What lies outside is no edge of the part."""
    dxf.add_layer(drawing, EDGE, _LAYERS[EDGE])
    on_rings = {step.piece for ring in shape.rings for step in ring.steps}
    outers = [outline.ring_polygon(shape.plane, ring) for ring in shape.rings if ring.within is None]
    within = [each.buffer(GAP_MM * view.frame.paper_mm) for each in outers]
    for piece in outline.distinct(shape.plane, shape.plane.pieces, on_rings):
        line = outline.piece_line(shape.plane, piece)
        if not covered(plan, view.name, line) and any(each.covers(line) for each in within):
            _add_piece(drawing, shape, piece, factor, EDGE)


def _add_piece(drawing: Drawing, shape: Profile, piece: Piece, factor: float, layer: str) -> None:
    stroke, space = shape.plane.strokes[piece.stroke], drawing.modelspace()
    if isinstance(stroke, Straight):
        start_at, end_at = (scaled(shape.plane.nodes[node].at, factor) for node in (piece.first, piece.last))
        space.add_line(start_at, end_at, {"layer": layer})
    elif isinstance(stroke, Bent):
        chain = [scaled(point, factor) for point in outline.piece_points(shape.plane, piece)]
        space.add_lwpolyline(chain, dxfattribs={"layer": layer})
    else:
        start, sweep = outline.piece_angles(stroke.curve, shape.plane, piece)
        add_circular(space, replace(stroke.curve, start_deg=start, sweep_deg=sweep), factor, {"layer": layer})


def _open(part: Part) -> Iterator[tuple[SolvedView, OpenChain]]:
    """What does not close, the gear's drawn teeth left out."""
    for each in part.views:
        for chain in open_chains(each.profile, each.view.frame.paper_mm):
            lines = [outline.piece_line(each.profile.plane, piece) for piece in chain.pieces]
            if not all(covered(part.gear, each.view.name, line) for line in lines):
                yield each, chain


def _add_open(drawing: Drawing, unclosed: Sequence[tuple[SolvedView, OpenChain]], unit: Unit) -> None:
    """Write what does not close as it is, its free ends ringed; ends that one ring holds get one."""
    factor, marked = dxf.per_mm(unit), list[Point]()
    for each, chain in unclosed:
        dxf.add_layer(drawing, OPEN, _LAYERS[OPEN])
        radius_mm = _MARK_MM * each.view.frame.paper_mm
        for end in chain.ends:
            if all(math.dist(end, other) > radius_mm for other in marked):
                marked.append(end)
                drawing.modelspace().add_circle(scaled(end, factor), radius_mm * factor, {"layer": OPEN})
    for shape, chains in _by_profile(unclosed):
        on_rings = {step.piece for ring in shape.rings for step in ring.steps}
        for piece in outline.distinct(shape.plane, (piece for chain in chains for piece in chain.pieces), on_rings):
            _add_piece(drawing, shape, piece, factor, OPEN)


def _by_profile(unclosed: Sequence[tuple[SolvedView, OpenChain]]) -> Iterator[tuple[Profile, list[OpenChain]]]:
    for _, group in groupby(unclosed, key=lambda each: each[0].view.name):
        mine = list(group)
        yield mine[0][0].profile, [chain for _, chain in mine]


def _add_teeth(drawing: Drawing, plan: GearPlan, curves: Sequence[GearCurve], unit: Unit) -> list[Outline]:
    factor = dxf.per_mm(unit)
    layer = GEAR if plan.proven else GEAR_UNPROVEN
    for curve in curves:
        dxf.add_layer(drawing, layer, _LAYERS[layer])
        corners = [
            (round(x * factor, _DIGITS), round(y * factor, _DIGITS), bulge)
            for (x, y), bulge in zip(curve.outline.points.tolist(), curve.outline.bulges.tolist(), strict=True)
        ]
        _add_closed(drawing, corners, layer)
    return [Outline(plan.view, curve.kind, curve.outline.area_mm2, plan.proven) for curve in curves]


def _add_figures(drawing: Drawing, solved: Sequence[SolvedView], reconciled: Reconciled, unit: Unit) -> None:
    by_view = {each.view.name: each for each in solved}
    said: set[tuple[str, tuple[Point, ...]]] = set()
    for dimension in reconciled.dimensions:
        mine = by_view.get(dimension.view)
        if mine is None or dimension.geometry is None or dimension.kind is Kind.GEAR_DATA:
            continue
        layer = dimensioned.layer_of(dimension, dimension.id in mine.profile.ends)
        frame, geometry = mine.view.frame, dimension.geometry
        drawn = frame.point(geometry.first), frame.point(geometry.second)
        if layer is None or (layer == dimensioned.NOT_APPLIED and _elsewhere(dimension, drawn, reconciled, frame)):
            continue
        ends = mine.profile.ends.get(dimension.id) or Ends(*drawn, *drawn)
        placed = Placed(dimension, layer, ends, frame.point(geometry.text_at))
        callout = dimension.text, dimension.quad_px
        if dimensioned.add_dimension(drawing, placed, unit, reconciled.unit, callout in said):
            said.add(callout)


def _elsewhere(dimension: Dimension, drawn: tuple[Point, Point], reconciled: Reconciled, frame: Frame) -> bool:
    """Whether an agreed figure was agreed by something else than what it was tied to: drawn there it would lie."""
    value = nominal_mm(dimension, reconciled.unit)
    return value is not None and strays(math.dist(*drawn), value, frame.paper_mm)


def _list_below(drawing: Drawing, part: Part, reconciled: Reconciled, frame: Frame, unit: Unit) -> None:
    """List under the sheet what must not be missed: disputed figures, which shape nothing and get no DIMENSION, and
    views whose scale is not proven."""
    height = dimensioned.TEXT_MM * frame.paper_mm * dxf.per_mm(unit)
    disputed = (each for each in reconciled.dimensions if each.state is State.DISPUTED)
    listed = [(DISPUTED, f"{each.id}: {each.text.replace(chr(10), ' / ')} DISPUTED") for each in disputed]
    unproven = (each.view.name for each in part.views if not each.view.proven)
    listed += [(SCALE_UNPROVEN, f"VIEW {name}: SCALE NOT PROVEN") for name in unproven]
    for number, (layer, text) in enumerate(listed, start=1):
        dxf.add_layer(drawing, layer, _LAYERS[layer])
        place = (0.0, -number * _LINE_PITCH * height)
        drawing.modelspace().add_text(text, height=height, dxfattribs={"layer": layer, "insert": place})


def _left_out(solved: Sequence[SolvedView], reconciled: Reconciled, used: Sequence[str]) -> tuple[tuple[str, str], ...]:
    reasons = {name: why for each in solved for name, why in each.profile.left_out}
    return tuple(
        (each.id, reasons.get(each.id) or _why_unused(each, {one.view.name for one in solved}))
        for each in reconciled.dimensions
        if each.id not in used
    )


def _why_unused(dimension: Dimension, views: set[str | None]) -> str:
    if dimension.state is not State.AGREED:
        return f"it is {dimension.state.value}"
    if dimension.geometry is None:
        return NO_FIGURE
    if dimension.view not in views:
        return "its view is not redrawn"
    return "it is no length"
