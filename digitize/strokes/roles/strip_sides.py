"""The sides that strips laid on a sheet may have: its straight pieces by their turn, put together along one line.

Glossary: see `strips`.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.compiled import compiled
from digitize.strokes.pieces import Piece

FloatArray = NDArray[np.float64]
Places = NDArray[np.intp]

STRAYING_MM, LEAST_STRAYING_MM = 0.4, 0.1
"""Sideways, between the ends of a line: the worst pen (common practice, no source), and the truest."""
STRAYING_TIMES, RULED_MM, RULED_DEG, FEWEST_RULED = 4.0, 20.0, 1.0, 4
"""A sheet's straying is so many times the median of its long level and upright lines, where it has enough of them."""
SAME_TURN_DEG, SAME_SIDE_MM = 0.3, 0.4
SHORT_MM, BRIDGE_MM = 2.0, 35.0
"""Least length of a piece of a side, and the longest gap in one, where lettering or section lines cross it."""
NARROWEST_MM, BROADEST_MM = 8.0, 60.0
"""Tape is sold in widths of 12 to 50 mm (common practice, no source)."""
CORNER_MM = 1.5
"""Dirt in a corner rounds it off by so much."""
LEAST_FACING = 0.7
"""Two sides without a corner face each other over this part of the longer one."""


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


def _turning(degrees: float) -> FloatArray:
    """Matrix that turns rows of points counter-clockwise as seen."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.array([[c, -s], [s, c]])


def straight_pieces(pieces: list[Piece], turn_deg: float, mm_per_px: float) -> Straight:
    """The straight pieces, level and in mm."""
    number = [k for k, piece in enumerate(pieces) if piece.track.kind == LINE]
    ends = np.array([[pieces[k].start, pieces[k].end] for k in number], np.float64).reshape(-1, 2, 2)
    ends = ends @ _turning(turn_deg) * mm_per_px
    along = ends[:, 1] - ends[:, 0]
    turn = (np.degrees(np.arctan2(-along[:, 1], along[:, 0])) + 45.0) % 90.0 - 45.0
    return Straight(np.array(number, np.intp), ends, turn, np.hypot(along[:, 0], along[:, 1]))


def apart_deg(straight: Straight, seed: int) -> FloatArray:
    """By how much all pieces lie off the turn of one, or off square to it."""
    return np.asarray(np.abs((straight.turn_deg - straight.turn_deg[seed] + 45.0) % 90.0 - 45.0), np.float64)


def strip_of(straight: Straight, seed: int) -> list[int]:
    """Places in ``straight`` of the strip that a long piece is a part of; none where it is a part of none."""
    slack = SAME_TURN_DEG + np.degrees(np.arctan2(STRAYING_MM / 2, straight.length))
    alike = np.flatnonzero((apart_deg(straight, seed) <= slack) & (straight.length >= SHORT_MM))
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
    here = np.flatnonzero(chosen)
    along, aside = own[here, :, 0], own[here, :, 1].mean(axis=1)
    order = np.argsort(along.min(axis=1), kind="stable")
    side_of, extents = _put_together(aside[order], along[order].min(axis=1), along[order].max(axis=1))
    members: list[list[int]] = [[] for _ in extents]
    for number, side in zip(alike[here[order]].tolist(), side_of.tolist(), strict=True):
        members[side].append(number)
    found = zip(extents.tolist(), members, strict=True)
    return [Side(offset, low, high, tuple(numbers)) for (offset, low, high), numbers in found]


@compiled
def _put_together(offset: FloatArray, low: FloatArray, high: FloatArray) -> tuple[NDArray[np.int64], FloatArray]:
    """The side of each of some pieces, which come by their lower ends; and every side's offset and extent.

    A piece carries on the side on its line that ends not far before it: of several the one carried on last.
    """
    side_of, last = np.empty(len(offset), np.int64), np.empty(len(offset), np.int64)
    sides, count = np.empty((len(offset), 3)), 0
    for n in range(len(offset)):
        best = -1
        for side in range(count):
            leads_on = abs(sides[side, 0] - offset[n]) <= SAME_SIDE_MM and low[n] - sides[side, 2] <= BRIDGE_MM
            if leads_on and (best < 0 or last[side] > last[best]):
                best = side
        if best < 0:
            best = count
            count += 1
            sides[best] = offset[n], low[n], high[n]
        else:
            side = sides[best]
            if side[2] - side[1] < high[n] - low[n]:
                side[0] = offset[n]
            side[2] = max(side[2], high[n])
        side_of[n], last[best] = best, n
    return side_of, sides[:count]


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
