"""The closed outlines of one view, as drawn and as dimensioned.

Steps: the view's visible strokes become a plane graph; its unknowns and relations are set up; the agreed figures are
added, the surest first; all is solved; the outlines are read off the moved graph.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from calibrate.sheet import FloatArray
from digitize.lettering.text import Kind
from digitize.redraw import bolt_circle, figures, outline, plane, solve
from digitize.redraw.angles import angle_demand
from digitize.redraw.bent import Bent, bent_of
from digitize.redraw.chamfer import chamfer_demand
from digitize.redraw.curve import Circular
from digitize.redraw.figures import Demand, Ends, PlacedFigure
from digitize.redraw.hidden_steps import told_apart
from digitize.redraw.levels import find_levels
from digitize.redraw.loose_ends import edges_between
from digitize.redraw.outline import Ring
from digitize.redraw.overdrawn import edges_under
from digitize.redraw.plane import Plane
from digitize.redraw.plane_strokes import Level, Pen, Round, Straight
from digitize.redraw.relations import describe
from digitize.redraw.solve import Relation, Solution
from digitize.redraw.unknowns import Unknowns
from digitize.report.frame import Frame
from digitize.strokes.primitives import Arc, Line, Point, Role, Spline

MOST_STROKES = 600  # a view with more is a tangle, or lettering taken for strokes; it is traced but not solved
CRUMB_MM = 0.8  # of paper: a shorter stroke is a crumb of something else
FLAT_MM = 0.2  # of paper: an arc that rises less over its chord is a line with a pen's wobble
THIN = (Role.EXTENSION, Role.DIMENSION, Role.PHANTOM)  # lines that edges have been traced as one with
MOST_PIECES = 6000  # and so with one whose strokes cross each other more often
SHIFT_MM = 3.0  # of paper: an outline that the figures would move further has been tied to the wrong edges
ROUNDED = 2e-3  # relative: what written sizes that mean the same differ by, one in fractions and one in decimals
RIGID = 1e-6  # a free direction that bends an outline by less, relative, only carries it along


@dataclass(frozen=True)
class DrawnView:
    """The strokes of one view with their indices in `Strokes`, the frame that places them in part mm, the pen's
    standard error in mm of paper, whether the frame's scale is proven, and the view's bent curves."""

    name: str | None
    frame: Frame
    lines: tuple[Line, ...]
    arcs: tuple[tuple[int, Arc], ...]
    pen_mm: float = 0.0
    proven: bool = True
    splines: tuple[Spline, ...] = ()


@dataclass(frozen=True)
class Profile:
    """Outlines of one view.

    Attributes
    ----------
    plane : Plane
        As dimensioned where the solution settled, else as drawn.
    rings, cuts : tuple of Ring
        Outlines, and the faces that a section plane cuts.
    centre_lines : tuple of (Point, Point)
        Level and upright centre lines.
    circles : dict of int to Circular
        Visible and pitch circles by index into `Strokes.arcs`.
    determined : tuple of bool
        For each ring and then each cut, whether figures and relations leave nothing of it to drawn lengths; an inner
        ring's place in the outer one counts.
    ends : dict of str to Ends
        Ends of each figure that holds, by row id, in part mm, exactly its value apart.
    left_out : tuple of (str, str)
        Row id and reason.
    contradicting : tuple of str
        Those of them that contradict surer figures.
    in_excess : tuple of str
        Figures that say what surer figures and the relations kept say already, and agree.
    freedom : int
        Degrees of freedom that figures and relations leave to the drawing's own lengths; the place of the whole on the
        sheet is none.
    partial : bool
        Whether the part is known to go on outside its outermost outline.
    notes : tuple of str
    """

    plane: Plane
    rings: tuple[Ring, ...] = ()
    cuts: tuple[Ring, ...] = ()
    determined: tuple[bool, ...] = ()
    ends: dict[str, Ends] = field(default_factory=dict)
    left_out: tuple[tuple[str, str], ...] = ()
    contradicting: tuple[str, ...] = ()
    in_excess: tuple[str, ...] = ()
    freedom: int = 0
    partial: bool = False
    notes: tuple[str, ...] = ()
    centre_lines: tuple[tuple[Point, Point], ...] = ()
    circles: dict[int, Circular] = field(default_factory=dict)


@dataclass(frozen=True)
class Draft:
    """One view ready to be solved.

    Attributes
    ----------
    view : DrawnView
    placed : tuple of PlacedFigure
        Its agreed figures, the surest first.
    shape : Profile
        As drawn.
    unknowns : Unknowns
    joints, given, habits : tuple of Relation
        What keeps the outlines closed, radii known otherwise, and symmetry and spacing.
    demands : dict of str to Demand
        Of the figures, by row id.
    centre_lines : tuple of Straight
    left_out : tuple of (str, str)
        Figures that can't be tied to anything, with the reason.
    doubted : tuple of (PlacedFigure, Demand)
        Lengths that are not agreed, and what they would demand: they move nothing, but may speak against it.
    """

    view: DrawnView
    placed: tuple[PlacedFigure, ...]
    shape: Profile
    unknowns: Unknowns
    joints: tuple[Relation, ...]
    given: tuple[Relation, ...]
    habits: tuple[Relation, ...]
    demands: dict[str, Demand]
    centre_lines: tuple[Straight, ...]
    left_out: tuple[tuple[str, str], ...]
    doubted: tuple[tuple[PlacedFigure, Demand], ...]

    @property
    def outlines(self) -> tuple[Ring, ...]:
        """Rings and cut faces."""
        return (*self.shape.rings, *self.shape.cuts)

    @property
    def relations(self) -> list[Relation]:
        """All, those with the right of way first."""
        wanted = [relation for each in self.demands.values() for relation in (each.relation, *each.beside)]
        return [*self.joints, *wanted, *self.given, *self.habits]


def draft(
    view: DrawnView,
    placed: Sequence[PlacedFigure],
    given: Mapping[int, float],
    doubted: Sequence[PlacedFigure] = (),
) -> Draft | Profile:
    """Find the outlines of one view; a view with too many strokes gets an empty profile at once.

    Parameters
    ----------
    view : DrawnView
    placed : sequence of PlacedFigure
        The view's agreed figures, the surest first.
    given : mapping of int to float
        Radii in mm that are known otherwise, by index of the arc.
    doubted : sequence of PlacedFigure
        Lengths of the view that are not agreed.
    """
    pen = Pen(view.frame.paper_mm, view.pen_mm)
    bents = [bent for spline in view.splines if spline.role is Role.VISIBLE for bent in bent_of(spline, view.frame)]
    straights, rounds = _visible(view, bents, pen)
    if len(straights) + len(rounds) + len(view.splines) > MOST_STROKES:
        return _tangle(view, placed)
    drawn = plane.build(straights, rounds, pen, bents)
    if len(drawn.pieces) > MOST_PIECES:
        return _tangle(view, placed)
    begun = _described(view, placed, given, drawn, pen, doubted)
    apart = told_apart(placed, begun.demands, begun.unknowns, straights, pen)
    if not apart:
        return begun
    stepped = _described(view, placed, given, plane.build(straights, rounds, pen, bents, apart), pen, doubted)
    return stepped if len(stepped.outlines) == len(begun.outlines) else begun


def _described(
    view: DrawnView,
    placed: Sequence[PlacedFigure],
    given: Mapping[int, float],
    drawn: Plane,
    pen: Pen,
    doubted: Sequence[PlacedFigure],
) -> Draft:
    """The draft of a view whose plane graph is given."""
    paper_mm = view.frame.paper_mm
    shape = Profile(
        drawn, tuple(outline.rings(drawn, paper_mm)), tuple(outline.cut_faces(drawn, hatching(view), paper_mm))
    )
    axes, centre_lines = _axes(view, pen)
    unknowns, joints, habits = describe(drawn, (*shape.rings, *shape.cuts), axes, _pitch_circles(view), pen)
    demands, left_out = _demands(placed, drawn, unknowns, pen)
    known = tuple(_given(unknowns, given))
    return Draft(
        view, tuple(placed), shape, unknowns, tuple(joints), known, tuple(habits), demands, tuple(centre_lines),
        tuple(left_out),
        tuple((each, found) for each in doubted if isinstance(found := _demand(each, drawn, unknowns, pen), Demand)),
    )  # fmt: skip


def alone(begun: Draft) -> Profile:
    """Solve one view by itself; where its figures can't be met it stays as drawn and says so."""
    solution = solve.solve(begun.unknowns.values, begun.unknowns.weights, begun.relations)
    met = met_by(begun, solution)
    if met is not None:
        return met
    why = "the agreed figures could not all be met by moving the drawn edges a little"
    return replace(
        begun.shape,
        determined=(False,) * len(begun.outlines),
        left_out=(*begun.left_out, *_all_left_out(begun.placed, why)),
        notes=(f"{_called(begun.view)} is as drawn: {why}",),
    )


