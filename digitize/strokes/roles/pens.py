"""The pens of a sheet: strokes in groups of one width, measured by the ink that they leave.

A profile's width at half level is too wide for lines of one or two pixels, which blur spreads. The darkness across a
line, over that of full ink, is its width whatever the blur; full ink is what the widest lines show in their middle.
"""

from dataclasses import dataclass

import numpy as np

from digitize.strokes.centre_lines.profiles import darkness_at
from digitize.strokes.centre_lines.refine import FloatArray
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Pen
from digitize.strokes.runs import run_extents
from digitize.strokes.table import WIDTH, point_on
from digitize.strokes.widths import otsu_cut, weighted_median

LEAST_LENGTH_MM = 5.0
"""A shorter stroke does not show its width well."""
LEAST_GROUP_MM = 25.0
"""What one pen drew is at least this long in all."""
LEAST_RATIO, LEAST_SCATTERS, LEAST_STEP_PX = 1.2, 4.0, 0.4
"""Two pens differ by this ratio, by so many times the scatter within their groups, and by this much."""
MOST_PIECES, POINTS_OF_A_PIECE, STEP_PX = 40, 10, 0.5
"""The longest of a group tell enough."""
CLEAR_WIDTHS = 1.5
"""Points this near to the end of a run are left out."""
BEYOND_PX = 2.5
"""The blurred edge of a line ends so far beyond its half level; the paper beside it is measured there."""
FULL_PX = 4.0
"""A line this wide is full ink in its middle."""
LEAST_STD_PX = 0.2
"""No width is known better: what scanner and restoring did to the edges of ink is the same all along (from trials)."""


@dataclass(frozen=True)
class _Group:
    """Pieces of one pen: their widths at half level and lengths, and their numbers."""

    width: FloatArray
    length: FloatArray
    pieces: tuple[Piece, ...]


def find_pens(ground: Ground, pieces: list[Piece]) -> tuple[Pen, ...]:
    """Find the groups of width among the strokes of a sheet, the finest first.

    Parameters
    ----------
    ground : Ground
    pieces : list of Piece

    Returns
    -------
    tuple of Pen
        Empty where no stroke is long enough to tell.
    """
    long = sorted((p for p in pieces if p.inked >= ground.px(LEAST_LENGTH_MM)), key=lambda p: p.width)
    if not long:
        return ()
    width, length = np.array([p.width for p in long]), np.array([p.inked for p in long])
    groups = _parted(ground, _Group(width, length, tuple(long)))
    ink = [_ink_of_group(ground, group) for group in groups]
    return tuple(_pen(group, *own, ink[-1][1]) for group, own in zip(groups, ink, strict=True))


def _pen(group: _Group, area: float, middle: float, full: float) -> Pen:
    """The pen of a group, from the darkness across it and in its middle, and that of the widest lines' middles."""
    seen = weighted_median(group.width, group.length)
    level = middle if seen >= FULL_PX else max(full, middle)
    scatter = 1.5 * _median(np.abs(group.width - seen), group.length)
    std = max(scatter / len(group.pieces) ** 0.5, LEAST_STD_PX)
    return Pen(area / max(level, 1.0), std, seen, float(group.length.sum()), len(group.pieces))


def _ink_of_group(ground: Ground, group: _Group) -> tuple[float, float]:
    """Darkness across a group's strokes, summed over px, and in their middle: medians."""
    longest = np.argsort(-group.length, kind="stable")[:MOST_PIECES]
    area, middle = np.median([_ink_of(ground, group.pieces[k]) for k in longest], axis=0)
    return float(area), float(middle)


def _median(value: FloatArray, weight: FloatArray) -> float:
    order = np.argsort(value)
    return weighted_median(value[order], weight[order])


def _parted(ground: Ground, group: _Group) -> list[_Group]:
    """Part a group in two, and these again, for as long as both parts are pens of their own."""
    cut = otsu_cut(group.width, group.length / group.length.sum())
    if cut is None:
        return [group]
    thin, thick = (_Group(group.width[s], group.length[s], group.pieces[s]) for s in (slice(cut), slice(cut, None)))
    fine, wide = (weighted_median(g.width, g.length) for g in (thin, thick))
    scatter = max(1.5 * _median(np.abs(g.width - m), g.length) for g, m in ((thin, fine), (thick, wide)))
    apart = wide - fine >= max(LEAST_SCATTERS * scatter, LEAST_STEP_PX) and wide >= LEAST_RATIO * fine
    enough = min(float(thin.length.sum()), float(thick.length.sum())) >= ground.px(LEAST_GROUP_MM)
    return [*_parted(ground, thin), *_parted(ground, thick)] if apart and enough else [group]


def _ink_of(ground: Ground, piece: Piece) -> tuple[float, float]:
    """Darkness across a piece, summed over px, and in its middle: medians over points along it."""
    clear = CLEAR_WIDTHS * piece.width
    ends = [(a + clear, b - clear) for a, b in run_extents(piece.track, piece.runs) if b - a > 2 * clear]
    ends = ends or run_extents(piece.track, piece.runs)
    return _ink_across(ground.dark, ground.picture_from_round, np.array(piece.row), np.array(ends))


@compiled
def _ink_across(dark: ByteImage, picture: FloatArray, row: FloatArray, extents: FloatArray) -> tuple[float, float]:
    """See `_ink_of`; ``extents`` are the parts of a row to be looked at."""
    half, points = 0.5 * row[WIDTH] + BEYOND_PX, max(POINTS_OF_A_PIECE // len(extents), 2)
    across = np.arange(-half, half + STEP_PX, STEP_PX)
    sums, middles, darkness = np.empty(len(extents) * points), np.empty(len(extents) * points), np.empty(len(across))
    for n in range(len(sums)):
        (a, b), part = extents[n // points], n % points
        for m in range(len(across)):
            x, y = point_on(row, a + (b - a) * part / (points - 1), across[m])
            px, py = picture[0, 0] * x + picture[0, 1] * y, picture[1, 0] * x + picture[1, 1] * y
            darkness[m] = darkness_at(dark, px, py)
        paper = min(darkness[:3].mean(), darkness[-3:].mean())  # beside it
        sums[n], middles[n] = (darkness - paper).sum(), darkness[len(across) // 2] - paper
    return float(np.median(sums)) * STEP_PX, float(np.median(middles))
