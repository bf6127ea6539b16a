"""A table that lists several gears side by side: which column each row is of, and which of the gears is drawn.

A column is told to be the drawn gear's by the number of the teeth drawn, or by how much larger the outside circle is
than the pitch circle, whatever the scale.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.linking.gear_circles import GearCircle
from digitize.lettering.text import Kind, Text
from digitize.strokes.primitives import Strokes

OUTSIDE, PITCH, TEETH = "outside_diameter", "pitch_diameter", "teeth"
SAME_SHARE = 0.004
"""Two circles of one face are as large against each other as they are written, within this share: pens of .1 mm on a
pitch circle of 25 mm (common practice, no source)."""


def by_column(entries: Sequence[Entry], texts: Sequence[Text]) -> tuple[Entry, ...]:
    """Give the rows of tables that state one gear datum in several columns their columns.

    Parameters
    ----------
    entries : sequence of Entry
    texts : sequence of Text
        That the places of the entries speak of.

    Returns
    -------
    tuple of Entry
        With ``item`` where a table lists several gears.
    """
    columns: dict[tuple[str, str], set[int]] = defaultdict(set)
    for entry in entries:
        if (cell := _cell(entry, texts)) is not None:
            columns[cell[0], cell[1]].add(cell[2])
    of_gears: dict[str, set[int]] = defaultdict(set)
    for (group, _), places in columns.items():
        if len(places) > 1:
            of_gears[group] |= places
    gears = sorted((group, place) for group, places in of_gears.items() for place in places)
    items = {gear: number for number, gear in enumerate(gears, start=1)}
    return tuple(_placed(entry, _cell(entry, texts), items) for entry in entries)


def drawn_item(entries: Sequence[Entry], strokes: Strokes, circles: Mapping[str, GearCircle]) -> int | None:
    """Which of several gears is the one drawn; None where no table lists several, or the drawing does not tell."""
    gears: dict[int, dict[str, float]] = defaultdict(dict)
    for entry in entries:
        value = entry.value
        if entry.item is not None and value is not None and value.name is not None and value.nominal is not None:
            gears[entry.item][value.name] = float(value.nominal)
    fitting = [item for item, data in gears.items() if _fits(data, strokes, circles)]
    return fitting[0] if len(fitting) == 1 else None


def _fits(data: Mapping[str, float], strokes: Strokes, circles: Mapping[str, GearCircle]) -> bool:
    counts = {ring.teeth for ring in strokes.tooth_rings}
    if counts:
        return len(counts) == 1 and data.get(TEETH) in counts
    if OUTSIDE not in circles or PITCH not in circles or not data.get(PITCH) or OUTSIDE not in data:
        return False
    drawn = circles[OUTSIDE].radius_px / circles[PITCH].radius_px
    return abs(data[OUTSIDE] / data[PITCH] / drawn - 1.0) < SAME_SHARE


def _cell(entry: Entry, texts: Sequence[Text]) -> tuple[str, str, int] | None:
    """Table, datum and column of a row of gear data; None elsewhere."""
    value = entry.value
    if value is None or value.kind is not Kind.GEAR_DATA or value.name is None or value.nominal is None:
        return None
    block = texts[entry.text].block
    if block.group is None or block.column is None:
        return None
    return block.group, value.name, block.column


def _placed(entry: Entry, cell: tuple[str, str, int] | None, items: Mapping[tuple[str, int], int]) -> Entry:
    return entry if cell is None else replace(entry, item=items.get((cell[0], cell[2])))
