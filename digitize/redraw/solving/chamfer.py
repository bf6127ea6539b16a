"""Chamfers of 45 degrees as relations: the slanted edge between the two ends that the figure measures."""

import math

from calibrate.sheet import FloatArray
from digitize.redraw.planes.plane import Plane
from digitize.redraw.solving.angles import STRAY_DEG
from digitize.redraw.solving.figures import Demand, Ends, PlacedFigure
from digitize.redraw.solving.marks import MARK_MM
from digitize.redraw.solving.scaled_lengths import CORNER_MM
from digitize.redraw.solving.solve import linear
from digitize.redraw.solving.unknowns import Unknowns
from digitize.strokes.primitives import Point

HALF_SQUARE_DEG = 45.0
LEGS_STRAY_MM = 3 * math.sqrt(2) * CORNER_MM  # of paper: three standard errors of the difference of two drawn legs
WRITTEN = "45°"


def chamfer_demand(figure: PlacedFigure, plane: Plane, unknowns: Unknowns, paper_mm: float) -> Demand | str:
    """What ``1/16 x 45°`` demands of a drawn chamfer: both legs are its length; else why it can't be tied to one.

    The figure's ends are those of the slanted edge. Nothing is cut where no such edge is drawn.
    """
    if WRITTEN not in figure.dimension.text:
        return "it is a chamfer of no 45 degrees, or its angle is not read"
    nodes = _edge(figure, plane, paper_mm)
    if nodes is None:
        return "no drawn edge lies between the two ends of the chamfer"
    (x0, y0), (x1, y1) = (unknowns.nodes[node] for node in nodes)
    across, up = unknowns.drawn[x1] - unknowns.drawn[x0], unknowns.drawn[y1] - unknowns.drawn[y0]
    off_deg = abs(math.degrees(math.atan2(abs(up), abs(across))) - HALF_SQUARE_DEG)
    uneven = abs(abs(up) - abs(across)) > LEGS_STRAY_MM * paper_mm
    if not up or not across or (uneven and off_deg > STRAY_DEG):
        return "the edge it was tied to is not drawn at 45 degrees"
    if figure.strays(abs(across), paper_mm):
        return "the chamfer it was tied to is of another size"

    def ends(values: FloatArray) -> Ends:
        start, end = ((float(values[x]), float(values[y])) for x, y in ((x0, y0), (x1, y1)))
        return Ends(start, end, start, end)

    name = figure.dimension.id
    legs = [
        linear({last: math.copysign(1.0, drawn), first: -math.copysign(1.0, drawn)}, figure.value, name)
        for first, last, drawn in ((x0, x1, across), (y0, y1, up))
    ]
    return Demand(legs[0], ends, (legs[1],))


def _edge(figure: PlacedFigure, plane: Plane, paper_mm: float) -> tuple[int, int] | None:
    """The two nodes of the piece whose ends are nearest to the figure's."""

    def miss(first: Point, last: Point) -> float:
        return max(math.dist(first, figure.first), math.dist(last, figure.second))

    pairs = [pair for piece in plane.pieces for pair in ((piece.first, piece.last), (piece.last, piece.first))]
    ends = {pair: miss(plane.nodes[pair[0]].at, plane.nodes[pair[1]].at) for pair in pairs if pair[0] != pair[1]}
    best = min(ends, key=ends.__getitem__, default=None)
    return best if best is not None and ends[best] <= MARK_MM * paper_mm else None
