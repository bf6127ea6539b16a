"""What lies on, at and near lettering on a drawing: lines, arrows, hatching, dirt and neighbours."""

import math
from dataclasses import dataclass, replace

import numpy as np

from digitize.lettering.training.pieces import Piece

Rng = np.random.Generator
Box = tuple[float, float, float, float]
ARROW_WIDTH = 0.35  # of an arrowhead's length
MARK_REACH = 0.45  # figure heights from a row within which a speck may be taken for one of its marks
IN_LINE_SHARE = 0.25  # crops of sheets that break every dimension line for its figure, as book plates do
CLOSE_SHARE = 0.15  # of broken dimension lines whose ends touch the figure, or all but
DASHED_SHARE = 0.35  # of the lines through a figure
FAR = 3.0  # figure heights: beyond any crop's margin
BROAD_SHARE, BROADER = 0.3, 2.6  # of heads: two barbs of a pen, as far apart as they are long
TIP_LINE_SHARE, MET_SHARE = 0.5, 0.4  # of heads by a figure: at an extension line; of these, met by another's head


@dataclass(frozen=True)
class Likelihood:
    """How often each kind of clutter comes, by severity of the whole picture."""

    dimension_line: float
    crossing: float
    extension: float
    rule: float
    hatching: float
    arc: float
    crumbs: float


BY_LEVEL = {
    "clean": Likelihood(0.3, 0.0, 0.2, 0.05, 0.0, 0.0, 0.08),
    "medium": Likelihood(0.35, 0.1, 0.3, 0.08, 0.03, 0.06, 0.15),
    "harsh": Likelihood(0.4, 0.25, 0.4, 0.08, 0.08, 0.12, 0.2),
}


def clutter(rng: Rng, box: Box, level: str, stacked: bool) -> list[Piece]:
    """Pieces of drawing near lettering that fills ``box`` (left, foot, right, top)."""
    likely, pieces = BY_LEVEL[level], []
    if rng.random() < IN_LINE_SHARE:
        likely = replace(likely, dimension_line=1.0)
    pen = float(rng.uniform(0.03, 0.11))
    if rng.random() < likely.dimension_line:
        pieces += dimension_line(rng, box, pen)
    if rng.random() < likely.extension:
        pieces += _extension(rng, box, pen)
    if rng.random() < likely.rule:
        pieces += _rules(rng, box, pen)
    if rng.random() < likely.crossing:
        pieces += crossing(rng, box, pen)
    if rng.random() < likely.hatching:
        pieces += hatching(rng, box, pen * 0.7)
    if rng.random() < likely.arc:
        pieces.append(arc(rng, box, pen))
    if rng.random() < likely.crumbs:
        pieces += _crumbs(rng, box)
    if stacked and level != "clean" and rng.random() < 0.1:
        pieces += dimension_line(rng, box, pen)
    return pieces


def dimension_line(rng: Rng, box: Box, pen: float) -> list[Piece]:
    """A dimension line broken for the figure, or running under or through it, perhaps with its arrowheads near."""
    left, foot, right, top = box
    y = (foot + top) / 2 + rng.normal(0, 0.06)
    kind = rng.random()
    dash = float(rng.uniform(0.3, 0.7)) if rng.random() < 0.4 else 0.0
    if kind < 0.7:
        pieces = []
        apart = rng.random() < 0.15  # a sloping row may have its line's end level with its foot or its top
        close = not apart and rng.random() < CLOSE_SHARE
        for end, sign in ((left, -1), (right, 1)):
            near = end + sign * float(rng.uniform(0.15 if apart else -0.06, 0.08 if close else 0.45))
            y = float(rng.uniform(foot, top)) if apart else y
            pieces += line(near, y, near + sign * FAR, y, pen, dash)
            if rng.random() < 0.4:
                pieces += _head_by(rng, near + sign * float(rng.uniform(0.1, 0.8)), y, sign, pen)
        return pieces
    y = foot - float(rng.uniform(0.08, 0.4)) if kind < 0.9 else y
    return line(left - FAR, y, right + FAR, y, pen, dash)


