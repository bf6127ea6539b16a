"""Tables: a label in one cell and its value in the next are read as one row; further columns are values of it too."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from digitize.dimensions.linking.candidates import Parser, gives_number
from digitize.lettering.text import Kind, Reading, Text

ALTERNATIVES = 5
"""Readings of a joined row."""
LIKELY = 0.1
"""Readings of the label's kind must have at least this probability together."""


def join_cells(texts: Sequence[Text], parse: Parser) -> tuple[Text, ...]:
    """Join the label and value cells of gear data tables and title blocks.

    Parameters
    ----------
    texts : sequence of Text
    parse : callable
        Canonical text to Callout or None.

    Returns
    -------
    tuple of Text
        Rows whose joined string names its value become one text in the value's place, each value of a row that has
        several under one label; all others are untouched.
    """
    rows: dict[tuple[str, int], list[int]] = defaultdict(list)
    for i, text in enumerate(texts):
        if text.block.group is not None and text.block.row is not None and text.block.column is not None:
            rows[text.block.group, text.block.row].append(i)
    result: list[Text | None] = list(texts)
    for cells in rows.values():
        cells.sort(key=lambda i: texts[i].block.column or 0)
        last_label: int | None = None
        for before, value in pairwise(cells):
            label = before if result[before] is texts[before] else last_label
            joined = None if label is None else joined_row(texts[label], texts[value], parse)
            if label is not None and joined is not None:
                result[label], result[value], last_label = None, joined, label
    return tuple(text for text in result if text is not None)


def joined_row(label: Text, value: Text, parse: Parser) -> Text | None:
    """A label and its value as one text, or None where the two cells say nothing together.

    The label says what kind of value stands beside it: readings of another kind, inches for a pressure angle, are
    ruled out and their probability falls to the others, unless hardly any is left.
    """
    if not label.readings or not value.readings or gives_number(label.readings[0], parse):
        return None
    name = label.readings[0]
    rows = [Reading(f"{name.text} {reading.text}", reading.probability) for reading in value.readings[:ALTERNATIVES]]
    kept = [row for row in rows if _is_row(row, parse)]
    left = sum(row.probability for row in kept)
    if left < LIKELY:
        return None
    scale = name.probability * sum(row.probability for row in rows) / left
    return replace(value, readings=tuple(Reading(row.text, row.probability * scale) for row in kept))


def _is_row(reading: Reading, parse: Parser) -> bool:
    callout = parse(reading.text)
    return callout is not None and any(v.kind in (Kind.GEAR_DATA, Kind.NOTE) and v.name for v in callout.values)
