"""Lettering as pen strokes: stroke fonts, a draughtsman's hand, and the layout of stacked figures.

Glossary
--------
hand
    One way of lettering a whole sheet: which letter forms, how slanted, how narrow, how unsteady.
laid
    A piece of text turned into polylines, origin at the left end of its base line, in mm.
"""

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from HersheyFonts import HersheyFonts
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Rng = np.random.Generator

FRACTION = re.compile(r"(?P<num>\d+)/(?P<den>\d+)")
CAP_UNITS = 21.0  # cap height of the Hershey letters, in their own grid
HERSHEY_BASE = 9.0  # grid row of their base line, y down
HERSHEY_FONTS = ("rowmans", "futural", "futuram", "rowmand")
HAND = "hand"
LETTER_GAP = 0.22  # between letters of the hand, in cap heights: common practice, no source
WORD_GAP = 0.55
FRACTION_HEIGHT = 0.72  # numerator to whole figure; with the bar the stack is about twice the figure
BAR_CLEARANCE = 0.18  # numerator and denominator stand off the bar by this much
SLOPED_HEIGHT = 0.62  # figures of a fraction with a sloped bar
SLOPED_RISE, SLOPED_DROP = 0.5, -0.12  # base lines of its numerator and denominator
SLOPED_BAR = np.array([[0.0, -0.22], [0.5, 1.2]])
SMALL_DEVIATION = 0.75  # stacked deviations are lettered smaller than their nominal
ROW_PITCH = 1.45  # of limits one over the other


@dataclass(frozen=True)
class Hand:
    """How a sheet is lettered.

    Attributes
    ----------
    font : str
        A Hershey font's name, or "hand" for the draughtsman's own letters.
    slant_deg : float
        From the upright, positive to the right.
    width : float
        Factor on letter widths.
    wobble : float
        Unsteadiness of the pen, in cap heights (0 for a lettering guide).
    forms : int
        Chooses among alternative letter forms.
    sloped_bar : bool
        Fractions with a sloped bar; otherwise one over the other.
    """

    font: str
    slant_deg: float = 0.0
    width: float = 1.0
    wobble: float = 0.0
    forms: int = 0
    sloped_bar: bool = False