def met_by(begun: Draft, solution: Solution) -> Profile | None:
    """The outlines where a solution has them; None where it is none, or not what was drawn any more."""
    unknowns, values = begun.unknowns, solution.values
    moved = _moved(begun.shape.plane, unknowns, values)
    most = SHIFT_MM * begun.view.frame.paper_mm + sum(each.corrects for each in begun.placed if _is_length(each))
    if not solution.settled or not _sound(begun.shape, moved, most):
        return None
    shape = _solved(replace(begun.shape, plane=moved), unknowns, solution, begun.demands, begun.left_out)
    circles = {arc: each.moved(values) for arc, each in unknowns.circles.items()}
    shape = _doubted(shape, begun, values)
    return replace(shape, centre_lines=_moved_lines(begun.centre_lines, unknowns, values), circles=circles)


def _doubted(shape: Profile, begun: Draft, values: FloatArray) -> Profile:
    """Outlines as they are; none of them settled where a length that is not agreed would have them otherwise.

    Two levels that lie closer than the pen's error are drawn as one; the figure that tells them apart may be unproven.
    """
    contrary = [
        figure.dimension.text
        for figure, demand in begun.doubted
        if abs(demand.relation.value(values)) > ROUNDED * figure.value
    ]
    if not contrary:
        return shape
    what = f"{contrary[0]} is unproven and speaks against it"
    said = f"{_called(begun.view)}: nothing of its outline is settled, for {what}"
    return replace(shape, determined=(False,) * len(shape.determined), notes=(*shape.notes, said))


