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

from calibrate.restoring.connected import pieces_of
from calibrate.sheet import LevelSheet
from digitize.lettering.text import Lettering, TextBlock
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import FULL_DARKNESS, Ground
from digitize.strokes.heads.borne_out import Shape
from digitize.strokes.heads.flank_fits import SHORTEST_MM
from digitize.strokes.heads.shafts import shaft_goes_on
from digitize.strokes.heads.shapes import may_be_lone_heads, shape_at
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
NO_STRANGERS = np.zeros((0, 8))


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
    ground = Ground(dark, dark, dark, sheet.ink, lettering.mask, sheet.paper_mm_per_px, sheet.pen_px)
    blots = pieces_of(lettering.mask)
    mask, arrows = lettering.mask.copy(), []
    for n, (left, top, width, height) in enumerate(blots.stats[1:, :4].tolist(), start=1):
        if max(width, height) < LEAST_LENGTH_AT_A_STROKE * ground.px(SHORTEST_MM):
            continue
        blot = blots.picture(n)
        points = np.argwhere(blot)[:, ::-1] + [float(left), float(top)]
        if _is_arrow(ground, points):
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
    """Whether a blot, given by its pixels, is a head on a shaft, or a level or upright one on a bar and cut off."""
    half_pen = 0.5 * ground.pen_px
    rays, on_bar = _rays(points, ground.pen_px)
    maybe = may_be_lone_heads(ground.dark, rays, half_pen, ground.px(1.0))
    for (x, y, dx, dy, *within), at_bar in zip(rays[maybe].tolist(), on_bar[maybe].tolist(), strict=True):
        shape = shape_at(ground, NO_STRANGERS, x, y, dx, dy, half_pen, 0.0, half_pen, (within[0], within[1]))
        if shape is None:
            continue
        least, cut_off = LEAST_LENGTH, False
        if at_bar or _is_at_a_stroke(ground, x, y):
            cut_off = shaft_goes_on(ground, x, y, dx, dy, shape.tail)
            least = ALL_BUT if at_bar or cut_off else LEAST_LENGTH_AT_A_STROKE
        off = points - (x, y)
        if _is_all(ground, shape, -off @ np.array([dx, dy]), off @ np.array([-dy, dx]), least):
            return cut_off or not at_bar
    return False


@compiled
def _rays(points: FloatArray, pen: float) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Where a blot's tip may be, and which way it may point, with how far the blot reaches behind that and aside.

    Rows of x, y, dx, dy, back and aside: first the ends of its axis, then those of level and upright ways on which
    something broader lies at the tip, of which is told that they are on a bar.
    """
    rays, on_bar = np.empty((len(TIP_PENS) * (2 + len(WAYS)), 6)), np.zeros(len(TIP_PENS) * (2 + len(WAYS)), np.bool_)
    count = 0
    mx, my, ax, ay = _axis_of(points, pen)
    s, off = (points[:, 0] - mx) * ax + (points[:, 1] - my) * ay, (points[:, 1] - my) * ax - (points[:, 0] - mx) * ay
    on_axis = s[np.abs(off) <= 0.5 * pen]
    if len(on_axis) and off.max() - off.min() <= SLIMMEST * (s.max() - s.min()) and _flares(off, pen):
        for end, sign in ((on_axis.min(), -1.0), (on_axis.max(), 1.0)):
            for inset in TIP_PENS:
                at = end - sign * inset * pen
                back = (sign * (at - s)).max()
                rays[count] = mx + at * ax, my + at * ay, sign * ax, sign * ay, back, np.abs(off).max()
                count += 1
    for dx, dy in WAYS:
        ahead, across = points[:, 0] * dx + points[:, 1] * dy, points[:, 1] * dx - points[:, 0] * dy
        tip = ahead.max()
        at_bar = tip - ahead <= BAR_PENS * pen
        if at_bar.all():
            continue
        middle = across[~at_bar].mean()
        off = across - middle
        if np.abs(off[at_bar]).max() < np.abs(off[~at_bar]).max() + pen or not _flares(off, pen):
            continue
        for inset in TIP_PENS:
            at = tip - inset * pen
            back = at - ahead.min()
            rays[count] = at * dx - middle * dy, at * dy + middle * dx, dx, dy, back, np.abs(off).max()
            on_bar[count] = True
            count += 1
    rays[:, 4:] += AROUND_PENS * pen
    return rays[:count], on_bar[:count]


@compiled
def _flares(off: FloatArray, pen: float) -> bool:
    """Whether a blot reaches to both sides of an axis as far as a head does."""
    return bool(min(off.max(), -off.min()) >= LEAST_FLARE * pen)


@compiled
def _axis_of(points: FloatArray, pen: float) -> tuple[float, float, float, float]:
    """A point of the line along most of a blot's ink, and its direction."""
    near = points
    mx, my, ax, ay = _main_line(near)
    for pens in AXIS_PENS:
        near = points[np.abs((points[:, 1] - my) * ax - (points[:, 0] - mx) * ay) <= pens * pen]
        if len(near) < LEAST_POINTS:
            break
        mx, my, ax, ay = _main_line(near)
    return mx, my, ax, ay


@compiled
def _main_line(points: FloatArray) -> tuple[float, float, float, float]:
    """Mean of points, and the direction in which they spread most."""
    mx, my = points[:, 0].mean(), points[:, 1].mean()
    x, y = points[:, 0] - mx, points[:, 1] - my
    turn = math.atan2(2.0 * (x * y).sum(), (x * x).sum() - (y * y).sum()) / 2.0
    return mx, my, math.cos(turn), math.sin(turn)


def _is_at_a_stroke(ground: Ground, x: float, y: float) -> bool:
    """Whether ink that is no lettering lies about a point."""
    reach = ground.px(BAR_MM)
    rows, columns = (slice(max(math.floor(at - reach), 0), math.ceil(at + reach) + 1) for at in (y, x))
    return bool((ground.ink[rows, columns] & ~ground.lettering[rows, columns]).any())


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
