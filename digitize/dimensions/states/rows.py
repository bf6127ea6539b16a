"""What was judged as rows of the table: named by zone, in reading order, with places on the source picture."""

from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np

from calibrate.sheet import LevelSheet
from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.linking.zones import zone_of
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.table import Dimension, Measured, Point, State
from digitize.lettering.meaning.spelling import without_idle_spaces
from digitize.lettering.text import Kind, Text, TypedValue, Unit


def rows_of(judged: Sequence[Judged], texts: Sequence[Text], sheet: LevelSheet, unit: Unit) -> tuple[Dimension, ...]:
    """Rows of the table in reading order, named by zone.

    Parameters
    ----------
    judged : sequence of Judged
    texts : sequence of Text
        That the places of the entries speak of.
    sheet : LevelSheet
    unit : Unit
        The sheet's own, for what bears no mark.

    Returns
    -------
    tuple of Dimension
    """
    height, width = sheet.grey.shape
    placed = sorted(
        ((zone_of(*texts[item.entry.text].block.centre, width, height), i) for i, item in enumerate(judged)),
        key=lambda pair: (pair[0], texts[judged[pair[1]].entry.text].block.centre[::-1], judged[pair[1]].entry.which),
    )
    numbers: Counter[str] = Counter()
    shared = Counter(item.entry.text for item in judged)
    rows = []
    for zone, i in placed:
        if _is_bare_note(judged[i]):
            continue
        numbers[zone] += 1
        text = texts[judged[i].entry.text]
        callout = f"T{judged[i].entry.text + 1}" if shared[judged[i].entry.text] > 1 else None
        rows.append(_row(judged[i], text, sheet, unit, zone, f"{zone}.{numbers[zone]}", callout))
    return tuple(rows)


def _is_bare_note(item: Judged) -> bool:
    """Words are not dimensions; fields of the title block are kept apart."""
    value = item.entry.value
    if value is not None:
        return value.kind is Kind.NOTE or (value.kind is Kind.GEAR_DATA and value.nominal is None)
    return not item.entry.figures


def _row(
    item: Judged, text: Text, sheet: LevelSheet, unit: Unit, zone: str, name: str, callout: str | None
) -> Dimension:
    value = item.chosen.value if item.chosen is not None else item.entry.value
    own_unit = _own_unit(value, unit)
    read = item.chosen.text if item.chosen else (text.readings[0].text if text.readings else "")
    return Dimension(
        id=name,
        zone=zone,
        view=item.entry.view,
        kind=value.kind if value is not None else Kind.LINEAR,
        callout=callout,
        text=read,
        value=value.nominal if value is not None and item.state is not State.UNREAD else None,
        unit=own_unit,
        upper=value.upper if value is not None else None,
        lower=value.lower if value is not None else None,
        measured=item.measured,
        measured_std=item.measured_std,
        state=item.state,
        confidence=item.confidence,
        quad_px=_source_quad(text.block.quad, sheet),
        alternatives=_told_apart(read, (*(reading.text for reading in text.readings[:5]), *item.rivals)),
        evidence=item.reasons,
        name=value.name if value is not None else None,
        style=value.style if value is not None else "",
        geometry=_straight(item.entry),
        typed=value,
        place=(item.entry.text, item.entry.which),
        confirmed_by=item.confirmed_by,
        confirmed_on=item.confirmed_on,
        contradicted=item.contradicted,
        item=item.entry.item,
    )


def _told_apart(read: str, others: Iterable[str]) -> tuple[str, ...]:
    """Other readings, each once; one that differs by idle spaces alone is no other reading."""
    first = {without_idle_spaces(read): read}
    for other in others:
        first.setdefault(without_idle_spaces(other), other)
    return tuple(first.values())[1:]


def _straight(entry: Entry) -> Measured | None:
    """What a value measures between two points; an arc's length is no distance between its ends."""
    return None if entry.value is not None and entry.value.name == "arc" else entry.measured


def _own_unit(value: TypedValue | None, unit: Unit) -> Unit:
    if value is None:
        return unit
    return unit if value.unit is Unit.UNMARKED else value.unit


def _source_quad(quad: Sequence[Point], sheet: LevelSheet) -> tuple[Point, Point, Point, Point]:
    corners = [(float(x), float(y)) for x, y in sheet.source_points(np.array(quad, dtype=np.float64))]
    return corners[0], corners[1], corners[2], corners[3]
