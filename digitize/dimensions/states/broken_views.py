"""Views that were cut short: a long part is drawn with its middle left out, and its lengths over the cut say more.

(Breaks in a view and their lines: ISO 128-3 and ASME Y14.3, from memory.) However the drafter draws the ends at the
cut, by a wavy line, a zigzag or the loops of a round bar, the edges of the part stop there and go on in line behind it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from digitize.dimensions.linking.directions import across, along
from digitize.dimensions.linking.span import Span
from digitize.dimensions.reasons import Reason
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.table import State
from digitize.strokes.primitives import Dash, Line, Role, Strokes

LEAST_EDGE_MM = 3.0
"""An edge on either side of a cut is at least so long, in mm of paper."""
IN_LINE_MM, SLANT = 0.8, 0.05
"""The two lie in line to the first, and along the dimension line to the second (rise over run)."""
GAP_MM = 1.0, 30.0
"""Paper left between them."""
SAME_GAP_MM = 10.0
"""Two edges of a part stop this near to each other, along them: the line of a cut may be wavy, or lie aslant."""
LEAST_APART_MM = 3.0
"""The two edges are so far apart."""
CLOSED_SHARE, AT_END_MM = 0.8, 1.5
"""What ends in a straight line across, over so much of the way from edge to edge and this near their ends, is no cut:
another view begins there, or a groove."""


@dataclass(frozen=True)
class _Edge:
    """A line along a dimension line, or a gap in one: from where to where, and how far aside, in mm of paper."""

    start_mm: float
    end_mm: float
    aside_mm: float


def of_broken_views(judged: Sequence[Judged], strokes: Strokes, mm_per_px: float) -> tuple[Judged, ...]:
    """Take back the disputes of lengths over a cut: they say more than is drawn, as they should.

    Parameters
    ----------
    judged : sequence of Judged
    strokes : Strokes
    mm_per_px : float
        Millimetres of paper a pixel.

    Returns
    -------
    tuple of Judged
        In the same order.
    """
    return tuple(_unproven(item) if _is_over_cut(item, strokes, mm_per_px) else item for item in judged)


def _unproven(item: Judged) -> Judged:
    return replace(item, state=State.UNPROVEN, reasons=(*item.reasons, Reason.BROKEN_VIEW.say()))


def _is_over_cut(item: Judged, strokes: Strokes, mm_per_px: float) -> bool:
    if item.state is not State.DISPUTED or not isinstance(item.entry.slot, Span) or item.chosen is None:
        return False
    nominal = item.chosen.value.nominal
    says_more = nominal is not None and item.measured is not None and float(nominal) > item.measured
    return says_more and is_broken(item.entry.slot, strokes, mm_per_px)


def is_broken(span: Span, strokes: Strokes, mm_per_px: float) -> bool:
    """Is a view cut between the ends of a dimension line?

    Parameters
    ----------
    span : Span
    strokes : Strokes
    mm_per_px : float
        Millimetres of paper a pixel.
    """
    drawn = [line for line in strokes.lines if line.role in (Role.VISIBLE, Role.HIDDEN)]
    along_it = [edge for line in drawn if (edge := _edge(line, span, mm_per_px)) is not None]
    solid = [line for line in drawn if line.role is Role.VISIBLE and line.dash is Dash.SOLID]
    edges = [edge for line in solid if (edge := _edge(line, span, mm_per_px)) is not None]
    size_mm = span.size * mm_per_px
    gaps = [gap for gap in _gaps(edges) if gap.start_mm > 0.0 and gap.end_mm < size_mm]
    return any(
        _is_cut(first, second, along_it) and not _is_closed(first, second, solid, span, mm_per_px)
        for first, second in combinations(gaps, 2)
    )


def _edge(line: Line, span: Span, mm_per_px: float) -> _Edge | None:
    """A line as it lies along a dimension line, or None where it doesn't."""
    ends = (line.start, line.end)
    start, end = sorted(along(point, span.first, span.direction) * mm_per_px for point in ends)
    asides = [across(point, span.first, span.direction) * mm_per_px for point in ends]
    if end - start < LEAST_EDGE_MM or abs(asides[1] - asides[0]) > SLANT * (end - start):
        return None
    return _Edge(start, end, sum(asides) / 2)


def _gaps(edges: Sequence[_Edge]) -> list[_Edge]:
    """Between edges in line, where no third edge lies in line between them."""
    found = []
    for before in edges:
        in_line = [each for each in edges if abs(each.aside_mm - before.aside_mm) < IN_LINE_MM]
        behind = [each for each in in_line if each.start_mm > before.end_mm]
        if not behind:
            continue
        nearest = min(behind, key=lambda each: each.start_mm)
        covered = any(each.start_mm < nearest.start_mm and each.end_mm > before.end_mm for each in in_line)
        if not covered and GAP_MM[0] < nearest.start_mm - before.end_mm < GAP_MM[1]:
            found.append(_Edge(before.end_mm, nearest.start_mm, before.aside_mm))
    return found


def _is_cut(first: _Edge, second: _Edge, edges: Sequence[_Edge]) -> bool:
    """Do two edges stop and go on at one cut, which no other edge between them crosses?"""
    low, high = sorted((first.aside_mm, second.aside_mm))
    together = max(abs(first.start_mm - second.start_mm), abs(first.end_mm - second.end_mm)) < SAME_GAP_MM
    start, end = max(first.start_mm, second.start_mm), min(first.end_mm, second.end_mm)
    if high - low < LEAST_APART_MM or not together or start >= end:
        return False
    middle = (start + end) / 2
    return not any(
        low - IN_LINE_MM < edge.aside_mm < high + IN_LINE_MM and edge.start_mm < middle < edge.end_mm for edge in edges
    )


def _is_closed(first: _Edge, second: _Edge, solid: Sequence[Line], span: Span, mm_per_px: float) -> bool:
    """Does a straight line close either side, from edge to edge?"""
    low, high = sorted((first.aside_mm, second.aside_mm))
    for line in solid:
        ends = (line.start, line.end)
        places = sorted(along(point, span.first, span.direction) * mm_per_px for point in ends)
        asides = sorted(across(point, span.first, span.direction) * mm_per_px for point in ends)
        shared = min(asides[1], high) - max(asides[0], low)
        at_end = any(
            abs(place - side) < AT_END_MM
            for place in places
            for gap in (first, second)
            for side in (gap.start_mm, gap.end_mm)
        )
        upright = places[1] - places[0] < AT_END_MM
        if upright and at_end and shared > CLOSED_SHARE * (high - low):
            return True
    return False
