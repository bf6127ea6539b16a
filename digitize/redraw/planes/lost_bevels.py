"""Corners that stay open by more than a pen leaves them: a bevel or a rounding too small to be traced.

What it is cannot be told from its ends; between them runs a straight edge, which no figure settles.
"""

from collections.abc import Sequence

from scipy.spatial import KDTree

from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.levels import axis_of
from digitize.redraw.planes.plane_strokes import GAP_MM, Pen, Round, Straight, crossing
from digitize.redraw.planes.stroke_ends import End, drawn

BEVEL_MM = 2.0  # of paper: a longer edge is traced by itself
HALF = 0.5  # of what strokes may miss a corner by: with a shorter leg it is a corner that one edge runs past


def lost_bevels(straights: Sequence[Straight], curves: Sequence[Round | Bent], pen: Pen) -> list[Straight]:
    """The bevels of one view between the ends of a level and an upright edge that point at one corner: two loose ends,
    or one and the end of an edge that another one meets there, as the line along a turned chamfer does.

    Parameters
    ----------
    straights : sequence of Straight
        In part mm.
    curves : sequence of Round or Bent
        Its other visible strokes.
    pen : Pen
    """
    seen = drawn([*straights, *curves], (), pen)
    loose = {id(each) for each in seen.loose}
    pairs = [
        pair
        for pair in _near(seen.ends, 2 * BEVEL_MM * pen.paper_mm)
        if (open_ := sum(id(each) in loose for each in pair))
        and (legs := _legs(*pair, pen)) is not None
        and (min(legs) > HALF * GAP_MM * pen.paper_mm or open_ == len(pair))
    ]
    ends = [id(end) for pair in pairs for end in pair]
    return [Straight(one.at, other.at) for one, other in pairs if ends.count(id(one)) == ends.count(id(other)) == 1]


def _near(ends: Sequence[End], reach: float) -> list[tuple[End, End]]:
    """Pairs of ends no further apart than a reach."""
    if not ends:
        return []
    pairs = KDTree([each.at for each in ends]).query_pairs(reach)
    return [(ends[one], ends[other]) for one, other in sorted(pairs)]


def _legs(one: End, other: End, pen: Pen) -> tuple[float, float] | None:
    """How far two ends are from the corner that their edges point at; None where they point at none so near."""
    if not (isinstance(one.of, Straight) and isinstance(other.of, Straight)):
        return None
    axes = {axis_of(each.of, pen.paper_mm) for each in (one, other) if isinstance(each.of, Straight)}
    if len(axes) != 2 or None in axes:
        return None
    legs = next(((_ahead(one, at), _ahead(other, at)) for at in crossing(one.of, other.of)), None)
    least, most = GAP_MM * pen.paper_mm, BEVEL_MM * pen.paper_mm
    return legs if legs is not None and min(legs) > 0 and least < max(legs) <= most else None


def _ahead(end: End, at: tuple[float, float]) -> float:
    """How far ahead of an end a point on its straight stroke lies; below 0 behind it."""
    assert isinstance(end.of, Straight)
    along = end.of.along(at)
    return along - end.of.length if end.at == end.of.end else -along
