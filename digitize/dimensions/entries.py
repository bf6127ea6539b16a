"""One entry a value: what was read, what it may say, and what it measures, before any state is given."""

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from digitize.dimensions.arc_lengths import arc_length
from digitize.dimensions.bolt_circles import WHOLE_DEG, bolt_circle, equal_holes
from digitize.dimensions.candidates import Candidate, Parser, candidates
from digitize.dimensions.directions import across
from digitize.dimensions.gear_circles import GearCircle, gear_circles
from digitize.dimensions.leaders import Leader
from digitize.dimensions.led_edges import measure_led
from digitize.dimensions.link import Figure, Link, Slot, find_slots, link, measure
from digitize.dimensions.openings import Opening
from digitize.dimensions.spans import Span
from digitize.dimensions.table import Measured
from digitize.lettering.text import Callout, Kind, Reading, Text, TypedValue, Unit
from digitize.strokes.primitives import Line, Point, Role, Strokes

MM_PER_INCH = Fraction(254, 10)
LENGTHS = (Kind.LINEAR, Kind.DIAMETER, Kind.RADIUS, Kind.CHAMFER, Kind.THREAD)
NO_DIMENSION = (Kind.NOTE, Kind.COUNT, Kind.GEAR_DATA)
"""Kinds that stand in words or tables and are not drawn with a dimension line."""
DRAWN_DATA = ("outside_diameter", "pitch_diameter")
"""Gear data that a circle of the gear's face shows."""
SQUARE = 0.035
"""Cosine within which two directions are square: two degrees."""
BISECTS_MM = 0.4
"""A centre line passes through the middle of a length within this, in mm of paper."""
LED = ("key_depth", "key_width", "width")
"""Parts of a callout that the edge at its leader's tip may show."""
UNSEEN = ("depth", "pitch", *LED)
"""Parts of a callout that a dimension line or the circle at its leader's tip does not show."""


@dataclass(frozen=True)
class Entry:
    """One value of one figure.

    Attributes
    ----------
    text : int
        Index into the sheet's texts.
    which : int
        Place of the value in its callout.
    value : TypedValue or None
        As first read; None where nothing parses.
    options : tuple of Candidate
    measured : Measured or None
    slot : Slot or None
    view : str or None
    reading : float
        The reader's own probability of the best string.
    unlisted : float
        Probability that it says none of what the reader thought of: a part of a longer figure, say.
    why_not : str
        Why the best reading does not parse; empty where it does.
    figures : bool
        False where what was read is words, and no dimension is missed.
    link_cost : float
        How far the figure stands from where one is written for its slot, in its own heights.
    runs_on : bool
        It may be a part of something longer, by how it lies or what stands beside it.
    """

    text: int
    which: int
    value: TypedValue | None
    options: tuple[Candidate, ...]
    measured: Measured | None = None
    slot: Slot | None = None
    view: str | None = None
    reading: float = 0.0
    unlisted: float = 0.0
    why_not: str = ""
    figures: bool = True
    link_cost: float = 0.0
    runs_on: bool = False

    @property
    def certain_line(self) -> bool:
        """False where an end of the measured length had to be assumed."""
        return not isinstance(self.slot, Span) or self.slot.certain


def is_length(value: TypedValue) -> bool:
    """Is the value a length that the drawing shows?"""
    return value.kind in LENGTHS or (value.kind is Kind.GEAR_DATA and value.name in DRAWN_DATA)


def in_mm(value: TypedValue, sheet_unit: Unit) -> Fraction | None:
    """Nominal length in mm; None for what is no length."""
    unit = sheet_unit if value.unit is Unit.UNMARKED else value.unit
    if value.nominal is None or unit not in (Unit.MM, Unit.INCH):
        return None
    return value.nominal * MM_PER_INCH if unit is Unit.INCH else value.nominal


def collect(texts: Sequence[Text], parse: Parser, explain: Callable[[str], str]) -> tuple[Entry, ...]:
    """Turn readings into entries, one a value.

    Parameters
    ----------
    texts : sequence of Text
    parse : callable
        Canonical text to Callout or None.
    explain : callable
        Why a string does not parse.

    Returns
    -------
    tuple of Entry
    """
    entries: list[Entry] = []
    for index, text in enumerate(texts):
        readings = _parsing_first(text, parse)
        callout = parse(readings[0].text) if readings else None
        if callout is None:
            why = explain(text.readings[0].text) if text.readings else ""
            probability = text.readings[0].probability if text.readings else 0.0
            entries.append(Entry(index, 0, None, (), reading=probability, why_not=why, figures=not _is_words(text)))
            continue
        unlisted = max(0.0, 1.0 - sum(reading.probability for reading in text.readings))
        for which, value in enumerate(callout.values):
            options = candidates(readings, which, parse) if value.nominal is not None else ()
            reading = _marginal(readings, which, value, parse)
            entries.append(Entry(index, which, value, options, reading=reading, unlisted=unlisted))
    return tuple(entries)


