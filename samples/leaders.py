"""Leaders: a figure called out by a line that ends on what it is of; of the ways offered the least crowded is taken."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from samples.board import Board, FloatArray, View, footprint, xy
from samples.notation import Figure
from samples.truth import Point

SHOULDER_MM = 4.0  # short level end of a leader
SHOULDER_GAP_MM = 1.2  # from there to its figure
STRETCHES = (1.0, 1.5, 2.1)
THROUGH_LETTERING = 8.0  # crowding that a leader through other lettering counts as
LATER_CHOICE = 0.05  # ... and each place further down the list
REACH_MM = 14.0
LETTER_WIDTH = 0.75  # of its height, to guess how wide a figure will be


@dataclass(frozen=True)
class _Way:
    """One way to lay a leader: where it bends, to which side its shoulder runs (1 right), the middle of its figure."""

    elbow: FloatArray
    side: float
    centre: FloatArray

    @property
    def shoulder_end(self) -> Point:
        return float(self.elbow[0]) + self.side * SHOULDER_MM, float(self.elbow[1])


def leader(
    board: Board,
    view: View,
    key: str,
    tip: Point,
    towards_deg: Sequence[float],
    figure: Figure,
    ends: tuple[Point | None, Point | None] = (None, None),
    reach: float = REACH_MM,
    shared: str | None = None,
    what: str = "dimension",
) -> None:
    """Call out a point of the paper."""
    written, trap = board.figure_of(key, figure)
    laid = board.lettered(written.text)
    angles = [(angle, stretch) for stretch in STRETCHES for angle in towards_deg]
    ways = [_way(tip, angle, reach * stretch, laid.size[0]) for angle, stretch in angles]
    crowds = [
        board.crowding(footprint(way.centre, laid, 0.0))
        + THROUGH_LETTERING * board.crossing(tip, xy(way.elbow))
        + LATER_CHOICE * order
        for order, way in enumerate(ways)
    ]
    way = ways[int(np.argmin(crowds))]
    elbow = xy(way.elbow)
    board.head(tip, float(np.degrees(np.arctan2(tip[1] - elbow[1], tip[0] - elbow[0]))))
    board.stroke(tip, elbow, "leader", view.id)
    board.stroke(elbow, way.shoulder_end, "leader", view.id)
    quad = board.place(laid, written.text, xy(way.centre), 0.0, what)
    board.record(key, written, trap, quad, view.id, ends, None, shared)


def _way(tip: Point, angle_deg: float, reach: float, width: float) -> _Way:
    turn = np.radians(angle_deg)
    elbow = np.array(tip) + reach * np.array([np.cos(turn), np.sin(turn)])
    side = 1.0 if np.cos(turn) >= 0 else -1.0
    return _Way(elbow, side, elbow + np.array([side * (SHOULDER_MM + SHOULDER_GAP_MM + width / 2), 0.0]))


def rim_leader(
    board: Board,
    view: View,
    key: str,
    c: Point,
    radius: float,
    towards_deg: Iterable[float],
    figure: Figure,
    reach: float = REACH_MM,
    shared: str | None = None,
) -> None:
    """Call out a circle or arc: the leader ends on its rim and points at its centre."""
    centre, drawn = np.array(view.paper(*c)), board.drawn_radius(view, c, radius)
    angles = list(towards_deg)
    crowds = [_rim_crowding(board, centre, drawn, angle, reach, figure) for angle in angles]
    turn = np.radians(angles[int(np.argmin(crowds))])
    out = np.array([np.cos(turn), np.sin(turn)])
    tip = centre + out * drawn
    kind = figure.values[0].kind if figure.values else "note"
    other = centre if kind == "radius" else centre - out * drawn
    leader(board, view, key, xy(tip), [float(np.degrees(turn))], figure, (xy(other), xy(tip)), reach, shared)


def rim_room(
    board: Board, view: View, c: Point, radius: float, angle_deg: float, figure: Figure, reach: float
) -> float:
    """How crowded the place of a rim leader's lettering would be, so that one of several circles can be chosen."""
    centre = np.array(view.paper(*c))
    return _rim_crowding(board, centre, board.drawn_radius(view, c, radius), angle_deg, reach, figure)


def _rim_crowding(board: Board, centre: FloatArray, drawn: float, angle: float, reach: float, figure: Figure) -> float:
    way = _way(xy(centre), angle, drawn + reach, 0.0)
    height = board.style.text_mm
    x, far = way.shoulder_end[0], way.shoulder_end[0] + way.side * LETTER_WIDTH * height * len(figure.text)
    return board.crowding((min(x, far), float(way.elbow[1]) - height, max(x, far), float(way.elbow[1]) + height))
