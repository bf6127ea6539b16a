"""The two edges of the ink behind the tip of an arrowhead, as they lie on the grey picture.

Glossary
--------
flank
    Distance from the line to the edge of the head (filled) or to the middle of its barb (open), the smaller of the two
    sides, so that a neighbour's ink on one side does no harm.
stranger
    See `strangers`; what lies under its ink is unknown.
"""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.profiles import darkness_at
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.heads.strangers import is_hidden

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

STEP_PX = 0.5
INK = 100.0
"""Darkness at the edge of ink."""
UNKNOWN = -2.0


@compiled
def may_widen(
    dark: ByteImage,
    strangers: FloatArray,
    x: float,
    y: float,
    dx: float,
    dy: float,
    first: float,
    last: float,
    offset: float,
) -> bool:
    """Whether there is ink beside a line on both sides, ``first`` to ``last`` px behind a tip, at an ``offset``.

    Where a stranger hides one side, the other decides.
    """
    seen = np.zeros(2, np.bool_)
    hidden = np.zeros(2, np.bool_)
    s = first
    while s <= last:
        for side in range(2):
            off = offset if side == 0 else -offset
            px, py = x - s * dx - off * dy, y - s * dy + off * dx
            if seen[side] or (hidden[side] and darkness_at(dark, px, py) < INK):
                continue  # it can tell nothing more
            if is_hidden(strangers, px, py):
                hidden[side] = True
            elif darkness_at(dark, px, py) >= INK:
                seen[side] = True
        if (seen[0] and seen[1]) or (seen[0] and hidden[1]) or (seen[1] and hidden[0]):
            return True
        s += STEP_PX
    return False


@compiled
def _directed(strangers: FloatArray) -> FloatArray:
    """Start, unit direction, length and half width of each stranger."""
    found = np.empty((len(strangers), 6))
    for k in range(len(strangers)):
        ax, ay, bx, by, half = strangers[k, :5]
        length = math.hypot(bx - ax, by - ay)
        found[k] = ax, ay, (bx - ax) / length, (by - ay) / length, length, half
    return found


@compiled
def _cover(directed: FloatArray, x: float, y: float, nx: float, ny: float, covered: BoolArray) -> None:
    """Mark where strangers lie on a section through (x, y): ``covered[i]`` is at offset (i - middle) / 2 px."""
    middle = (len(covered) - 1) // 2
    covered[:] = False
    for k in range(len(directed)):
        ax, ay, ux, uy, length, half = directed[k]
        # offsets at which the section is within half of the endless line, and within the ends
        off, turn = (y - ay) * ux - (x - ax) * uy, ny * ux - nx * uy
        along, rise = (x - ax) * ux + (y - ay) * uy, nx * ux + ny * uy
        low, high = -0.5 * middle, 0.5 * middle
        for value, slope, least, most in ((off, turn, -half, half), (along, rise, -half, length + half)):
            if abs(slope) < 1e-9:
                if not least <= value <= most:
                    high = low - 1.0
                continue
            one, two = (least - value) / slope, (most - value) / slope
            low, high = max(low, min(one, two)), min(high, max(one, two))
        for i in range(max(0, math.ceil(2.0 * low) + middle), min(2 * middle, math.floor(2.0 * high) + middle) + 1):
            covered[i] = True


@compiled
def follow_flanks(
    dark: ByteImage,
    strangers: FloatArray,
    x: float,
    y: float,
    dx: float,
    dy: float,
    first: int,
    end: int,
    farthest: float,
    inner: FloatArray,
    near: FloatArray,
    outer: FloatArray,
) -> None:
    """Edge of the ink on the line, and the edges of the next ink outside it, on both sides behind a tip.

    Steps ``first`` to ``end`` are filled in. All three have shape (2, steps); -1 where there is none within
    ``farthest`` px, `UNKNOWN` where a stranger hides it.
    """
    level = INK
    reach = int(2.0 * farthest)
    covered, directed = np.zeros(2 * reach + 1, np.bool_), _directed(strangers)
    for k in range(first, end):
        s = 0.5 * k
        cx, cy = x - s * dx, y - s * dy
        if len(directed) > 0:
            _cover(directed, cx, cy, -dy, dx, covered)
        for side in range(2):
            sign = 1 if side == 0 else -1
            inner[side, k] = -1.0
            near[side, k] = -1.0
            outer[side, k] = -1.0
            before = darkness_at(dark, cx, cy)
            state = 0
            hidden = covered[reach]
            if before < level:
                inner[side, k] = 0.0
                state = 1
            for i in range(1, reach + 1):
                t = 0.5 * i
                if covered[reach + sign * i]:
                    hidden = True
                    continue
                here = darkness_at(dark, cx - sign * t * dy, cy + sign * t * dx)
                if state != 1 and here < level:
                    at = UNKNOWN if hidden else t - 0.5 * (level - here) / max(before - here, 1e-9)
                    if state == 0:
                        inner[side, k] = at
                        state = 1
                    else:
                        outer[side, k] = at
                        break
                elif state == 1 and here >= level:
                    near[side, k] = t - 0.5 * (here - level) / max(here - before, 1e-9)
                    state = 2
                before = here
                hidden = False
            if state == 0 and hidden:
                inner[side, k] = UNKNOWN
