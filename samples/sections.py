"""Sections: hatching that leaves lettering free, and the marks of a cutting plane."""

from collections.abc import Iterable

import numpy as np

from samples.board import Board, FloatArray, View, xy
from samples.truth import Point

CLEARANCE_MM = 0.8
SHORTEST_MM = 0.8
CUT_HEAD_PENS, LEG_HEADS, HEAD_COVERED = 7.0, 1.6, 0.8
"""Arrows of a cutting plane: their head in widths of the heavy pen, its leg in heads, and how far back in the head the
heavy stroke ends (ISO 128-40 shows such heads about as large; the numbers are common practice, no source)."""


def hatch(board: Board, view: View, outline: Iterable[Point], slope_deg: float = 45.0) -> None:
    """Order the hatching of a closed outline of part points; `draw_hatching` draws it, round the lettering."""
    board.hatching.append((view.id, np.array([view.paper(*p) for p in outline]), slope_deg))


def draw_hatching(board: Board) -> None:
    """Draw the hatching that was ordered."""
    for view, ring, slope_deg in board.hatching:
        turn = np.radians(slope_deg)
        along, normal = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
        heights, spacing = ring @ normal, board.style.hatch_mm
        for level in np.arange(np.ceil(heights.min() / spacing) * spacing, heights.max(), spacing):
            for start, end in _chords(ring, normal, along, float(level)):
                for s, e in _around_lettering(board, normal * level, along, start, end):
                    board.stroke(xy(normal * level + along * s), xy(normal * level + along * e), "hatch", view)


def _around_lettering(
    board: Board, foot: FloatArray, along: FloatArray, start: float, end: float
) -> list[tuple[float, float]]:
    """Parts of a hatch line outside all lettering."""
    free = [(start, end)]
    for box in board.lettering_boxes:
        t0 = (np.array(box[:2]) - CLEARANCE_MM - foot) / along
        t1 = (np.array(box[2:]) + CLEARANCE_MM - foot) / along
        enter, leave = float(np.minimum(t0, t1).max()), float(np.maximum(t0, t1).min())
        if enter < leave:
            cut = [(s, min(e, enter)) for s, e in free] + [(max(s, leave), e) for s, e in free]
            free = [(s, e) for s, e in cut if e - s > SHORTEST_MM]
    return free


def _chords(ring: FloatArray, normal: FloatArray, along: FloatArray, level: float) -> list[tuple[float, float]]:
    """Stretches of the line at a height along ``normal`` that lie inside a ring."""
    crossings = []
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        ha, hb = float(a @ normal) - level, float(b @ normal) - level
        if (ha > 0) != (hb > 0):
            crossings.append(float((a + (b - a) * ha / (ha - hb)) @ along))
    crossings.sort()
    pairs = zip(crossings[::2], crossings[1::2], strict=False)
    return [(s, e) for s, e in pairs if e - s > SHORTEST_MM]


def cut_mark(board: Board, view: View, x: float, reach: float, letter: str) -> None:
    """Mark a cutting plane across a level part: a heavy dash with an arrow and a letter, above and below.

    The heavy stroke leads to the back of a filled head, which would be hidden under it if it went on.
    """
    length = CUT_HEAD_PENS * board.style.wide_mm
    leg = LEG_HEADS * length - (HEAD_COVERED * length if board.style.arrow == "filled" else 0.0)
    for sign in (1, -1):
        px, py = view.exact(x, sign * reach)
        foot, end = py + sign * 1.5, py + sign * 5.5
        board.stroke((px, foot), (px, end), "cutting", view.id, "solid")
        board.head((px + LEG_HEADS * length, end), 0.0, length)
        board.stroke((px, end), (px + leg, end), "cutting", view.id, "solid")
        board.place(board.lettered(letter), letter, (px - 2.5, end - sign * 0.5), 0.0, "note")
