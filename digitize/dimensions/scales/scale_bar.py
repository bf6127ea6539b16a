"""A drawn scale bar: level rules with cross lines at equal divisions, figures at them, words that name the unit.

The bar is taken for one only where all of this is there: the cross lines are evenly spaced from end to end of the rule,
two or more figures stand at the divisions that they count from nought at the left end, and words beside it say what
they count.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from calibrate.scaling.nominal import PEN_START_MM
from digitize.dimensions.scales.given import GivenLength
from digitize.lettering.text import Text
from digitize.strokes.primitives import Line, Strokes

LEAST_RULE_MM = 25.0
"""A bar is at least this long, in mm of paper."""
LEVEL_SLOPE = 0.01
CROSS_MM = (1.0, 10.0)
"""Length of a cross line, in mm of paper."""
SAME_PLACE_MM = 0.6
"""Cross lines this near to where they belong are taken to be there: three pen errors and some."""
LEAST_CROSS_LINES = 3
SEEN_SHARE = 0.5
"""Share of the divisions at which a cross line is seen."""
CROSS_LIKENESS = 0.4
"""Shortest over longest cross line within the rule; one may run on into a 1 over it."""
FIGURE_OFF_MM, FIGURE_AWAY_MM = 1.5, 9.0
"""A figure stands centred on its cross line to the first, and no further from the rule than the second."""
WORDS_AWAY_MM = 14.0
SURE_READING, LIKELY_READING = 0.9, 0.6
"""One figure is read as surely as the first, the others, which count evenly with it, as the second."""
LEAST_FIGURES = 2
AGREEING_SHARE = 2 / 3
"""Share of the figures read that must count evenly: one may be misread."""
WHOLE = re.compile(r"\d+")
UNITS_MM = {
    r"\bMILLIMET(RE|ER)S?\b|\bMM\b": 1.0,
    r"\bCENTIMET(RE|ER)S?\b|\bCM\b": 10.0,
    r"\bMET(RE|ER)S?\b": 1000.0,
    r"\bINCH(ES)?\b": 25.4,
    r"\bFEET\b|\bFOOT\b": 304.8,
}


@dataclass(frozen=True)
class ScaleBar:
    """A bar with its length on the part, and the texts that are its figures and words."""

    length: GivenLength
    texts: frozenset[int]


def find_scale_bar(
    strokes: Strokes, texts: Sequence[Text], mm_per_px: float, view: str | None = None
) -> ScaleBar | None:
    """Find the sheet's scale bar.

    Parameters
    ----------
    strokes : Strokes
    texts : sequence of Text
    mm_per_px : float
        Paper millimetres per level pixel.
    view : str, optional
        The view whose scale it tells.

    Returns
    -------
    ScaleBar or None
    """
    for y, places in rules_with_divisions(strokes, mm_per_px):
        figures = _figures(places, y, texts, mm_per_px)
        sure = any(texts[index].readings[0].probability >= SURE_READING for index, _, _ in figures)
        step = _step(figures) if sure else None
        words = _words(places, y, texts, mm_per_px)
        unit_mm = _unit_mm(words, texts)
        if step is None or unit_mm is None:
            continue
        value_mm = step * (len(places) - 1) * unit_mm
        std = 2**0.5 * PEN_START_MM / ((places[-1] - places[0]) * mm_per_px)
        length = GivenLength(view, value_mm, std, (places[0], y), (places[-1], y), "scale bar")
        return ScaleBar(length, frozenset(index for index, _, _ in figures) | frozenset(words))
    return None


def rules_with_divisions(strokes: Strokes, mm_per_px: float) -> list[tuple[float, list[float]]]:
    """Level rules with even cross lines from end to end: the height of each, and where its cross lines stand."""
    level = [line for line in strokes.lines if _is_level(line) and _length(line) * mm_per_px >= LEAST_RULE_MM]
    upright = [line for line in strokes.lines if _is_upright(line) and _fits_cross(line, mm_per_px)]
    found = [((rule.start[1] + rule.end[1]) / 2, _divisions(rule, upright, mm_per_px)) for rule in level]
    return [(y, places) for y, places in found if places]


def _is_level(line: Line) -> bool:
    return abs(line.end[1] - line.start[1]) < LEVEL_SLOPE * abs(line.end[0] - line.start[0])


def _is_upright(line: Line) -> bool:
    return abs(line.end[0] - line.start[0]) < 0.02 * abs(line.end[1] - line.start[1])


def _length(line: Line) -> float:
    return abs(line.end[0] - line.start[0]) + abs(line.end[1] - line.start[1])


def _fits_cross(line: Line, mm_per_px: float) -> bool:
    return CROSS_MM[0] <= _length(line) * mm_per_px <= CROSS_MM[1]


def _divisions(rule: Line, upright: Sequence[Line], mm_per_px: float) -> list[float]:
    """Places of the cross lines along a rule, where they are even and reach from end to end; else none."""
    near = SAME_PLACE_MM / mm_per_px
    y = (rule.start[1] + rule.end[1]) / 2
    left, right = sorted((rule.start[0], rule.end[0]))
    crossing = [line for line in upright if _touches(line, y, near) and left - near <= line.start[0] <= right + near]
    found = sorted((line.start[0] + line.end[0]) / 2 for line in crossing)
    if len(found) < LEAST_CROSS_LINES:
        return []
    # The ends of the rule are its first and last division, where a figure hides the cross line.
    ends = [end for end in (left, right) if all(abs(end - x) > near for x in found)]
    apart = sorted([*found, *ends])
    places = [x for i, x in enumerate(apart) if i == 0 or x - apart[i - 1] > near]
    lengths = [_length(line) for line in crossing]
    alike = min(lengths) >= CROSS_LIKENESS * max(lengths)
    return _evenly_filled(places, near) if alike else []


def _evenly_filled(places: Sequence[float], near: float) -> list[float]:
    """All divisions from the first place to the last, where those seen stand evenly and are at least half; else none.

    A cross line under a figure may have been taken for part of it: the nearest two tell how far divisions are apart.
    """
    pitch = min(b - a for a, b in pairwise(places))
    count = round((places[-1] - places[0]) / pitch)
    pitch = (places[-1] - places[0]) / count
    numbers = [round((x - places[0]) / pitch) for x in places]
    even = all(abs(x - places[0] - k * pitch) <= near for k, x in zip(numbers, places, strict=True))
    if not even or len(places) < SEEN_SHARE * (count + 1):
        return []
    seen = dict(zip(numbers, places, strict=True))
    return [seen.get(k, places[0] + k * pitch) for k in range(count + 1)]


def _touches(line: Line, y: float, near: float) -> bool:
    top, bottom = sorted((line.start[1], line.end[1]))
    return top - near <= y <= bottom + near


def _figures(places: Sequence[float], y: float, texts: Sequence[Text], mm_per_px: float) -> list[tuple[int, int, int]]:
    """Index of a text, its division, and the whole number read, for each text at a division."""
    found = []
    for index, text in enumerate(texts):
        x_text, y_text = text.block.centre
        division = min(range(len(places)), key=lambda k: abs(places[k] - x_text))
        off, away = abs(places[division] - x_text) * mm_per_px, abs(y_text - y) * mm_per_px
        if off > FIGURE_OFF_MM or away > FIGURE_AWAY_MM or not text.readings:
            continue
        best = text.readings[0]
        if WHOLE.fullmatch(best.text) and best.probability >= LIKELY_READING:
            found.append((index, division, int(best.text)))
    return found


def _step(figures: Sequence[tuple[int, int, int]]) -> float | None:
    """What one division counts, where the figures count evenly from nought at the left end."""
    steps = [value / division for _, division, value in figures if division > 0 and value > 0]
    best = max(sorted(set(steps)), key=steps.count, default=None)
    if best is None or steps.count(best) < max(LEAST_FIGURES, AGREEING_SHARE * len(steps)):
        return None
    return best


def _words(places: Sequence[float], y: float, texts: Sequence[Text], mm_per_px: float) -> list[int]:
    """Texts with letters beside the bar, from left to right."""
    reach = WORDS_AWAY_MM / mm_per_px
    near = [
        (text.block.centre[0], index)
        for index, text in enumerate(texts)
        if places[0] - reach <= text.block.centre[0] <= places[-1] + reach and abs(text.block.centre[1] - y) <= reach
    ]
    return [i for _, i in sorted(near) if texts[i].readings and re.search("[A-Za-z]{2}", texts[i].readings[0].text)]


def _unit_mm(words: Sequence[int], texts: Sequence[Text]) -> float | None:
    said = " ".join(texts[index].readings[0].text.upper() for index in words)
    found = {unit_mm for pattern, unit_mm in UNITS_MM.items() if re.search(pattern, said)}
    return found.pop() if len(found) == 1 else None
