"""Arrows that were taken for lettering: a shaft with a head, alone on the paper, is about as large as a letter.

What tells is the head: no letter is a straight stroke that widens evenly to a triangle at one end and is nothing else,
or a triangle with its point on a bar.

Glossary
--------
blot
    Ink of lettering that hangs together.
axis
    The straight line along most of a blot's ink.
bar
    A piece of the stroke that a head points at, where dropouts have cut that off from the rest.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.connected import connected_pieces
from calibrate.sheet import LevelSheet
from digitize.lettering.text import Lettering, TextBlock
from digitize.strokes.ground import FULL_DARKNESS, Ground
from digitize.strokes.heads.flank_fits import SHORTEST_MM
from digitize.strokes.heads.shafts import shaft_goes_on
from digitize.strokes.heads.shapes import Shape, shape_at
from digitize.strokes.primitives import Point

FloatArray = NDArray[np.float64]

AXIS_PENS = (3.0, 1.5, 0.75, 0.75)
"""The axis is fitted again and again, each time to the ink within so many pen widths of it."""
TIP_PENS = (0.0, 1.5, 3.0)
"""The tip lies so far within the blot's end, where a piece of the stroke that it points at hangs on it."""
LEAST_LENGTH, LEAST_LENGTH_AT_A_STROKE = 2.0, 1.25
"""An arrow that stands alone is this much longer than its head, one that points at a stroke so much,"""
LEAST_FLARE = 1.1
"""and its head reaches so many pen widths to either side."""
LEAST_POINTS = 3
SLIMMEST = 0.6
"""Widest arrow, or head alone, over its length."""
EDGE_PX = 1.5
"""Blurred edges of ink reach so far."""
BAR_MM = 0.8
"""About the tip so near the stroke that it points at may hang on."""
LARGEST_REST = 0.05
"""Share of a blot's ink that is neither head nor shaft at most."""
BAR_PENS = 1.5
"""Ink so near to the front of a head on a bar is the bar's."""
AROUND_PENS = 2.0
"""Heads are looked for in a blot and so far round it, in pens."""
ALL_BUT = 0.9
"""A head at a stroke whose shaft was cut off is all of its blot but the blur at its end."""
WAYS = (1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)
HALF_PX = 0.5
"""Ink reaches so far beyond the middle of its last pixel."""
NO_STRANGERS = np.zeros((0, 5))


def freed_of_arrows(sheet: LevelSheet, lettering: Lettering) -> Lettering:
    """Count the arrows among a sheet's lettering with its strokes.

    Parameters
    ----------
    sheet : LevelSheet
    lettering : Lettering

    Returns
    -------
    Lettering
        Without their ink; a block that held an arrow ends where the rest of it does.
    """
    dark = np.asarray(FULL_DARKNESS - sheet.grey, dtype=np.uint8)
    ground = Ground(dark, dark, sheet.ink, lettering.mask, sheet.paper_mm_per_px, sheet.pen_px)
    blots = connected_pieces(lettering.mask)
    mask, arrows = lettering.mask.copy(), []
    for n, (left, top, width, height) in enumerate(blots.stats[1:, :4].tolist(), start=1):
        if max(width, height) < LEAST_LENGTH_AT_A_STROKE * ground.px(SHORTEST_MM):
            continue
        blot = blots.labels[top : top + height, left : left + width] == n
        points = np.argwhere(blot)[:, ::-1] + [float(left), float(top)]
        if _is_arrow(ground, points) or _is_on_a_bar(ground, points):
            mask[top : top + height, left : left + width] &= ~blot
            arrows.append(points)
    if not arrows:
        return lettering
    blocks, rivals = (tuple(_without(some, arrows, mask)) for some in (lettering.blocks, lettering.rivals))
    return replace(lettering, blocks=blocks, mask=mask, rivals=rivals)


def _without(blocks: Iterable[TextBlock], arrows: list[FloatArray], mask: NDArray[np.bool_]) -> Iterator[TextBlock]:
    """Blocks that end where their own ink does; those that were nothing but an arrow are left out."""
    for block in blocks:
        if not any(_within(block, arrow).mean() > 0.5 for arrow in arrows):
            yield block
            continue
        left, top, right, bottom = _box(block)
        ink = np.argwhere(mask[top:bottom, left:right])[:, ::-1] + [float(left), float(top)]
        rest = ink[_within(block, ink)]
        if len(rest):
            yield replace(block, quad=_quad_about(block, rest))


def _box(block: TextBlock) -> tuple[int, int, int, int]:
    """Rows and columns about a block: left, top, right, bottom."""
    x, y = np.array(block.quad).T
    return max(0, int(x.min())), max(0, int(y.min())), math.ceil(x.max()) + 1, math.ceil(y.max()) + 1


def _axes(block: TextBlock) -> tuple[FloatArray, FloatArray]:
    """A block's top left corner, and unit vectors along its rows and down them, shape (2, 2).

    By its angle: a block of one stroke may be no pixel wide.
    """
    angle = math.radians(block.angle_deg)
    along = math.cos(angle), -math.sin(angle)
    return np.array(block.quad[0], dtype=np.float64), np.array([along, (-along[1], along[0])])


def _within(block: TextBlock, points: FloatArray) -> NDArray[np.bool_]:
    corner, axes = _axes(block)
    place = (points - corner) @ axes.T
    size = [math.dist(block.quad[0], block.quad[1]), math.dist(block.quad[0], block.quad[3])]
    return np.asarray(((place >= -HALF_PX) & (place <= np.array(size) + HALF_PX)).all(axis=1))


