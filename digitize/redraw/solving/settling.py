"""The outlines of a view where a solution has them, and whether figures settle them."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from calibrate.sheet import FloatArray
from digitize.dimensions.reasons import quoted
from digitize.lettering.text import Kind
from digitize.redraw.planes import outline, plane
from digitize.redraw.planes.outline import Ring
from digitize.redraw.planes.pieces import without_turned
from digitize.redraw.planes.plane import Plane
from digitize.redraw.planes.plane_strokes import Straight
from digitize.redraw.solving import solve
from digitize.redraw.solving.area_change import area_gradient
from digitize.redraw.solving.draft import Draft, all_left_out
from digitize.redraw.solving.figures import Demand, Figure
from digitize.redraw.solving.hole_rows import placed_rows
from digitize.redraw.solving.profile import Profile
from digitize.redraw.solving.scaled_lengths import Play, play_of, scaled_lengths
from digitize.redraw.solving.solve import Relation, Solution
from digitize.redraw.solving.unknowns import Unknowns
from digitize.strokes.primitives import Point

SHIFT_MM = 3.0  # of paper: an outline that the figures would move further has been tied to the wrong edges
ROUNDED = 2e-3  # relative: what written sizes that mean the same differ by, one in fractions and one in decimals
STRAYS = 2.0  # standard errors of a scaled length within which a figure that is not agreed does not speak against it
RIGID = 1e-6  # a free direction that bends an outline by less, relative, only carries it along


def alone(begun: Draft) -> Profile:
    """Solve one view by itself; where its figures can't be met it stays as drawn and says so."""
    solution = solve.solve(begun.unknowns.values, begun.unknowns.weights, begun.relations)
    met = met_by(begun, solution)
    if met is not None:
        return met
    said = ", ".join(quoted(each.dimension.text) for each in begun.placed if each.corrects)
    why = "the agreed figures could not all be met by moving the drawn edges a little"
    if said:
        why = f"with {said} as confirmed its outlines would cross, fall apart or lie outside each other"
    return replace(
        begun.shape,
        determined=(False,) * len(begun.outlines),
        left_out=(*begun.left_out, *all_left_out(begun.placed, why)),
        notes=(f"view {begun.view.name} is as drawn: {why}",),
    )


def met_by(begun: Draft, solution: Solution, carried: float = 0.0) -> Profile | None:
    """The outlines where a solution has them; None where it is none, or not what was drawn any more.

    ``carried`` is how far a person's words on other views, solved with this one, may carry its edges, in mm.
    """
    unknowns, values = begun.unknowns, solution.values
    moved = without_turned(begun.shape.plane, _moved(begun.shape.plane, unknowns, values))
    most = SHIFT_MM * begun.view.frame.paper_mm + carries_mm(begun) + carried
    if not solution.settled or not _sound(begun.shape, moved, most):
        return None
    shape = _solved(replace(begun.shape, plane=moved), unknowns, solution, begun.demands, begun.left_out)
    play = play_of(begun.view, moved, begun.outlines, unknowns, values, solution.free)
    shape = _doubted(_told_how_far(shape, begun, play), begun, play)
    circles = {arc: each.moved(values) for arc, each in unknowns.circles.items()}
    in_line = tuple(placed_rows(begun.in_line, unknowns.circles, solution))
    lines = _moved_lines(begun.centre_lines, unknowns, values)
    return replace(shape, in_line=in_line, centre_lines=lines, circles=circles)


def _moved(drawn: Plane, unknowns: Unknowns, values: FloatArray) -> Plane:
    nodes = [(float(values[x]), float(values[y])) for x, y in unknowns.nodes]
    return plane.moved(
        drawn, nodes, {index: unknowns.circles[arc].moved(values) for index, arc in unknowns.rounds.items()}
    )


def _moved_lines(lines: Sequence[Straight], unknowns: Unknowns, values: FloatArray) -> tuple[tuple[Point, Point], ...]:
    """Centre lines where the solution has them."""
    moved = []
    for line in lines:
        assert line.level is not None
        axis, unknown = unknowns.axes[line.level]
        moved.append((axis.laid(line.start, float(values[unknown])), axis.laid(line.end, float(values[unknown]))))
    return tuple(moved)


def carries_mm(begun: Draft) -> float:
    """How far a person's words may carry edges of a view from where they are drawn."""
    extents = [outline.ring_polygon(begun.shape.plane, ring).bounds for ring in begun.shape.rings]
    reach = max((math.dist(each[:2], each[2:]) for each in extents), default=0.0)
    return sum(
        math.radians(each.corrects) * reach if each.dimension.kind is Kind.ANGLE else each.corrects
        for each in begun.placed
    )


def _sound(shape: Profile, moved: Plane, most: float) -> bool:
    """Whether the moved outlines are still what was drawn: no further from it, not crossing themselves, and those
    within another still within it."""
    for ring in (*shape.rings, *shape.cuts):
        before, after = outline.ring_polygon(shape.plane, ring), outline.ring_polygon(moved, ring)
        if not after.is_valid or after.hausdorff_distance(before) > most:
            return False
        if ring.within is not None and ring in shape.rings:
            around = outline.ring_polygon(moved, shape.rings[ring.within])
            if not around.contains(after.representative_point()):
                return False
    return True


