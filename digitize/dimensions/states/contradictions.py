"""Whether the drawing contradicts a figure, and whether it is the print that is wrong or its reading."""

import math
from collections.abc import Sequence
from dataclasses import replace

from digitize.dimensions.linking.directions import across, along
from digitize.dimensions.linking.entries import Entry, in_mm, is_length
from digitize.dimensions.linking.link import Slot
from digitize.dimensions.linking.openings import Opening
from digitize.dimensions.linking.span import Span
from digitize.dimensions.table import Point
from digitize.dimensions.witnesses.grounds import (
    DISPUTE_MM,
    LEAST_SINGLE,
    LOOSE_LINK,
    Stand,
    is_loose,
    longer_shown,
)
from digitize.dimensions.witnesses.slips import without_point
from digitize.dimensions.witnesses.weighing import Bench, Weighed
from digitize.dimensions.witnesses.witness import DISPUTE_Z, OWN_SHARE, RIVAL_Z, SURE_READING, Verdict
from digitize.lettering.text import Kind, TypedValue, Unit
from digitize.strokes.heads.head import LONGEST_OUTSIDE_MM

NEARBY_MM = 15.0
"""A slot is nearby when an end of it is this close to the figure, in mm of paper."""

ON_LINE_MM = 2.0
"""The middle of a figure that breaks a dimension line lies this close to it, in mm of paper: half the height of one
that is high for a print (ISO 3098: 2.5 to 5 mm)."""


def free_slots(entries: Sequence[Entry], alone: Sequence[Verdict | None], bench: Bench) -> tuple[Slot, ...]:
    """The slots but those whose own figure says what they measure: no other figure is of them."""
    taken = {
        id(entry.slot)
        for entry, verdict in zip(entries, alone, strict=True)
        if verdict is not None and verdict.best == 0 and verdict.z < RIVAL_Z and entry.reading > SURE_READING
    }
    return tuple(slot for slot in bench.slots if id(slot) not in taken)


Place = tuple[int, tuple[int, ...]]
"""A slot, by its identity, and the arcs that are measured at it."""


def circles_told(entries: Sequence[Entry], alone: Sequence[Verdict | None]) -> frozenset[Place]:
    """The circles that figures lead to and give the size of: another value of the same callout is not of them."""
    told = zip(entries, alone, strict=True)
    fitting = (entry for entry, verdict in told if verdict is not None and verdict.best == 0 and verdict.z < RIVAL_Z)
    return frozenset(place for entry in fitting if (place := _circle_of(entry)) is not None)


def _circle_of(entry: Entry) -> Place | None:
    """The circle that an entry is measured at, and the slot that leads there."""
    if entry.slot is None or entry.measured is None or not entry.measured.arcs:
        return None
    return id(entry.slot), entry.measured.arcs


def misfits(entries: Sequence[Entry], weighed: Sequence[Weighed | None]) -> list[tuple[Point, TypedValue]]:
    """Where lengths stand that do not fit the lines they are tied to, and what they say."""
    return [
        (entry.measured.text_at, entry.options[0].value)
        for entry, w in zip(entries, weighed, strict=True)
        if w is not None and entry.measured is not None and is_length(entry.options[0].value)
        if abs(w.measured - w.expected[0]) > DISPUTE_Z * w.sigma
    ]


def is_contradicted(entry: Entry, w: Weighed, stand: Stand, bench: Bench) -> bool:
    """Does a figure stand where it surely measures something else, and nothing near it fits?

    Holes may be hidden or missed: a count that differs is a doubt, not a contradiction.
    """
    counted = entry.value is not None and entry.value.kind is Kind.COUNT
    apart = stand.z > DISPUTE_Z and (_is_angle(entry) or stand.z * w.sigma > max(DISPUTE_MM, w.unsure))
    standing_there = entry.certain_line and not is_loose(entry) and entry.link_cost < LOOSE_LINK
    of_its_callout = _circle_of(entry) in bench.circles_told
    tied_wrongly = of_its_callout or _another_fits(entry, w, stand.best, bench) or _is_of_another(entry, w, bench)
    return apart and standing_there and not counted and not tied_wrongly


def none_fits(entry: Entry, w: Weighed) -> bool:
    """Is it sure that the print says one of the readings that do not fit, whichever of them it is?"""
    off = zip(entry.options, w.expected, strict=True)
    apart = sum(option.probability for option, each in off if abs(w.measured - each) > RIVAL_Z * w.sigma)
    return entry.reading >= LEAST_SINGLE and apart * (1.0 - entry.unlisted) > SURE_READING


