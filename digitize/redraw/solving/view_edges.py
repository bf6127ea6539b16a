"""The edges, section lines, centre lines and pitch circles of a drawn view, as strokes of its plane in part mm."""

from collections.abc import Sequence

import numpy as np

from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.fine_tails import without_fine_tails
from digitize.redraw.planes.levels import find_levels
from digitize.redraw.planes.loose_ends import edges_between
from digitize.redraw.planes.lost_bevels import lost_bevels
from digitize.redraw.planes.mirrored import edges_mirrored
from digitize.redraw.planes.overdrawn import edges_under
from digitize.redraw.planes.plane_strokes import PARALLEL_SINE, Axis, Level, Pen, Round, Straight
from digitize.redraw.planes.small_holes import holes_of_heaps
from digitize.redraw.planes.stroke_ends import middles_of
from digitize.redraw.planes.turned_bevels import without_tangles
from digitize.redraw.planes.whole_circles import made_whole
from digitize.redraw.solving.profile import DrawnView
from digitize.strokes.primitives import Line, Point, Role

MOST_STROKES = 600  # a view with more is a tangle, or lettering taken for strokes; it is traced but not solved
CRUMB_MM = 0.8  # of paper: a shorter stroke is a crumb of something else
FLAT_MM = 0.2  # of paper: an arc that rises less over its chord is a line with a pen's wobble
THIN = (Role.EXTENSION, Role.DIMENSION, Role.LEADER, Role.PHANTOM, Role.HIDDEN)  # what edges have been taken for
FEW = 0.1  # of the length of the section lines that lie one way: less that lies another is no second part's
CHAIN_MM = 7.5  # of paper: a shorter arc shows no dash, gap, dot and gap of ISO 128-2 in the finest pen


def edges_of(
    view: DrawnView, bents: Sequence[Bent], pen: Pen, turned: Sequence[tuple[Axis, float]] = ()
) -> tuple[list[Straight], list[Round]]:
    """The view's edges: crumbs dropped, arcs too flat to be told from a line taken for one, edges traced as
    one with an extension line, and those that loose ends, the other side of a centre line or open corners tell.

    ``turned`` says across which axes figures call what they span round, and where its middle lies.
    """
    paper_mm = view.frame.paper_mm
    roles = (Role.VISIBLE, Role.EXTENSION, Role.HATCH, Role.CENTRE)
    straights, extensions, hatches, centres = (_of_role(view, role) for role in roles)
    gone_on = [*extensions, *_of_role(view, Role.CUTTING)]  # a heavy edge and the dashes beyond it look like one
    straights += edges_under(gone_on, hatches, straights, centres, paper_mm)
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
    straights, rounds = holes_of_heaps(straights, rounds, pen)
    rounds = made_whole(rounds, [*straights, *bents], pen)
    dimensions = _of_role(view, Role.DIMENSION)
    leaders = _of_role(view, Role.LEADER)
    straights = without_fine_tails(straights, [*rounds, *bents], dimensions, extensions, hatches, leaders, pen)
    straights, rounds = without_tangles(straights, rounds, list(middles_of(centres, pen)), pen)
    if len(straights) + len(rounds) <= MOST_STROKES:
        thin = [each for role in THIN for each in _of_role(view, role)]
        straights += edges_between(thin, straights, [*rounds, *bents], centres, pen)
        straights += edges_mirrored(straights, [*rounds, *bents], centres, pen, turned)
        straights += lost_bevels(straights, [*rounds, *bents], pen)
    return straights, rounds


def hatching(view: DrawnView) -> list[Point]:
    """Middles of the view's section lines: those that lie as most do, or as many; others may be strokes of letters."""
    lines = [each for each in _of_role(view, Role.HATCH) if each.length]
    way = np.array([each.direction for each in lines]).reshape(-1, 2)
    parallel = np.abs(np.outer(way[:, 0], way[:, 1]) - np.outer(way[:, 1], way[:, 0])) < PARALLEL_SINE
    alike = parallel @ np.array([each.length for each in lines])
    kept = (each for each, length in zip(lines, alike, strict=True) if length >= FEW * alike.max())
    return [((a.start[0] + a.end[0]) / 2, (a.start[1] + a.end[1]) / 2) for a in kept]


def axes_of(view: DrawnView, pen: Pen) -> tuple[tuple[Level, ...], list[Straight]]:
    """Levels of the level and upright centre lines, and those lines."""
    lines = [each for line in view.lines if line.role is Role.CENTRE if (each := _straight(view, line)).length]
    levels, placed = find_levels(lines, pen)
    return levels, [each for each in placed if each.level is not None]


def pitch_circles(view: DrawnView) -> list[Round]:
    """The view's circles that are drawn as centre lines; a scrap of a section line that was taken for one is none."""
    drawn = (Round(view.frame.arc(arc), index) for index, arc in view.arcs if arc.role is Role.CENTRE)
    return [each for each in drawn if each.length >= CHAIN_MM * view.frame.paper_mm]


def _of_role(view: DrawnView, role: Role) -> list[Straight]:
    return [_straight(view, line) for line in view.lines if line.role is role]


def _straight(view: DrawnView, line: Line) -> Straight:
    return Straight(view.frame.point(line.start), view.frame.point(line.end))
