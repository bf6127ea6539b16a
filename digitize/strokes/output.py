"""Finished pieces carried from the working frame to the frozen strokes of the level frame."""

import math

import numpy as np

from calibrate.sheet import FloatArray, apply_homography
from digitize.strokes.centre_lines.fit import ARC
from digitize.strokes.gearing.roundness import Squeeze
from digitize.strokes.gearing.teeth import Ring
from digitize.strokes.gearing.tooth_flanks import Drawn
from digitize.strokes.heads.head import Head
from digitize.strokes.joining.curves import Curve, points_along
from digitize.strokes.page import Page, outline
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Arc, Arrowhead, Dash, Flank, Line, Point, Role, Spline, Strokes, ToothRing, View
from digitize.strokes.roles.hatched import hatched_regions
from digitize.strokes.roles.pens import find_pens

CORRELATION_WIDTHS = 1.0
"""Neighbouring centres share their noise over about one pen width, so that independent points are that far apart."""
LEAST_STD_PX = 0.005
STRAIGHT_STD = 2.0
"""An arc that bows by no more than so many standard errors is a line: where a sheet shrank more one way than the other,
so large a circle would be carried far from its ink."""


def _level(level_from_working: FloatArray, points: list[Point]) -> list[Point]:
    mapped = apply_homography(level_from_working, np.array(points, dtype=np.float64))
    return [(float(x), float(y)) for x, y in mapped]


def independent_points(piece: Piece) -> float:
    """Count the independent centres along a piece."""
    return max(piece.inked / max(CORRELATION_WIDTHS * piece.width, 1.0), 1.0)


def line_from(piece: Piece, level_from_working: FloatArray, role: Role, view: str | None) -> Line:
    """Carry a straight piece to the level frame; its left end (the upper one of an upright line) comes first."""
    ends = sorted(_level(level_from_working, [piece.start, piece.end]))
    std = max(piece.rms / math.sqrt(independent_points(piece)), LEAST_STD_PX)
    return Line(ends[0], ends[1], piece.width, std, Dash(piece.dash), role, view)


def arc_from(
    piece: Piece, errors: tuple[float, float], level_from_working: FloatArray, role: Role, view: str | None
) -> Arc:
    """Carry a round piece, with its `arc_errors`, to the level frame; a full circle starts at 0 degrees."""
    track = piece.track
    # s grows clockwise as seen, so the end of the piece is the start of the arc
    centre, start = _level(level_from_working, [(track.x, track.y), piece.end])
    scale = math.sqrt(abs(float(np.linalg.det(level_from_working[:2, :2]))))
    sweep = 360.0 if piece.closed else math.degrees(piece.length / track.radius)
    start_deg = 0.0 if piece.closed else math.degrees(math.atan2(centre[1] - start[1], start[0] - centre[0])) % 360.0
    dash = Dash(piece.dash)
    return Arc(centre, track.radius * scale, start_deg, sweep, piece.width, *errors, dash=dash, role=role, view=view)


def arrowhead_from(head: Head, level_from_working: FloatArray, line: int | None) -> Arrowhead:
    """Carry an arrowhead to the level frame; ``line`` is the number there of the line that it ends."""
    tail = (head.x - head.length * head.dx, head.y - head.length * head.dy)
    tip, back = _level(level_from_working, [(head.x, head.y), tail])
    direction = math.degrees(math.atan2(back[1] - tip[1], tip[0] - back[0])) % 360.0
    return Arrowhead(tip, direction, math.dist(tip, back), head.form, line)


def arc_errors(piece: Piece) -> tuple[float, float]:
    """Return standard errors of centre (the worse direction) and radius from the arc's noise and sweep, in px.

    The inverse of the normal matrix of a circle fit to independent points spread evenly over the sweep.
    """
    if piece.track.kind != ARC:
        raise ValueError("Only an arc has a centre and a radius.")
    angle = np.linspace(0.0, piece.length / piece.track.radius, 64)
    jacobian = np.stack([np.cos(angle), np.sin(angle), np.ones_like(angle)], axis=1)
    normal = jacobian.T @ jacobian / len(angle) * independent_points(piece)
    covariance = max(piece.rms, LEAST_STD_PX) ** 2 * np.linalg.pinv(normal)
    centre = math.sqrt(float(np.linalg.eigvalsh(covariance[:2, :2])[-1]))
    return max(centre, LEAST_STD_PX), max(math.sqrt(max(float(covariance[2, 2]), 0.0)), LEAST_STD_PX)


