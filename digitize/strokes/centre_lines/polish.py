"""Circles and arcs settled on the grey picture: the circle whose drawn stroke explains the pixels best.

Centres were measured one by one, each between two edges found on a few noisy pixels, and on a picture that was
interpolated, whose error hangs on how a place lies between pixels. Once an arc is known, all pixels about it are
compared with what a pen of some width, blackness and blur would have left on that circle, and the circle is moved to
where they agree (see `circle_model`).
"""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.circle_model import UNKNOWNS, settled_circle
from digitize.strokes.centre_lines.fit import ARC
from digitize.strokes.centre_lines.profiles import darkness_at
from digitize.strokes.centre_lines.refine import DOUBTFUL, Trail
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.pieces import Piece
from digitize.strokes.tracks import Track

FloatArray = NDArray[np.float64]

BEYOND_PX = 2.5
"""Pixels count out to here beyond the stroke's edge,"""
PAPER_PX = 3.0
"""where the darkness so far beyond it is less than"""
PAPER_SHARE = 0.3
"""this share of the stroke's own; otherwise another stroke lies near."""
CLEAR_WIDTHS = 0.75
"""So near to an open end, in pen widths, the ink may belong to what the arc runs into."""
MOST_PLACES = 400
"""More places of most of a circle only add to the cost: these know it to some thousandths of a px."""
END_PX = 0.75
"""Places count up to here before an end in paper, their pixels a little beyond it."""
LEFT_PX = 0.03
"""A circle that leaves so much more of the trail unexplained, ends included, was fitted to part of another curve."""
LEAST_SEEN = 0.7
"""Where less of the band along an arc is free of other ink, its own ends bear on the fit: the first one stays."""
LEAST_SWEEP_DEG = 25.0
"""Of less, the pixels hardly tell a radius: a stroke keeps the circle that its neighbours and it were joined on."""
LEAST_PLACES = 8
BESIDE_PX = 0.35
"""Neighbours on a slanting trail are 1.4 px apart: the pixels between them are reached from here on both sides."""
FARTHEST_PX = 0.5
"""A track that would move further was fitted to something else."""


def polished(ground: Ground, trail: Trail, piece: Piece) -> Piece:
    """Settle the track of a round piece; the same piece where too little of it can be trusted, or it is none."""
    if piece.track.kind != ARC or piece.length < math.radians(LEAST_SWEEP_DEG) * piece.track.radius:
        return piece
    track, s = piece.track, _trusted_places(ground, trail, piece)
    if len(s) < LEAST_PLACES:
        return piece
    stride = math.ceil(len(s) / MOST_PLACES) if piece.length > 0.5 * track.period else 1
    s, half = s[::stride], 0.5 * piece.width
    matrix = ground.picture_from_round
    cells = _cells(ground.dark, matrix, track.x, track.y, track.radius, s, half)
    band = 2.0 * (half + BEYOND_PX) * piece.length / stride
    if len(cells) < max(4 * UNKNOWNS, 0.0 if piece.closed else LEAST_SEEN * band):
        return piece
    # middles of pixels in the frame of the pieces, from a place near them
    pixels = cells[:, :2] @ np.linalg.inv(matrix).T
    start = np.array([track.x, track.y, track.radius, half])
    found = settled_circle(pixels, cells[:, 2], _past_end(piece, pixels), start)
    if not np.isfinite(found).all() or found[2] <= 0.0:
        return piece
    settled = Track(ARC, float(found[0]), float(found[1]), radius=float(found[2]))
    if not piece.closed and _mean_square(trail, piece, settled) > _mean_square(trail, piece, track) + LEFT_PX**2:
        return piece
    return _moved(piece, settled)


def _past_end(piece: Piece, pixels: FloatArray) -> FloatArray:
    """How far some places lie past the nearer end of a piece, along its track, in px; negative before it."""
    if piece.closed:
        return np.full(len(pixels), -np.inf)
    return np.asarray(np.abs(_from_middle(piece, piece.track.place(pixels)[0])) - 0.5 * piece.length, dtype=np.float64)


def _mean_square(trail: Trail, piece: Piece, track: Track) -> float:
    """Mean squared distance of a piece's points to a track."""
    picks = np.concatenate([np.arange(a, b) for a, b in piece.spans])
    _, off = track.place(np.stack([trail.x[picks], trail.y[picks]], axis=1))
    return float(np.average(off**2, weights=trail.weight[picks]))


