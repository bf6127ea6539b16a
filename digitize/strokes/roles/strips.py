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

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.ground import Ground
from digitize.strokes.heads.head import Head
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Strokes
from digitize.strokes.table import Table

FloatArray = NDArray[np.float64]
Places = NDArray[np.intp]

LONG_MM = 6.0
"""From this length on a line's turn says that it belongs to a strip, or that the turn is not the strip's alone."""
SET_SQUARE_DEG = 15.0
"""Two set squares draw lines at all multiples of this angle (common practice, no source)."""
LEAST_TURN_DEG = 0.25
STRAYING_MM, LEAST_STRAYING_MM = 0.4, 0.1
"""Sideways, between the ends of a line: the worst pen (common practice, no source), and the truest."""
STRAYING_TIMES, RULED_MM, RULED_DEG, FEWEST_RULED = 4.0, 20.0, 1.0, 4
"""A sheet's straying is so many times the median of its long level and upright lines, where it has enough of them."""
SAME_TURN_DEG, SAME_SIDE_MM = 0.3, 0.4
SHORT_MM, BRIDGE_MM = 2.0, 35.0
"""Least length of a piece of a side, and the longest gap in one, where lettering or section lines cross it."""
MOST_OTHERS = 0.25
"""Length of other lines at a strip's turn, over its own."""
NARROWEST_MM, BROADEST_MM = 8.0, 60.0
"""Tape is sold in widths of 12 to 50 mm (common practice, no source)."""
CORNER_MM = 1.5
"""Dirt in a corner rounds it off by so much."""
LEAST_FACING = 0.7
"""Two sides without a corner face each other over this part of the longer one."""
TIE_MM, BEYOND_MM, LEAST_TIED_MM = 0.5, 1.5, 5.0
"""What ends within the first of a side, with nothing the second beyond it, was drawn up to it; scraps do not count."""
TIE_EVERY_MM = 50.0
"""A line may end at a strip by chance, once in so much of its length."""

LAID_ON = (
    "{count} lines are taken for the edges of tape or of a patch laid on the sheet: they lie on the layer TAPE of"
    " trace.dxf and nothing is measured to them; check that none of them was drawn."
)


@dataclass(frozen=True)
class Straight:
    """The straight pieces of a sheet, in a frame whose x is level, in mm of paper.

    ``number`` are their places among the pieces; ``ends`` has shape (N, 2, 2), ``turn_deg`` and ``length`` (N,).
    """

    number: Places
    ends: FloatArray
    turn_deg: FloatArray
    length: FloatArray

    def straying_mm(self) -> float:
        """How far the sheet's pen may have strayed sideways between the ends of a line."""
        ruled = (self.length >= RULED_MM) & (np.abs(self.turn_deg) <= RULED_DEG)
        if np.count_nonzero(ruled) < FEWEST_RULED:
            return STRAYING_MM
        usual = float(np.median(np.radians(np.abs(self.turn_deg[ruled])) * self.length[ruled]))
        return min(max(STRAYING_TIMES * usual, LEAST_STRAYING_MM), STRAYING_MM)


@dataclass(frozen=True)
class Side:
    """A side in a strip's own frame: its offset across, its extent along, and its pieces among the straight ones."""

    offset: float
    low: float
    high: float
    members: tuple[int, ...]

    @property
    def length(self) -> float:
        """From end to end."""
        return self.high - self.low

    def joined(self, other: "Side") -> "Side":
        """Both in one, on the line of the longer."""
        offset = self.offset if self.length >= other.length else other.offset
        members = (*self.members, *other.members)
        return Side(offset, min(self.low, other.low), max(self.high, other.high), members)


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
    straight = _straight(pieces, turn_deg, ground.mm_per_px)
    off = _off_square_deg(straight)
    strips: list[list[int]] = []
    taken: set[int] = set()
    for seed in np.argsort(-straight.length, kind="stable").tolist():
        if straight.length[seed] < LONG_MM:
            break
        if seed not in taken and off[seed] > 0:
            strip = _strip_of(straight, seed)
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