def spline_from(curve: Curve, level_from_working: FloatArray, view: str | None) -> Spline:
    """Carry a curve to the level frame; an affine map carries its control points, and the knots stay."""
    control = apply_homography(level_from_working, curve.control)
    length = float(np.hypot(*np.diff(points_along(curve.knots, control), axis=0).T).sum())
    # each stretch between knots is settled by the centres along it
    independent = length / max(CORRELATION_WIDTHS * curve.width, 1.0) / len(control)
    std = max(curve.rms / math.sqrt(max(independent, 1.0)), LEAST_STD_PX)
    points = tuple((float(x), float(y)) for x, y in control)
    return Spline(points, tuple(curve.knots.tolist()), curve.width, std, curve.role, view)


def strokes_from(
    page: Page,
    divisions: list[tuple[str, str, list[int]]],
    view_of: list[int],
    level_from_working: FloatArray,
    squeeze: Squeeze,
    rings: list[Ring],
    curves: list[Curve],
) -> Strokes:
    """Carry a finished page to the level frame, sorted; curves in place of the pieces that they stand for."""
    names = [divisions[n][0] if n >= 0 else None for n in view_of]
    roles = [role or Role.VISIBLE for role in page.roles]
    lines, arcs = [], []
    within_curves = {k for curve in curves for k in curve.members}
    for k, piece in enumerate(page.pieces):
        if k in within_curves:
            continue
        errors = arc_errors(piece) if piece.track.kind == ARC else (math.inf, math.inf)
        # its bow goes as one over its radius, and may be within its error of none
        if STRAIGHT_STD * errors[1] >= piece.track.radius:
            lines.append((line_from(piece, level_from_working, roles[k], names[k]), k))
        else:
            arcs.append(arc_from(piece, errors, level_from_working, roles[k], names[k]))
    splines = [spline_from(curve, level_from_working, names[curve.members[0]]) for curve in curves]
    lines.sort(key=lambda item: (item[0].start, item[0].end))
    number = {k: n for n, (_, k) in enumerate(lines)}
    heads = [arrowhead_from(head, level_from_working, number.get(head.piece)) for head in page.heads]
    every = tuple(line for line, _ in lines)
    return Strokes(
        lines=every,
        arcs=tuple(sorted(arcs, key=lambda arc: (arc.centre, arc.radius_px, arc.start_deg))),
        arrowheads=tuple(sorted(heads, key=lambda head: (head.tip, head.direction_deg))),
        views=tuple(_view(page, division, level_from_working) for division in divisions),
        tooth_rings=tuple(_tooth_ring(ring, names[ring.member], level_from_working) for ring in rings),
        squeeze=squeeze.value if squeeze.is_real else 0.0,
        squeeze_std=squeeze.std,
        hatched=hatched_regions(every),
        splines=tuple(sorted(splines, key=lambda spline: spline.control)),
        pens=find_pens(page.ground, page.pieces),
    )


def _tooth_ring(ring: Ring, view: str | None, level_from_working: FloatArray) -> ToothRing:
    """Carry a toothed ring to the level frame."""
    (centre,) = _level(level_from_working, [(ring.x, ring.y)])
    scale = math.sqrt(abs(float(np.linalg.det(level_from_working[:2, :2]))))
    flanks = _flanks(ring.flanks, level_from_working) if ring.flanks else ()
    return ToothRing(centre, ring.teeth, ring.tip_radius * scale, ring.root_radius * scale, view, flanks)


def _flanks(drawn: tuple[Drawn, ...], level_from_working: FloatArray) -> tuple[Flank, ...]:
    """Carry the flanks of all teeth to the level frame."""
    ends = np.cumsum([len(flank.places) for flank in drawn])
    places = apply_homography(level_from_working, np.concatenate([flank.places for flank in drawn])).tolist()
    points = [
        tuple((x, y) for x, y in places[end - len(flank.places) : end]) for flank, end in zip(drawn, ends, strict=True)
    ]
    sides = ["right" if flank.clockwise else "left" for flank in drawn]
    return tuple(Flank(*flank) for flank in zip(points, sides, (one.std for one in drawn), strict=True))


def _view(page: Page, division: tuple[str, str, list[int]], level_from_working: FloatArray) -> View:
    """Box a division in the level frame."""
    name, kind, numbers = division
    points = apply_homography(level_from_working, np.concatenate([outline(page.pieces[k]) for k in numbers]))
    (left, top), (right, bottom) = points.min(axis=0), points.max(axis=0)
    return View(name, kind, (float(left), float(top), float(right), float(bottom)))
