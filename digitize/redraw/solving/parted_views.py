"""Views that the trace has parted though they are one, because edges between are lost or taken for extension lines.

No drafter measures from one view to another that stands beyond it: where an agreed size leads from one to the other,
along the way in which they are apart, both are one view.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import permutations
from typing import TypeVar

from digitize.dimensions.reasons import quoted
from digitize.dimensions.table import Dimension, Lacking, Reconciled, State, ViewScale
from digitize.redraw.planes.plane_strokes import Axis
from digitize.redraw.solving.figures import ALONG_AXIS, LENGTHS, direction
from digitize.redraw.solving.marks import MARK_MM
from digitize.strokes.primitives import Arc, HatchedRegion, Line, Spline, Strokes, ToothRing, View

SHARED = 0.5  # of the narrower view: as much at least lies beside the other

_OfView = TypeVar("_OfView", Line, Arc, Spline, ToothRing, HatchedRegion, Dimension, ViewScale, Lacking)


@dataclass(frozen=True)
class WholeViews:
    """The sheet with such views joined, under the name of the larger; and sentences on it."""

    strokes: Strokes
    reconciled: Reconciled
    notes: tuple[str, ...] = ()


def whole_views(strokes: Strokes, reconciled: Reconciled) -> WholeViews:
    """Join views that an agreed size leads across, until none are left."""
    found = next(_parted(strokes.views, reconciled), None)
    if found is None:
        return WholeViews(strokes, reconciled)
    first, second, size = found
    large, small = sorted((first, second), key=_area, reverse=True)
    rest = whole_views(*_joined(large, small, strokes, reconciled))
    names = " and ".join(sorted((first.id, second.id)))
    note = f"views {names} are one, {large.id}: {quoted(size.text)} leads from one to the other"
    return replace(rest, notes=(note, *rest.notes))


def _parted(views: Sequence[View], reconciled: Reconciled) -> Iterator[tuple[View, View, Dimension]]:
    """Two views that are one, the one that comes first along an axis first, and a size that leads across."""
    scales = {each.view: each for each in reconciled.scales}
    sizes = [each for each in reconciled.dimensions if each.state is State.AGREED and each.kind in LENGTHS]
    for one, other in permutations((each for each in views if each.kind == "view"), 2):
        mine, theirs = scales.get(one.id), scales.get(other.id)
        if mine is None or theirs is None or not mine.known or replace(theirs, view=one.id) != mine:
            continue
        for axis in Axis:
            if _beyond(one, other, axis):
                leading = (each for each in sizes if each.view in (one.id, other.id))
                yield from ((one, other, each) for each in leading if _leads(each, one, other, axis, mine))


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
