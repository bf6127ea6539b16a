"""Another view as a witness: the same size drawn there a second time, or given there by a figure of its own.

Views that are projected from each other show one size at one level: the height of the front is the height of the side,
and a bore in section is as wide as its circle in plan. Where both ends of a measured length meet an edge there, or the
two poles of one circle, the size is measured a second time, on other strokes. Where another figure measures the same
size in such a view, the two must say the same. What figures say plays no part in finding either.

Glossary
--------
extent
    Where a length begins and ends along the sheet's x or y, in level pixels.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from digitize.dimensions.linking.bolt_circles import WHOLE_DEG
from digitize.dimensions.linking.directions import middle_of
from digitize.dimensions.linking.entries import Entry, half_place_mm, in_mm, is_length
from digitize.dimensions.reasons import Reason
from digitize.dimensions.table import Measured
from digitize.dimensions.witnesses.chain_sums import CHAIN_BROKEN, ChainWords
from digitize.dimensions.witnesses.chains import SAME_PLACE_MM
from digitize.lettering.text import Kind, TypedValue, Unit
from digitize.strokes.primitives import Arc, Line, Role, Strokes

EDGES = (Role.VISIBLE, Role.HIDDEN)
LEAST_EDGE_MM = 2.0
"""Shorter strokes, in mm of paper, are no edges."""
SQUARE_SINE = 0.02
"""An edge is level or upright to this."""
X, Y = 0, 1
PROJECTED = 0.5
"""Correlation of the pen's error in two views: an edge is carried over from one to the other (no source)."""


@dataclass(frozen=True)
class Shown:
    """A size as another view shows it, in level pixels."""

    view: str
    size: float
    std: float


@dataclass(frozen=True)
class Elsewhere:
    """What other views say of one entry's size: a second measurement, and indices of entries that give it too."""

    shown: Shown | None = None
    given: tuple[int, ...] = ()


@dataclass(frozen=True)
class _Extent:
    axis: int
    low: float
    high: float

    def meets(self, other: "_Extent", slack_px: float) -> bool:
        """Do both begin and end at one level?"""
        off = max(abs(self.low - other.low), abs(self.high - other.high))
        return self.axis == other.axis and off < slack_px


def seen_elsewhere(
    entries: Sequence[Entry], strokes: Strokes, level_with: Mapping[str, Sequence[str]], mm_per_px: float
) -> tuple[Elsewhere, ...]:
    """Find what other views show of each measured length.

    Parameters
    ----------
    entries : sequence of Entry
    strokes : Strokes
    level_with : mapping of view to views
        Views that are projected from each other (`projection.twins`).
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    tuple of Elsewhere
        One an entry, in order.
    """
    slack = SAME_PLACE_MM / mm_per_px
    extents = [tuple(_extents(entry)) for entry in entries]
    found = []
    for i, entry in enumerate(entries):
        twins = tuple(level_with.get(entry.view or "", ()))
        shown = [each for extent in extents[i] for each in _shown(entry, extent, twins, strokes, mm_per_px)]
        given = tuple(
            j
            for j, other in enumerate(entries)
            if other.view in twins and any(a.meets(b, slack) for a in extents[i] for b in extents[j])
        )
        found.append(Elsewhere(min(shown, key=lambda each: each.std, default=None), given))
    return tuple(found)


def _extents(entry: Entry) -> Iterator[_Extent]:
    """Where a length lies along the sheet; a circle along both axes. Nothing for slanting ones."""
    measured, value = entry.measured, entry.value
    if measured is None or value is None or not is_length(value) or value.kind not in (Kind.LINEAR, Kind.DIAMETER):
        return
    if _is_circle(measured):
        centre = (measured.first[0] + measured.second[0]) / 2, (measured.first[1] + measured.second[1]) / 2
        for axis in (X, Y):
            yield _Extent(axis, centre[axis] - measured.size / 2, centre[axis] + measured.size / 2)
        return
    for axis in (X, Y):
        if abs(measured.first[1 - axis] - measured.second[1 - axis]) < SQUARE_SINE * measured.size:
            low, high = sorted((measured.first[axis], measured.second[axis]))
            yield _Extent(axis, low, high)


def _is_circle(measured: Measured) -> bool:
    return bool(measured.arcs) and not measured.lines


