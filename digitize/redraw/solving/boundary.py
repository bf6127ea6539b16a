"""Whether the outermost outline that closes is its view's outer boundary: nothing of the part may lie outside it."""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Point as Spot
from shapely import Polygon, unary_union
from shapely.geometry.base import BaseGeometry

from digitize.dimensions.reasons import quoted
from digitize.lettering.text import Kind, Unit
from digitize.redraw.dxf import place_words
from digitize.redraw.gear_outline import GearPlan, covered
from digitize.redraw.planes import outline
from digitize.redraw.planes.pieces import piece_line
from digitize.redraw.planes.plane import Piece
from digitize.redraw.planes.plane_strokes import GAP_MM
from digitize.redraw.planes.recess_mouths import CentreLine, alike_about, reaches_alike, upright
from digitize.redraw.solving.figures import ALONG_AXIS, STRAY, STRAY_MM, Figure, PlacedFigure
from digitize.redraw.solving.profile import DrawnView, Profile
from digitize.redraw.solving.view_edges import hatching
from digitize.strokes.primitives import Point

LETTER_MM = 7.0  # of paper: a smaller outline beside the largest may be a letter; then it proves nothing
OVERRUN_MM = 3.0  # of paper: an edge that runs on into an extension or centre line is traced as one with no more of it
SAME_SPAN_MM = 1e-6  # of part: outlines that share their levels begin and end at one place but for rounding
FACE_MM = 12.0  # of paper: section lines of one face lie no further from each other than this ...
FEWEST_FACED = 4  # ... and as many: where none lies within an outline, fewer may be strokes of inch marks and figures
CUT_BEYOND = "section lines lie outside it"
HALVES = 0.2  # relative: halves of one section differ less in their thickness; a front and a side by more
ROUND_SHARE, ROUND_TO = 0.75, 0.005  # of an outline's length that lies on one circle, and how near; relative
_SPANS = (Kind.LINEAR, Kind.DIAMETER)  # a radius may be drawn from a centre off the part


def bounded(shape: Profile, view: DrawnView, placed: Sequence[Figure], plan: GearPlan, unit: Unit) -> Profile:
    """A profile as it is where its outer outline bounds its view; else none of it is called determined.

    Parameters
    ----------
    shape : Profile
    view : DrawnView
    placed : sequence of Figure
        The view's agreed figures.
    plan : GearPlan
        Drawn teeth that the true ones replace lie outside nothing.
    unit : Unit
        INCH or MM, of the file in which places are told.

    Notes
    -----
    Inner edges close by themselves where the boundary round them has a gap, and look like an outline. What betrays
    them is what lies outside: a second outline, section lines, or a span longer than they are; then the profile is
    partial. Edges that lie outside may be crumbs of lettering, so that the outline may well be the boundary; which it
    is stays open, and nothing of it is called determined either.
    """
    shape = replace(shape, notes=(*shape.notes, *_open_corners(shape, view, unit)))
    if not view.proven:
        shape = replace(shape, determined=(False,) * len(shape.determined), area_std_mm2=())
    for why in _unsettling(shape, view):
        said = f"view {view.name}: no outline is settled, for {why}"
        shape = replace(shape, determined=(False,) * len(shape.determined), area_std_mm2=(), notes=(*shape.notes, said))
    outers = [outline.ring_polygon(shape.plane, ring) for ring in shape.rings if ring.within is None]
    outers = [each for each in outers if each is outers[0] or _wide(each, LETTER_MM * view.frame.paper_mm)]
    if not outers:
        return shape
    if plan.spec is not None and plan.proven and plan.view == view.name:
        outers = [Spot(plan.centre).buffer(plan.spec.tip_radius_mm)]
    reach = unary_union([each.buffer(GAP_MM * view.frame.paper_mm) for each in outers])
    drawn = (each for each in placed if isinstance(each, PlacedFigure))
    standing = [_where_it_holds(each, shape) for each in drawn if each.dimension.id not in shape.contradicting]
    level = _two_views(outers, _lines_beyond(shape, view, plan, reach), GAP_MM * view.frame.paper_mm)
    tied = [each for each in standing if _tied(each, shape)]
    carried = sum(each.corrects for each in placed)  # by a person's word, while section lines stay as they are drawn
    section = hatching(view)
    cut_beyond = [each for each in section if reach.distance(Spot(each)) > carried]
    cut_within = any(reach.contains(Spot(each)) for each in section)
    faced = bool(cut_beyond) and (cut_within or _faced(cut_beyond, FACE_MM * view.frame.paper_mm))
    proof = next(_material_beyond(view, tied, outers[:1] if level else outers, reach, faced), None)
    doubt = proof or (
        "two outlines stand level and are taken for two views"
        if level
        else (CUT_BEYOND if cut_beyond else None)
        or _edges_beyond(shape, view, plan, reach, unit)
        or _lopsided(outers[0], shape, GAP_MM * view.frame.paper_mm, unit)
        or next(_measured_beyond(view, (each for each in standing if not _tied(each, shape)), reach), None)
    )
    if doubt is None:
        return shape
    said = "what closes is not its boundary" if proof else "nothing of its outline is settled"
    notes = (*shape.notes, f"view {view.name}: {said}, for {doubt}")
    unsettled = (False,) * len(shape.determined)
    return replace(shape, partial=proof is not None, determined=unsettled, area_std_mm2=(), notes=notes)