@dataclass(frozen=True)
class Laid:
    """Polylines (each ndarray, shape (N, 2), mm) and the box (left, bottom, right, top) around them."""

    strokes: tuple[FloatArray, ...]
    box: tuple[float, float, float, float]
    advance: float

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the box, in mm."""
        return self.box[2] - self.box[0], self.box[3] - self.box[1]

    def moved(self, dx: float, dy: float, factor: float = 1.0) -> "Laid":
        """Scale about the origin, then shift."""
        shift = np.array([dx, dy])
        left, bottom, right, top = (factor * v for v in self.box)
        return Laid(
            tuple(s * factor + shift for s in self.strokes),
            (left + dx, bottom + dy, right + dx, top + dy),
            self.advance * factor,
        )


def _joined(parts: list[Laid], advance: float) -> Laid:
    strokes = tuple(s for part in parts for s in part.strokes)
    if not parts:
        return Laid((), (0.0, 0.0, advance, 1.0), advance)
    boxes = np.array([part.box for part in parts])
    low, high = boxes.min(axis=0), boxes.max(axis=0)
    return Laid(strokes, (float(low[0]), float(low[1]), float(high[2]), float(high[3])), advance)


@cache
def _hand_letters() -> dict[str, list[str]]:
    tables = tomllib.loads(Path(__file__).with_name("hand.toml").read_text(encoding="utf-8"))
    return {char: forms for table in tables.values() for char, forms in table.items()}


@cache
def _hershey(font: str) -> HersheyFonts:
    fonts = HersheyFonts()
    fonts.load_default_font(font)
    return fonts


def smooth(points: FloatArray, pieces: int = 5) -> FloatArray:
    """Curve through points (centripetal tangents, Catmull-Rom), ``pieces`` chords to each span."""
    closed = bool(np.allclose(points[0], points[-1]))
    before = points[-2] if closed else 2 * points[0] - points[1]
    after = points[1] if closed else 2 * points[-1] - points[-2]
    p = np.vstack([before, points, after])
    t = np.linspace(0, 1, pieces, endpoint=False)[:, None]
    spans = [
        0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)
        for a, b, c, d in zip(p[:-3], p[1:-2], p[2:-1], p[3:], strict=True)
    ]
    return np.vstack([*spans, points[-1:]])


def _stroke(text: str) -> FloatArray:
    rounded = text.strip().startswith("~")
    points = np.array([[float(v) for v in pair.split(",")] for pair in text.replace("~", " ").split()])
    return (smooth(points) if rounded else points) / 10.0


def _hand_glyph(char: str, forms: int) -> tuple[list[FloatArray], float]:
    choices = _hand_letters()[char]
    form = choices[(forms >> (ord(char) % 7)) % len(choices)]
    strokes = [_stroke(piece) for piece in form.split("|")]
    return strokes, max(float(s[:, 0].max()) for s in strokes) + LETTER_GAP


def _font_glyph(font: str, char: str) -> tuple[list[FloatArray], float]:
    glyph = _hershey(font).all_glyphs[char]
    left = float(glyph.left_offset)
    strokes = [
        np.array([[x - left, HERSHEY_BASE - y] for x, y in stroke], dtype=np.float64) / CAP_UNITS
        for stroke in glyph.strokes
        if len(stroke) > 1
    ]
    return strokes, float(glyph.char_width) / CAP_UNITS


@cache
def glyph(font: str, char: str, forms: int) -> tuple[tuple[FloatArray, ...], float]:
    """Strokes of one letter at cap height 1, and how far the next one stands."""
    if char == " ":
        return (), WORD_GAP
    if font == HAND or char in "°Ø±×":
        strokes, advance = _hand_glyph(char, forms)
    else:
        strokes, advance = _font_glyph(font, char)
    return tuple(strokes), advance


def _wobbled(stroke: FloatArray, wobble: float, rng: Rng) -> FloatArray:
    """Displace a stroke slowly along its length, as an unsteady hand does."""
    if wobble == 0:
        return stroke
    knots = rng.normal(0, wobble, (4, 2))
    where = np.linspace(0, 3, len(stroke))
    shift = np.column_stack([np.interp(where, np.arange(4), knots[:, k]) for k in (0, 1)])
    return np.asarray(stroke + shift, dtype=np.float64)


def _run(text: str, hand: Hand, rng: Rng) -> Laid:
    """Plain letters in a row at cap height 1, not yet slanted."""
    x, parts = 0.0, []
    for char in text:
        strokes, advance = glyph(hand.font, char, hand.forms)
        size = 1 + rng.normal(0, hand.wobble) if hand.wobble else 1.0
        drop = rng.normal(0, hand.wobble) if hand.wobble else 0.0
        moved = tuple(_wobbled(s, hand.wobble, rng) * [hand.width * size, size] + [x, drop] for s in strokes)
        for stroke in moved:
            low, high = stroke.min(axis=0), stroke.max(axis=0)
            parts.append(Laid((stroke,), (low[0], low[1], high[0], high[1]), 0.0))
        x += advance * hand.width * size
    return _joined(parts, x)


def _fraction(num: str, den: str, hand: Hand, rng: Rng) -> Laid:
    size = SLOPED_HEIGHT if hand.sloped_bar else FRACTION_HEIGHT
    top, low = (_run(figures, hand, rng).moved(0, 0, size) for figures in (num, den))
    if hand.sloped_bar:
        top = top.moved(-top.box[0], SLOPED_RISE)
        bar = SLOPED_BAR + np.array([top.box[2] + BAR_CLEARANCE - _bar_run(SLOPED_RISE), 0.0])
        left = bar[0, 0] + _bar_run(SLOPED_DROP + size) + BAR_CLEARANCE
        low = low.moved(left - low.box[0], SLOPED_DROP)
    else:
        width = max(top.size[0], low.size[0])
        bar = np.array([[0.0, 0.5], [width + 0.16, 0.5]])
        top = top.moved(bar[1, 0] / 2 - (top.box[0] + top.box[2]) / 2, 0.5 + BAR_CLEARANCE)
        drop = 0.5 - BAR_CLEARANCE - FRACTION_HEIGHT
        low = low.moved(bar[1, 0] / 2 - (low.box[0] + low.box[2]) / 2, drop)
    bar = _wobbled(bar, hand.wobble, rng)
    bar_box = (bar[:, 0].min(), bar[:, 1].min(), bar[:, 0].max(), bar[:, 1].max())
    whole = _joined([top, Laid((bar,), bar_box, 0.0), low], 0.0)
    return Laid(whole.strokes, whole.box, whole.box[2] + LETTER_GAP)


def _bar_run(height: float) -> float:
    """How far a sloped bar has run to the right at a height above the base line."""
    (x0, y0), (x1, y1) = SLOPED_BAR
    return float((height - y0) / (y1 - y0) * (x1 - x0))


def _row(text: str, hand: Hand, rng: Rng) -> Laid:
    """Letters and fractions in a row; a mark that follows a fraction stands at the fraction's top."""
    x, parts, at, raised = 0.0, [], 0, 0.0
    for match in [*FRACTION.finditer(text), None]:
        plain = text[at : match.start() if match else len(text)]
        if raised and plain[:1] in "\"'°" and plain[:1]:
            part = _run(plain[0], hand, rng).moved(x, raised)
            parts.append(part)
            x, plain = x + part.advance, plain[1:]
        if plain.strip():
            part = _run(plain.rstrip() if match else plain, hand, rng).moved(x, 0)
            parts.append(part)
            x += part.advance + (0.2 if plain.endswith(" ") and match else 0)
            x += WORD_GAP * 0.5 if match and plain.endswith(" ") and not plain.rstrip()[-1:].isdigit() else 0
        elif plain:
            x += WORD_GAP
        if match:
            part = _fraction(match["num"], match["den"], hand, rng).moved(x, 0)
            parts.append(part)
            x, raised = x + part.advance, part.box[3] - 1.0
            at = match.end()
    return _joined(parts, x)


