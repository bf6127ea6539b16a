"""Lines with arrowheads, and which lines lie on one track."""

import math
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece

ON_LINE_MM = 0.3
TURN_DEG = 2.5
WIDEST_FIGURE_MM = 60.0


@dataclass(frozen=True)
class Ended:
    """A line with a head: numbers of both, and whether the head is at the line's s1."""

    piece: int
    head: int
    at_end: bool


def headed_lines(page: Page) -> list[Ended]:
    """All straight shafts with the side on which each head lies."""
    found = []
    for n, head in enumerate(page.heads):
        if head.piece < 0 or page.pieces[head.piece].track.kind != LINE:
            continue
        track = page.pieces[head.piece].track
        found.append(Ended(head.piece, n, track.dx * head.dx + track.dy * head.dy > 0))
    return found


def collinear(page: Page, first: Piece, second: Piece) -> bool:
    """Whether two lines lie on one track."""
    longer, shorter = (first, second) if first.length >= second.length else (second, first)
    sine = abs(longer.track.dx * shorter.track.dy - longer.track.dy * shorter.track.dx)
    if sine > math.sin(math.radians(TURN_DEG)):
        return False
    _, off = longer.track.place(np.array([shorter.start, shorter.end]))
    return bool(np.abs(off).max() <= page.px(ON_LINE_MM))


def pairs_within(points: list[tuple[float, float]], reach: float) -> list[tuple[int, int]]:
    """Numbers of all points that lie within a reach of each other, the lower first, sorted."""
    return sorted(cKDTree(points).query_pairs(reach)) if points else []