def _moved(piece: Piece, track: Track) -> Piece:
    """The piece on another circle; the same piece where the two are far apart somewhere along it."""
    middle = 0.5 * (piece.s0 + piece.s1)
    ends = piece.track.at(np.array([piece.s0, middle, piece.s1]))
    s, off = track.place(ends)
    if float(np.abs(off).max()) > FARTHEST_PX:
        return piece
    growth = track.radius / piece.track.radius
    if piece.closed:
        return replace(piece, track=track, s0=piece.s0 * growth, s1=piece.s0 * growth + track.period)
    centre = middle * growth
    s = centre + (s - centre + 0.5 * track.period) % track.period - 0.5 * track.period
    half = 0.5 * growth * piece.length
    s0 = s[1] - half + (s[0] - s[1] + half + 0.5 * track.period) % track.period - 0.5 * track.period
    s1 = s[1] + half + (s[2] - s[1] - half + 0.5 * track.period) % track.period - 0.5 * track.period
    return replace(piece, track=track, s0=float(s0), s1=float(min(s1, s0 + track.period)))


def _from_middle(piece: Piece, s: FloatArray) -> FloatArray:
    """The shorter way along the circle from the middle of a piece."""
    middle, half_round = 0.5 * (piece.s0 + piece.s1), 0.5 * piece.track.period
    return np.asarray((s - middle + half_round) % piece.track.period - half_round, dtype=np.float64)


def _trusted_places(ground: Ground, trail: Trail, piece: Piece) -> FloatArray:
    """s of the trusted trail points of a piece, clear of what it runs into, and up to an end that paper follows."""
    picks = np.concatenate([np.arange(a, b) for a, b in piece.spans])
    picks = picks[trail.weight[picks] > 5 * DOUBTFUL]
    s, _ = piece.track.place(np.stack([trail.x[picks], trail.y[picks]], axis=1))
    if piece.closed or not len(s):
        return s
    middle, half = 0.5 * (piece.s0 + piece.s1), 0.5 * piece.length
    off = _from_middle(piece, s)
    off = off[np.abs(off) <= half - CLEAR_WIDTHS * piece.width]
    if not len(off):
        return off
    reach = half - END_PX
    free = [np.arange(reach, off.max(), -1.0)] if _paper_follows(ground, piece, piece.s1, 1.0) else []
    free += [np.arange(-reach, off.min(), 1.0)] if _paper_follows(ground, piece, piece.s0, -1.0) else []
    return np.asarray(middle + np.concatenate([off, *free]), dtype=np.float64)


def _paper_follows(ground: Ground, piece: Piece, s: float, sign: float) -> bool:
    """Whether a stroke ends at ``s`` in paper, and not on another stroke."""
    (x, y), (inner_x, inner_y) = ground.in_picture(
        piece.track.at(np.array([s + sign * (0.5 * piece.width + PAPER_PX), s - sign * piece.width]))
    ).tolist()
    return darkness_at(ground.dark, x, y) < PAPER_SHARE * darkness_at(ground.dark, inner_x, inner_y)


@compiled
def _cells(
    dark: ByteImage, matrix: FloatArray, x0: float, y0: float, radius: float, s: FloatArray, half: float
) -> FloatArray:
    """Pixels about some places of a circle that nothing else lies near: column, row and darkness, each once."""
    rows, columns = dark.shape
    reach, far = half + BEYOND_PX, half + PAPER_PX
    count = int(2.0 * reach / 0.5) + 1
    keys, taken = np.empty(2 * len(s) * count, np.int64), 0
    for n in range(2 * len(s)):
        place = s[n // 2] + (BESIDE_PX if n & 1 else -BESIDE_PX)
        c, d = math.cos(place / radius), math.sin(place / radius)
        cx, cy = x0 + radius * c, y0 + radius * d
        x, y = matrix[0, 0] * cx + matrix[0, 1] * cy, matrix[1, 0] * cx + matrix[1, 1] * cy
        ux, uy = matrix[0, 0] * c + matrix[0, 1] * d, matrix[1, 0] * c + matrix[1, 1] * d
        inside = darkness_at(dark, x - far * ux, y - far * uy)
        outside = darkness_at(dark, x + far * ux, y + far * uy)
        if max(inside, outside) > PAPER_SHARE * darkness_at(dark, x, y):
            continue
        for k in range(count):
            t = -reach + 0.5 * k
            column, row = int(np.rint(x + t * ux)), int(np.rint(y + t * uy))
            if 0 <= row < rows and 0 <= column < columns:
                keys[taken] = row * columns + column
                taken += 1
    once = np.unique(keys[:taken])
    out = np.empty((len(once), 3))
    for n in range(len(once)):
        row, column = once[n] // columns, once[n] % columns
        out[n, 0], out[n, 1], out[n, 2] = column, row, dark[row, column]
    return out
