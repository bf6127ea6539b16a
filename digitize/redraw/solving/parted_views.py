"""Views that the trace has parted though they are one, because edges between are lost or taken for extension lines.

No drafter measures from one view to another that stands beyond it: where an agreed size leads from one to the other,
along the way in which they are apart, both are one view.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import permutations
from typing import TypeVar

from shapely import box

from digitize.dimensions.reasons import quoted
from digitize.dimensions.table import Dimension, Lacking, Reconciled, State, ViewScale
from digitize.redraw.planes.plane_strokes import Axis
from digitize.redraw.solving.figures import ALONG_AXIS, LENGTHS, direction
from digitize.redraw.solving.heavy_edges import views_in_touch, with_heavy_edges
from digitize.redraw.solving.marks import MARK_MM
from digitize.strokes.primitives import Arc, HatchedRegion, Line, Spline, Strokes, ToothRing, View

LEADS, WITHIN = "{} leads from one to the other", "one stands within the other's edges"
SHARED = 0.5  # of the narrower view: as much at least lies beside the other

_OfView = TypeVar("_OfView", Line, Arc, Spline, ToothRing, HatchedRegion, Dimension, ViewScale, Lacking)


@dataclass(frozen=True)
class WholeViews:
    """The sheet with such views joined, under the name of the larger; and sentences on it."""

    strokes: Strokes
    reconciled: Reconciled
    notes: tuple[str, ...] = ()


def whole_views(strokes: Strokes, reconciled: Reconciled) -> WholeViews:
    """Take heavy lines for the edges that they are, and join views that such an edge or an agreed size leads across."""
    heavy = with_heavy_edges(strokes)
    return _whole(heavy, reconciled, views_in_touch(heavy, strokes))


def _whole(strokes: Strokes, reconciled: Reconciled, touching: Sequence[tuple[str, str]]) -> WholeViews:
    found = next(_parted(strokes.views, reconciled, touching), None)
    if found is None:
        return WholeViews(strokes, reconciled)
    first, second, what = found
    large, small = sorted((first, second), key=_area, reverse=True)
    names = {each.id: each.id for each in strokes.views} | {small.id: large.id}
    rest = _whole(*_joined(large, small, strokes, reconciled), [(names[one], names[other]) for one, other in touching])
    pair = " and ".join(sorted((first.id, second.id)))
    note = f"views {pair} are one, {large.id}: {what}"
    return replace(rest, notes=(note, *rest.notes))


def _parted(
    views: Sequence[View], reconciled: Reconciled, touching: Sequence[tuple[str, str]]
) -> Iterator[tuple[View, View, str]]:
    """Two views that are one, the one that comes first along an axis first, and what leads across."""
    scales = {each.view: each for each in reconciled.scales}
    sizes = [each for each in reconciled.dimensions if each.state is State.AGREED and each.kind in LENGTHS]
    bounded = {name for pair in touching for name in pair}
    for one, other in permutations((each for each in views if each.kind == "view"), 2):
        scale = _one_scale(scales.get(one.id), scales.get(other.id))
        if scale is None:
            continue
        if (one.id, other.id) in touching:
            yield one, other, LEADS.format("an edge")
        elif one.id in bounded and box(*one.box).contains(box(*other.box)):
            yield one, other, WITHIN
        for axis in Axis:
            if _beyond(one, other, axis):
                leading = (each for each in sizes if each.view in (one.id, other.id))
                across = (quoted(each.text) for each in leading if _leads(each, one, other, axis, scale))
                yield from ((one, other, LEADS.format(size)) for size in across)


def _one_scale(one: ViewScale | None, other: ViewScale | None) -> ViewScale | None:
    """The known scale of two views that are of one; one of which nothing tells its own may be of the other's."""
    scale = one or other
    if scale is None or not scale.known or scale.not_to_scale:
        return None
    return scale if other is None or replace(other, view=scale.view) == scale else None


def _beyond(one: View, other: View, axis: Axis) -> bool:
    """Whether a view begins where another has ended on an axis, and lies beside it on the other axis."""
    (low, high), (begins, ends) = _extent(one, _across(axis)), _extent(other, _across(axis))
    shared = min(high, ends) - max(low, begins)
    return _extent(one, axis)[1] < _extent(other, axis)[0] and shared >= SHARED * min(high - low, ends - begins)


def _leads(size: Dimension, one: View, other: View, axis: Axis, scale: ViewScale) -> bool:
    """Whether a size runs along an axis from within one view to within another that begins beyond."""
    if size.geometry is None or size.geometry.arcs:
        return False
    ends = size.geometry.first, size.geometry.second
    if abs(direction(*ends)[axis.value]) < ALONG_AXIS:
        return False
    slack = MARK_MM * scale.part_per_paper / (scale.x_mm_per_px if axis is Axis.X else scale.y_mm_per_px)
    places = sorted(end[axis.value] for end in ends)
    extents = (_extent(one, axis), _extent(other, axis))
    return all(low - slack <= at <= high + slack for at, (low, high) in zip(places, extents, strict=True))


def _across(axis: Axis) -> Axis:
    return Axis.Y if axis is Axis.X else Axis.X


def _extent(view: View, axis: Axis) -> tuple[float, float]:
    return view.box[axis.value], view.box[axis.value + 2]


def _area(view: View) -> float:
    left, top, right, bottom = view.box
    return (right - left) * (bottom - top)


def _joined(large: View, small: View, strokes: Strokes, reconciled: Reconciled) -> tuple[Strokes, Reconciled]:
    """All of the smaller view given to the larger."""

    def named(every: Sequence[_OfView]) -> tuple[_OfView, ...]:
        return tuple(replace(each, view=large.id) if each.view == small.id else each for each in every)

    (left, top, right, bottom), b = large.box, small.box
    hull = replace(large, box=(min(left, b[0]), min(top, b[1]), max(right, b[2]), max(bottom, b[3])))
    views = tuple(hull if each is large else each for each in strokes.views if each is not small)
    joined = replace(
        strokes,
        views=views,
        lines=named(strokes.lines),
        arcs=named(strokes.arcs),
        splines=named(strokes.splines),
        tooth_rings=named(strokes.tooth_rings),
        hatched=named(strokes.hatched),
    )
    scales = {each.view: each for each in named(reconciled.scales)}
    return joined, replace(
        reconciled,
        scales=tuple(scales.values()),
        dimensions=named(reconciled.dimensions),
        lacking=named(reconciled.lacking),
    )
