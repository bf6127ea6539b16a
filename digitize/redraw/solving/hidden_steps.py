"""Steps that a pen hides: edges taken for one level, of which two figures say that they are two.

Glossary
--------
claim
    Of the strokes on a level, the one nearest to where a figure measures: the one that it speaks of.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from digitize.lettering.text import Kind
from digitize.redraw.planes.levels import LEVEL_MM, find_levels
from digitize.redraw.planes.loose_ends import riser
from digitize.redraw.planes.plane_strokes import GAP_MM, Axis, Level, Pen, Straight
from digitize.redraw.planes.stroke_ends import End
from digitize.redraw.solving.figures import Demand, Figure, PlacedFigure
from digitize.redraw.solving.unknowns import Unknowns

CLEARLY = 0.25  # of the way to the next claim: what is drawn nearer to one belongs to it
ROUND = (Kind.DIAMETER, Kind.THREAD)  # measured about one middle, so that one shared level is enough
SAME = 1e-9  # relative: written values that differ by more are two


@dataclass(frozen=True)
class _Span:
    """A figure between two levels: its claim on each, and how far apart the claimed strokes are drawn."""

    figure: PlacedFigure
    claims: dict[int, int]
    drawn: float


def told_apart(
    placed: Sequence[Figure],
    demands: Mapping[str, Demand],
    unknowns: Unknowns,
    straights: Sequence[Straight],
    pen: Pen,
) -> dict[int, int]:
    """Strokes on levels that are two by the figures, each with the number of its group; strokes of one level share a
    place only within a group.

    Parameters
    ----------
    placed : sequence of Figure
        The view's agreed figures.
    demands : mapping of str to Demand
        What they demand, by row id.
    unknowns : Unknowns
    straights : sequence of Straight
        As drawn; the result holds indices into it.
    pen : Pen

    Notes
    -----
    Two figures of unlike values between the same levels contradict each other unless they speak of different strokes,
    and those are drawn as the values differ, give or take what a pen errs. Each then claims its stroke. A stroke that
    nobody claims goes with the claimed one that is drawn at its place, or that it continues, or else has a place of its
    own.
    """
    levels, laid = find_levels(straights, pen)
    spans = [
        span
        for each in placed
        if isinstance(each, PlacedFigure)
        and each.dimension.id in demands
        and (span := _span(each, demands[each.dimension.id], unknowns, levels, straights, laid)) is not None
    ]
    claims: dict[int, dict[int, float]] = {}
    for one, other in combinations(spans, 2):
        for level in _parted(one, other, pen):
            mine = claims.setdefault(level, {})
            mine |= {span.claims[level]: span.figure.value for span in (one, other)}
    groups: dict[int, int] = {}
    for level, claimed in claims.items():
        on_level = [i for i, each in enumerate(laid) if each.level == level]
        groups |= _grouped(claimed, on_level, straights, levels[level].axis, GAP_MM * pen.paper_mm)
    return groups


def risers_between(straights: Sequence[Straight], apart: Mapping[int, int], pen: Pen) -> list[Straight]:
    """The risers of steps that figures tell, between the ends of strokes on a level that they part: however low the
    step, two treads that run away from each other's end make one.

    Parameters
    ----------
    straights : sequence of Straight
        As drawn.
    apart : mapping of int to int
        As `told_apart` has it.
    pen : Pen
    """
    ends = [End(at, straights[i]) for i in apart for at in (straights[i].start, straights[i].end)]
    risers = (riser(one, other, pen, 0.0) for one, other in combinations(ends, 2) if one.of is not other.of)
    return [each for each in risers if each is not None]


def _span(
    figure: PlacedFigure,
    demand: Demand,
    unknowns: Unknowns,
    levels: Sequence[Level],
    straights: Sequence[Straight],
    laid: Sequence[Straight],
) -> _Span | None:
    ends = demand.relation.unknowns
    if len(ends) != 2 or not set(ends) <= set(unknowns.levels):
        return None
    low, high = sorted((unknowns.levels.index(each) for each in ends), key=lambda one: levels[one].position)
    axis = levels[low].axis
    along = (figure.first[1 - axis.value] + figure.second[1 - axis.value]) / 2
    claims = {}
    for level in (low, high):
        mine = [i for i, each in enumerate(laid) if each.level == level]
        claims[level] = min(mine, key=lambda i: _beyond(straights[i], axis, along))
    drawn = _place(straights[claims[high]], axis) - _place(straights[claims[low]], axis)
    return _Span(figure, claims, drawn)


def _reach(straight: Straight, axis: Axis) -> tuple[float, float]:
    """Where a stroke on a level begins and ends along it."""
    low, high = sorted((straight.start[1 - axis.value], straight.end[1 - axis.value]))
    return low, high


def _place(straight: Straight, axis: Axis) -> float:
    return (straight.start[axis.value] + straight.end[axis.value]) / 2


def _beyond(straight: Straight, axis: Axis, along: float) -> float:
    """How far a place along a level lies beyond a stroke's ends; 0 between them."""
    low, high = _reach(straight, axis)
    return max(low - along, along - high, 0.0)


def _parted(one: _Span, other: _Span, pen: Pen) -> Iterator[int]:
    """Levels on which two figures speak of two strokes."""
    shared = one.claims.keys() & other.claims.keys()
    apart = one.figure.value - other.figure.value
    round_ = all(span.figure.dimension.kind in ROUND for span in (one, other))
    if abs(apart) <= SAME * one.figure.value or len(shared) < (1 if round_ else 2):
        return
    if abs(one.drawn - other.drawn - apart) <= pen.slack(LEVEL_MM):
        yield from sorted(level for level in shared if one.claims[level] != other.claims[level])


def _grouped(
    claimed: Mapping[int, float],
    on_level: Sequence[int],
    straights: Sequence[Straight],
    axis: Axis,
    gap: float,
) -> dict[int, int]:
    """A level's strokes by group: one for each claimed value, one for each stroke that belongs to none."""
    numbers = {value: number for number, value in enumerate(sorted(set(claimed.values())))}
    groups = {stroke: numbers[value] for stroke, value in claimed.items()}
    places = {stroke: _place(straights[stroke], axis) for stroke in on_level}
    for stroke in on_level:
        if stroke in groups:
            continue
        if (beside := _nearest(places[stroke], claimed, places)) is not None:
            groups[stroke] = numbers[beside]
            continue
        low, high = _reach(straights[stroke], axis)
        touched = {
            numbers[value]
            for other, value in claimed.items()
            if min(_beyond(straights[other], axis, at) for at in (low, high)) <= gap
        }
        groups[stroke] = touched.pop() if len(touched) == 1 else len(numbers) + stroke
    return groups


def _nearest(at: float, claimed: Mapping[int, float], places: Mapping[int, float]) -> float | None:
    """The value of the claim that is drawn at a place, far nearer than those of other values; None without one."""
    off = {
        value: min(abs(at - places[i]) for i, mine in claimed.items() if mine == value) for value in claimed.values()
    }
    best, *others = sorted(off, key=off.__getitem__)
    return best if others and off[best] <= CLEARLY * off[others[0]] else None