def _stacked(text: str, hand: Hand, rng: Rng) -> Laid:
    upper, lower = text.split("\n")
    if lower[:1] in "+-" and lower:
        base, _, deviation = upper.rpartition(" ")
        start = _row(base, hand, rng)
        x = start.box[2] + 0.3
        top = _row(deviation, hand, rng).moved(x, 0.56, SMALL_DEVIATION)
        low = _row(lower, hand, rng).moved(x, 0.56 - SMALL_DEVIATION * ROW_PITCH, SMALL_DEVIATION)
        return _joined([start, top, low], 0.0)
    top = _row(upper, hand, rng).moved(0, ROW_PITCH / 2)
    low = _row(lower, hand, rng).moved(0, -ROW_PITCH / 2)
    return _joined([top, low], 0.0)


def lay_out(text: str, height_mm: float, hand: Hand, rng: Rng) -> Laid:
    """Letter a text.

    Parameters
    ----------
    text : str
        Canonical text; ``n/d`` becomes a fraction, a line feed a stack.
    height_mm : float
        Cap height.
    hand : Hand
    rng : numpy.random.Generator
        Moves an unsteady pen.

    Returns
    -------
    Laid
        In mm, origin at the left end of the base line (of the middle of a stack).
    """
    laid = _stacked(text, hand, rng) if "\n" in text else _row(text, hand, rng)
    shear = np.array([[1.0, 0.0], [np.tan(np.radians(hand.slant_deg)), 1.0]])
    strokes = tuple(s @ shear * height_mm for s in laid.strokes)
    points = np.vstack(strokes) if strokes else np.zeros((1, 2))
    low, high = points.min(axis=0), points.max(axis=0)
    return Laid(strokes, (float(low[0]), float(low[1]), float(high[0]), float(high[1])), laid.advance * height_mm)
