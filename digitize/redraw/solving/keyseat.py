"""A keyseat's width and depth that the key tables bear out and that no leader ties to anything drawn.

The outline of the bore shows it: a floor beyond the bore's circle, and a wall on each side of its middle.

Glossary
--------
tabled
    As a key table has a keyseat for the agreed bore. Its depth is held only where that table gives it on the middle
    line (DIN 6885-1): at the side, as inch tables do, the print may have drawn it either way.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from calibrate.sheet import FloatArray
from digitize.dimensions.table import Reconciled, State
from digitize.gears.bore import SAME_KEY_MM, depth_at_centre_mm, keyseat_of_standard
from digitize.gears.identifying.sheet_body import agreed_size_mm
from digitize.lettering.text import Kind
from digitize.redraw.planes.outline import Ring
from digitize.redraw.planes.plane import Plane
from digitize.redraw.planes.plane_strokes import Axis, Straight
from digitize.redraw.solving.figures import Demand, Ends, Figure, length_mm
from digitize.redraw.solving.solve import linear
from digitize.redraw.solving.unknowns import CircleUnknowns, Unknowns
from digitize.strokes.primitives import Point

WIDTH, DEPTH = "key_width", "key_depth"


@dataclass(frozen=True)
class _Seat:
    """Unknowns of a keyseat: its bore, its floor and on which side of the bore that lies, its walls, low one first."""

    bore: CircleUnknowns
    axis: Axis
    floor: int
    side: float
    walls: tuple[int, int]


def tabled_parts(reconciled: Reconciled) -> tuple[str, ...]:
    """Which sizes of a sheet's keyseat hold without a leader: none where no table has it for any agreed diameter."""
    width, depth = agreed_size_mm(reconciled, WIDTH), agreed_size_mm(reconciled, DEPTH)
    if width is None or depth is None:
        return ()
    agreed = (row for row in reconciled.dimensions if row.kind is Kind.DIAMETER and row.state is State.AGREED)
    bores = {size for row in agreed if (size := length_mm(row, reconciled.unit)) is not None and size > width}
    seats = [(bore, seat) for bore in bores if (seat := keyseat_of_standard(bore, width, depth)) is not None]
    if not seats:
        return ()
    on_middle = all(abs(depth_at_centre_mm(bore, seat) - depth) <= SAME_KEY_MM for bore, seat in seats)
    return (WIDTH, DEPTH) if on_middle else (WIDTH,)


def keyseat_demand(
    figure: Figure, rings: Sequence[Ring], drawn: Plane, unknowns: Unknowns, paper_mm: float
) -> Demand | str:
    """What a tabled width or depth demands of the one keyseat that a view outlines; where it has none, that."""
    seats = [seat for ring in rings if (seat := _seat(ring, drawn, unknowns)) is not None]
    if len(seats) != 1:
        return "it is not tied to anything drawn, and its view outlines no single keyseat"
    (seat,) = seats
    low, high = seat.walls
    centre = (seat.bore.x, seat.bore.y)[seat.axis.value]
    deep = figure.dimension.name == DEPTH
    terms = {seat.floor: seat.side, centre: -seat.side, seat.bore.radius: -1.0} if deep else {high: 1.0, low: -1.0}
    if figure.strays(sum(factor * unknowns.drawn[u] for u, factor in terms.items()), paper_mm):
        return "the keyseat that its view outlines is of another size"

    def ends(values: FloatArray) -> Ends:
        floor, middle, radius = (float(values[u]) for u in (seat.floor, centre, seat.bore.radius))
        across = (seat.bore.x, seat.bore.y)[1 - seat.axis.value]
        places = [(middle + seat.side * radius, float(values[across])), (floor, float(values[across]))]
        if not deep:
            places = [(floor, float(values[wall])) for wall in seat.walls]
        first, second = (place if seat.axis is Axis.X else place[::-1] for place in places)
        return Ends(first, second, first, second)

    return Demand(linear(terms, figure.value, figure.dimension.id), ends)


def _seat(ring: Ring, drawn: Plane, unknowns: Unknowns) -> _Seat | None:
    """The keyseat in a bore's outline: one circle, one edge beyond it, and two walls, on either side of its middle."""
    strokes = sorted({step.piece.stroke for step in ring.steps})
    circles = {unknowns.circles[unknowns.rounds[index]] for index in strokes if index in unknowns.rounds}
    edges = [each for index in strokes if isinstance(each := drawn.strokes[index], Straight)]
    if len(circles) != 1 or any(each.level is None for each in edges):
        return None
    (bore,) = circles
    levels = {each.level for each in edges if each.level is not None}
    off = {level: drawn.levels[level].position - _middle(bore)[drawn.levels[level].axis.value] for level in levels}
    floors = [level for level in levels if abs(off[level]) > bore.drawn.radius]
    walls = sorted(levels.difference(floors), key=off.__getitem__)
    if len(floors) != 1 or len(walls) != 2 or not off[walls[0]] < 0 < off[walls[1]]:
        return None
    axis = drawn.levels[floors[0]].axis
    if any(drawn.levels[wall].axis is axis for wall in walls):
        return None
    low, high = (unknowns.levels[wall] for wall in walls)
    return _Seat(bore, axis, unknowns.levels[floors[0]], 1.0 if off[floors[0]] > 0 else -1.0, (low, high))


def _middle(circle: CircleUnknowns) -> Point:
    return circle.drawn.centre