def whole_line(rng: Rng, box: Box) -> tuple[list[Piece], tuple[float, float]]:
    """A dimension line broken for the figure, with arrowheads and extension lines, where the finder took all for one.

    Also returns the left and right edge of such a finder's box.
    """
    left, foot, right, top = box
    pen, y = float(rng.uniform(0.03, 0.1)), (foot + top) / 2 + float(rng.normal(0, 0.08))
    dash = float(rng.uniform(0.2, 0.7)) if rng.random() < 0.5 else 0.0
    pieces, edges = [], []
    for end, sign in ((left, -1.0), (right, 1.0)):
        near, tip = end + sign * float(rng.uniform(0.0, 0.5)), end + sign * float(rng.uniform(0.6, 3.2))
        pieces += line(near, y, tip, y, pen, dash)
        if rng.random() < 0.85:
            pieces.append(arrow(rng, tip, y, sign, pen))
        if rng.random() < 0.6:
            low, high = (y - float(rng.uniform(0.2, 2.0)), y + float(rng.uniform(0.2, 2.0)))
            pieces += line(tip, low, tip, high, pen)
        edges.append(tip + sign * float(rng.uniform(0.05, 0.4)))
    return pieces, (edges[0], edges[1])


def hatching(rng: Rng, box: Box, pen: float) -> list[Piece]:
    """Parallel lines over the box."""
    left, foot, right, top = box
    angle = math.radians(float(rng.choice((45, 135, 60, 30)) + rng.normal(0, 3)))
    pitch = float(rng.uniform(0.18, 0.6))
    middle = np.array([(left + right) / 2, (foot + top) / 2])
    along, across = np.array([math.cos(angle), math.sin(angle)]), np.array([-math.sin(angle), math.cos(angle)])
    reach = math.hypot(right - left, top - foot) / 2 + 1
    start = float(rng.uniform(-reach, 0)) if rng.random() < 0.4 else -reach
    offsets = np.arange(start, reach, pitch)
    return [
        Piece(
            (np.array([middle + o * across - reach * along, middle + o * across + reach * along], np.float32),),
            False,
            pen,
        )
        for o in offsets
    ]


def line(x0: float, y0: float, x1: float, y1: float, pen: float, dash: float = 0.0) -> list[Piece]:
    start, end = np.array([x0, y0], np.float32), np.array([x1, y1], np.float32)
    if not dash:
        return [Piece((np.stack([start, end]),), False, pen)]
    long = float(np.hypot(*(end - start)))
    at = np.arange(0, long, dash * 1.6) / long
    parts = tuple(np.stack([start + a * (end - start), start + min(1.0, a + dash / long) * (end - start)]) for a in at)
    return [Piece(parts, False, pen)]


def _head_by(rng: Rng, x: float, y: float, sign: float, pen: float) -> list[Piece]:
    """A head near a figure, perhaps at an extension line where the next dimension's head meets it."""
    pieces = [arrow(rng, x, y, sign, pen)]
    if rng.random() < TIP_LINE_SHARE:
        pieces += line(x, y - float(rng.uniform(0.2, FAR)), x, y + float(rng.uniform(0.2, FAR)), pen)
        if rng.random() < MET_SHARE:
            pieces += [arrow(rng, x, y, -sign, pen), *line(x, y, x + sign * FAR, y, pen)]
    return pieces


def arrow(rng: Rng, x: float, y: float, sign: float, pen: float, angle: float = 0.0) -> Piece:
    long = float(rng.uniform(0.4, 1.0))
    half = long * ARROW_WIDTH * float(rng.uniform(0.4, 1.0))
    if rng.random() < BROAD_SHARE:
        half *= BROADER
    shape = np.array([[-long * sign, half], [0, 0], [-long * sign, -half]], np.float32)
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]], np.float32)
    filled = bool(rng.random() < 0.6) and half < ARROW_WIDTH * long
    return Piece((shape @ turn + np.array([x, y], np.float32),), filled, pen)


