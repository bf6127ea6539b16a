"""Blind holes and counterbores of a plate: a section shows how deep each outline of the face goes.

Glossary
--------
void
    What a section's outline holds and the section plane does not cut.
across
    The axis that face and section share; depth runs along the other.
"""

from collections.abc import Sequence
from itertools import combinations

from shapely import LineString, Polygon, box, unary_union

from digitize.redraw.planes.outline import Ring
from digitize.redraw.solids.solid_shape import Missing
from digitize.redraw.solids.view_outlines import SAME, among, outer_ring, polygon_of
from digitize.redraw.solving.solved import SolvedView

Span = tuple[float, float]


def depths_of(face: SolvedView, inner: Sequence[Ring], side: SolvedView, across: int) -> list[float | None] | Missing:
    """How deep each inner outline of a face goes, None right through; or what the section leaves open.

    Parameters
    ----------
    face : SolvedView
    inner : sequence of Ring
        Its inner outlines; those that others lie in are wider steps of one hole.
    side : SolvedView
        A section that stands level with the face, its outline a plain rectangle.
    across : int
        The axis that both share, 0 for x.

    Notes
    -----
    Each outline is asked where nothing narrower lies in it. What the answers make together must be the void. An outline
    that the face shows in full opens towards the one who looks at it, so all pockets begin at one side.
    """
    name = side.view.name
    outer = polygon_of(side, outer_ring(side))
    whole = _span(outer, 1 - across)
    beyond = sum(_span(outer, across)) / 2 - sum(_span(polygon_of(face, outer_ring(face)), across)) / 2
    spans = [_moved(_span(polygon_of(face, ring), across), beyond) for ring in inner]
    void = outer.difference(unary_union([polygon_of(side, ring) for ring in side.profile.cuts]))
    reaches = [_reach(void, span, spans, whole, across) for span in spans]
    made = unary_union([_box(span, reach, across) for span, reach in zip(spans, reaches, strict=True) if reach])
    if void.symmetric_difference(made).area > SAME * outer.area:
        return Missing(f"the section in view {name} shows pockets or steps that no outline of the face explains")
    if any(not (_same(a, b) or _apart(a, b) or _about(a, b)) for a, b in combinations(spans, 2)):
        return Missing(f"outlines of view {face.view.name} stand behind each other in the section of view {name}")
    blind = [reach for reach in reaches if reach and not _same(reach, whole)]
    if not any(all(_same((reach[end], whole[end]), (whole[end],) * 2) for reach in blind) for end in (0, 1)):
        return Missing(f"the section in view {name} shows pockets that do not open towards view {face.view.name}")
    told = _lengths(side, 1 - across)
    if not all(among(reach[1] - reach[0], told) for reach in blind):
        return Missing(f"no agreed figure gives how deep the pockets in view {name} go")
    return [None if reach is None or _same(reach, whole) else reach[1] - reach[0] for reach in reaches]


def _lengths(side: SolvedView, axis: int) -> list[float]:
    """Lengths along an axis that agreed figures give, and what each leaves of the whole."""
    low, high = _span(polygon_of(side, outer_ring(side)), axis)
    ends = ((each.first, each.second) for each in side.profile.ends.values())
    told = [abs(b[axis] - a[axis]) for a, b in ends if abs(b[1 - axis] - a[1 - axis]) <= SAME]
    return [*told, *(high - low - each for each in told)]


def _span(shape: Polygon | LineString, axis: int) -> Span:
    return float(shape.bounds[axis]), float(shape.bounds[2 + axis])


def _moved(span: Span, by: float) -> Span:
    return span[0] + by, span[1] + by


def _same(one: Span, other: Span) -> bool:
    slack = SAME * max(abs(end) for end in (*one, *other))
    return all(abs(a - b) <= slack for a, b in zip(one, other, strict=True))


def _apart(one: Span, other: Span) -> bool:
    return one[1] < other[0] or other[1] < one[0]


def _about(one: Span, other: Span) -> bool:
    """Whether two spans have one middle, as steps of one hole have."""
    return _same((sum(one), sum(one)), (sum(other), sum(other)))


def _reach(void: Polygon, span: Span, spans: Sequence[Span], whole: Span, across: int) -> Span | None:
    """From where to where the void goes beside what is narrower within a span; None where the section passes it by."""
    inner = [each for each in spans if span[0] < each[0] and each[1] < span[1]]
    first = min((each[0] for each in inner), default=span[1])
    at = (span[0] + first) / 2
    low, high = ((at, whole[0]), (at, whole[1])) if across == 0 else ((whole[0], at), (whole[1], at))
    found = void.intersection(LineString([low, high]))
    return _span(found, 1 - across) if found.length and found.geom_type == "LineString" else None


def _box(span: Span, reach: Span, across: int) -> Polygon:
    (left, right), (low, high) = (span, reach) if across == 0 else (reach, span)
    return box(left, low, right, high)
