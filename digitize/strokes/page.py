"""All strokes of a sheet on one table, for the rules that tell what each is for."""

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.heads.head import Head
from digitize.strokes.joining.meetings import END, START, meetings_of
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Role
from digitize.strokes.table import KIND, S0, S1, Table, point_on
from digitize.strokes.widths import Pens, pens_of

LEVEL_TOLERANCE_DEG = 2.0
CONTACT_MM = 0.35
CORNER_DEG = 150.0
"""Largest turn at a corner; two ends that meet more sharply lie beside each other."""
FEWEST_LIT, LIT_SHARE = 2, 0.25
"""So many fine lines between corners of an outline, and so many to each heavy one, tell that the office drew shade
lines."""
ROUND_POINTS = 25
"""Points along a circle or arc, close enough to box it."""


@dataclass
class Page:
    """Strokes, arrowheads and what is known of them so far.

    ``roles[k]`` is None until a rule has spoken; ``turn_deg`` is the turn from working to level frame,
    counter-clockwise as seen.
    """

    ground: Ground
    pieces: list[Piece]
    heads: list[Head]
    turn_deg: float
    roles: list[Role | None] = field(default_factory=list)
    table: Table = field(init=False)
    boxes: NDArray[np.float64] = field(init=False)
    pens: Pens = field(init=False)

    def __post_init__(self) -> None:
        """Lay out the pieces and part the pens."""
        self.roles = self.roles or [None] * len(self.pieces)
        self.table = Table(self.pieces)
        self.boxes = _boxes(self.table.rows)
        self.pens = edge_pens(self.pieces, self.px(CONTACT_MM))

    def px(self, length_mm: float) -> float:
        """Turn mm of paper into px."""
        return self.ground.px(length_mm)

    def give(self, numbers: list[int], role: Role) -> None:
        """Give a role to the strokes that have none yet."""
        for k in numbers:
            if self.roles[k] is None:
                self.roles[k] = role

    def part_pens_without(self, numbers: list[int]) -> None:
        """Part the pens by all strokes but some that no pen has drawn."""
        left = set(range(len(self.pieces))) - set(numbers)
        if numbers:
            self.pens = edge_pens([self.pieces[k] for k in sorted(left)], self.px(CONTACT_MM))

    def unknown(self) -> list[int]:
        """Numbers of the strokes without a role."""
        return [k for k, role in enumerate(self.roles) if role is None]

    def is_thin(self, k: int) -> bool:
        """Whether a stroke is of the thin pen; True for all where one pen drew everything."""
        return self.pens.parting is None or not self.pens.is_thick(self.pieces[k].width)

    def is_thick(self, k: int) -> bool:
        """Whether a stroke is of the thick pen; True for all where one pen drew everything."""
        return self.pens.is_thick(self.pieces[k].width)

    def direction_deg(self, k: int) -> float:
        """Direction of a line in the level frame, 0 to 180, counter-clockwise as seen."""
        track = self.pieces[k].track
        return (math.degrees(math.atan2(-track.dy, track.dx)) + self.turn_deg) % 180.0

    def is_level(self, k: int) -> bool:
        """Whether a stroke is a line along x."""
        angle = self.direction_deg(k)
        return self.pieces[k].track.kind == LINE and min(angle, 180.0 - angle) <= LEVEL_TOLERANCE_DEG

    def is_upright(self, k: int) -> bool:
        """Whether a stroke is a line along y."""
        return self.pieces[k].track.kind == LINE and abs(self.direction_deg(k) - 90.0) <= LEVEL_TOLERANCE_DEG

    def touching(self, x: float, y: float, slack_mm: float = CONTACT_MM) -> list[int]:
        """Numbers of the strokes whose ink passes within ``slack_mm`` of a point."""
        return [int(k) for k in self.table.near(x, y, self.px(slack_mm), share=0.5)]

    def extent(self, k: int) -> tuple[float, float, float, float]:
        """Box of a stroke in the working frame: left, top, right, bottom."""
        left, top, right, bottom = self.boxes[k].tolist()
        return left, top, right, bottom


def edge_pens(pieces: list[Piece], reach_px: float) -> Pens:
    """Part the pens so that edges are thick: where they were drawn with two, the finer of them counts as thick too.

    Shade lines (common practice of older drawings, no source) are edges away from the light, drawn twice as wide as
    those in it. Edges meet at corners, which fine lines of other roles seldom do.
    """
    width, length = np.array([p.width for p in pieces]), np.array([p.length for p in pieces])
    pens = pens_of(width, length)
    if pens.parting is None:
        return pens
    open_ones = [p for p in pieces if not p.closed]
    met = meetings_of(open_ones, reach_px, CORNER_DEG)
    ends = {(m.first, m.first_end) for m in met} | {(m.second, m.second_end) for m in met}
    cornered = [k for k in range(len(open_ones)) if (k, START) in ends and (k, END) in ends]
    shaded = {k for k in cornered if pens.is_thick(open_ones[k].width)}
    pairs = [(m.first, m.second) for m in met if {m.first, m.second} <= set(cornered)]
    lit = [k for group in groups(cornered, pairs) if shaded & set(group) for k in group if k not in shaded]
    if len(lit) < FEWEST_LIT or len(lit) < LIT_SHARE * len(shaded):
        return pens
    fine = width <= pens.parting
    finer = pens_of(width[fine], length[fine])
    return Pens(finer.thin, pens.thick, finer.parting)


def outline(piece: Piece) -> NDArray[np.float64]:
    """Points along a stroke, close enough to box it, shape (N, 2)."""
    count = 2 if piece.track.kind == LINE else ROUND_POINTS
    return piece.track.at(np.linspace(piece.s0, piece.s1, count))


@compiled
def _boxes(rows: NDArray[np.float64]) -> NDArray[np.float64]:
    """Boxes of all strokes: left, top, right, bottom."""
    boxes = np.empty((len(rows), 4))
    for k in range(len(rows)):
        boxes[k, :2], boxes[k, 2:] = np.inf, -np.inf
        count = 2 if rows[k, KIND] == LINE else ROUND_POINTS
        for s in np.linspace(rows[k, S0], rows[k, S1], count):
            x, y = point_on(rows[k], s, 0.0)
            boxes[k, 0], boxes[k, 1] = min(boxes[k, 0], x), min(boxes[k, 1], y)
            boxes[k, 2], boxes[k, 3] = max(boxes[k, 2], x), max(boxes[k, 3], y)
    return boxes


def contacts(page: Page, numbers: list[int], slack_mm: float = CONTACT_MM) -> list[tuple[int, int]]:
    """Pairs of strokes of which one ends on the other, or which cross."""
    chosen = set(numbers)
    pairs = set()
    for k in numbers:
        piece = page.pieces[k]
        ends = () if piece.closed else (piece.start, piece.end)
        for x, y in ends:
            pairs |= {(min(k, n), max(k, n)) for n in page.touching(x, y, slack_mm) if n != k and n in chosen}
    return sorted(pairs)


def groups(numbers: list[int], pairs: list[tuple[int, int]]) -> list[list[int]]:
    """Connected groups of numbers, each sorted, in the order of their first members."""
    parent = {k: k for k in numbers}

    def root(k: int) -> int:
        while parent[k] != k:
            parent[k] = parent[parent[k]]
            k = parent[k]
        return k

    for a, b in pairs:
        ra, rb = root(a), root(b)
        parent[max(ra, rb)] = min(ra, rb)
    found: dict[int, list[int]] = {}
    for k in sorted(numbers):
        found.setdefault(root(k), []).append(k)
    return list(found.values())