def _where_it_holds(figure: PlacedFigure, shape: Profile) -> PlacedFigure:
    """A figure with its ends where the solution has them: a person's word may carry edges far from where they stood."""
    ends = shape.ends.get(figure.dimension.id)
    return figure if ends is None else replace(figure, first=ends.first, second=ends.second)


def _unsettling(shape: Profile, view: DrawnView) -> Iterator[str]:
    """What casts doubt on all outlines of a view, in words."""
    if any(outline.mixed_level(shape.plane, ring, view.frame.paper_mm) is not None for ring in shape.rings):
        yield "edges taken for one level may be a step"
    if shape.contradicting:
        yield f"{', '.join(shape.contradicting)} contradicts other agreed figures, and which of them is right is open"


def _wide(shape: Polygon, least: float) -> bool:
    left, low, right, high = shape.bounds
    return bool(max(right - left, high - low) > least)


def _material_beyond(
    view: DrawnView,
    placed: Sequence[PlacedFigure],
    outers: Sequence[Polygon],
    reach: BaseGeometry,
    faced: bool,
) -> Iterator[str]:
    """What proves that the part goes on outside its outermost outlines, in words; ``faced`` says that section lines
    there are more than letters' strokes."""
    if len(outers) > 1:
        yield f"{len(outers)} outlines lie beside each other"
    if faced:
        yield CUT_BEYOND
    yield from _measured_beyond(view, placed, reach)


def _faced(middles: Sequence[Point], near: float) -> bool:
    """Whether as many section lines lie beside each other as no letters have strokes that look like them."""
    beside = unary_union([Spot(each).buffer(near / 2) for each in middles])
    return any(sum(face.contains(Spot(each)) for each in middles) >= FEWEST_FACED for face in shapely.get_parts(beside))


def _tied(figure: PlacedFigure, shape: Profile) -> bool:
    """Whether a span holds in the solution or runs along an axis; a slanted one that stands on nothing drawn may have
    been read between wrong arrowheads, and proves nothing."""
    across, up = (abs(b - a) for a, b in zip(figure.first, figure.second, strict=True))
    level = max(across, up) >= ALONG_AXIS * math.hypot(across, up)
    return level or figure.dimension.id in shape.ends


def _measured_beyond(view: DrawnView, placed: Iterable[PlacedFigure], reach: BaseGeometry) -> Iterator[str]:
    for each in placed:
        if each.dimension.kind in _SPANS and _exceeds(each, reach, view.frame.paper_mm):
            yield f"{quoted(each.dimension.text)} is measured beyond it"


def _two_views(outers: Sequence[Polygon], beyond: Sequence[BaseGeometry], gap: float) -> bool:
    """Whether two outlines are two views that stand level and were taken for one: they share both ends of a span, are
    of unlike thickness across it, and no edge lies between them."""
    between = unary_union(outers).convex_hull.buffer(-gap)
    if len(outers) != 2 or any(each.intersects(between) for each in beyond):
        return False
    one, other = (np.array(each.bounds).reshape(2, 2) for each in outers)
    for axis in (0, 1):
        wide, wider = sorted(float(np.ptp(each[:, 1 - axis])) for each in (one, other))
        if np.abs(one[:, axis] - other[:, axis]).max() <= SAME_SPAN_MM and wide < (1 - HALVES) * wider:
            return True
    return False


