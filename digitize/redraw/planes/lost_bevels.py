"""Corners that stay open by more than a pen leaves them: a bevel or a rounding too small to be traced.

What it is cannot be told from its ends; between them runs a straight edge, which no figure settles.
"""

from collections.abc import Sequence
from itertools import combinations

from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.levels import axis_of
from digitize.redraw.planes.plane_strokes import GAP_MM, Pen, Round, Straight, crossing
from digitize.redraw.planes.stroke_ends import End, drawn

BEVEL_MM = 2.0  # of paper: a longer edge is traced by itself


def lost_bevels(straights: Sequence[Straight], curves: Sequence[Round | Bent], pen: Pen) -> list[Straight]:
    """The bevels of one view between loose ends of a level and an upright edge that point at one corner.

    Parameters
    ----------
    straights : sequence of Straight
        In part mm.
    curves : sequence of Round or Bent
        Its other visible strokes.
    pen : Pen
    """
    loose = drawn([*straights, *curves], (), pen).loose
    pairs = [pair for pair in combinations(loose, 2) if _make_a_corner(*pair, pen)]
    ends = [id(end) for pair in pairs for end in pair]
    return [Straight(one.at, other.at) for one, other in pairs if ends.count(id(one)) == ends.count(id(other)) == 1]


def _make_a_corner(one: End, other: End, pen: Pen) -> bool:
    if not (isinstance(one.of, Straight) and isinstance(other.of, Straight)):
        return False
    axes = {axis_of(each.of, pen.paper_mm) for each in (one, other) if isinstance(each.of, Straight)}
    if len(axes) != 2 or None in axes:
        return False
    short = [gap for at in crossing(one.of, other.of) for gap in (_ahead(one, at), _ahead(other, at))]
    least, most = GAP_MM * pen.paper_mm, BEVEL_MM * pen.paper_mm
    return bool(short) and min(short) > 0 and least < max(short) <= most


def _ahead(end: End, at: tuple[float, float]) -> float:
    """How far ahead of an end a point on its straight stroke lies; below 0 behind it."""
    assert isinstance(end.of, Straight)
    along = end.of.along(at)
    return along - end.of.length if end.at == end.of.end else -along