def is_slip(entry: Entry, w: Weighed, stand: Stand, bench: Bench) -> bool:
    """Is the reader likelier at fault than the print?"""
    return (
        _own_slip(entry, stand)
        or _is_marked_alone(entry, w, stand, bench)
        or longer_shown(entry, w, stand, bench) is not None
    )


def is_of_several(entry: Entry, bench: Bench) -> bool:
    """Does the slot run from one length of a row into another, since heads between the two were missed?

    It does where a figure that is tied to nothing, or to what it does not fit, stands on the same dimension line, and
    where heads look at each other over more of the paper than one figure needs.
    """
    if not isinstance(entry.slot, Span) or entry.measured is None:
        return False
    span, reach = entry.slot, NEARBY_MM / bench.mm_per_px
    if span.outside and span.size * bench.mm_per_px > LONGEST_OUTSIDE_MM:
        return True
    ends = [along(end, span.first, span.direction) for end in (span.first, span.second, *span.tails)]
    return any(
        abs(across(at, span.first, span.direction)) * bench.mm_per_px < ON_LINE_MM
        and min(ends) - reach < along(at, span.first, span.direction) < max(ends) + reach
        for at, _ in bench.unplaced
        if at != entry.measured.text_at
    )


def _own_slip(entry: Entry, stand: Stand) -> bool:
    """Does another reading that the reader thought of itself, or the same without its point, fit what is drawn?"""
    if stand.verdict.fitting in (None, stand.best):
        return False
    fitting = entry.options[stand.verdict.fitting or 0]
    return fitting.probability > OWN_SHARE or without_point(entry.options[stand.best].value, fitting.value)


def _is_marked_alone(entry: Entry, w: Weighed, stand: Stand, bench: Bench) -> bool:
    """Does the same number fit in the unit of the sheet? An inch mark, say, was then a speck."""
    value = entry.options[stand.best].value
    bare = in_mm(replace(value, unit=Unit.UNMARKED), bench.unit)
    if value.unit is Unit.UNMARKED or not is_length(value) or bare is None:
        return False
    return abs(w.measured - float(bare) / w.part_per_paper) < RIVAL_Z * w.sigma


def _is_angle(entry: Entry) -> bool:
    return entry.value is not None and entry.value.kind is Kind.ANGLE


def _another_fits(entry: Entry, w: Weighed, best: int, bench: Bench) -> bool:
    """Does another slot near the figure fit its reading? Then the link is in doubt, not the figure."""
    if entry.measured is None or entry.slot is None:
        return False
    at = entry.measured.text_at
    for slot in bench.slots:
        if slot is entry.slot or isinstance(slot, Opening) is not _is_angle(entry):
            continue
        size, points = _size(slot)
        if size is None or min(math.dist(at, point) for point in points) * bench.mm_per_px > NEARBY_MM:
            continue
        measured = size if isinstance(slot, Opening) else size * bench.mm_per_px
        if abs(measured - w.expected[best]) < RIVAL_Z * w.sigma:
            return True
    return False


def _is_of_another(entry: Entry, w: Weighed, bench: Bench) -> bool:
    """Does a figure that is tied to nothing, or to what it does not fit, stand at the slot and say what it measures?

    Then the slot is likely its.
    """
    if entry.slot is None or _is_angle(entry):
        return False
    tails = entry.slot.tails if isinstance(entry.slot, Span) else ()
    points = (*_size(entry.slot)[1], *tails)
    near = (
        value
        for at, value in bench.unplaced
        if min(math.dist(at, point) for point in points) * bench.mm_per_px < NEARBY_MM
    )
    said = (float(in_mm(value, bench.unit) or 0) / w.part_per_paper for value in near)
    return any(abs(length - w.measured) < RIVAL_Z * w.sigma for length in said)


def _size(slot: Slot) -> tuple[float | None, tuple[tuple[float, float], ...]]:
    if isinstance(slot, Span):
        middle = (slot.first[0] + slot.second[0]) / 2, (slot.first[1] + slot.second[1]) / 2
        return slot.size, (slot.first, slot.second, middle)
    if isinstance(slot, Opening):
        return slot.size_deg, (slot.middle,)
    return None, (slot.tail,)