def _open_corners(shape: Profile, view: DrawnView, unit: Unit) -> Iterator[str]:
    """Sentences on corners that were closed by making strokes longer: a bevel too small to be traced may hide there."""
    for ring in shape.rings:
        if (at := outline.open_corner(shape.plane, ring)) is not None:
            place = place_words(at, unit)
            yield f"view {view.name}: an outline is not settled, for its corner at {place} {unit.value} is open"


def _edges_beyond(shape: Profile, view: DrawnView, plan: GearPlan, reach: BaseGeometry, unit: Unit) -> str | None:
    outside = _lines_beyond(shape, view, plan, reach)
    if not outside:
        return None
    x, y = max((each.difference(reach) for each in outside), key=lambda each: each.length).centroid.coords[0]
    return f"edges lie outside it, as at {place_words((x, y), unit)} {unit.value}"


def _lines_beyond(shape: Profile, view: DrawnView, plan: GearPlan, reach: BaseGeometry) -> list[BaseGeometry]:
    """What of a view's edges lies outside its outlines; an edge that runs out a little and ends in the open was traced
    as one with a fine line."""
    plane, most = shape.plane, OVERRUN_MM * view.frame.paper_mm
    lines = {piece: piece_line(plane, piece) for piece in plane.pieces}
    outside = {piece: line for piece, line in lines.items() if not reach.covers(line)}
    beyond = {piece: line for piece, line in outside.items() if not covered(plan, view.name, line)}
    met = Counter(node for piece in plane.pieces for node in {piece.first, piece.last})
    going_on = {piece.stroke for piece in lines if piece not in beyond}

    def overrun(piece: Piece) -> bool:
        in_the_open = min(met[piece.first], met[piece.last]) == 1
        return in_the_open and piece.stroke in going_on and lines[piece].difference(reach).length <= most

    return [line for piece, line in beyond.items() if not overrun(piece)]


def _lopsided(outer: Polygon, shape: Profile, slack: float, unit: Unit) -> str | None:
    """Whether an outline reaches as far to both sides of a centre line, and is not the same on both, in words."""
    for line in shape.centre_lines:
        (x, y), _ = line
        differs = reaches_alike(line, outer, slack) and not alike_about(line, outer)
        if differs and not _has_keyseat(outer, line, shape.centre_lines):
            return f"its sides of the centre line at {place_words((x, y), unit)} {unit.value} differ"
    return None


def _has_keyseat(outer: Polygon, line: CentreLine, lines: Sequence[CentreLine]) -> bool:
    """Whether an outline is round about the crossing of a line with another that it is alike about: then what differs
    on one side is cut out of the round, as a keyseat is."""
    for other in lines:
        if upright(other) != upright(line) and alike_about(other, outer):
            (x, _), (_, y) = (line[0], other[0]) if upright(line) else (other[0], line[0])
            corners = np.array(outer.exterior.coords)
            far = np.hypot(*(corners - (x, y)).T)
            on_rim = far > (1 - ROUND_TO) * far.max()
            steps = np.hypot(*np.diff(corners, axis=0).T)
            if steps[on_rim[1:] & on_rim[:-1]].sum() > ROUND_SHARE * steps.sum():
                return True
    return False


def _exceeds(figure: PlacedFigure, reach: BaseGeometry, paper_mm: float) -> bool:
    """Whether a span ends beyond the outline's extent in the span's own direction, by more than a figure strays."""
    first, second = np.array(figure.first), np.array(figure.second)
    length = float(np.hypot(*(second - first)))
    if length == 0:
        return False
    corners = np.array(reach.convex_hull.exterior.coords)
    along = (corners - first) @ (second - first) / length
    stray = max(STRAY_MM * paper_mm, STRAY * length)
    return bool(along.min() > stray or along.max() < length - stray)