def _marginal(readings: Sequence[Reading], which: int, value: TypedValue, parse: Parser) -> float:
    """Probability of one value of a callout: of all readings that agree on it, however they spell the rest."""
    key = value.kind, value.nominal, value.upper, value.lower
    total = 0.0
    for reading in readings:
        callout = parse(reading.text)
        if callout is not None and which < len(callout.values):
            other = callout.values[which]
            total += reading.probability * ((other.kind, other.nominal, other.upper, other.lower) == key)
    return min(total, 1.0)


WORDS = re.compile(r"[A-Za-z]{3}")
"""Three letters in a row are no figure."""
DATE = re.compile(r"\b(JAN|FEB|MAR|APR|MAY|JUNE?|JULY?|AUG|SEPT?|OCT|NOV|DEC)", re.IGNORECASE)
"""Digits beside a month are a date."""


def _is_words(text: Text) -> bool:
    """Was something read that is words or a date, so that no figure is missed by leaving it out?"""
    if not text.readings:
        return False
    read = text.readings[0].text
    no_digits = not any(character.isdigit() for character in read)
    return WORDS.search(read) is not None and (no_digits or DATE.search(read) is not None)


LIKELY_SLIP = 0.3
"""A second reading stands in for a first that does not parse when those that say the same are together so probable."""


def _parsing_first(text: Text, parse: Parser) -> tuple[Reading, ...]:
    """The readings from the first that parses, if that is the best one or nearly as probable."""
    parsed = [parse(reading.text) for reading in text.readings]
    for i, callout in enumerate(parsed):
        if callout is not None:
            alike = (c is not None and c.values == callout.values for c in parsed)
            likely = sum(r.probability for r, same in zip(text.readings, alike, strict=True) if same)
            return text.readings[i:] if i == 0 or likely >= LIKELY_SLIP else ()
    return ()


def attach(
    entries: Sequence[Entry], texts: Sequence[Text], strokes: Strokes, mm_per_px: float
) -> tuple[tuple[Entry, ...], tuple[Slot, ...]]:
    """Link figures to slots and measure them.

    Returns
    -------
    entries, slots
        The entries with their measurement, and every slot of the sheet.
    """
    slots = find_slots(strokes, mm_per_px)
    by_text: dict[int, list[Entry]] = {}
    for entry in entries:
        by_text.setdefault(entry.text, []).append(entry)
    figures = [
        Figure(index, texts[index].block, _kind(group)) for index, group in by_text.items() if _wants_slot(group)
    ]
    links = {found.text: found for found in link(figures, slots, mm_per_px)}
    attached = (_attach_one(entry, links.get(entry.text), texts, strokes, mm_per_px) for entry in entries)
    circles = gear_circles(strokes)
    return tuple(_on_gear(entry, circles, texts[entry.text].block.centre) for entry in attached), slots


def _kind(group: Sequence[Entry]) -> Kind | None:
    if any(entry.value is not None and entry.value.name == "arc" for entry in group):
        return Kind.ANGLE  # it stands at a curved dimension line, as an angle does
    kinds = [entry.value.kind for entry in group if entry.value is not None and entry.value.kind is not Kind.COUNT]
    return kinds[0] if kinds else None


def _wants_slot(group: Sequence[Entry]) -> bool:
    kind = _kind(group)
    return kind not in NO_DIMENSION and all(entry.measured is None for entry in group)


def _on_gear(entry: Entry, circles: Mapping[str, GearCircle], text_at: Point) -> Entry:
    """Let a data block's diameters be measured on the circles of the drawn gear."""
    value = entry.value
    if value is None or value.kind is not Kind.GEAR_DATA or value.name is None or value.name not in circles:
        return entry
    circle = circles[value.name]
    (x, y), radius = circle.centre, circle.radius_px
    arcs = () if circle.arc is None else (circle.arc,)
    measured = Measured(
        Kind.DIAMETER, (x - radius, y), (x + radius, y), 2 * radius, 2 * circle.radius_std_px, text_at, arcs
    )
    return replace(entry, measured=measured, view=circle.view)


def _attach_one(entry: Entry, found: Link | None, texts: Sequence[Text], strokes: Strokes, mm_per_px: float) -> Entry:
    block = texts[entry.text].block
    at_text = view_at(block.centre, strokes)
    if found is None:
        return replace(entry, view=at_text)
    measured = _measure(entry, found, texts, strokes, mm_per_px)
    view = _view_of(measured, strokes) or at_text
    entry = replace(entry, slot=found.slot, measured=measured, view=view, link_cost=found.cost)
    return _as_diameter(entry) if _is_fit_of_turned_part(entry, strokes, mm_per_px) else entry


def _is_fit_of_turned_part(entry: Entry, strokes: Strokes, mm_per_px: float) -> bool:
    """Is it a length with limits, bisected by the centre line of a view without circles?

    Such is a fit of a turned part in its side view or section, where offices left out the diameter sign.
    """
    value, span = entry.value, entry.slot
    if value is None or value.kind is not Kind.LINEAR or not isinstance(span, Span):
        return False
    if value.upper is None and value.lower is None:
        return False
    if any(arc.sweep_deg >= WHOLE_DEG and arc.role is Role.VISIBLE and arc.view == entry.view for arc in strokes.arcs):
        return False
    middle = (span.first[0] + span.second[0]) / 2, (span.first[1] + span.second[1]) / 2
    return any(
        line.role is Role.CENTRE and line.view == entry.view and _bisects(line, middle, span.direction, mm_per_px)
        for line in strokes.lines
    )