def _quad_about(block: TextBlock, points: FloatArray) -> tuple[Point, Point, Point, Point]:
    """The corners of a block's box drawn about points."""
    corner, axes = _axes(block)
    place = (points - corner) @ axes.T
    (left, top), (right, bottom) = place.min(axis=0) - HALF_PX, place.max(axis=0) + HALF_PX
    corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom)]) @ axes + corner
    first, second, third, fourth = ((float(x), float(y)) for x, y in corners)
    return first, second, third, fourth


def _is_arrow(ground: Ground, points: FloatArray) -> bool:
    """Whether a blot, given by its pixels, is a head on a shaft."""
    middle, axis = _axis_of(points, ground.pen_px)
    s, off = (points - middle) @ axis, (points - middle) @ np.array([-axis[1], axis[0]])
    on_axis = np.abs(off) <= 0.5 * ground.pen_px
    if not on_axis.any() or np.ptp(off) > SLIMMEST * np.ptp(s) or not _flares(ground, off):
        return False
    first, last, half_pen = float(s[on_axis].min()), float(s[on_axis].max()), 0.5 * ground.pen_px
    for end, sign in ((first, -1.0), (last, 1.0)):
        for inset in TIP_PENS:
            at = end - sign * inset * ground.pen_px
            (x, y), (dx, dy) = (middle + at * axis).tolist(), (sign * axis).tolist()
            within = _extent(ground, sign * (at - s), off)
            shape = shape_at(ground, NO_STRANGERS, x, y, dx, dy, half_pen, 0.0, half_pen, within)
            if shape is None:
                continue
            least = LEAST_LENGTH
            if _is_at_a_stroke(ground, x, y):
                cut_off = shaft_goes_on(ground, x, y, dx, dy, shape.tail)
                least = ALL_BUT if cut_off else LEAST_LENGTH_AT_A_STROKE
            if _is_all(ground, shape, sign * (at - s), off, least):
                return True
    return False


def _is_on_a_bar(ground: Ground, points: FloatArray) -> bool:
    """Whether a blot is a level or upright head with its tip on a bar, and its shaft goes on behind a gap."""
    half_pen = 0.5 * ground.pen_px
    for dx, dy in WAYS:
        ahead, across = points @ np.array([dx, dy]), points @ np.array([-dy, dx])
        back = ahead.max() - ahead
        at_bar = back <= BAR_PENS * ground.pen_px
        if at_bar.all():
            continue
        middle = float(across[~at_bar].mean())
        off = across - middle
        if np.abs(off[at_bar]).max() < np.abs(off[~at_bar]).max() + ground.pen_px or not _flares(ground, off):
            continue
        for inset in TIP_PENS:
            at = float(ahead.max()) - inset * ground.pen_px
            x, y = at * dx - middle * dy, at * dy + middle * dx
            within = _extent(ground, at - ahead, off)
            shape = shape_at(ground, NO_STRANGERS, x, y, dx, dy, half_pen, 0.0, half_pen, within)
            if shape is not None and _is_all(ground, shape, at - ahead, off, ALL_BUT):
                return shaft_goes_on(ground, x, y, dx, dy, shape.tail)
    return False


def _flares(ground: Ground, off: FloatArray) -> bool:
    """Whether a blot reaches to both sides of an axis as far as a head does."""
    return bool(min(off.max(), -off.min()) >= LEAST_FLARE * ground.pen_px)


def _extent(ground: Ground, back: FloatArray, off: FloatArray) -> tuple[float, float]:
    """How far a blot reaches behind a place and aside, with the paper round it."""
    return float(back.max()) + AROUND_PENS * ground.pen_px, float(np.abs(off).max()) + AROUND_PENS * ground.pen_px


def _is_at_a_stroke(ground: Ground, x: float, y: float) -> bool:
    """Whether ink that is no lettering lies about a point."""
    reach = ground.px(BAR_MM)
    rows, columns = (slice(max(math.floor(at - reach), 0), math.ceil(at + reach) + 1) for at in (y, x))
    return bool((ground.ink[rows, columns] & ~ground.lettering[rows, columns]).any())


def _axis_of(points: FloatArray, pen: float) -> tuple[FloatArray, FloatArray]:
    """A point of the line along most of a blot's ink, and its direction."""
    middle, axis = _main_line(points)
    for pens in AXIS_PENS:
        near = np.abs((points - middle) @ np.array([-axis[1], axis[0]])) <= pens * pen
        if near.sum() < LEAST_POINTS:
            break
        middle, axis = _main_line(points[near])
    return middle, axis


def _main_line(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean of points, and the direction in which they spread most."""
    middle = points.mean(axis=0)
    (across, both), (_, down) = (points - middle).T @ (points - middle)
    turn = math.atan2(2.0 * both, across - down) / 2.0
    return middle, np.array([math.cos(turn), math.sin(turn)])


def _is_all(ground: Ground, shape: Shape, back: FloatArray, off: FloatArray, least: float) -> bool:
    """Whether a head and a straight shaft behind it are all of a blot, whose pixels lie ``back`` from the place.

    The blot must be ``least`` times as long as the head.
    """
    body = (back > shape.tip) & (back <= shape.tail)
    seen = min(float(off[body].max(initial=0.0)), -float(off[body].min(initial=0.0)))
    if back.max() - shape.tip < least * (shape.tail - shape.tip) or seen < LEAST_FLARE * ground.pen_px:
        return False
    widest = np.where(back <= shape.tail + EDGE_PX, shape.slope * (back - shape.tip), 0.0)
    rest = np.abs(off) > np.maximum(widest, 0.5 * ground.pen_px) + EDGE_PX
    at_bar = back <= max(shape.tip, 0.0) + ground.px(BAR_MM)
    return float((rest & ~at_bar).mean()) <= LARGEST_REST
