"""Views that are not to scale: which ones the print says so of, and what is said of those found to be."""

from collections.abc import Sequence

from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.table import ViewScale
from digitize.lettering.text import Kind, Text
from digitize.strokes.primitives import Point, Strokes, View

LEAST_VIEW_MM = 8.0
"""A title belongs to no smaller view than this, in mm of paper: the rest are stray pieces."""
LEAST_READING = 0.5
"""A note read with less confidence marks nothing."""
BLOCK_ROWS = ("material", "drawing_number", "date")
LEAST_ROWS = 2
"""Rows of a title block, or of gear data, that make what they stand in no view: a leader may say one of them."""
KEEPS_OWN = "View {view} is marked not to scale; its {count} dimensions agree on a scale of their own, which it keeps."
MARKED = (
    "View {view} is marked not to scale, and its dimensions are too few, or differ too much, to make a scale of their"
    " own: nothing in it is agreed by measuring."
)
FOUND = (
    "The dimensions of view {view} fit neither the scale of the others nor one of their own: it is not drawn to scale,"
    " or figures or lines of it were taken wrongly. Nothing in it is measured."
)


def marked_views(entries: Sequence[Entry], texts: Sequence[Text], strokes: Strokes, mm_per_px: float) -> frozenset[str]:
    """Views that the print marks as not to scale.

    Parameters
    ----------
    entries : sequence of Entry
    texts : sequence of Text
    strokes : Strokes
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    frozenset of str
        All views where a title block says it of the whole sheet, also one whose rules were lost.
    """
    drawn = drawn_to_show(strokes, mm_per_px)
    blocks = [view for view in strokes.views if view.kind == "title_block"]
    unruled = [view for view in drawn if _holds_rows(view, entries, texts)]
    shown = [view for view in drawn if view not in unruled]
    marked: set[str] = set()
    for entry in entries:
        if entry.value is None or entry.value.kind is not Kind.NOTE or not entry.value.not_to_scale:
            continue
        if entry.reading < LEAST_READING or not shown:
            continue
        at = texts[entry.text].block.centre
        of_all = any(gap(block, at) == 0 for block in (*blocks, *unruled))
        marked |= {view.id for view in shown} if of_all else {min(shown, key=lambda view: gap(view, at)).id}
    return frozenset(marked)


def _holds_rows(view: View, entries: Sequence[Entry], texts: Sequence[Text]) -> bool:
    """Is the view a title block or a table whose rules were lost?"""
    if any(entry.view == view.id and entry.measured is not None for entry in entries):
        return False
    values = [entry.value for entry in entries if entry.value and gap(view, texts[entry.text].block.centre) == 0]
    rows = [value for value in values if value.kind is Kind.GEAR_DATA or value.name in BLOCK_ROWS]
    return len(rows) >= LEAST_ROWS


def off_scale_words(scales: Sequence[ViewScale]) -> tuple[str, ...]:
    """A sentence on each view that is marked or found to be not to scale."""
    said = []
    for scale in scales:
        if scale.marked_not_to_scale:
            form = KEEPS_OWN if scale.known else MARKED
            said.append(form.format(view=scale.view, count=scale.witnesses))
        elif scale.not_to_scale:
            said.append(FOUND.format(view=scale.view))
    return tuple(said)


def drawn_to_show(strokes: Strokes, mm_per_px: float) -> list[View]:
    """Views that are no stray pieces, nor tables."""
    return [view for view in strokes.views if view.kind == "view" and extent(view) * mm_per_px >= LEAST_VIEW_MM]


def extent(view: View) -> float:
    """Longer side of a view's box, in pixels."""
    left, top, right, bottom = view.box
    return max(right - left, bottom - top)


def gap(view: View, at: Point) -> float:
    """Squared distance of a point from a view's box, 0 inside."""
    left, top, right, bottom = view.box
    dx, dy = max(left - at[0], 0.0, at[0] - right), max(top - at[1], 0.0, at[1] - bottom)
    return dx * dx + dy * dy