def _tangle(view: DrawnView, placed: Sequence[PlacedFigure]) -> Profile:
    why = "its view has too many strokes to be outlined"
    note = f"{_called(view)} is left out: it has too many strokes to be outlined"
    return Profile(Plane((), (), (), ()), left_out=_all_left_out(placed, why), notes=(note,))


def _called(view: DrawnView) -> str:
    return f"view {view.name}"


def _straight(view: DrawnView, line: Line) -> Straight:
    return Straight(view.frame.point(line.start), view.frame.point(line.end))


def _of_role(view: DrawnView, role: Role) -> list[Straight]:
    return [_straight(view, line) for line in view.lines if line.role is role]


def _visible(view: DrawnView, bents: Sequence[Bent], pen: Pen) -> tuple[list[Straight], list[Round]]:
    """The view's edges: crumbs dropped, arcs too flat to be told from a line taken for one, edges traced as
    one with an extension line, and those that loose ends tell."""
    paper_mm = view.frame.paper_mm
    roles = (Role.VISIBLE, Role.EXTENSION, Role.HATCH, Role.CENTRE)
    straights, extensions, hatches, centres = (_of_role(view, role) for role in roles)
    straights += edges_under(extensions, hatches, straights, centres, paper_mm)
    rounds = []
    for index, arc in view.arcs:
        if arc.role is not Role.VISIBLE:
            continue
        curve = view.frame.arc(arc)
        if curve.sagitta < FLAT_MM * paper_mm:
            straights.append(Straight(curve.start, curve.end))
        else:
            rounds.append(Round(curve, index))
    straights = [each for each in straights if each.length >= CRUMB_MM * paper_mm]
    rounds = [each for each in rounds if each.length >= CRUMB_MM * paper_mm]
    if len(straights) + len(rounds) <= MOST_STROKES:
        thin = [each for role in THIN for each in _of_role(view, role)]
        straights += edges_between(thin, straights, [*rounds, *bents], centres, pen)
    return straights, rounds


