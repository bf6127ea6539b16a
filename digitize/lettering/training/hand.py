"""Our own hands: the figures of hand.toml, each hand keeping to its own variants, and signs that no face holds."""

import math
import tomllib
from pathlib import Path

import numpy as np

from digitize.lettering.training.faces import Face, Glyph, Points

TABLE = Path(__file__).with_name("hand.toml")
CURVE_STEPS = 6
CIRCLE_STEPS = 20
GAP = 0.26  # between two figures of a hand, in figure heights
PENNED_MARKS = 0.3  # of training crops in type: their foot and inch marks are drawn with a pen
Rng = np.random.Generator


def hand(rng: Rng, letters: Face, split: str) -> Face:
    """A new hand: one variant of each figure, letters after ``letters``.

    Parameters
    ----------
    rng : numpy Generator
    letters : Face
        A stroke face that lends its letters.
    split : str
        "test" uses only the variants that training never sees, "calibrate" all of them.
    """
    glyphs = dict(letters.glyphs)
    wide = rng.uniform(0.8, 1.25)
    for figure, variants in _VARIANTS[split].items():
        strokes = variants[rng.integers(len(variants))]
        parts = tuple(_widened(stroke, wide) for stroke in strokes)
        glyphs[figure] = Glyph(parts, float(max(p[:, 0].max() for p in parts)) + GAP, False)
    return Face("own", "own", split, glyphs)


def with_signs(rng: Rng, face: Face) -> Face:
    """The face with the signs it lacks, and now and then with drawn ones in place of its own.

    Type was cut without slanting foot and inch marks: whoever lettered a plate in it drew them with the pen.
    """
    glyphs = dict(face.glyphs)
    penned = PENNED_MARKS if face.split == "train" else 0.0
    cross = ("×", "x", "X", None)[rng.integers(4)]
    glyphs["×"] = glyphs[cross] if cross in glyphs else Glyph(*_times(rng), False)
    for sign, draw in _SIGNS.items():
        drawn = 0.5 if sign in glyphs and not glyphs[sign].filled else penned if sign in "'\"" else 0.0
        if sign not in glyphs or rng.random() < drawn:
            glyphs[sign] = Glyph(*draw(rng), False)
    return Face(face.name, face.group, face.split, glyphs)


def _widened(stroke: Points, wide: float) -> Points:
    return stroke * np.array([wide, 1], np.float32)


def _stroke(text: str) -> Points:
    form, *rest = text.split()
    if form == "o":
        return ellipse(*(float(v) for v in rest))
    points = np.array([[float(v) for v in pair.split(",")] for pair in rest], np.float32)
    return smooth(points) if form == "~" else points


def ellipse(x: float, y: float, rx: float, ry: float) -> Points:
    """A closed ellipse as a polyline."""
    turn = np.linspace(0, 2 * math.pi, CIRCLE_STEPS + 1) + math.pi / 2
    return np.stack([x + rx * np.cos(turn), y + ry * np.sin(turn)], axis=1).astype(np.float32)


def smooth(points: Points) -> Points:
    """Catmull-Rom spline through the points."""
    padded = np.concatenate([2 * points[:1] - points[1:2], points, 2 * points[-1:] - points[-2:-1]])
    t = np.linspace(0, 1, CURVE_STEPS, endpoint=False)[:, None, None]
    a, b, c, d = padded[:-3], padded[1:-2], padded[2:-1], padded[3:]
    curve = 0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)
    return np.concatenate([curve.transpose(1, 0, 2).reshape(-1, 2), points[-1:]]).astype(np.float32)


def _line(*values: float) -> Points:
    return np.array(values, np.float32).reshape(-1, 2)


def _inch(rng: Rng) -> tuple[tuple[Points, ...], float]:
    lean, long, apart = rng.uniform(-0.02, 0.3), rng.uniform(0.16, 0.5), rng.uniform(0.1, 0.28)
    marks = tuple(_line(x + lean, 1.05, x, 1.05 - long) for x in (0.0, apart))
    return marks, apart + 0.25


def _foot(rng: Rng) -> tuple[tuple[Points, ...], float]:
    lean, long = rng.uniform(-0.02, 0.24), rng.uniform(0.18, 0.44)
    return (_line(lean, 1.05, 0, 1.05 - long),), 0.28


def _degree(rng: Rng) -> tuple[tuple[Points, ...], float]:
    r = rng.uniform(0.1, 0.19)
    return (ellipse(r, 1.05 - r, r, r * rng.uniform(0.9, 1.2)),), 2 * r + 0.2


def _diameter(rng: Rng) -> tuple[tuple[Points, ...], float]:
    r, over, lean = rng.uniform(0.26, 0.42), rng.uniform(0.02, 0.22), rng.uniform(0.5, 1.0)
    slash = _line(r - lean * (r + over), 0.5 - r - over, r + lean * (r + over), 0.5 + r + over)
    return (ellipse(r, 0.5, r, r), slash), 2 * r + 0.3


def _plus_minus(rng: Rng) -> tuple[tuple[Points, ...], float]:
    w, y, low = rng.uniform(0.4, 0.6), rng.uniform(0.5, 0.62), rng.uniform(0.02, 0.16)
    return (_line(0, y, w, y), _line(w / 2, y - w / 2, w / 2, y + w / 2), _line(0, low, w, low)), w + 0.25


def _square(rng: Rng) -> tuple[tuple[Points, ...], float]:
    s = rng.uniform(0.5, 0.8)
    return (_line(0, 0.05, s, 0.05, s, s, 0, s, 0, 0.05),), s + 0.28


def _times(rng: Rng) -> tuple[tuple[Points, ...], float]:
    half, y = rng.uniform(0.14, 0.3), rng.uniform(0.3, 0.5)
    rising, falling = _line(0, y - half, 2 * half, y + half), _line(0, y + half, 2 * half, y - half)
    return (rising, falling), 2 * half + 0.3


def _stop(rng: Rng) -> tuple[tuple[Points, ...], float]:
    r = rng.uniform(0.02, 0.065)
    return (ellipse(r, r, r, r),), 2 * r + rng.uniform(0.15, 0.4)


def _table(key: str) -> dict[str, tuple[tuple[Points, ...], ...]]:
    table = tomllib.loads(TABLE.read_text(encoding="utf-8"))[key]
    return {figure: tuple(tuple(_stroke(s) for s in v) for v in variants) for figure, variants in table.items()}


_SHOWN, _HELD = _table("figures"), _table("held")
_VARIANTS = {"train": _SHOWN, "test": _HELD, "calibrate": {figure: _SHOWN[figure] + _HELD[figure] for figure in _SHOWN}}
_SIGNS = {'"': _inch, "'": _foot, "°": _degree, "Ø": _diameter, "±": _plus_minus, "□": _square, ".": _stop}
