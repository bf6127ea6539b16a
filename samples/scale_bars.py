"""A drawn scale bar: two rules with cross lines at equal divisions, figures over them, words beneath.

It is put on a finished drawing where there is room, by a random stream of its own: the drawing stays as it was.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from samples.board import segments_hit
from samples.lettering import Hand, lay_out
from samples.truth import Drawing, LineMark, Point, Quad, TextMark

DIVISIONS = {"in": (1, 2, 3, 6, 12, 24), "mm": (5, 10, 20, 50, 100, 200, 500)}
UNIT_MM = {"in": 25.4, "mm": 1.0}
WORDS = {"in": "SCALE OF INCHES", "mm": "SCALE OF MILLIMETRES"}
LEAST_DIVISION_MM = 12.0
LONGEST_MM = 110.0
MOST_DIVISIONS = 6
HEIGHT_MM = 2.0
OVER_MM = 1.2  # cross lines run on over the upper rule
FIGURE_MM, WORDS_MM, GAP_MM = 3.0, 2.5, 1.0
ROOM_MM = (8.0, 8.0, 8.0, 8.0)  # left, below, right, above
STEP_MM = 5.0
BORDER_MM = 14.0
WIDTH_MM = 0.25
LETTER_PEN = 0.09  # of the height
BAR_STREAM = 77


@dataclass(frozen=True)
class ScaleBar:
    """A bar as drawn: its first and last division in mm of paper, and what they are apart."""

    first: Point
    last: Point
    value: float
    unit: str
    divisions: int


def with_bar(drawing: Drawing, level: str, seed: int, hand: Hand) -> Drawing:
    """The drawing with a scale bar, or without where there is no room for one."""
    rng = np.random.default_rng([sum(level.encode()), seed, BAR_STREAM])
    scales = [view.scale for view in drawing.views if not view.not_to_scale]
    if not scales:
        return drawing
    mm = UNIT_MM[drawing.unit] / scales[0]
    fitting = [each for each in DIVISIONS[drawing.unit] if each * mm >= LEAST_DIVISION_MM]
    if not fitting or 2 * fitting[0] * mm > LONGEST_MM:
        return drawing
    step, count = fitting[0], min(MOST_DIVISIONS, int(LONGEST_MM / (fitting[0] * mm)))
    left, below, right, above = ROOM_MM
    size = (count * step * mm + left + right, HEIGHT_MM + below + above)
    places = [place for place in _places(drawing, size) if _is_free(drawing, (*place, *np.add(place, size)))]
    if not places:
        return drawing
    x, y = places[int(rng.integers(len(places)))]
    return _drawn(drawing, (x + left, y + below), step, count, mm, hand, rng)


def _places(drawing: Drawing, size: tuple[float, float]) -> Iterator[Point]:
    width, height = drawing.paper_mm
    for y in np.arange(BORDER_MM, height - BORDER_MM - size[1], STEP_MM):
        for x in np.arange(BORDER_MM, width - BORDER_MM - size[0], STEP_MM):
            yield float(x), float(y)


def _is_free(drawing: Drawing, box: tuple[float, ...]) -> bool:
    segments = [(*line.p0, *line.p1) for line in drawing.lines]
    corners = [quad for text in drawing.texts for quad in zip(text.quad, (*text.quad[1:], text.quad[0]), strict=True)]
    segments += [(*p, *q) for p, q in corners]
    for arc in drawing.arcs:
        angles = np.radians(arc.start_deg + np.linspace(0, arc.sweep_deg, 33))
        xy = np.array(arc.centre) + arc.radius * np.column_stack([np.cos(angles), np.sin(angles)])
        segments += [(*p, *q) for p, q in zip(xy[:-1].tolist(), xy[1:].tolist(), strict=True)]
    return not segments_hit(tuple(box), np.array(segments)).any()  # type: ignore[arg-type]


def _drawn(
    drawing: Drawing, at: Point, step: int, count: int, mm: float, hand: Hand, rng: np.random.Generator
) -> Drawing:
    pen = drawing.pen_error_mm / 2**0.5
    x = [at[0] + k * step * mm + float(rng.normal(0, 1)) * pen for k in range(count + 1)]
    low, high = at[1], at[1] + HEIGHT_MM
    rules = [((x[0], y), (x[-1], y)) for y in (low, high)]
    cross = [((each, low), (each, high + OVER_MM)) for each in x]
    lines = tuple(LineMark(p, q, "table", "solid", WIDTH_MM, None) for p, q in rules + cross)
    texts = [_text(str(k * step), (each, high + OVER_MM + GAP_MM + FIGURE_MM / 2), FIGURE_MM, hand, rng)
             for k, each in enumerate(x)]  # fmt: skip
    texts.append(_text(WORDS[drawing.unit], ((x[0] + x[-1]) / 2, low - 1.2 - WORDS_MM / 2), WORDS_MM, hand, rng))
    bar = ScaleBar((x[0], high), (x[-1], high), float(count * step), drawing.unit, count)
    return replace(drawing, lines=drawing.lines + lines, texts=drawing.texts + tuple(texts), scale_bar=bar)


def _text(text: str, centre: Point, height: float, hand: Hand, rng: np.random.Generator) -> TextMark:
    laid = lay_out(text, height, hand, rng)
    left, bottom, right, top = laid.box
    shift = np.array(centre) - [(left + right) / 2, (bottom + top) / 2]
    corners = np.array([[left, top], [right, top], [right, bottom], [left, bottom]]) + shift
    quad: Quad = tuple((float(a), float(b)) for a, b in corners)  # type: ignore[assignment]
    return TextMark(text, "note", quad, 0.0, tuple(stroke + shift for stroke in laid.strokes), LETTER_PEN * height)
