"""Schedules: tables whose head names gear data and whose rows are gears, the labels over their values."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from digitize.dimensions.linking.candidates import Parser, gives_number
from digitize.dimensions.linking.cells import joined_row
from digitize.dimensions.linking.directions import fold_deg
from digitize.lettering.text import Kind, Text

FEWEST_LABELS, TEETH = 2, "teeth"
"""A head names so many data, the number of teeth among them."""
ROW_GAP = 4.0
"""Rows of a schedule follow one another within this, middle to middle, in figure heights."""
BEYOND = 3.0
"""Values stand no further left or right of the head, in figure heights."""
LEVEL = 0.6
"""Cells of one row are level within this, in figure heights."""
ALONG_DEG = 2.0


@dataclass(frozen=True)
class _Head:
    """The cells of a head from left to right, by their places, and the datum that each names; None for other words."""

    cells: tuple[int, ...]
    names: tuple[str | None, ...]


def join_schedules(texts: Sequence[Text], parse: Parser) -> tuple[Text, ...]:
    """Join the values of schedules with the labels over them.

    Parameters
    ----------
    texts : sequence of Text
    parse : callable
        Canonical text to Callout or None.

    Returns
    -------
    tuple of Text
        Each value of a schedule says what it is of, and its block the row of its gear as its column; labels that were
        joined are gone, all others are untouched.
    """
    result: list[Text | None] = list(texts)
    for head in _heads(texts, parse):
        used: set[int] = set()
        for number, row in enumerate(_rows_under(texts, head), start=1):
            made = {}
            for place, cell in enumerate(head.cells):
                value = row.get(place)
                if value is None or head.names[place] is None:
                    continue
                joined = joined_row(texts[cell], texts[value], parse)
                if joined is not None and gives_number(joined.readings[0], parse):
                    block = replace(joined.block, group=texts[cell].block.group, row=place, column=number)
                    made[value] = replace(joined, block=block), cell
            if len(made) < FEWEST_LABELS:
                break
            for value, (text, cell) in made.items():
                result[value] = text
                used.add(cell)
        for cell in used:
            result[cell] = None
    return tuple(text for text in result if text is not None)


def _heads(texts: Sequence[Text], parse: Parser) -> Iterator[_Head]:
    rows: dict[tuple[str, int], list[int]] = {}
    for i, text in enumerate(texts):
        if text.block.group is not None and text.block.row is not None and text.readings:
            rows.setdefault((text.block.group, text.block.row), []).append(i)
    for cells in rows.values():
        cells.sort(key=lambda i: texts[i].block.centre[0])
        names = tuple(_named(texts[i], parse) for i in cells)
        if TEETH in names and sum(name is not None for name in names) >= FEWEST_LABELS:
            yield _Head(tuple(cells), names)


def _named(text: Text, parse: Parser) -> str | None:
    """The gear datum that a cell names without giving it."""
    callout = parse(text.readings[0].text)
    if callout is None or len(callout.values) != 1:
        return None
    value = callout.values[0]
    return value.name if value.kind is Kind.GEAR_DATA and value.nominal is None else None


def _rows_under(texts: Sequence[Text], head: _Head) -> Iterator[dict[int, int]]:
    """The rows under a head, from the top: which text stands under which of its cells."""
    centres = [texts[i].block.centre for i in head.cells]
    high = texts[head.cells[0]].block.height_px
    walls = [(a[0] + b[0]) / 2 for a, b in pairwise(centres)]
    left = min(x for x, _ in texts[head.cells[0]].block.quad) - BEYOND * high
    right = max(x for x, _ in texts[head.cells[-1]].block.quad) + BEYOND * high
    below = sorted(
        (i for i, text in enumerate(texts) if _is_along(text) and left < text.block.centre[0] < right),
        key=lambda i: texts[i].block.centre[1],
    )
    at = centres[0][1]
    while row := [i for i in below if LEVEL * high < texts[i].block.centre[1] - at < ROW_GAP * high]:
        top = texts[row[0]].block.centre[1]
        level = [i for i in row if texts[i].block.centre[1] - top < LEVEL * high]
        yield {sum(texts[i].block.centre[0] > wall for wall in walls): i for i in level}
        at = top


def _is_along(text: Text) -> bool:
    return bool(text.readings) and abs(fold_deg(text.block.angle_deg, 360.0)) < ALONG_DEG
