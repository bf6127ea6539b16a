"""Whether what is written can be seen at all: no crop may teach, or be scored for, what its picture does not show.

A full stop that runs into its neighbour, or a foot mark that the scan swallowed, is in the truth and not in the
picture. Such crops are drawn again.
"""

import math
from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from digitize.lettering.training.faces import Points
from digitize.lettering.training.pieces import BAR, Piece, parted

Grey = NDArray[np.uint8]
Chosen = NDArray[np.bool_]
MARKS = ".,'\"°:;-"
EASILY_LOST = MARKS + BAR  # two figures over each other without their bar are limits
LOOK_PX = 24  # pixels to a figure height while looking
LEAST_ALONE, LEAST_MARK_ALONE = 0.8, 0.9  # of a glyph's or a mark's ink that no other covers
TOUCHING_PX = 1  # round a mark; what comes as near as this has run into it
MOST_TOUCHED = 0.3  # of the paper right round a mark
LEAST_LIKENESS = 0.25  # correlation of darkness with ink: less is a black, blank or wholly broken scan
LEAST_CONTRAST = 0.3  # of a mark against the paper round it, the lettering's own contrast being 1
PAPER_SHARE = 60.0  # percentile of the grey round a mark: a line through it does not hide it
RING_PX = 2
INKED = 128  # of 255: half covered


def set_apart(pieces: Sequence[Piece]) -> bool:
    """Whether every glyph shows most of its ink, and no mark runs into its neighbours."""
    points = np.concatenate([p for piece in pieces for p in piece.parts])
    low, high = points.min(axis=0) - 0.3, points.max(axis=0) + 0.3
    shape = tuple(int(v) for v in np.ceil((high - low) * LOOK_PX)[::-1])
    count = np.zeros(shape, np.uint8)
    drawn = [_drawn(piece, low, shape) for piece in pieces]
    for ink, (rows, columns) in drawn:
        count[rows, columns] += ink
    return all(
        _is_apart(piece, ink, count[rows, columns])
        for piece, (ink, (rows, columns)) in zip(pieces, drawn, strict=True)
        if piece.char
    )


def _drawn(piece: Piece, low: Points, shape: tuple[int, ...]) -> tuple[Grey, tuple[slice, slice]]:
    """A piece's ink, 0 or 1, in a window of the whole."""
    every = (np.concatenate(piece.parts) - low) * LOOK_PX
    edge = piece.pen * LOOK_PX / 2 + 3
    x0, y0 = (max(0, int(v)) for v in every.min(axis=0) - edge)
    x1, y1 = (int(v) for v in every.max(axis=0) + edge)
    rows, columns = slice(y0, min(shape[0], y1)), slice(x0, min(shape[1], x1))
    ink = np.zeros((rows.stop - rows.start, columns.stop - columns.start), np.uint8)
    lines = parted(np.rint(every - (x0, y0)).astype(np.int32)[:, None], piece.parts)
    if piece.filled:
        cv2.fillPoly(ink, lines, 1)
    else:
        cv2.polylines(ink, lines, False, 1, max(1, round(piece.pen * LOOK_PX)))
    return ink, (rows, columns)


def _is_apart(piece: Piece, ink: Grey, count: Grey) -> bool:
    own = ink > 0
    alone = _share(count == 1, own)
    if piece.char not in MARKS:
        return alone >= LEAST_ALONE
    size = 2 * TOUCHING_PX + 1
    ring = (cv2.dilate(ink, np.ones((size, size), np.uint8)) > 0) & ~own
    return alone >= LEAST_MARK_ALONE and _share(count > 0, ring) <= MOST_TOUCHED


def _share(chosen: Chosen, of: Chosen) -> float:
    return int(np.count_nonzero(chosen & of)) / max(1, int(np.count_nonzero(of)))


def is_seen(scan: Grey, text: Grey, marks: Sequence[Grey]) -> bool:
    """Whether the lettering is still in the scan, and every mark stands out from the paper round it.

    Parameters
    ----------
    scan : ndarray, uint8, shape (H, W)
        The damaged crop.
    text : ndarray, uint8, shape (H, W)
        Share of ink of all the lettering, 0 to 255, before damage.
    marks : sequence of ndarray, uint8, shape (H, W)
        The same of each mark by itself.
    """
    inked = text > INKED
    if not inked.any():
        return True
    if _likeness(scan, text) < LEAST_LIKENESS:
        return False
    contrast = _percentile(scan, 80) - cv2.mean(scan, inked.astype(np.uint8))[0]
    return all(_stands_out(scan, text, mark, LEAST_CONTRAST * contrast) for mark in marks)


def _likeness(scan: Grey, text: Grey) -> float:
    """Correlation of darkness with ink; 0 for a scan of one grey."""
    dark, ink = (255 - scan).ravel().astype(np.float32), text.ravel().astype(np.float32)
    dark -= dark.mean()
    ink -= ink.mean()
    spread = float(dark @ dark) * float(ink @ ink)
    return float(dark @ ink) / math.sqrt(spread) if spread else 0.0


def _percentile(grey: Grey, share: float) -> float:
    """The least grey that so many per cent of the pixels do not exceed."""
    counts = np.bincount(grey.ravel(), minlength=256).cumsum()
    return float(np.searchsorted(counts, share / 100 * grey.size))


def _stands_out(scan: Grey, text: Grey, mark: Grey, least: float) -> bool:
    rows, columns = (np.flatnonzero(mark.any(axis=axis)) for axis in (1, 0))
    if not len(rows):
        return False
    reach = RING_PX + 1
    window = np.s_[max(0, rows[0] - reach) : rows[-1] + reach + 1, max(0, columns[0] - reach) : columns[-1] + reach + 1]
    scan, text, mark = scan[window], text[window], mark[window]
    core = mark >= max(1, int(mark.max()) // 2)
    size = 2 * RING_PX + 1
    ring = (cv2.dilate(mark, np.ones((size, size), np.uint8)) > 0) & (mark < 32) & (text < 64)
    if not ring.any():
        return False
    return _percentile(scan[ring], PAPER_SHARE) - float(scan[core].mean()) >= least
