"""Cells of one table row, joined so that a label and what is filled in are parsed together."""

from collections.abc import Sequence
from itertools import pairwise

from digitize.lettering.labels import gear_row, title_row
from digitize.lettering.text import Reading, Text


def joined_cells(texts: Sequence[Text]) -> tuple[Text, ...]:
    """Join a label with the cell to its right.

    Parameters
    ----------
    texts : sequence of Text

    Returns
    -------
    tuple of Text
        One for each pair in which the left cell is a known label without a value; its block is that of the value, its
        readings those of the value with the label before them. The cells themselves are not among them.
    """
    rows: dict[tuple[str, int], list[Text]] = {}
    for text in texts:
        if text.block.group is not None and text.block.row is not None:
            rows.setdefault((text.block.group, text.block.row), []).append(text)
    pairs = []
    for cells in rows.values():
        cells.sort(key=lambda text: text.block.column or 0)
        for label, value in pairwise(cells):
            if _is_bare_label(label) and value.readings:
                pairs.append(_joined(label, value))
    return tuple(pairs)


def _is_bare_label(text: Text) -> bool:
    if not text.readings:
        return False
    words = text.readings[0].text.upper()
    row = gear_row(words) or title_row(words)
    return row is not None and not row.filled


def _joined(label: Text, value: Text) -> Text:
    best = label.readings[0]
    readings = tuple(
        Reading(f"{best.text} {reading.text}", best.probability * reading.probability) for reading in value.readings
    )
    return Text(value.block, readings, value.reader)
