"""Tape and patches: strips laid on the sheet, whose edges a scan of one bit made as black as the drawing.

Glossary
--------
strip
    A straight band of tape, or a patch, of which the scan shows edges.
turn
    How far a line lies off the sheet's level or upright, whichever is nearer: -45 to 45 degrees.
side
    One straight edge of a strip, in one piece or in several on one line.

A strip is told from a drawn oblong by what that has and it lacks. Laid on by hand, it lies off the square and off the
angles of the set squares. No other line of the sheet lies at its turn, while a view drawn aslant has centre lines,
extension lines or section lines at its own. Nothing that was drawn ends on its sides, and no arrowhead points at one.
"""

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.ground import Ground
from digitize.strokes.heads.head import Head
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Strokes
from digitize.strokes.roles.strip_sides import (
    CORNER_MM,
    SAME_SIDE_MM,
    SAME_TURN_DEG,
    Straight,
    apart_deg,
    straight_pieces,
    strip_of,
)
from digitize.strokes.table import Table

FloatArray = NDArray[np.float64]
Places = NDArray[np.intp]

LONG_MM = 6.0
"""From this length on a line's turn says that it belongs to a strip, or that the turn is not the strip's alone."""
SET_SQUARE_DEG = 15.0
"""Two set squares draw lines at all multiples of this angle (common practice, no source)."""
LEAST_TURN_DEG = 0.25
MOST_OTHERS = 0.25
"""Length of other lines at a strip's turn, over its own."""
TIE_MM, BEYOND_MM, LEAST_TIED_MM = 0.5, 1.5, 5.0
"""What ends within the first of a side, with nothing the second beyond it, was drawn up to it; scraps do not count."""
TIE_EVERY_MM = 50.0
"""A line may end at a strip by chance, once in so much of its length."""

LAID_ON = (
    "{count} lines are taken for the edges of tape or of a patch laid on the sheet: they lie on the layer TAPE of"
    " trace.dxf and nothing is measured to them; check that none of them was drawn."
)


def laid_on_warning(strokes: Strokes) -> tuple[str, ...]:
    """Say that some lines are taken for edges of tape."""
    count = len(strokes.laid_on)
    return (LAID_ON.format(count=count),) if count else ()


def edges_laid_on(ground: Ground, pieces: list[Piece], heads: list[Head], turn_deg: float) -> list[int]:
    """Find the pieces that are edges of strips; parameters as in `find_strips`."""
    return sorted(k for strip in find_strips(ground, pieces, heads, turn_deg) for k in strip)


def find_strips(ground: Ground, pieces: list[Piece], heads: list[Head], turn_deg: float) -> list[list[int]]:
    """Find the strips laid on a sheet.

    Parameters
    ----------
    ground : Ground
    pieces : list of Piece
        All of the sheet.
    heads : list of Head
    turn_deg : float
        From the working to the level frame, counter-clockwise as seen.

    Returns
    -------
    list of list of int
        The numbers of each strip's pieces.
    """
    straight = straight_pieces(pieces, turn_deg, ground.mm_per_px)
    off = _off_square_deg(straight)
    strips: list[list[int]] = []
    taken: set[int] = set()
    for seed in np.argsort(-straight.length, kind="stable").tolist():
        if straight.length[seed] < LONG_MM:
            break
        if seed not in taken and off[seed] > 0:
            strip = strip_of(straight, seed)
            taken.update(strip)
            strips += [strip] if strip else []
    alone = [strip for strip in strips if _is_alone(straight, strip, taken)]
    table = Table(pieces)
    return [
        numbers
        for strip in alone
        for numbers in [sorted(straight.number[strip].tolist())]
        if _ties(ground, table, heads, numbers) * TIE_EVERY_MM <= float(straight.length[strip].sum())
    ]


def _off_square_deg(straight: Straight) -> FloatArray:
    """By how much each line lies further off every angle of T-square and set squares than a pen strays, in degrees."""
    off = np.abs((straight.turn_deg + SET_SQUARE_DEG / 2) % SET_SQUARE_DEG - SET_SQUARE_DEG / 2)
    straying = np.degrees(np.arctan2(straight.straying_mm(), straight.length))
    return np.asarray(off - np.maximum(straying, LEAST_TURN_DEG), np.float64)


def _is_alone(straight: Straight, strip: list[int], of_strips: set[int]) -> bool:
    """Whether hardly anything else of the sheet lies at a strip's turn."""
    longest = max(strip, key=lambda k: float(straight.length[k]))
    others = (apart_deg(straight, longest) <= SAME_TURN_DEG) & (straight.length >= LONG_MM)
    others[list(of_strips)] = False
    return float(straight.length[others].sum()) <= MOST_OTHERS * float(straight.length[strip].sum())


def _ties(ground: Ground, table: Table, heads: list[Head], strip: list[int]) -> int:
    """Strokes that end on a strip's sides, sides that end on a stroke, and arrowheads that point at one."""
    own, least = set(strip), ground.px(LEAST_TIED_MM)
    tie, beyond, corner = ground.px(TIE_MM), ground.px(BEYOND_MM), ground.px(CORNER_MM)
    drawn = {k for k, piece in enumerate(table.pieces) if k not in own and piece.length >= least}

    def at(x: float, y: float, reach: float) -> set[int]:
        return set(table.near(x, y, reach, share=0.5).tolist())

    tied = 0
    for k in sorted(drawn):
        for x, y, dx, dy in _ends(table.pieces[k]):
            if at(x, y, tie) & own and not at(x + beyond * dx, y + beyond * dy, tie) - own - {k}:
                tied += 1
    for x, y in _open_ends([table.pieces[k] for k in strip], corner, ground.px(SAME_SIDE_MM)):
        tied += bool(at(x, y, tie) & drawn)
    return tied + sum(head.piece not in own and bool(at(head.x, head.y, tie) & own) for head in heads)


def _ends(piece: Piece) -> list[tuple[float, float, float, float]]:
    """Both ends of a piece, and the unit directions in which it would go on; none of a full circle."""
    if piece.closed:
        return []
    back, ahead = piece.track.heading(piece.s0), piece.track.heading(piece.s1)
    return [(*piece.start, -back[0], -back[1]), (*piece.end, *ahead)]


def _open_ends(strip: list[Piece], corner: float, aside: float) -> list[tuple[float, float]]:
    """Ends of a strip's sides that meet no other side; lengths in px."""
    ends = np.array([end for piece in strip for end in _ends(piece)])
    x, y, dx, dy = (ends[:, k, None] for k in range(4))
    to_x, to_y = ends[:, 0] - x, ends[:, 1] - y
    along, across = to_x * dx + to_y * dy, np.abs(to_x * dy - to_y * dx)
    of_another = ~np.kron(np.eye(len(strip)), np.ones((2, 2))).astype(bool)
    goes_on = ((along > 0) & (across <= aside) | (np.hypot(to_x, to_y) <= corner)) & of_another
    return [(float(x), float(y)) for x, y in ends[~goes_on.any(axis=1), :2]]
