"""One view ready to be solved: its outlines as drawn, its unknowns, and what figures and drawn relations demand.

The view's visible strokes become a plane graph; its unknowns and relations are set up; the agreed figures are added,
the surest first.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from digitize.lettering.text import Kind
from digitize.redraw.planes import outline, plane
from digitize.redraw.planes.bent import bent_of
from digitize.redraw.planes.outline import Ring
from digitize.redraw.planes.plane import Plane
from digitize.redraw.planes.plane_strokes import Axis, Pen, Straight
from digitize.redraw.planes.recess_mouths import mouths_opened
from digitize.redraw.planes.tails import untied
from digitize.redraw.planes.turned_bevels import bevels_alike
from digitize.redraw.solving import bolt_circle, figures, solve
from digitize.redraw.solving.angles import angle_demand
from digitize.redraw.solving.chamfer import chamfer_demand
from digitize.redraw.solving.figures import Demand, Figure, PlacedFigure
from digitize.redraw.solving.hidden_steps import risers_between, told_apart
from digitize.redraw.solving.hole_rows import InLine
from digitize.redraw.solving.keyseat import keyseat_demand
from digitize.redraw.solving.profile import DrawnView, Profile
from digitize.redraw.solving.relations import describe
from digitize.redraw.solving.solve import Relation
from digitize.redraw.solving.unknowns import Unknowns
from digitize.redraw.solving.view_edges import MOST_STROKES, axes_of, edges_of, hatching, pitch_circles
from digitize.strokes.primitives import Role

ROUND = (Kind.DIAMETER, Kind.THREAD)  # figures of what is round: a thread's is its diameter over the crests
MOST_PIECES = 6000  # a view whose strokes cross each other more often is a tangle too


@dataclass(frozen=True)
class Draft:
    """One view ready to be solved.

    Attributes
    ----------
    view : DrawnView
    placed : tuple of Figure
        Its agreed figures, the surest first.
    shape : Profile
        As drawn.
    unknowns : Unknowns
    joints, given, habits : tuple of Relation
        What keeps the outlines closed, radii known otherwise, and rows, symmetry and spacing.
    in_line : tuple of InLine
        The rows among the habits.
    demands : dict of str to Demand
        Of the figures, by row id.
    centre_lines : tuple of Straight
    left_out : tuple of (str, str)
        Figures that can't be tied to anything, with the reason.
    doubted : tuple of (Figure, Demand)
        Lengths that are not agreed, and what they would demand: they move nothing, but may speak against it.
    """

    view: DrawnView
    placed: tuple[Figure, ...]
    shape: Profile
    unknowns: Unknowns
    joints: tuple[Relation, ...]
    given: tuple[Relation, ...]
    habits: tuple[Relation, ...]
    in_line: tuple[InLine, ...]
    demands: dict[str, Demand]
    centre_lines: tuple[Straight, ...]
    left_out: tuple[tuple[str, str], ...]
    doubted: tuple[tuple[Figure, Demand], ...]

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
    placed: Sequence[Figure],
    given: Mapping[int, float],
    doubted: Sequence[Figure] = (),
) -> Draft | Profile:
    """Find the outlines of one view; a view with too many strokes gets an empty profile at once.

    Parameters
    ----------
    view : DrawnView
    placed : sequence of Figure
        The view's agreed figures, the surest first.
    given : mapping of int to float
        Radii in mm that are known otherwise, by index of the arc.
    doubted : sequence of Figure
        Lengths of the view that are not agreed.
    """
    pen = Pen(view.frame.paper_mm, view.pen_mm)
    bents = [bent for spline in view.splines if spline.role is Role.VISIBLE for bent in bent_of(spline, view.frame)]
    turned = _turned_about(placed)
    straights, rounds = edges_of(view, bents, pen, turned)
    straights = bevels_alike(straights, turned, pen)
    if len(straights) + len(rounds) + len(view.splines) > MOST_STROKES:
        return _tangle(view, placed)
    drawn = plane.build(straights, rounds, pen, bents)
    if len(drawn.pieces) > MOST_PIECES:
        return _tangle(view, placed)
    begun = _described(view, placed, given, _tidied(drawn, view, pen), pen, doubted)
    apart = told_apart(placed, begun.demands, begun.unknowns, straights, pen)
    if not apart:
        return begun
    every = [*straights, *risers_between(straights, apart, pen)]
    parted = _tidied(plane.build(every, rounds, pen, bents, apart), view, pen)
    stepped = _described(view, placed, given, parted, pen, doubted)
    outers, before = (sum(ring.within is None for ring in each.shape.rings) for each in (stepped, begun))
    same = len(stepped.outlines) == len(begun.outlines)
    return stepped if same or outers == 1 < before else begun


def _tidied(drawn: Plane, view: DrawnView, pen: Pen) -> Plane:
    """A graph without lettering taken for edges, and with recesses open that are so on the other side."""
    _, centres = axes_of(view, pen)
    return mouths_opened(untied(drawn, pen), [(each.start, each.end) for each in centres], hatching(view), pen)


def _turned_about(placed: Sequence[Figure]) -> list[tuple[Axis, float]]:
    """Across which axes figures call what they span round, and where its middle lies; a circle shows that by itself."""
    found = []
    for each in placed:
        geometry = each.dimension.geometry
        if not isinstance(each, PlacedFigure) or each.dimension.kind not in ROUND or geometry is None or geometry.arcs:
            continue
        for axis in Axis:
            low, high = each.first[axis.value], each.second[axis.value]
            if abs(high - low) >= figures.ALONG_AXIS * math.dist(each.first, each.second):
                found.append((axis, (low + high) / 2))
    return found


def _described(
    view: DrawnView,
    placed: Sequence[Figure],
    given: Mapping[int, float],
    drawn: Plane,
    pen: Pen,
    doubted: Sequence[Figure],
) -> Draft:
    """The draft of a view whose plane graph is given."""
    paper_mm = view.frame.paper_mm
    shape = Profile(
        drawn, tuple(outline.rings(drawn, paper_mm)), tuple(outline.cut_faces(drawn, hatching(view), paper_mm))
    )
    axes, centre_lines = axes_of(view, pen)
    unknowns, joints, habits, in_line = describe(drawn, (*shape.rings, *shape.cuts), axes, pitch_circles(view), pen)
    demands, left_out = _demands(placed, shape, unknowns, pen)
    known = tuple(_given(unknowns, given))
    return Draft(
        view, tuple(placed), shape, unknowns, tuple(joints), known, tuple(habits), tuple(in_line), demands,
        tuple(centre_lines), tuple(left_out),
        tuple((each, found) for each in doubted if isinstance(found := _demand(each, shape, unknowns, pen), Demand)),
    )  # fmt: skip


def _tangle(view: DrawnView, placed: Sequence[Figure]) -> Profile:
    why = "its view has too many strokes to be outlined"
    note = f"view {view.name} is left out: it has too many strokes to be outlined"
    return Profile(Plane((), (), (), ()), left_out=all_left_out(placed, why), notes=(note,))


def _demands(
    placed: Sequence[Figure], shape: Profile, unknowns: Unknowns, pen: Pen
) -> tuple[dict[str, Demand], list[tuple[str, str]]]:
    """What each figure demands, by row id, and the figures that can't be tied to anything, with the reason."""
    found = [(each.dimension.id, _demand(each, shape, unknowns, pen)) for each in placed]
    demands = {name: each for name, each in found if isinstance(each, Demand)}
    return demands, [(name, each) for name, each in found if isinstance(each, str)]


def _demand(figure: Figure, shape: Profile, unknowns: Unknowns, pen: Pen) -> Demand | str:
    found = _demand_of(figure, shape, unknowns, pen)
    if isinstance(found, str):
        return found
    return found.loosened(math.radians(figure.slack) if figure.dimension.kind is Kind.ANGLE else figure.slack)


def _demand_of(figure: Figure, shape: Profile, unknowns: Unknowns, pen: Pen) -> Demand | str:
    drawn = shape.plane
    if not isinstance(figure, PlacedFigure):
        return keyseat_demand(figure, shape.rings, drawn, unknowns, pen.paper_mm)
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


def all_left_out(placed: Sequence[Figure], why: str) -> tuple[tuple[str, str], ...]:
    """Row id of each figure, and one reason for all."""
    return tuple((each.dimension.id, why) for each in placed)