def _extension(rng: Rng, box: Box, pen: float) -> list[Piece]:
    left, foot, right, top = box
    x = left - float(rng.uniform(0.08, 0.4)) if rng.random() < 0.5 else right + float(rng.uniform(0.08, 0.4))
    lean = float(rng.normal(0, 0.05))
    low = foot - FAR if rng.random() < 0.8 else float(rng.uniform(foot, top))
    return line(x - lean, low, x + lean, top + FAR, pen, float(rng.uniform(0.3, 0.6)) if rng.random() < 0.25 else 0.0)


def _rules(rng: Rng, box: Box, pen: float) -> list[Piece]:
    left, foot, right, top = box
    low, high = foot - float(rng.uniform(0.1, 0.35)), top + float(rng.uniform(0.1, 0.35))
    kind = rng.random()
    if kind < 0.35:
        return line(left - rng.uniform(-0.1, 0.2), low, right + rng.uniform(-0.1, 0.2), low, pen)
    pieces = line(left - FAR, low, right + FAR, low, pen) + line(left - FAR, high, right + FAR, high, pen)
    if kind > 0.7:
        x = left - float(rng.uniform(0.12, 0.35))
        pieces += line(x, low - FAR, x, high + FAR, pen)
    return pieces


def crossing(rng: Rng, box: Box, pen: float) -> list[Piece]:
    """A line through the box, whole or dashed as centre lines are."""
    left, foot, right, top = box
    point = np.array([rng.uniform(left, right), rng.uniform(foot, top)])
    angle = (
        float(rng.choice((0.0, math.pi / 2)) + rng.normal(0, 0.1))
        if rng.random() < 0.5
        else float(rng.uniform(0, math.pi))
    )
    way = (right - left + FAR) * np.array([math.cos(angle), math.sin(angle)])
    dash = float(rng.uniform(0.3, 0.9)) if rng.random() < DASHED_SHARE else 0.0
    (x0, y0), (x1, y1) = point - way, point + way
    return line(float(x0), float(y0), float(x1), float(y1), pen, dash)


def arc(rng: Rng, box: Box, pen: float) -> Piece:
    left, foot, right, top = box
    r = float(rng.uniform(1.0, 8.0))
    angle = float(rng.uniform(0, 2 * math.pi))
    on = np.array([rng.uniform(left - 0.3, right + 0.3), rng.uniform(foot - 0.3, top + 0.3)])
    cx, cy = on + r * np.array([math.cos(angle), math.sin(angle)])
    turn = np.linspace(0, 2 * math.pi, 90)
    circle = np.stack([cx + r * np.cos(turn), cy + r * np.sin(turn)], axis=1).astype(np.float32)
    return Piece((circle,), False, pen)


def _crumbs(rng: Rng, box: Box) -> list[Piece]:
    """Remains of lines and arrows that were taken out round the lettering, some as large as a full stop."""
    left, foot, right, top = box
    made = []
    for _ in range(int(rng.integers(1, 4))):
        away = rng.uniform(0.08, 0.45)
        x, y = rng.uniform(left - 0.3, right + 0.3), rng.uniform(foot - 0.3, top + 0.3)
        side = rng.integers(4)
        if side < 2 and not 0.35 < (y - foot) / (top - foot) < 0.65:
            away += MARK_REACH  # nearer, at the foot or at the top, nothing would tell it from a stop or a foot mark
        x = (left - away, right + away, x, x)[side]
        y = (y, y, foot - away, top + away)[side]
        size = rng.uniform(0.02, 0.06)
        shape = rng.normal((x, y), size, (int(rng.integers(3, 6)), 2))
        made.append(Piece((shape.astype(np.float32),), True, 0.0))
    return made
