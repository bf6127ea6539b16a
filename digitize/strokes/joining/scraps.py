"""Scraps left at junctions: short pieces that lie within the ink of longer strokes."""

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.joining.meetings import meetings_of
from digitize.strokes.pieces import Piece
from digitize.strokes.table import S0, S1, Cells, cells_of, near_rows, point_on, rows_of

FloatArray = NDArray[np.float64]

LONGEST_MM = 12.0
SAMPLES = 7
SLACK_PX = 0.8
COVERED_SHARE = 0.8
TINY_PX, FLOW_TURN_DEG, LEAST_WIDTHS = 1.0, 10.0, 1.2
"""What carries on a stroke begins where that ends, turns no more, and is longer than a junction is wide."""


def without_scraps(ground: Ground, pieces: list[Piece]) -> list[Piece]:
    """Drop every short solid piece whose middle line is covered by the ink of longer ones.

    Between an arc that flows into it and a corner, a line is a stroke of its own: the short straight foot of a tooth's
    flank.
    """
    rows = rows_of(pieces)
    cells = cells_of(rows)
    meetings = meetings_of(pieces, TINY_PX, FLOW_TURN_DEG)
    bends = [m for m in meetings if pieces[m.first].track.kind != pieces[m.second].track.kind]
    flowing = {k for m in bends for k in (m.first, m.second)}
    short = np.flatnonzero(rows[:, S1] - rows[:, S0] <= ground.px(LONGEST_MM)).tolist()
    may_be = [k for k in short if pieces[k].dash == "solid" and not (k in flowing and _is_long(pieces[k]))]
    numbers = np.array(may_be, np.int64)
    scraps = set(numbers[_are_covered(rows, cells, numbers)].tolist())
    return [piece for k, piece in enumerate(pieces) if k not in scraps]


def _is_long(piece: Piece) -> bool:
    """Whether a piece is longer than a junction is wide."""
    return piece.length >= LEAST_WIDTHS * piece.width


@compiled
def _are_covered(rows: FloatArray, cells: Cells, numbers: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Which of some pieces `_is_covered`."""
    found = np.zeros(len(numbers), np.bool_)
    for n in range(len(numbers)):
        found[n] = _is_covered(rows, cells, numbers[n])
    return found


@compiled
def _is_covered(rows: FloatArray, cells: Cells, k: int) -> bool:
    """Whether most points of a piece lie within the width of clearly longer pieces."""
    length, covered = rows[k, S1] - rows[k, S0], 0
    for n in range(SAMPLES):
        x, y = point_on(rows[k], rows[k, S0] + length * n / (SAMPLES - 1), 0.0)
        for other in near_rows(rows, cells, x, y, SLACK_PX, 0.5, 0.0):
            if other != k and rows[other, S1] - rows[other, S0] > 1.5 * length:
                covered += 1
                break
    return covered >= COVERED_SHARE * SAMPLES