def _doubted(shape: Profile, begun: Draft, play: Play) -> Profile:
    """Outlines as they are; none of them settled where a length that is not agreed would have them otherwise, and no
    error of one that is scaled explains it.

    Two levels that lie closer than the pen's error are drawn as one; the figure that tells them apart may be unproven.
    """

    def off(figure: Figure, relation: Relation) -> bool:
        moving = relation.gradient(play.values) @ play.free[list(relation.unknowns)]
        scaled = play.std(moving) if np.abs(moving).max(initial=0.0) > RIGID else 0.0
        return abs(relation.value(play.values)) > max(ROUNDED * figure.value, STRAYS * scaled)

    contrary = [figure.dimension.text for figure, demand in begun.doubted if off(figure, demand.relation)]
    if not contrary:
        return shape
    what = f"{quoted(contrary[0])} is unproven and speaks against it"
    said = f"view {begun.view.name}: nothing of its outline is settled, for {what}"
    return replace(shape, determined=(False,) * len(shape.determined), area_std_mm2=(), notes=(*shape.notes, said))


def _solved(
    shape: Profile,
    unknowns: Unknowns,
    solution: Solution,
    demands: dict[str, Demand],
    left_out: Sequence[tuple[str, str]],
) -> Profile:
    broken = {
        each.dimension: f"it contradicts figures that are surer, by {abs(each.value(solution.values)):.3f} mm"
        for each in solution.contradicting
        if each.dimension is not None
    }
    rounded = {
        each.dimension: f"surer figures give it to within its rounding, {abs(each.value(solution.values)):.3f} mm off"
        for each in solution.rounded
        if each.dimension is not None and each.dimension not in broken
    }
    lost = {*broken, *rounded}
    ends = {name: each.ends(solution.values) for name, each in demands.items() if name not in lost}
    outlines = (*shape.rings, *shape.cuts)

    def loose(ring: Ring) -> bool:
        return outline.has_bent(shape.plane, ring) or outline.open_corner(shape.plane, ring) is not None

    determined = tuple(
        _determined(each, unknowns, solution.free) and not any(map(loose, each))
        for each in ([ring] if ring.within is None else [ring, shape.rings[ring.within]] for ring in outlines)
    )
    return replace(
        shape,
        determined=determined,
        ends=ends,
        left_out=(*left_out, *broken.items(), *rounded.items()),
        contradicting=tuple(sorted(broken)),
        in_excess=_in_excess(solution),
        freedom=int(np.linalg.matrix_rank(_bent(outlines, unknowns, solution.free), RIGID)),
    )


def _told_how_far(shape: Profile, begun: Draft, play: Play) -> Profile:
    """A solved profile with the lengths that are scaled, and how far each outline's area may be off for them."""
    unknowns, outlines = begun.unknowns, (*shape.rings, *shape.cuts)
    if not shape.freedom:
        return replace(shape, area_std_mm2=(0.0,) * len(outlines))

    def off(ring: Ring) -> float:
        moving = _bent([ring], unknowns, play.free)
        if np.abs(moving).max(initial=0.0) < RIGID:
            return 0.0
        return play.std(np.asarray(area_gradient(shape.plane, ring, unknowns) @ play.free))

    named = tuple(scaled_lengths(outlines, shape.plane, unknowns, play))
    return replace(shape, area_std_mm2=tuple(map(off, outlines)), scaled=named)


def _in_excess(solution: Solution) -> tuple[str, ...]:
    """Figures all of whose relations follow from those before them."""
    needed = {each.dimension for each in (*solution.holding, *solution.rounded, *solution.contradicting)}
    found = (each.dimension for each in solution.following)
    return tuple(dict.fromkeys(name for name in found if name is not None and name not in needed))


def _determined(ring_and_outer: Sequence[Ring], unknowns: Unknowns, free: FloatArray) -> bool:
    """Whether a ring, with the outer ring that it lies in, can only be carried along as a whole."""
    return bool(np.abs(_bent(ring_and_outer, unknowns, free)).max(initial=0.0) < RIGID)


def _bent(rings: Sequence[Ring], unknowns: Unknowns, free: FloatArray) -> FloatArray:
    """The free directions as they bend some rings: what they carry along as a whole taken out."""
    xs, ys, sizes = _ring_unknowns(rings, unknowns)
    moving = free[[*xs, *ys, *sizes]]
    carried = np.zeros((len(moving), 2))
    carried[: len(xs), 0] = 1.0
    carried[len(xs) : len(xs) + len(ys), 1] = 1.0
    return np.asarray(moving - carried @ np.linalg.lstsq(carried, moving, rcond=None)[0], dtype=np.float64)


def _ring_unknowns(rings: Sequence[Ring], unknowns: Unknowns) -> tuple[list[int], list[int], list[int]]:
    """Unknowns of the x places and the y places of some rings' corners and centres, and of their radii."""
    nodes = [unknowns.nodes[node] for ring in rings for node in ring.corners()]
    strokes = sorted({step.piece.stroke for ring in rings for step in ring.steps} & unknowns.rounds.keys())
    circles = [unknowns.circles[unknowns.rounds[index]] for index in strokes]
    xs = [x for x, _ in nodes] + [each.x for each in circles]
    ys = [y for _, y in nodes] + [each.y for each in circles]
    return xs, ys, [each.radius for each in circles]
