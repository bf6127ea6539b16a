"""Pieces of drawings that a mistaken finder takes for lettering: hatching, threads, dials, slots, dirt."""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.lettering.training.clutter import arc, arrow, crossing, hatching, line
from digitize.lettering.training.faces import Points
from digitize.lettering.training.hand import ellipse
from digitize.lettering.training.pieces import Piece

Rng = np.random.Generator
Box = tuple[float, float, float, float]
UPRIGHT_LENGTHS = 4.0  # half widths: a shorter slot on end is a nought


def nothing_written(rng: Rng) -> tuple[list[Piece], Box]:
    """Pieces of a drawing with no lettering, and the box that a mistaken finder would draw round them."""
    wide, tall = float(rng.uniform(0.8, 5)), float(rng.uniform(0.8, 2.2))
    box = (0.0, 0.0, wide, tall)
    pen = float(rng.uniform(0.04, 0.15))
    makers = (hatching, _several_lines, _arrows, _dashes, _arcs, _thread, _specks, _clock, _teeth, _oblong)
    pieces = makers[rng.integers(len(makers))](rng, box, pen)
    if rng.random() < 0.3:
        pieces = pieces + makers[rng.integers(len(makers))](rng, box, pen)
    return pieces, box


def _several_lines(rng: Rng, box: Box, pen: float) -> list[Piece]:
    return [piece for _ in range(int(rng.integers(1, 5))) for piece in crossing(rng, box, pen)]


def _arcs(rng: Rng, box: Box, pen: float) -> list[Piece]:
    pieces = [arc(rng, box, pen) for _ in range(int(rng.integers(1, 4)))]
    if rng.random() < 0.4:
        r = float(rng.uniform(0.3, 0.9))
        for k in range(int(rng.integers(1, 3))):
            pieces.append(Piece((ellipse(box[2] / 2, box[3] / 2, r * (1 - 0.3 * k), r * (1 - 0.3 * k)),), False, pen))
    return pieces


def _arrows(rng: Rng, box: Box, pen: float) -> list[Piece]:
    pieces = []
    for _ in range(int(rng.integers(1, 4))):
        x, y = float(rng.uniform(0.2, box[2])), float(rng.uniform(0.2, box[3]))
        sign, angle = float(rng.choice((-1, 1))), float(rng.choice((0, math.pi / 2, rng.uniform(0, math.pi))))
        pieces.append(arrow(rng, x, y, sign, pen, angle))
        if rng.random() < 0.7:
            way = -sign * np.array([math.cos(angle), math.sin(angle)]) * rng.uniform(0.5, 4)
            pieces += line(x, y, x + way[0], y + way[1], pen)
    return pieces


def _dashes(rng: Rng, box: Box, pen: float) -> list[Piece]:
    pieces: list[Piece] = []
    for _ in range(int(rng.integers(1, 4))):
        y = float(rng.uniform(0.1, box[3] - 0.1))
        upright = rng.random() < 0.3
        x = float(rng.uniform(0, box[2]))
        ends = (x, -1.0, x, box[3] + 1) if upright else (-1.0, y, box[2] + 1, y)
        pieces += line(*ends, pen, float(rng.uniform(0.15, 0.9)))
    return pieces


def _thread(rng: Rng, box: Box, pen: float) -> list[Piece]:
    """The slanted crests of a drawn screw thread, or the teeth of a rack."""
    pitch, lean = float(rng.uniform(0.15, 0.5)), float(rng.uniform(0.05, 0.4))
    x = np.arange(-0.5, box[2] + 0.5, pitch)
    if rng.random() < 0.5:
        return [
            Piece((np.array([[v, 0.05], [v + lean * pitch, box[3] - 0.05]], np.float32),), False, pen * (1 + k % 2))
            for k, v in enumerate(x)
        ]
    y = np.where(np.arange(len(x)) % 2, box[3] * 0.3, box[3] * 0.7)
    return [Piece((np.stack([x, y], axis=1).astype(np.float32),), False, pen)]


def _clock(rng: Rng, box: Box, pen: float) -> list[Piece]:
    """A dial: a circle, ticks round it, two hands."""
    r = min(box[2], box[3]) / 2
    middle = np.array([box[2] / 2, r])
    count, reach = int(rng.choice((4, 8, 12, 24))), float(rng.uniform(0.6, 0.9))
    ways = [np.array([math.cos(a), math.sin(a)]) for a in np.arange(count) * 2 * math.pi / count + rng.uniform(0, 6.3)]
    pieces = [Piece((ellipse(float(middle[0]), float(middle[1]), r, r),), False, pen)]
    pieces += [_stroke(middle + reach * r * way, middle + r * rng.uniform(0.9, 1.0) * way, pen) for way in ways]
    for _ in range(int(rng.integers(0, 3))):
        way = ways[rng.integers(count)]
        pieces.append(_stroke(middle, middle + r * rng.uniform(0.3, 0.8) * way, pen * rng.uniform(0.7, 1.5)))
    return pieces


def _teeth(rng: Rng, box: Box, pen: float) -> list[Piece]:
    """A wheel's rim: notches along an arc."""
    r, count = float(rng.uniform(1.0, 5.0)), int(rng.integers(12, 80))
    depth = float(rng.uniform(0.05, 0.3))
    turn = np.arange(0, 4 * count) * math.pi / (2 * count) + rng.uniform(0, 6.3)
    radius = r + depth * np.repeat(np.tile((0.0, 1.0), count), 2)
    middle = np.array([box[2] / 2, box[3] / 2 - r * rng.uniform(0.0, 1.0)])
    rim = middle + np.stack([radius * np.cos(turn), radius * np.sin(turn)], axis=1)
    return [Piece((rim.astype(np.float32),), False, pen)]


def _stroke(start: NDArray[np.float64], end: NDArray[np.float64], pen: float) -> Piece:
    return Piece((np.array([start, end], np.float32),), False, pen)


def _specks(rng: Rng, box: Box, pen: float) -> list[Piece]:
    count = int(rng.integers(1, 30))
    centres: Points = rng.uniform((0, 0), (box[2], box[3]), (count, 2)).astype(np.float32)
    size = float(rng.uniform(0.02, 0.25))
    return [
        Piece((c + rng.normal(0, size, (int(rng.integers(3, 6)), 2)).astype(np.float32),), True, 0.0) for c in centres
    ]


def _oblong(rng: Rng, box: Box, pen: float) -> list[Piece]:
    """A slot or a keyseat: two straight sides and two round ends, or one; some with a centre line."""
    half = float(rng.uniform(0.12, 0.6))
    long = half * float(rng.uniform(1.5, 8))
    turn = np.linspace(-math.pi / 2, math.pi / 2, 12)
    end = half * np.stack([np.cos(turn), np.sin(turn)], axis=1) + (long / 2, 0)
    other = -end if rng.random() < 0.6 else np.array([[-long / 2, half], [-long / 2, -half]])
    outline = np.concatenate([end, other, end[:1]])
    if long > UPRIGHT_LENGTHS * half and rng.random() < 0.5:
        outline = outline[:, ::-1]
    middle = np.array([box[2] / 2, box[3] / 2])
    pieces = [Piece(((middle + outline).astype(np.float32),), False, pen)]
    if rng.random() < 0.4:
        pieces += line(-1.0, box[3] / 2, box[2] + 1.0, box[3] / 2, pen * 0.6, float(rng.choice((0.0, 0.5))))
    return pieces