def _shown(entry: Entry, extent: _Extent, twins: Sequence[str], strokes: Strokes, mm_per_px: float) -> Iterator[Shown]:
    """The extent as each view shows it that is level with the entry's own."""
    own = entry.measured
    assert own is not None
    slack = SAME_PLACE_MM / mm_per_px
    for view in twins:
        for i, arc in enumerate(strokes.arcs):
            if arc.view == view and i not in own.arcs and _is_whole(arc):
                radius = _radius_along(arc, extent.axis, strokes.squeeze)
                middle = arc.centre[extent.axis]
                if extent.meets(_Extent(extent.axis, middle - radius, middle + radius), slack):
                    yield Shown(view, 2 * radius, 2 * arc.radius_std_px)
        edges = [
            (middle_of(line)[extent.axis], line.std_px)
            for i, line in enumerate(strokes.lines)
            if line.view == view and i not in own.lines and _is_edge_across(line, extent.axis, mm_per_px)
        ]
        if edges:
            low, low_std = min(edges, key=lambda edge: abs(edge[0] - extent.low))
            high, high_std = min(edges, key=lambda edge: abs(edge[0] - extent.high))
            if extent.meets(_Extent(extent.axis, low, high), slack):
                yield Shown(view, high - low, math.hypot(low_std, high_std))


def _is_whole(arc: Arc) -> bool:
    return arc.sweep_deg >= WHOLE_DEG and arc.role in EDGES


def _radius_along(arc: Arc, axis: int, squeeze: float) -> float:
    """Half the width or height of a circle that the paper's shrinkage has squeezed."""
    ratio = math.sqrt(1.0 + squeeze)
    return arc.radius_px / ratio if axis == X else arc.radius_px * ratio


def _is_edge_across(line: Line, axis: int, mm_per_px: float) -> bool:
    """Is it an edge that stands square to an axis?"""
    length = math.dist(line.start, line.end)
    slant = abs(line.start[axis] - line.end[axis])
    return line.role in EDGES and length * mm_per_px > LEAST_EDGE_MM and slant < SQUARE_SINE * length


def together(own_px: float, own_std: float, other: Shown, pen_px: float) -> tuple[float, float] | None:
    """The mean of a length and of what another view shows, and its variance; None where they are no one size.

    Notes
    -----
    Each is off by the pen, in part alike: an edge is projected from the other.

        var = pen^2 (1 + rho) / 2 + (s_1^2 + s_2^2) / 4
    """
    squares = own_std**2 + other.std**2
    if abs(own_px - other.size) > 4.0 * math.sqrt(2 * (1 - PROJECTED) * pen_px**2 + squares):
        return None
    return (own_px + other.size) / 2, pen_px**2 * (1 + PROJECTED) / 2 + squares / 4


def is_same_size(one: TypedValue, other: TypedValue, unit: Unit) -> bool | None:
    """Do two values give one length? A decimal may be the other rounded; None where either is no length."""
    lengths = in_mm(one, unit), in_mm(other, unit)
    if lengths[0] is None or lengths[1] is None:
        return None
    halves = {half_place_mm(value, unit) for value in (one, other)}
    return abs(lengths[0] - lengths[1]) <= (max(halves) if len(halves) > 1 else 0)


def view_factors(entry: Entry, others: Sequence[TypedValue], unit: Unit) -> list[float]:
    """Factor of each candidate of an entry from the figures that give its size in other views."""
    factors = []
    for option in entry.options:
        told = [is_same_size(option.value, other, unit) for other in others]
        factors.append(CHAIN_BROKEN if told and all(same is False for same in told) else 1.0)
    return factors


def view_words(value: TypedValue, others: Sequence[tuple[str, str, TypedValue]], unit: Unit) -> ChainWords:
    """What other views give beside a value: their names, what stands there, and what it says."""
    told = [(view, text, is_same_size(value, other, unit)) for view, text, other in others]
    words = [
        (Reason.ALSO_GIVEN if same else Reason.GIVEN_OTHERWISE).say(view=view, text=text)
        for view, text, same in told
        if same is not None
    ]
    known = [same for _, _, same in told if same is not None]
    return ChainWords(tuple(words), bool(known) and not any(known))
