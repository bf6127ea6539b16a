"""Ink on the picture: strokes become grey pixels at their true sub-pixel places.

A pixel sees a pen line through a small triangle of sight, two pixels wide, across the line. Sampled at whole pixels,
that profile keeps its centre of mass exactly (its spectrum has double zeros at the sampling frequency), where the share
of a sharp pixel square would be off by some hundredths of a pixel. So a line's ink lies where its truth says: exactly
for level and upright lines, to a hundredth of a pixel for others.
"""

from itertools import pairwise

import numpy as np
from numba import njit
from numpy.typing import NDArray

from samples.bends import Camera
from samples.truth import ArcMark, Drawing, HeadMark, LineMark, Point, project

FloatArray = NDArray[np.float64]

PIECE_MM = 12.0  # a stroke is cut into pieces so short that pen width and perspective hardly change along one
SAGITTA_MM = 0.002  # chords stay this close to their arc
DASH_MM = {  # line, gap, line, gap ...: lengths for A4 to A3 sheets, after lines.csv in mm
    "solid": (),
    "dashed": (3.0, 0.9),
    "chain": (12.0, 1.5, 2.5, 1.5),
    "double_chain": (12.0, 1.5, 2.5, 1.5, 2.5, 1.5),
}
HEAD_SLENDERNESS = 3.0  # length of a filled arrowhead to its width: common drawing-office practice, no source


@njit(cache=True)
def _seen(depth):  # type: ignore[no-untyped-def]
    """Share of its triangle of sight that a pixel has within an edge, ``depth`` pixels inside it."""
    if depth <= -1.0:
        return 0.0
    if depth >= 1.0:
        return 1.0
    return (1 + depth) ** 2 / 2 if depth < 0 else 1 - (1 - depth) ** 2 / 2


@njit(cache=True)
def _stamp(ink, pieces):  # type: ignore[no-untyped-def]
    """Lay round-ended pieces (x0, y0, x1, y1, width, darkness) onto ink by maximum of coverage."""
    rows, columns = ink.shape
    for k in range(pieces.shape[0]):
        x0, y0, x1, y1, width, dark = pieces[k]
        half = width / 2
        reach = half + 1.5
        dx, dy = x1 - x0, y1 - y0
        long2 = dx * dx + dy * dy
        top = max(0, int(np.floor(min(y0, y1) - reach)))
        bottom = min(rows - 1, int(np.ceil(max(y0, y1) + reach)))
        for r in range(top, bottom + 1):
            left_f, right_f = min(x0, x1) - reach, max(x0, x1) + reach
            if long2 > 0 and abs(dy) > 1e-9:
                slack = reach * np.sqrt(long2) / abs(dy) + abs(dx / dy)
                middle = x0 + (r - y0) * dx / dy
                left_f, right_f = max(left_f, middle - slack), min(right_f, middle + slack)
            for c in range(max(0, int(np.floor(left_f))), min(columns - 1, int(np.ceil(right_f))) + 1):
                t = 0.0
                if long2 > 0:
                    t = min(1.0, max(0.0, ((c - x0) * dx + (r - y0) * dy) / long2))
                ex, ey = c - x0 - t * dx, r - y0 - t * dy
                distance = np.sqrt(ex * ex + ey * ey)
                cover = _seen(half - distance) - _seen(-half - distance)
                if cover * dark > ink[r, c]:
                    ink[r, c] = cover * dark


@njit(cache=True)
def _fill(ink, triangles):  # type: ignore[no-untyped-def]
    """Fill triangles (x0, y0, x1, y1, x2, y2) by 5 x 5 samples a pixel."""
    rows, columns = ink.shape
    for k in range(triangles.shape[0]):
        x0, y0, x1, y1, x2, y2 = triangles[k]
        area = (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)
        if area == 0:
            continue
        for r in range(max(0, int(min(y0, y1, y2)) - 1), min(rows - 1, int(max(y0, y1, y2)) + 2) + 1):
            for c in range(max(0, int(min(x0, x1, x2)) - 1), min(columns - 1, int(max(x0, x1, x2)) + 2) + 1):
                hits = 0
                for i in range(5):
                    for j in range(5):
                        px, py = c - 0.4 + 0.2 * i, r - 0.4 + 0.2 * j
                        a = ((x1 - px) * (y2 - py) - (x2 - px) * (y1 - py)) / area
                        b = ((x2 - px) * (y0 - py) - (x0 - px) * (y2 - py)) / area
                        if a >= 0 and b >= 0 and a + b <= 1:
                            hits += 1
                if hits / 25.0 > ink[r, c]:
                    ink[r, c] = hits / 25.0


def arc_points(mark: ArcMark) -> FloatArray:
    """Points along an arc, in mm of paper."""
    turn = 2 * np.degrees(np.arccos(max(0.5, 1 - SAGITTA_MM / max(mark.radius, 4 * SAGITTA_MM))))
    count = max(8, int(np.ceil(abs(mark.sweep_deg) / turn)))
    angles = np.radians(mark.start_deg + np.linspace(0, mark.sweep_deg, count + 1))
    return np.asarray(mark.centre + mark.radius * np.column_stack([np.cos(angles), np.sin(angles)]), dtype=np.float64)


