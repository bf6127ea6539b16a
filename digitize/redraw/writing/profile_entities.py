"""Outlines, cut faces, edges and centre lines of a solved view as entities of `part.dxf`, and what does not close."""

from collections.abc import Sequence
from dataclasses import replace

from ezdxf.document import Drawing
from shapely import unary_union

from digitize.lettering.text import Unit
from digitize.redraw import dxf
from digitize.redraw.dxf import scaled
from digitize.redraw.gear_outline import GearCurve, GearPlan, covered
from digitize.redraw.planes import outline
from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.pieces import distinct, piece_angles, piece_line, piece_points
from digitize.redraw.planes.plane import LOOSE, Piece
from digitize.redraw.planes.plane_strokes import GAP_MM, Straight
from digitize.redraw.report import GAP_REACH_MM, Outline, OutlineKind, gaps
from digitize.redraw.solving.boundary import LETTER_MM
from digitize.redraw.solving.open_chains import OpenChain, hanging_together
from digitize.redraw.solving.profile import DrawnView, Profile
from digitize.redraw.solving.solved import SolvedView
from digitize.redraw.solving.view_edges import pitch_circles
from digitize.redraw.trace import add_circular
from digitize.redraw.writing import layers
from digitize.redraw.writing.centre_marks import centre_marks
from digitize.redraw.writing.hatch import add_hatch, pattern_of
from digitize.redraw.writing.hidden_edges import hidden_edges
from digitize.strokes.primitives import Point, Role

_OUTLINE_LAYERS = {OutlineKind.OUTER: layers.OUTLINE, OutlineKind.INNER: layers.INNER, OutlineKind.CUT: layers.CUT}
_DIGITS = 9  # decimals of a coordinate: below any meaning, above the solution's rounding
_NOTHING_MM = 1e-6  # of part: figures may draw a short arc's circle in to a point, which other programs choke on
_MARK_MM = 0.8  # of paper: radius of the ring at a gap, small enough to see the edges beside it


def add_profile(drawing: Drawing, solved: SolvedView, plan: GearPlan, unit: Unit) -> list[Outline]:
    """Add all that closes in a view, its edges and centre lines; the drawn teeth of the gear are left out."""
    shape, factor, written = solved.profile, dxf.per_mm(unit), []
    drawn: set[frozenset[Piece]] = set()  # a face that is cut from edge to edge is an outline too
    outermost = OutlineKind.PARTIAL if shape.partial else OutlineKind.OUTER
    kinds = [outermost if ring.within is None else OutlineKind.INNER for ring in shape.rings]
    kinds += [OutlineKind.CUT] * len(shape.cuts)
    every = (*shape.rings, *shape.cuts)
    stds = shape.area_std_mm2 or (0.0,) * len(every)
    for ring, kind, determined, std in zip(every, kinds, shape.determined, stds, strict=True):
        if covered(plan, solved.view.name, outline.ring_polygon(shape.plane, ring)):
            continue
        pieces = frozenset(step.piece for step in ring.steps)
        if pieces not in drawn:
            scaled_layer = layers.SCALED if solved.view.proven else layers.SCALE_UNPROVEN
            _add_ring(drawing, shape, ring, _OUTLINE_LAYERS[kind] if determined else scaled_layer, factor)
        drawn.add(pieces)
        if kind is OutlineKind.CUT:
            _add_hatching(drawing, solved, ring, factor)
        written.append(Outline(solved.view.name, kind, outline.ring_area(shape.plane, ring), determined, std))
    if shape.rings:
        _add_edges(drawing, shape, plan, solved.view, factor)
        centres = (*shape.centre_lines, *centre_marks(solved.view, shape))
        _add_centres(drawing, solved.view, shape, centres, factor)
        _add_hidden(drawing, solved.view, shape, centres, factor)
    return written


def _add_hidden(
    drawing: Drawing, view: DrawnView, shape: Profile, centres: Sequence[tuple[Point, Point]], factor: float
) -> None:
    for start, end, told in hidden_edges(view, shape, centres):
        layer = dxf.add_role_layer(drawing, Role.HIDDEN) if told else layers.HIDDEN_SCALED
        attributes = {"layer": layer} if told else layers.on_layer(drawing, layer)
        drawing.modelspace().add_line(scaled(start, factor), scaled(end, factor), attributes)


def _add_centres(
    drawing: Drawing, view: DrawnView, shape: Profile, centres: Sequence[tuple[Point, Point]], factor: float
) -> None:
    pitched = {each.arc for each in pitch_circles(view)}
    attributes = {"layer": dxf.add_role_layer(drawing, Role.CENTRE)}
    for start, end in centres:
        drawing.modelspace().add_line(scaled(start, factor), scaled(end, factor), attributes)
    for arc, circle in shape.circles.items():
        if arc in pitched:
            add_circular(drawing.modelspace(), circle, factor, attributes)


