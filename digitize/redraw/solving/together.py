"""Views of one part solved together: what one shows at a height, another shows at the same height.

Glossary
--------
twins
    Two views that stand level with each other, or one above the other: one was projected from the other.
link
    The relation that a place of one view is the place of its twin, but for the one distance between the two frames.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from digitize.dimensions.scales.projection import twins, view_extents
from digitize.redraw.planes.plane_strokes import Axis
from digitize.redraw.solving.cut_across import Cut, cuts_across
from digitize.redraw.solving.draft import Draft
from digitize.redraw.solving.figures import surest_first
from digitize.redraw.solving.profile import Profile
from digitize.redraw.solving.projected import shared_axis
from digitize.redraw.solving.settling import alone, carries_mm, met_by
from digitize.redraw.solving.solve import Relation, Solution, linear, solve
from digitize.redraw.solving.twin_places import Place, matches_of
from digitize.redraw.solving.unknowns import NODE_WEIGHT
from digitize.strokes.primitives import Strokes

SAME_SCALE = 0.005  # relative: views that differ more were not projected from each other
FEWEST_LINKS = 2  # the first link only finds how the frames stand to each other
MOST_UNKNOWNS = 1500  # of views solved together; beyond, the time is not worth it


@dataclass(frozen=True)
class _Twins:
    """Two drafts by number, their places that are one, and how far the second's frame is beyond the first's."""

    one: int
    other: int
    beyond: float
    matches: tuple[tuple[Place, Place], ...]


def profiles(drafts: Sequence[Draft | Profile], strokes: Strokes) -> list[Profile]:
    """Solve all views, twins together; where twins can't be met together each is solved by itself and says so.

    Parameters
    ----------
    drafts : sequence of Draft or Profile
        A profile is passed through.
    strokes : Strokes
        Of the sheet.
    """
    solved = [each if isinstance(each, Profile) else None for each in drafts]
    begun = {number: each for number, each in enumerate(drafts) if isinstance(each, Draft)}
    cuts = cuts_across(begun)
    for members, pairs in _groups(begun, _pairs(begun, strokes), cuts):
        chosen = {number: begun[number] for number in members}
        for number, shape in _solved(chosen, pairs, [cut for cut in cuts if cut.side in members]).items():
            solved[number] = shape
    return [each for each in solved if each is not None]


def _solved(drafts: Mapping[int, Draft], pairs: Sequence[_Twins], cuts: Sequence[Cut]) -> dict[int, Profile]:
    if (pairs or cuts) and sum(len(each.unknowns.drawn) for each in drafts.values()) <= MOST_UNKNOWNS:
        together = _together(drafts, pairs, cuts)
        if together is not None:
            return together
    shapes = {number: alone(each) for number, each in drafts.items()}
    if not pairs:
        return shapes  # a cross-section has only sizes to carry over, which each of the two tells as scaled
    names = " and ".join(str(each.view.name) for each in drafts.values())
    note = f"views {names} stand level but are each redrawn by themselves: their sizes were not carried over"
    return {number: replace(each, notes=(*each.notes, note)) for number, each in shapes.items()}


def _pairs(drafts: Mapping[int, Draft], strokes: Strokes) -> list[_Twins]:
    if len(drafts) < 2:
        return []
    frame = next(iter(drafts.values())).view.frame
    level = twins(strokes, (frame.x_mm_per_px + frame.y_mm_per_px) / 2 / frame.paper_mm)
    pairs = []
    for (i, one), (j, other) in combinations(drafts.items(), 2):
        if one.view.name is None or other.view.name is None or not _one_scale(one, other):
            continue
        if (axis := shared_axis(one, other)) is None and other.view.name not in level.get(one.view.name, ()):
            continue
        seen, middle_px = _shared(one.view.name, other.view.name, strokes)
        axis = axis or seen
        start, end = (each.view.frame.point(middle_px)[axis.value] for each in (one, other))
        matches = matches_of(one, other, axis, start, end)
        if len(matches) >= FEWEST_LINKS and not all(a.middle for a, _ in matches):
            pairs.append(_Twins(i, j, end - start, matches))
    return pairs


def _one_scale(one: Draft, other: Draft) -> bool:
    a, b = one.view.frame, other.view.frame
    return all(
        abs(x / y - 1) <= SAME_SCALE for x, y in ((a.x_mm_per_px, b.x_mm_per_px), (a.y_mm_per_px, b.y_mm_per_px))
    )


def _shared(one: str, other: str, strokes: Strokes) -> tuple[Axis, tuple[float, float]]:
    """The axis whose places two twins share, and a point in the middle of the first, in level pixels."""
    extents = view_extents(strokes)
    (left, top, right, bottom), b = extents[one], extents[other]
    across, up = max(abs(left - b[0]), abs(right - b[2])), max(abs(top - b[1]), abs(bottom - b[3]))
    return Axis.Y if up <= across else Axis.X, ((left + right) / 2, (top + bottom) / 2)


def _groups(
    drafts: Mapping[int, Draft], pairs: Sequence[_Twins], cuts: Sequence[Cut]
) -> Iterator[tuple[tuple[int, ...], tuple[_Twins, ...]]]:
    """Views that hang together by twins or cross-sections, and those twins."""
    hanging = [{each.one, each.other} for each in pairs] + [{each.side, each.section} for each in cuts]
    left = dict.fromkeys(drafts)
    while left:
        members = {next(iter(left))}
        while reached := {n for each in hanging if members & each for n in each} - members:
            members |= reached
        for number in members:
            del left[number]
        yield tuple(sorted(members)), tuple(pair for pair in pairs if pair.one in members)


def _together(drafts: Mapping[int, Draft], pairs: Sequence[_Twins], cuts: Sequence[Cut]) -> dict[int, Profile] | None:
    """All views by one solution: first what each demands by itself, then the links. None where there is none."""
    offsets = dict(zip(drafts, np.cumsum([0, *(len(each.unknowns.drawn) for each in drafts.values())]), strict=False))
    values = np.concatenate([each.unknowns.values for each in drafts.values()])
    weights = np.concatenate([each.unknowns.weights for each in drafts.values()])
    links = _links(pairs, offsets, len(values))
    one_size = [relation for cut in cuts for relation in cut.relations(offsets)]
    between = [pair.beyond for pair in pairs]
    own = [(number, each, _moved(each, int(offsets[number]))) for number, each in _in_order(drafts)]
    solution = solve(
        np.concatenate([values, between]),
        np.concatenate([weights, np.full(len(pairs), NODE_WEIGHT)]),
        [*(moved for _, _, moved in own), *(link for _, link in links), *one_size],
    )
    broken, rounded, following = (
        {id(each) for each in some} for some in (solution.contradicting, solution.rounded, solution.following)
    )
    shapes: dict[int, Profile] = {}
    carried = sum(map(carries_mm, drafts.values()))
    for number, begun in drafts.items():
        mine = [(each, id(moved)) for owner, each, moved in own if owner == number]
        part = _part_of(solution, int(offsets[number]), len(begun.unknowns.drawn))
        shape = met_by(
            begun,
            replace(
                part,
                contradicting=tuple(each for each, key in mine if key in broken),
                rounded=tuple(each for each, key in mine if key in rounded),
                following=tuple(each for each, key in mine if key in following),
                holding=tuple(each for each, key in mine if key not in broken | rounded | following),
            ),
            carried,
        )
        if shape is None:
            return None
        shapes[number] = shape
    for number, note in (*_notes(drafts, pairs, links, solution), *_cut_notes(drafts, cuts, one_size, solution)):
        shapes[number] = replace(shapes[number], notes=(*shapes[number].notes, note))
    return shapes


def _cut_notes(
    drafts: Mapping[int, Draft], cuts: Sequence[Cut], one_size: Sequence[Relation], solution: Solution
) -> Iterator[tuple[int, str]]:
    lost = {id(each) for each in (*solution.contradicting, *solution.rounded)}
    off = [abs(each.value(solution.values)) for each in one_size if id(each) in lost]
    for cut in cuts:
        names = f"views {drafts[cut.side].view.name} and {drafts[cut.section].view.name}"
        if off:
            yield cut.side, f"{names} show one keyseat and contradict each other by {max(off):.3f} mm"
        else:
            yield cut.side, f"{names} show one keyseat: its width and the diameter of its step are one"


def _in_order(drafts: Mapping[int, Draft]) -> Iterator[tuple[int, Relation]]:
    """Relations of all views: joints, figures (the surest first), what is given, habits."""
    yield from ((number, relation) for number, each in drafts.items() for relation in each.joints)
    wanted = [
        (surest_first(figure.dimension), number, each.demands[figure.dimension.id])
        for number, each in drafts.items()
        for figure in each.placed
        if figure.dimension.id in each.demands
    ]
    for _, number, demand in sorted(wanted, key=lambda one: one[:2]):
        yield from ((number, relation) for relation in (demand.relation, *demand.beside))
    yield from ((number, relation) for number, each in drafts.items() for relation in each.given)
    yield from ((number, relation) for number, each in drafts.items() for relation in each.habits)


def _moved(relation: Relation, offset: int) -> Relation:
    return replace(relation, unknowns=tuple(unknown + offset for unknown in relation.unknowns))


def _links(pairs: Sequence[_Twins], offsets: Mapping[int, int], first: int) -> list[tuple[_Twins, Relation]]:
    """The links of each pair; unknown ``first`` and the next ones are the distances between the twins' frames."""
    links = []
    for between, pair in enumerate(pairs, start=first):
        for mine, theirs in pair.matches:
            terms = {int(offsets[pair.one]) + unknown: factor for unknown, factor in mine.terms.items()}
            terms |= {int(offsets[pair.other]) + unknown: -factor for unknown, factor in theirs.terms.items()}
            links.append((pair, linear(terms | {between: 1.0}, 0.0)))
    return links


def _part_of(solution: Solution, offset: int, count: int) -> Solution:
    mine = slice(offset, offset + count)
    return replace(solution, values=solution.values[mine], free=solution.free[mine])


def _notes(
    drafts: Mapping[int, Draft],
    pairs: Sequence[_Twins],
    links: Sequence[tuple[_Twins, Relation]],
    solution: Solution,
) -> Iterator[tuple[int, str]]:
    """What was carried over between twins, and what could not be, each told once."""
    broken, rounded = ({id(each) for each in some} for some in (solution.contradicting, solution.rounded))
    for pair in pairs:
        off = {id(link): abs(link.value(solution.values)) for mine, link in links if mine is pair}
        names = f"views {drafts[pair.one].view.name} and {drafts[pair.other].view.name}"
        one = len(off.keys() - broken - rounded)
        yield pair.one, f"{names} stand level: {one} of their edges and middles are one"
        if worst := max((off[key] for key in off.keys() & rounded), default=0.0):
            yield pair.one, f"{names} differ by {worst:.3f} mm, for their figures are rounded: there each keeps its own"
        if worst := max((off[key] for key in off.keys() & broken), default=0.0):
            yield pair.one, f"{names} contradict each other by {worst:.3f} mm: there each keeps its own"