def _cut(points: FloatArray, marks: FloatArray) -> list[FloatArray]:
    """Parts of a polyline between pairs of arc lengths."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    parts = []
    for start, end in marks.reshape(-1, 2):
        inner = (along > start) & (along < end)
        ends = np.array([[np.interp(s, along, points[:, k]) for k in (0, 1)] for s in (start, end)])
        parts.append(np.vstack([ends[:1], points[inner], ends[1:]]))
    return parts


def dashed(points: FloatArray, dash: str) -> list[FloatArray]:
    """The inked parts of a stroke; a dashed stroke begins and ends with ink."""
    total = float(np.hypot(*np.diff(points, axis=0).T).sum())
    pattern = DASH_MM[dash]
    if not pattern or total < pattern[0] + 2 * pattern[1]:
        return [points]
    period = sum(pattern)
    repeats = max(1, round((total - pattern[0]) / period))
    stretch = total / (repeats * period + pattern[0])
    bounds = np.concatenate([[0.0], np.cumsum([*(pattern * repeats), pattern[0]])]) * stretch
    return _cut(points, bounds[: 2 * (len(bounds) // 2)])


def _subdivided(points: FloatArray) -> FloatArray:
    pieces = []
    for a, b in pairwise(points):
        count = max(1, int(np.ceil(np.hypot(*(b - a)) / PIECE_MM)))
        pieces.append(a + (b - a) * np.linspace(0, 1, count, endpoint=False)[:, None])
    return np.vstack([*pieces, points[-1:]])


def _pieces(points: FloatArray, width_mm: float, to_source: Camera, darkness: float = 1.0) -> FloatArray:
    """Rows (x0, y0, x1, y1, width, darkness) in source pixels of one inked polyline."""
    fine = _subdivided(points)
    xy = project(to_source, fine)
    middle = (fine[:-1] + fine[1:]) / 2
    along = np.diff(fine, axis=0)
    across = np.column_stack([-along[:, 1], along[:, 0]])
    across = across / np.maximum(np.hypot(across[:, 0], across[:, 1]), 1e-9)[:, None]
    half = project(to_source, middle + across * width_mm / 2) - project(to_source, middle - across * width_mm / 2)
    widths = np.hypot(half[:, 0], half[:, 1])
    return np.column_stack([xy[:-1], xy[1:], widths, np.full(len(widths), darkness)])


def head_triangle(head: HeadMark) -> tuple[Point, Point, Point]:
    """Tip and the two barbs of an arrowhead, in mm of paper."""
    if head.barbs is not None:
        return head.tip, *head.barbs
    angle = np.radians(head.direction_deg)
    along = np.array([np.cos(angle), np.sin(angle)])
    across = np.array([-along[1], along[0]]) * head.length_mm / HEAD_SLENDERNESS / 2
    back = np.array(head.tip) - along * head.length_mm
    left, right = back + across, back - across
    return head.tip, (float(left[0]), float(left[1])), (float(right[0]), float(right[1]))


def _head_strokes(head: HeadMark, pen_mm: float) -> list[tuple[FloatArray, float]]:
    tip, left, right = (np.array(p) for p in head_triangle(head))
    if head.form == "open":
        return [(np.vstack([left, tip, right]), pen_mm)]
    if head.form == "tick":
        angle = np.radians(head.direction_deg + 45)
        reach = np.array([np.cos(angle), np.sin(angle)]) * head.length_mm / 2
        return [(np.vstack([tip - reach, tip + reach]), 1.6 * pen_mm)]
    if head.form == "dot":
        return [(np.vstack([tip, tip + np.array([1e-3, 0.0])]), head.length_mm / 2)]
    return []


def _line_points(mark: LineMark) -> FloatArray:
    return np.array([mark.p0, mark.p1], dtype=np.float64)


def ink_coverage(
    drawing: Drawing, to_source: Camera, size_px: tuple[int, int], thicken_mm: float = 0.0
) -> NDArray[np.float32]:
    """Ink of a drawing on the picture.

    Parameters
    ----------
    drawing : Drawing
    to_source : ndarray, shape (3, 3), or Bent
        Mm of paper to source pixels.
    size_px : (width, height)
    thicken_mm : float
        Added to every pen width: ink that spread, or, negative, a thin exposure.

    Returns
    -------
    ndarray, float32, shape (height, width)
        0 bare paper, 1 full ink.
    """
    rows: list[FloatArray] = []
    strokes = [(_line_points(m), m.width_mm, m.dash) for m in drawing.lines]
    strokes += [(arc_points(m), m.width_mm, m.dash) for m in drawing.arcs]
    for points, width, dash in strokes:
        rows += [_pieces(part, width + thicken_mm, to_source) for part in dashed(points, dash)]
    for text in drawing.texts:
        rows += [_pieces(s, text.width_mm + thicken_mm, to_source) for s in text.strokes]
    pen = min((m.width_mm for m in drawing.lines), default=0.25)
    for head in drawing.heads:
        rows += [_pieces(points, width + thicken_mm, to_source) for points, width in _head_strokes(head, pen)]
    filled = [head_triangle(h) for h in drawing.heads if h.form == "filled"]
    ink = np.zeros((size_px[1], size_px[0]), dtype=np.float32)
    _stamp(ink, np.vstack(rows))
    if filled:
        corners = project(to_source, np.array(filled).reshape(-1, 2))
        _fill(ink, corners.reshape(-1, 6))
    return ink
