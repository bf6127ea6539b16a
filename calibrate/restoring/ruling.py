"""Where the lines of a ruling lie, as squared paper has two.

Glossary
--------
ruling
    Equally spaced straight lines of one direction over the whole sheet, fainter than ink. Squared paper has two,
    level and upright, and often every fifth or tenth line bolder.
strip
    A band of the picture across a ruling's lines, so narrow that a sheet lying askew leaves them sharp in its mean.
phase
    By how much of a space the lines of a ruling lie off where even spacing alone would put them.

A ruling shows in a strip as a comb, and a comb is like itself moved by one tooth, by two, by three. No drawing is so
over all of its strips. Where the lines then lie is told by the phase, which changes smoothly over the sheet.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from heapq import heappop, heappush

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, next_fast_len, rfft
from scipy.ndimage import map_coordinates

from calibrate.sheet import FloatArray, GreyImage

STRIP_PX, LOOK_STEP = 48, 4
"""Width of a strip; every so many pixels along the lines are looked at."""
GLANCE = 12
"""Strips that tell whether there is a ruling at all."""
FAINT_ENOUGH = 110
"""Darkness in grey levels up to which ink counts in a strip: what is drawn may not outweigh what is ruled."""
SMOOTH_PX = 31
"""Over so many pixels a strip is evened before its teeth are looked for."""
TEETH_SHARE = 0.97
"""Part of a strip that is fainter than its teeth need be: what rises higher is cut down to it."""
NEAREST_PX, FARTHEST_PX = 9, 200
"""Spaces between ruled lines that are looked for: 1 mm at 230 dpi to 1/2 inch at 400."""
AS_LIKE = 0.8
"""The space is the least at which the comb is so nearly as like itself as where it is most."""
TEETH, LEAST_LIKENESS = 6, 0.3
"""Correlation of a strip with itself moved by one to so many teeth. On 34 drawings it was at most 0.14 moved by two."""
WINDOW_SPACES, LEAST_WINDOW_PX = 8, 192
"""A window of a strip in which the phase is told: so many lines, whatever is drawn over some."""
DEGREES = (1, 2, 3)
"""Of the polynomials that phases are fitted by, the first one that does: paper may be a little bent."""
ROUNDS, STRAYING = 10, 2.5
"""Rounds of fitting a phase, and by how many times the median straying a window may stray and have its say."""
TOOTH_REACH_PX, TOOTH_STEP_PX = 4.0, 0.25
"""Teeth are looked for so far from where the phase puts them, and how finely."""
LEAST_TOLD, AMPLY_TOLD, MOST_OFF_PX = 0.6, 0.9, 0.5
"""So much of the sheet must bear out where the lines lie, and so much is enough, to within so many pixels."""


@dataclass(frozen=True)
class Ruling:
    """Equally spaced lines of one direction.

    Attributes
    ----------
    upright : bool
    space_px : float
    terms : ndarray, float64, shape (N,)
        Polynomial in x and y over the picture's longer side: the phase, in spaces.
    side_px : int
        The picture's longer side.
    degree : int
        Of the polynomial.
    """

    upright: bool
    space_px: float
    terms: FloatArray
    side_px: int
    degree: int = 1

    def mean_space_px(self, shape: tuple[int, ...]) -> float:
        """Space between lines along one through the middle of a picture (height, width), phase and all."""
        length_px, beside_px = shape[::-1] if self.upright else shape
        ends = [[0.0, beside_px / 2], [length_px, beside_px / 2]]
        first, last = self.phase(np.array(ends)[:, :: 1 if self.upright else -1])
        return float(length_px / (length_px / self.space_px + last - first))

    def phase(self, places: FloatArray) -> FloatArray:
        """Phase at points (x, y), shape (..., 2)."""
        return np.asarray(_powers(places / self.side_px, self.degree) @ self.terms, np.float64)

    def nearest(self, places: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
        """Number of the line nearest to each point (x, y), shape (..., 2), and how far off it the point lies, in px."""
        lines = places[..., 0 if self.upright else 1] / self.space_px + self.phase(places)
        number = np.rint(lines)
        return number.astype(np.intp), np.asarray((lines - number) * self.space_px, np.float64)


def strips_across(grey: GreyImage, *, upright: bool, some: int | None = None) -> NDArray[np.float32]:
    """Mean darkness along each strip, shape (strips, pixels across the ruling), evened, its highest teeth cut down.

    ``some`` is about how many strips are wanted, evenly over the picture; else all are given.
    """
    beside = grey if upright else grey.T
    count = max(len(beside) // STRIP_PX, 1)
    every = 1 if some is None else max(count // some, 1)
    seen = beside[: count * STRIP_PX].reshape(count, -1, beside.shape[1])[::every, ::LOOK_STEP]
    faint = np.minimum(np.invert(seen), np.uint8(FAINT_ENOUGH))
    strips = np.ascontiguousarray(faint.mean(axis=1, dtype=np.float32))
    strips = np.maximum(strips - cv2.blur(strips, (SMOOTH_PX, 1)), 0)
    highest = np.quantile(strips, TEETH_SHARE, axis=1, keepdims=True)
    return np.asarray(np.minimum(strips, highest), np.float32)


def space_at_a_glance(grey: GreyImage, *, upright: bool) -> float | None:
    """Space of a ruling, in pixels, by a few strips; None where these show none, as on most sheets."""
    return space_of(strips_across(grey, upright=upright, some=GLANCE))


def space_of(strips: NDArray[np.float32]) -> float | None:
    """Space of the comb that most strips show, in pixels, or None where they show none."""
    length = strips.shape[1]
    last = min(FARTHEST_PX, length // TEETH - 1)
    if last <= NEAREST_PX:
        return None
    farthest = min(TEETH * (last + 2), length)
    size = next_fast_len(length + farthest, real=True)
    like = irfft(np.square(np.abs(rfft(strips - strips.mean(axis=1, keepdims=True), size))), size)[:, :farthest]
    own = np.median(like / np.maximum(like[:, :1], np.finfo(np.float32).tiny), axis=0)
    near = own[NEAREST_PX : last + 1]
    first = NEAREST_PX + int(np.argmax(near >= AS_LIKE * near.max()))
    tried = np.arange(first - 0.5, first + 2.0, 0.01)
    moved = np.interp(tried[:, None] * np.arange(1, TEETH + 1), np.arange(farthest), own)
    best = int(np.argmax(moved.mean(axis=1)))
    return float(tried[best]) if moved[best].min() >= LEAST_LIKENESS else None


def find_ruling(grey: GreyImage, *, upright: bool) -> Ruling | None:
    """Where the lines of a ruling lie, or None where there is none on smooth curves."""
    strips = strips_across(grey, upright=upright)
    space = space_of(strips)
    return None if space is None else _fitted(strips, space, upright, grey.shape)


def _fitted(strips: NDArray[np.float32], space: float, upright: bool, shape: tuple[int, ...]) -> Ruling | None:
    """Where the lines lie: on smooth curves that pass near the comb of each window, then drawn to its teeth.

    None where no smooth curves do.
    """
    across_px = np.asarray((np.arange(len(strips)) + 0.5) * STRIP_PX, np.float64)
    window = round(max(WINDOW_SPACES * space, LEAST_WINDOW_PX))
    starts = np.arange(0, max(strips.shape[1] - window, 0) + 1, max(window // 2, 1))
    wave = np.hanning(window) * np.exp(-2j * np.pi * np.arange(window) / space)
    waves = [strips[:, at : at + window] @ wave * np.exp(-2j * np.pi * at / space) for at in starts]
    told = np.stack(waves, axis=1)
    phase = _unwrapped(np.angle(told) / (2 * np.pi), np.abs(told))
    nearly = Ruling(upright, space, np.zeros(0), max(shape))
    places = _places(nearly, across_px[:, None], starts + window / 2)
    nearly, _ = _smooth(nearly, places, phase.ravel(), np.abs(told).ravel())
    places, phase, strength = _at_teeth(nearly, strips, across_px)
    ruling, told_share = _smooth(nearly, places, phase, strength)
    return ruling if told_share >= LEAST_TOLD else None


def _places(ruling: Ruling, across_px: FloatArray, along_px: FloatArray) -> FloatArray:
    """Points (x, y), shape (N, 2), from where they lie along a ruling's lines and across them."""
    first, second = np.broadcast_arrays(across_px, along_px)
    return np.stack([second, first] if ruling.upright else [first, second], axis=-1).reshape(-1, 2)


