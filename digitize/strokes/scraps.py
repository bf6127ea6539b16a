"""Scraps left at junctions: short pieces that lie within the ink of longer strokes."""

import numpy as np

from digitize.strokes.crossings import Table
from digitize.strokes.ground import Ground
from digitize.strokes.pieces import Piece

LONGEST_MM = 12.0
SAMPLES = 7
SLACK_PX = 0.8
COVERED_SHARE = 0.8


def without_scraps(ground: Ground, pieces: list[Piece]) -> list[Piece]:
    """Drop every short solid piece whose middle line is covered by the ink of longer ones."""
    table = Table(pieces)
    length = table.s1 - table.s0
    kept = []
    for k, piece in enumerate(pieces):
        if piece.dash != "solid" or piece.length > ground.px(LONGEST_MM) or not _is_covered(table, length, k):
            kept.append(piece)
    return kept


def _is_covered(table: Table, length: np.ndarray, k: int) -> bool:
    """Whether most points of a piece lie within the width of clearly longer pieces."""
    piece = table.pieces[k]
    points = piece.track.at(np.linspace(piece.s0, piece.s1, SAMPLES))
    reach = 0.5 * table.width + SLACK_PX
    covered = 0
    for x, y in points:
        near = table.near(float(x), float(y), reach)
        covered += bool(((length[near] > 1.5 * piece.length) & (near != k)).any())
    return covered >= COVERED_SHARE * SAMPLES