def _add_ring(drawing: Drawing, shape: Profile, ring: outline.Ring, layer: str, factor: float) -> None:
    if ring.circle:
        circle = outline.ring_circle(shape.plane, ring)
        centre = tuple(round(value * factor, _DIGITS) for value in circle.centre)
        radius = round(circle.radius * factor, _DIGITS)
        drawing.modelspace().add_circle(centre, radius, layers.on_layer(drawing, layer))
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
    attributes = layers.on_layer(drawing, layer)
    rounded = dxf.without_wide_arcs(corners)
    drawing.modelspace().add_lwpolyline(rounded, format="xyb", close=True, dxfattribs=attributes)


def _add_edges(drawing: Drawing, shape: Profile, plan: GearPlan, view: DrawnView, factor: float) -> None:
    """The other visible pieces within the outlines: shoulders, steps. What lies outside is no edge of the part."""
    on_rings = {step.piece for ring in shape.rings for step in ring.steps}
    outers = [outline.ring_polygon(shape.plane, ring) for ring in shape.rings if ring.within is None]
    within = [each.buffer(GAP_MM * view.frame.paper_mm) for each in outers]
    crumbs = _crumbs(shape, on_rings, LETTER_MM * view.frame.paper_mm)
    edges = (piece for piece in shape.plane.pieces if piece not in crumbs)
    for piece in distinct(shape.plane, edges, on_rings):
        line = piece_line(shape.plane, piece)
        if not covered(plan, view.name, line) and any(each.covers(line) for each in within):
            _add_piece(drawing, shape, piece, factor, layers.EDGE)


def _crumbs(shape: Profile, on_rings: set[Piece], letter: float) -> set[Piece]:
    """Pieces that hang together with nothing else and are no larger than a letter: no edge of a part ends in the open
    on both sides within so little, and a figure over it leaves such strokes."""
    loose = [each for each in shape.plane.pieces if each.first != LOOSE]
    crumbs: set[Piece] = set()
    for chain in hanging_together(loose):
        if not on_rings.isdisjoint(chain):
            continue
        left, low, right, high = unary_union([piece_line(shape.plane, piece) for piece in chain]).bounds
        if max(right - left, high - low) <= letter:
            crumbs |= set(chain)
    return crumbs


def _add_piece(drawing: Drawing, shape: Profile, piece: Piece, factor: float, layer: str) -> None:
    stroke, space = shape.plane.strokes[piece.stroke], drawing.modelspace()
    attributes = layers.on_layer(drawing, layer)
    if isinstance(stroke, Straight):
        start_at, end_at = (scaled(shape.plane.nodes[node].at, factor) for node in (piece.first, piece.last))
        space.add_line(start_at, end_at, attributes)
    elif isinstance(stroke, Bent):
        chain = [scaled(point, factor) for point in piece_points(shape.plane, piece)]
        space.add_lwpolyline(chain, dxfattribs=attributes)
    else:
        start, sweep = piece_angles(stroke.curve, shape.plane, piece)
        if stroke.curve.radius > _NOTHING_MM:
            add_circular(space, replace(stroke.curve, start_deg=start, sweep_deg=sweep), factor, attributes)


def add_open(drawing: Drawing, solved: SolvedView, chains: Sequence[OpenChain], unit: Unit) -> int:
    """Add what does not close of a view as it is, and on a layer of their own a ring at each gap; gives how many."""
    shape, factor, paper_mm = solved.profile, dxf.per_mm(unit), solved.view.frame.paper_mm
    marked = gaps([end for chain in chains for end in chain.ends], GAP_REACH_MM * paper_mm)
    for gap in marked:
        attributes = layers.on_layer(drawing, layers.OPEN_END)
        drawing.modelspace().add_circle(scaled(gap, factor), _MARK_MM * paper_mm * factor, attributes)
    on_rings = {step.piece for ring in shape.rings for step in ring.steps}
    for piece in distinct(shape.plane, (piece for chain in chains for piece in chain.pieces), on_rings):
        _add_piece(drawing, shape, piece, factor, layers.OPEN)
    return len(marked)


def add_teeth(drawing: Drawing, plan: GearPlan, curves: Sequence[GearCurve], unit: Unit) -> list[Outline]:
    """Add the gear's true teeth and what closes within them."""
    factor = dxf.per_mm(unit)
    for curve in curves:
        corners = [
            (round(x * factor, _DIGITS), round(y * factor, _DIGITS), bulge)
            for (x, y), bulge in zip(curve.outline.points.tolist(), curve.outline.bulges.tolist(), strict=True)
        ]
        _add_closed(drawing, corners, layers.GEAR if plan.proven else layers.GEAR_UNPROVEN)
    return [Outline(plan.view, curve.kind, curve.outline.area_mm2, plan.proven) for curve in curves]