def _bisects(line: Line, middle: Point, along_span: Point, mm_per_px: float) -> bool:
    """Does a line pass through the middle of a span, square to it?"""
    length = math.dist(line.start, line.end)
    direction = (line.end[0] - line.start[0]) / length, (line.end[1] - line.start[1]) / length
    square = abs(direction[0] * along_span[0] + direction[1] * along_span[1]) < SQUARE
    return square and abs(across(middle, line.start, direction)) * mm_per_px < BISECTS_MM


def _as_diameter(entry: Entry) -> Entry:
    options = tuple(replace(option, value=replace(option.value, kind=Kind.DIAMETER)) for option in entry.options)
    value = None if entry.value is None else replace(entry.value, kind=Kind.DIAMETER)
    return replace(entry, value=value, options=options)


def _is_led(value: TypedValue, leader: Leader) -> bool:
    """Is the value one that the edge at a leader's tip shows, and no circle?"""
    edged = value.kind in (Kind.CHAMFER, Kind.ANGLE, Kind.THREAD) or value.name in LED
    return edged or (value.kind is Kind.DIAMETER and not leader.arcs)


def _measure(entry: Entry, found: Link, texts: Sequence[Text], strokes: Strokes, mm_per_px: float) -> Measured | None:
    """What the slot shows of this one value of its callout."""
    block, value = texts[entry.text].block, entry.value
    if value is None:
        return measure(found, block, Kind.LINEAR, strokes)
    if value.kind is Kind.COUNT or value.name == "bolt_circle":
        return _measure_holes(value.kind, found, block.centre, strokes)
    if value.kind in NO_DIMENSION:
        return None
    if isinstance(found.slot, Leader) and _is_led(value, found.slot):
        return measure_led(found.slot, value, block, strokes, mm_per_px)
    if value.name == "arc":
        return arc_length(found.slot, block.centre, strokes, mm_per_px) if isinstance(found.slot, Opening) else None
    if value.name in UNSEEN:
        return None
    return measure(found, block, value.kind, strokes)


def _measure_holes(kind: Kind, found: Link, text_at: Point, strokes: Strokes) -> Measured | None:
    """How many equal holes there are, or the diameter of the circle that they stand on."""
    holes = [i for i in _led_to(found.slot) if strokes.arcs[i].sweep_deg >= WHOLE_DEG]
    if not holes:
        return None
    hole = strokes.arcs[holes[0]].centre
    ring = bolt_circle(holes[0], strokes.arcs)
    if kind is Kind.COUNT:
        equal = ring.holes if ring is not None else equal_holes(holes[0], strokes.arcs)
        return Measured(Kind.COUNT, hole, hole, float(len(equal)), 0.0, text_at, equal)
    if ring is None:
        return None
    towards = (hole[0] - ring.centre[0]) / ring.radius_px, (hole[1] - ring.centre[1]) / ring.radius_px
    first, second = (
        (ring.centre[0] + sign * ring.radius_px * towards[0], ring.centre[1] + sign * ring.radius_px * towards[1])
        for sign in (-1, 1)
    )
    return Measured(Kind.DIAMETER, first, second, 2 * ring.radius_px, 2 * ring.radius_std_px, text_at, ring.holes)


def _led_to(slot: Slot) -> tuple[int, ...]:
    return slot.arcs if isinstance(slot, Leader) else ()


def _view_of(measured: Measured | None, strokes: Strokes) -> str | None:
    if measured is None:
        return None
    names = [strokes.arcs[i].view for i in measured.arcs] + [strokes.lines[i].view for i in measured.lines]
    known = [name for name in names if name is not None]
    return max(sorted(set(known)), key=known.count) if known else None


def view_at(point: tuple[float, float], strokes: Strokes) -> str | None:
    """The smallest view whose box holds the point, else the nearest."""
    inside = [v for v in strokes.views if v.box[0] <= point[0] <= v.box[2] and v.box[1] <= point[1] <= v.box[3]]
    if inside:
        return min(inside, key=lambda v: (v.box[2] - v.box[0]) * (v.box[3] - v.box[1])).id
    drawn = [v for v in strokes.views if v.kind == "view"]
    return min(drawn, key=lambda v: _box_gap(v.box, point)).id if drawn else None


def _box_gap(box: tuple[float, float, float, float], point: tuple[float, float]) -> float:
    dx = max(box[0] - point[0], 0.0, point[0] - box[2])
    dy = max(box[1] - point[1], 0.0, point[1] - box[3])
    return dx * dx + dy * dy


def parse_or_none(parse: Callable[[str], object]) -> Parser:
    """Wrap a parser whose failure is a falsy value that carries its reason."""
    memory: dict[str, Callout | None] = {}

    def parsed(text: str) -> Callout | None:
        if text not in memory:
            result = parse(text)
            memory[text] = result if isinstance(result, Callout) else None
        return memory[text]

    return parsed