def _turning(degrees: float) -> FloatArray:
    """Matrix that turns rows of points counter-clockwise as seen."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.array([[c, -s], [s, c]])


def _straight(pieces: list[Piece], turn_deg: float, mm_per_px: float) -> Straight:
    """The straight pieces, level and in mm."""
    number = [k for k, piece in enumerate(pieces) if piece.track.kind == LINE]
    ends = np.array([[pieces[k].start, pieces[k].end] for k in number], np.float64).reshape(-1, 2, 2)
    ends = ends @ _turning(turn_deg) * mm_per_px
    along = ends[:, 1] - ends[:, 0]
    turn = (np.degrees(np.arctan2(-along[:, 1], along[:, 0])) + 45.0) % 90.0 - 45.0
    return Straight(np.array(number, np.intp), ends, turn, np.hypot(along[:, 0], along[:, 1]))


def _off_square_deg(straight: Straight) -> FloatArray:
    """By how much each line lies further off every angle of T-square and set squares than a pen strays, in degrees."""
    off = np.abs((straight.turn_deg + SET_SQUARE_DEG / 2) % SET_SQUARE_DEG - SET_SQUARE_DEG / 2)
    straying = np.degrees(np.arctan2(straight.straying_mm(), straight.length))
    return np.asarray(off - np.maximum(straying, LEAST_TURN_DEG), np.float64)


def _apart_deg(straight: Straight, seed: int) -> FloatArray:
    """By how much all pieces lie off the turn of one, or off square to it."""
    return np.asarray(np.abs((straight.turn_deg - straight.turn_deg[seed] + 45.0) % 90.0 - 45.0), np.float64)


def _strip_of(straight: Straight, seed: int) -> list[int]:
    """Places in ``straight`` of the strip that a long piece is a part of; none where it is a part of none."""
    slack = SAME_TURN_DEG + np.degrees(np.arctan2(STRAYING_MM / 2, straight.length))
    alike = np.flatnonzero((_apart_deg(straight, seed) <= slack) & (straight.length >= SHORT_MM))
    along = straight.ends[seed, 1] - straight.ends[seed, 0]
    own = straight.ends[alike] @ _turning(math.degrees(math.atan2(along[1], along[0])))
    is_level = np.abs(own[:, 1, 0] - own[:, 0, 0]) >= np.abs(own[:, 1, 1] - own[:, 0, 1])
    level, upright = _sides(own, alike, is_level), _sides(own[..., ::-1], alike, ~is_level)
    first = [side for side in level if seed in side.members]
    across = [side for side in upright if _is_corner(first[0], side)]
    beside = [side for side in level if side not in first and _is_beside(side, first[0], across)]
    across += [side for side in upright if side not in across and any(_is_corner(other, side) for other in beside)]
    is_strip = (across or beside) and len(across) <= 2 and len(beside) <= 1
    return [k for side in (*first, *across, *beside) for k in side.members] if is_strip else []


def _sides(own: FloatArray, alike: Places, chosen: NDArray[np.bool_]) -> list[Side]:
    """Pieces that lie on one line, put together; ``own`` has the place along before that across."""
    sides: list[Side] = []
    for n in sorted(np.flatnonzero(chosen).tolist(), key=lambda n: float(own[n, :, 0].min())):
        here = Side(own[n, :, 1].mean(), own[n, :, 0].min(), own[n, :, 0].max(), (int(alike[n]),))
        before = [side for side in sides if _leads_on(side, here)]
        if before:
            sides.remove(before[-1])
            here = before[-1].joined(here)
        sides.append(here)
    return sides


def _leads_on(first: Side, second: Side) -> bool:
    """Whether a piece lies on the line of a side and not far beyond its end."""
    return abs(first.offset - second.offset) <= SAME_SIDE_MM and second.low - first.high <= BRIDGE_MM


def _is_beside(side: Side, first: Side, across: list[Side]) -> bool:
    """Whether a side is the other edge of the strip that another one is an edge of."""
    if not NARROWEST_MM <= abs(side.offset - first.offset) <= BROADEST_MM:
        return False
    facing = min(side.high, first.high) - max(side.low, first.low)
    return any(_is_corner(side, end) for end in across) or facing >= LEAST_FACING * max(side.length, first.length)


def _is_corner(level: Side, upright: Side) -> bool:
    """Whether two sides square to each other end where they meet."""
    over = min(abs(upright.offset - level.low), abs(upright.offset - level.high))
    beside = min(abs(level.offset - upright.low), abs(level.offset - upright.high))
    return max(over, beside) <= CORNER_MM


def _is_alone(straight: Straight, strip: list[int], of_strips: set[int]) -> bool:
    """Whether hardly anything else of the sheet lies at a strip's turn."""
    longest = max(strip, key=lambda k: float(straight.length[k]))
    others = (_apart_deg(straight, longest) <= SAME_TURN_DEG) & (straight.length >= LONG_MM)
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