def _smooth(ruling: Ruling, places: FloatArray, phase: FloatArray, strength: FloatArray) -> tuple[Ruling, float]:
    """The ruling by the smoothest phase that most of those told agree on, and what share of them do."""
    best = ruling, 0.0
    for degree in DEGREES:
        design = _powers(places / ruling.side_px, degree)
        weight = strength / max(float(strength.max()), np.finfo(np.float64).tiny)
        for _ in range(ROUNDS):
            terms, *_rest = np.linalg.lstsq(design * weight[:, None], phase * weight, rcond=None)
            off_px = np.abs(design @ terms - phase) * ruling.space_px
            weight = strength * (off_px <= max(MOST_OFF_PX, STRAYING * float(np.median(off_px))))
        told = float(np.mean(off_px < MOST_OFF_PX))
        if told > best[1]:
            best = replace(ruling, terms=np.asarray(terms, np.float64), degree=degree), told
        if told >= AMPLY_TOLD:
            break
    return best


def _at_teeth(
    ruling: Ruling, strips: NDArray[np.float32], across_px: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Where the darkest teeth lie beside the lines of a ruling that is nearly right.

    Some lines in a row speak together, and what is drawn on fewer than half of them has no say.

    Returns
    -------
    places : ndarray, shape (N, 2)
    phase, strength : ndarray, shape (N,)
    """
    lines = np.arange(1, int(strips.shape[1] / ruling.space_px) - 1)
    at = np.broadcast_to(lines * ruling.space_px, (len(strips), len(lines)))
    for _ in range(2):
        places = _places(ruling, across_px[:, None], at)
        at = lines * ruling.space_px - ruling.phase(places).reshape(at.shape) * ruling.space_px
    reach = min(TOOTH_REACH_PX, ruling.space_px / 3)
    moved = np.arange(-reach, reach + TOOTH_STEP_PX, TOOTH_STEP_PX)
    rows = np.broadcast_to(np.arange(len(strips))[:, None, None], (*at.shape, len(moved)))
    seen = map_coordinates(strips, [rows, at[..., None] + moved], order=1, mode="nearest")
    found = []
    for first in range(0, max(len(lines) - TEETH, 0) + 1, TEETH // 2):
        some = slice(first, first + TEETH)
        height = np.median(seen[:, some], axis=1)
        place = _places(ruling, across_px, at[:, some].mean(axis=1))
        phase = ruling.phase(place) - (moved[0] + TOOTH_STEP_PX * _highest(height)) / ruling.space_px
        found.append((place, phase, np.ptp(height, axis=1)))
    places, phase, strength = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return places, phase, strength


def _highest(rows: NDArray[np.float32]) -> FloatArray:
    """Where each row is highest, in columns, by the parabola through its highest three."""
    row, at = np.arange(len(rows)), np.clip(np.argmax(rows, axis=1), 1, rows.shape[1] - 2)
    before, top, after = (rows[row, at + step] for step in (-1, 0, 1))
    bow = np.maximum(2 * top - before - after, np.finfo(np.float32).tiny)
    return np.asarray(at + np.clip((after - before) / (2 * bow), -1, 1), np.float64)


def _unwrapped(phase: FloatArray, strength: FloatArray) -> FloatArray:
    """Phases freed of whole spaces, from the surest window outwards, each by the neighbour it was reached from."""
    free = phase.copy()
    reached = np.zeros(phase.shape, np.bool_)
    start = tuple(int(at) for at in np.unravel_index(int(np.argmax(strength)), phase.shape))
    reached[start] = True
    waiting = [(0.0, start, start)]
    while waiting:
        _, at, before = heappop(waiting)
        free[at] += np.rint(free[before] - free[at])
        for there in _beside(at, phase.shape):
            if not reached[there]:
                reached[there] = True
                heappush(waiting, (-float(strength[there]), there, at))
    return free


def _beside(at: tuple[int, ...], shape: tuple[int, ...]) -> Iterator[tuple[int, int]]:
    for row, column in ((at[0] - 1, at[1]), (at[0] + 1, at[1]), (at[0], at[1] - 1), (at[0], at[1] + 1)):
        if 0 <= row < shape[0] and 0 <= column < shape[1]:
            yield row, column


def _powers(places: FloatArray, degree: int) -> FloatArray:
    """All products of powers of x and y up to a degree, along a last axis."""
    x, y = places[..., 0], places[..., 1]
    return np.stack([x**i * y**j for i in range(degree + 1) for j in range(degree + 1 - i)], axis=-1)