def hatching(view: DrawnView) -> list[Point]:
    """Middles of the view's hatch lines."""
    hatches = _of_role(view, Role.HATCH)
    return [((a.start[0] + a.end[0]) / 2, (a.start[1] + a.end[1]) / 2) for a in hatches]


def _all_left_out(placed: Sequence[PlacedFigure], why: str) -> tuple[tuple[str, str], ...]:
    return tuple((each.dimension.id, why) for each in placed)


def _axes(view: DrawnView, pen: Pen) -> tuple[tuple[Level, ...], list[Straight]]:
    """Levels of the level and upright centre lines, and those lines."""
    lines = [each for line in view.lines if line.role is Role.CENTRE if (each := _straight(view, line)).length]
    levels, placed = find_levels(lines, pen)
    return levels, [each for each in placed if each.level is not None]


def _moved_lines(lines: Sequence[Straight], unknowns: Unknowns, values: FloatArray) -> tuple[tuple[Point, Point], ...]:
    """Centre lines where the solution has them."""
    moved = []
    for line in lines:
        assert line.level is not None
        axis, unknown = unknowns.axes[line.level]
        moved.append((axis.laid(line.start, float(values[unknown])), axis.laid(line.end, float(values[unknown]))))
    return tuple(moved)


def _pitch_circles(view: DrawnView) -> list[Round]:
    return [Round(view.frame.arc(arc), index) for index, arc in view.arcs if arc.role is Role.CENTRE]


def _demands(
    placed: Sequence[PlacedFigure], drawn: Plane, unknowns: Unknowns, pen: Pen
) -> tuple[dict[str, Demand], list[tuple[str, str]]]:
    """What each figure demands, by row id, and the figures that can't be tied to anything, with the reason."""
    found = [(each.dimension.id, _demand(each, drawn, unknowns, pen)) for each in placed]
    demands = {name: each for name, each in found if isinstance(each, Demand)}
    return demands, [(name, each) for name, each in found if isinstance(each, str)]


def _demand(figure: PlacedFigure, drawn: Plane, unknowns: Unknowns, pen: Pen) -> Demand | str:
    if figure.dimension.kind is Kind.ANGLE:
        return angle_demand(figure, drawn, unknowns, pen.paper_mm)
    if figure.dimension.kind is Kind.CHAMFER:
        return chamfer_demand(figure, drawn, unknowns, pen.paper_mm)
    if figure.dimension.name == bolt_circle.NAME:
        return bolt_circle.bolt_circle_demand(figure, unknowns, pen)
    return figures.demand(figure, unknowns, pen.paper_mm)


def _given(unknowns: Unknowns, given: Mapping[int, float]) -> list[Relation]:
    return [solve.linear({unknowns.circles[arc].radius: 1.0}, radius) for arc, radius in given.items()
            if arc in unknowns.circles]  # fmt: skip


def _moved(drawn: Plane, unknowns: Unknowns, values: FloatArray) -> Plane:
    nodes = [(float(values[x]), float(values[y])) for x, y in unknowns.nodes]
    return plane.moved(
        drawn, nodes, {index: unknowns.circles[arc].moved(values) for index, arc in unknowns.rounds.items()}
    )


def _is_length(figure: PlacedFigure) -> bool:
    return figure.dimension.kind is not Kind.ANGLE


def _sound(shape: Profile, moved: Plane, most: float) -> bool:
    """Whether the moved outlines are still what was drawn: no further from it, and not crossing themselves."""
    for ring in (*shape.rings, *shape.cuts):
        before, after = outline.ring_polygon(shape.plane, ring), outline.ring_polygon(moved, ring)
        if not after.is_valid or after.hausdorff_distance(before) > most:
            return False
    return True


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
    lost = set(broken)
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
        left_out=(*left_out, *broken.items()),
        contradicting=tuple(sorted(lost)),
        in_excess=_in_excess(solution),
        freedom=int(np.linalg.matrix_rank(_bent(outlines, unknowns, solution.free), RIGID)),
    )


def _in_excess(solution: Solution) -> tuple[str, ...]:
    """Figures all of whose relations follow from those before them."""
    needed = {each.dimension for each in (*solution.holding, *solution.contradicting)}
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
