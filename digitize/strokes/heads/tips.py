"""Where a head may point: the ends of a piece, what crosses it, and what lies ahead of its ends.

Glossary
--------
tip candidate
    A point on a piece, with the direction in which a head there would point.
"""

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.joining.crossings import PARALLEL_SINE, Crossing, crossings_of
from digitize.strokes.joining.inked import inked_share
from digitize.strokes.pieces import Piece
from digitize.strokes.table import DX, DY, KIND, S0, S1, Cells, Table, near_rows, point_on, s_at

FloatArray = NDArray[np.float64]

AHEAD_MM = 4.5
"""A line may have been traced no nearer to its tip than this, where its barbs run together."""
LEAST_INKED_AHEAD, MOST_AHEAD = 0.75, 2
SAME_PLACE_PX = 1.0


def tip_candidates(piece: Piece, crossings: list[Crossing], slack: float) -> list[tuple[float, float]]:
    """Places on a piece where a head may point, with the sign of s in which it would point.

    The head of an arc that is measured from outside may have no tail behind it: it points back at the arc's end.
    """
    if piece.closed:
        return []
    places = [(piece.s0, -1.0), (piece.s1, 1.0)]
    for crossing in crossings:
        for sign in (-1.0, 1.0):
            tail_inside = crossing.s > piece.s0 + slack if sign > 0 else crossing.s < piece.s1 - slack
            seen = any(sign == other and abs(crossing.s - s) < SAME_PLACE_PX for s, other in places)
            if (tail_inside or piece.track.kind == ARC) and not seen:
                places.append((crossing.s, sign))
    return places


def reached_from(ground: Ground, table: Table, k: int, slack: float) -> list[Crossing]:
    """What a piece crosses, or would if it were a line that went on for `AHEAD_MM`."""
    piece = table.pieces[k]
    ahead = ground.px(AHEAD_MM) if piece.track.kind == LINE else slack
    return [] if piece.closed else touching(table, piece, crossings_of(table, k, ahead), ahead, slack)


def touching(table: Table, piece: Piece, crossings: list[Crossing], ahead: float, slack: float) -> list[Crossing]:
    """The crossings within ``ahead`` of a piece's ends and ``slack`` of those of the other."""
    return [
        c
        for c in crossings
        if piece.s0 - ahead <= c.s <= piece.s1 + ahead
        and table.s0[c.other] - slack <= c.other_s <= table.s1[c.other] + slack
    ]


def tips_ahead(ground: Ground, piece: Piece, crossings: list[Crossing], slack: float) -> list[tuple[float, float]]:
    """The first crossings ahead of each end of a line that ink leads on to, with the sign of s.

    A scrap of the head itself may be crossed before the stroke that it points at. Where an edge on the same track runs
    through a crossing, ink leads along the edge.
    """
    places = []
    for end, sign in ((piece.s0, -1.0), (piece.s1, 1.0)):
        ahead = sorted({sign * (c.s - end) for c in crossings if sign * (c.s - end) > slack})
        for s in (end + sign * far for far in ahead[:MOST_AHEAD]):
            if inked_share(ground, piece.track, min(s, end), max(s, end)) >= LEAST_INKED_AHEAD:
                places.append((s, sign))
    return places


def clear_of_others(
    table: Table, places: list[tuple[int, float, float]], slack: float
) -> list[tuple[int, float, float]]:
    """The places (number of a piece, s, sign) that do not lie within another line on their line's track.

    Within is clear of that line's ends.
    """
    hidden = _on_others(table.rows, table.cells, np.array(places).reshape(-1, 3), slack).tolist()
    return [place for place, is_hidden in zip(places, hidden, strict=True) if not is_hidden]


@compiled
def _on_others(rows: FloatArray, cells: Cells, places: FloatArray, slack: float) -> NDArray[np.bool_]:
    """Which places `clear_of_others` leaves out."""
    found = np.zeros(len(places), np.bool_)
    for n in range(len(places)):
        number = int(places[n, 0])
        row = rows[number]
        if row[KIND] != LINE:
            continue
        x, y = point_on(row, places[n, 1], 0.0)
        for k in near_rows(rows, cells, x, y, slack, 0.0, 0.0):
            other = rows[k]
            if k == number or other[KIND] != LINE:
                continue
            sine = abs(other[DX] * row[DY] - other[DY] * row[DX])
            if sine < PARALLEL_SINE and other[S0] + slack < s_at(other, x, y, 0.0) < other[S1] - slack:
                found[n] = True
                break
    return found
