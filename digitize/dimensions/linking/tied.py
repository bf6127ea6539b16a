"""What each value measures: figures tied to the slots that they stand at, before any state is given."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from shapely.geometry import LineString, Polygon

from digitize.dimensions.linking.arc_lengths import arc_length
from digitize.dimensions.linking.bolt_circles import WHOLE_DEG, bolt_circle, equal_holes
from digitize.dimensions.linking.candidates import Candidate
from digitize.dimensions.linking.directions import across, along, bearing_deg, fold_deg
from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.linking.gear_circles import GearCircle, gear_circles
from digitize.dimensions.linking.gear_columns import by_column, drawn_item
from digitize.dimensions.linking.leaders import Leader
from digitize.dimensions.linking.led_edges import measure_led
from digitize.dimensions.linking.link import Figure, Link, Slot, find_slots, link, measure
from digitize.dimensions.linking.openings import Opening
from digitize.dimensions.linking.span import Span
from digitize.dimensions.table import Measured
from digitize.lettering.text import Kind, Text, TextBlock, TypedValue
from digitize.strokes.primitives import Line, Point, Role, Strokes

NO_DIMENSION = (Kind.NOTE, Kind.COUNT, Kind.GEAR_DATA)
"""Kinds that stand in words or tables and are not drawn with a dimension line."""
SQUARE = 0.035
"""Cosine within which two directions are square: two degrees."""
BISECTS_MM, BISECTS_SHARE = 0.9, 0.06
"""A centre line passes through the middle of a length within this, in mm of paper and as a share of the length: it and
both ends stray by a pen of .3 mm (common practice, no source), the middle by .37 mm; here two and a half times."""
INK_MARGIN, ENDS_DEG = 0.25, 45.0
"""Strokes of a figure lie within its box, or reach beyond it by so much of its height where a piece was left out;
those that a length may end on run across it."""
VAGUE_MM, VAGUE_SHARE = 1.0, 0.1
"""A length with a larger standard error than both, in mm of paper and of itself, ends on nothing that was seen (of 674
agreed on drawn sheets the worst has .7 mm; a sheet that bows strains long ones by more, but never by a tenth)."""
LED = ("key_depth", "key_width", "width")
"""Parts of a callout that the edge at its leader's tip may show."""
SEAT_PARTS = ("key_width", "key_depth")
"""What two sizes at a leader to the corner of a keyseat are, in the order that all offices write them."""
BY = "×"
UNSEEN = ("depth", "pitch", *LED)
"""Parts of a callout that a dimension line or the circle at its leader's tip does not show."""


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
    placed = by_column(tuple(attached), texts)
    drawn = drawn_item(placed, strokes, circles)
    return tuple(
        _on_gear(entry, circles, texts[entry.text].block.centre) if entry.item in (None, drawn) else entry
        for entry in placed
    ), slots


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
    slot = found.slot
    if isinstance(slot, Span) and any(_is_ink_of(block, strokes.lines[i], slot) for i in slot.lines):
        slot = replace(slot, loose=True)
    if isinstance(slot, Span) and measured is not None and _is_vague(measured, mm_per_px):
        slot = replace(slot, certain=False)
    entry = replace(entry, slot=slot, measured=measured, view=view, link_cost=found.cost)
    return _as_diameter(entry) if _is_fit_of_turned_part(entry, strokes, mm_per_px) else entry


def _is_vague(measured: Measured, mm_per_px: float) -> bool:
    """Are the ends of a length so unsure that it says little more than that there is one?"""
    return measured.size_std > max(VAGUE_MM / mm_per_px, VAGUE_SHARE * measured.size)


def _is_ink_of(block: TextBlock, line: Line, span: Span) -> bool:
    """Is what a length seems to end on a stroke of the figure itself? Then it is cut short there."""
    turned_deg = fold_deg(bearing_deg(line.start, line.end) - bearing_deg(span.first, span.second))
    box = Polygon(block.quad).convex_hull.buffer(INK_MARGIN * block.height_px)
    return abs(turned_deg) > ENDS_DEG and bool(box.contains(LineString((line.start, line.end))))


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
        line.role is Role.CENTRE and _bisects(line, middle, span, mm_per_px) and _runs_beside(line, span, strokes)
        for line in strokes.lines
    )


def _runs_beside(axis: Line, span: Span, strokes: Strokes) -> bool:
    """Does a line run between two lines that bound a span, as the axis of what they bound does, whatever its view?"""
    length = math.dist(axis.start, axis.end)
    way = (axis.end[0] - axis.start[0]) / length, (axis.end[1] - axis.start[1]) / length
    bounds = (strokes.lines[i] for i in span.lines)
    reached = (sorted(along(end, axis.start, way) for end in (line.start, line.end)) for line in bounds)
    return any(low < length and high > 0 for low, high in reached)


def _bisects(line: Line, middle: Point, span: Span, mm_per_px: float) -> bool:
    """Does a line pass through the middle of a span, square to it?"""
    length = math.dist(line.start, line.end)
    direction = (line.end[0] - line.start[0]) / length, (line.end[1] - line.start[1]) / length
    square = abs(direction[0] * span.direction[0] + direction[1] * span.direction[1]) < SQUARE
    off_px = min(BISECTS_MM / mm_per_px, BISECTS_SHARE * span.size)
    return square and abs(across(middle, line.start, direction)) < off_px


def _as_diameter(entry: Entry) -> Entry:
    """The entry with its value a diameter; readings that say so and readings that leave it out are then one."""
    options: dict[tuple[object, ...], Candidate] = {}
    for option in entry.options:
        value = replace(option.value, kind=Kind.DIAMETER)
        same = options.get(key := (value.nominal, value.upper, value.lower))
        whole = option.probability + (same.probability if same else 0.0)
        options[key] = replace(same or replace(option, value=value), probability=whole)
    best = None if entry.value is None else replace(entry.value, kind=Kind.DIAMETER)
    return replace(entry, value=best, options=tuple(options.values()))


def _is_led(value: TypedValue, leader: Leader) -> bool:
    """Is the value one that the edge at a leader's tip shows, and no circle?"""
    edged = value.kind in (Kind.CHAMFER, Kind.ANGLE, Kind.THREAD) or value.name in LED
    return edged or (value.kind is Kind.DIAMETER and not leader.arcs)


def _is_bare_pair(entry: Entry) -> bool:
    """Is it one of two sizes at a leader, so wide by so deep, whose word for a keyseat was not read?"""
    value = entry.value
    bare = value is not None and value.kind is Kind.LINEAR and value.name is None
    return bare and entry.which < len(SEAT_PARTS) and BY in entry.options[0].text


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
    if _is_bare_pair(entry):  # a dimension line shows one size
        seat = replace(value, name=SEAT_PARTS[entry.which])
        return measure_led(found.slot, seat, block, strokes, mm_per_px) if isinstance(found.slot, Leader) else None
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
