"""Pieces that nothing on the board carries on: they need not be looked at one by one."""

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.refine import FloatArray
from digitize.strokes.compiled import compiled
from digitize.strokes.joining.board import Board, fitting
from digitize.strokes.pieces import Piece
from digitize.strokes.table import Cells


def lone_pieces(board: Board, pieces: list[Piece], longest_gap: float) -> list[bool]:
    """Which pieces have no candidates, and so none later: fewer and fewer are free."""
    rms, inked = np.array([p.rms for p in pieces]), np.array([p.inked for p in pieces])
    form = board.width, board.length, board.kind, board.ragged, board.free
    lone = _lone(board.cells, board.points, *form, board.limits, board.rows, rms, inked, longest_gap)
    return [bool(one) for one in lone]


@compiled
def _lone(
    cells: Cells,
    points: FloatArray,
    width: FloatArray,
    length: FloatArray,
    kind: NDArray[np.int64],
    ragged: NDArray[np.bool_],
    free: NDArray[np.bool_],
    limits: FloatArray,
    rows: FloatArray,
    rms: FloatArray,
    inked: FloatArray,
    longest_gap: float,
) -> NDArray[np.bool_]:
    """See `lone_pieces`."""
    lone = np.zeros(len(rows), np.bool_)
    for k in range(len(rows)):
        was_free, free[k] = free[k], False
        form = width, length, kind, ragged, free, limits
        lone[k] = len(fitting(cells, points, *form, rows[k], rms[k], inked[k], longest_gap)) == 0
        free[k] = was_free
    return lone
