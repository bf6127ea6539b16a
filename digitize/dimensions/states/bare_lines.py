"""Dimension lines that carry no figure: where one was lost, or is too worn to be found, its line is left."""

import math
from collections.abc import Iterator, Sequence

from digitize.dimensions.linking.directions import across, along
from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.linking.link import Slot
from digitize.dimensions.linking.span import Span
from digitize.dimensions.linking.tied import view_at
from digitize.dimensions.linking.zones import zone_of
from digitize.dimensions.states.drawn_sizes import SAME_Z, Drawing, as_lacking, error_mm
from digitize.dimensions.table import BareLine, Lacking
from digitize.lettering.text import Text, TextBlock
from digitize.strokes.primitives import Point

SAME_MM = 3.0
"""Spans no further aside than this, in mm of paper, that lie over each other for longer, or for half of the shorter,
are readings of one line."""
BESIDE_HEIGHTS, PAST_MM = 1.5, 12.0
"""A figure stands no further than this from its line, in its own heights, and no further past the tails, in mm."""
LONGEST_OUTSIDE_MM = 15.0
"""Arrows point inwards from outside where no room is between them (ISO 129-1, from memory); heads of two dimensions in
one row that look at each other over more of the paper, in mm, bound none."""
WHAT = "length of the dimension line in {zone}, whose figure was not read,"
NOT_SCALED = "No figure was read on {count} dimension line{s}, in {zones}, and no scale is known there."


def bare_lines(
    slots: Sequence[Slot],
    entries: Sequence[Entry],
    texts: Sequence[Text],
    shape_px: tuple[int, int],
    mm_per_px: float,
) -> tuple[BareLine, ...]:
    """Dimension lines, certain ones, that no figure is tied to and beside which none stands untied.

    Parameters
    ----------
    slots : sequence of Slot
        All that figures may measure.
    entries : sequence of Entry
    texts : sequence of Text
        Of the entries.
    shape_px : (int, int)
        Height and width of the level picture.
    mm_per_px : float
        Paper millimetres per level pixel.
    """
    taken = [entry.slot for entry in entries if isinstance(entry.slot, Span)]
    untied = [texts[entry.text].block for entry in entries if entry.slot is None and entry.figures]
    found = []
    for span in slots:
        if not isinstance(span, Span) or not span.certain or span.loose:
            continue
        if span.outside and span.size * mm_per_px > LONGEST_OUTSIDE_MM:
            continue
        if any(_share_a_line(span, other, mm_per_px) for other in taken):
            continue
        if not any(_stands_beside(block, span, mm_per_px) for block in untied):
            taken.append(span)
            middle = (span.first[0] + span.second[0]) / 2, (span.first[1] + span.second[1]) / 2
            found.append(BareLine(span.first, span.second, zone_of(*middle, shape_px[1], shape_px[0])))
    return tuple(found)


def lost_sizes(sheet: Drawing, lines: Sequence[BareLine]) -> Iterator[Lacking]:
    """What bare dimension lines measure, in the views whose scale is known."""
    for line in lines:
        (x0, y0), (x1, y1) = line.first, line.second
        scale = sheet.scales.get(view_at(((x0 + x1) / 2, (y0 + y1) / 2), sheet.strokes) or "")
        if scale is not None:
            size_mm = math.hypot((x1 - x0) * scale.x_mm_per_px, (y1 - y0) * scale.y_mm_per_px)
            std_mm = error_mm(size_mm, scale, 1.0)
            what = WHAT.format(zone=line.zone)
            yield as_lacking(what, scale.view, size_mm, std_mm, (line.first, line.second), sheet.unit)


def not_scaled(lines: Sequence[BareLine], lacking: Sequence[Lacking]) -> tuple[str, ...]:
    """A sentence on those bare dimension lines that nothing lacking was scaled from."""
    scaled = {(each.first, each.second) for each in lacking}
    zones = [line.zone for line in lines if (line.first, line.second) not in scaled]
    if not zones:
        return ()
    named = ", ".join(sorted(set(zones)))
    return (NOT_SCALED.format(count=len(zones), s="s" if len(zones) > 1 else "", zones=named),)


def is_same_size(one: Lacking, other: Lacking) -> bool:
    """Are both of one length in one view?"""
    return one.view == other.view and abs(one.size - other.size) < SAME_Z * math.hypot(one.std, other.std)


def _share_a_line(span: Span, other: Span, mm_per_px: float) -> bool:
    """Do both lie on one line, and in part over each other? The figure of the one may be that of the other."""
    near = SAME_MM / mm_per_px
    over = min(near, span.size / 2, other.size / 2)
    aside = (across(end, span.first, span.direction) for end in (other.first, other.second))
    start, end = _extent((other.first, other.second), span)
    return max(map(abs, aside)) < near and min(end, span.size) - max(start, 0.0) > over


def _stands_beside(block: TextBlock, span: Span, mm_per_px: float) -> bool:
    """Does some lettering stand where the figure of a span may?"""
    start, end = _extent(block.quad, span)
    first, last = _extent((span.first, span.second, *span.tails), span)
    past = PAST_MM / mm_per_px if span.outside else 0.0
    aside = [across(point, span.first, span.direction) for point in block.quad]
    reach = BESIDE_HEIGHTS * block.height_px
    return start < last + past and end > first - past and min(aside) < reach and max(aside) > -reach


def _extent(points: Sequence[Point], span: Span) -> tuple[float, float]:
    """From where to where points lie along a span."""
    places = [along(point, span.first, span.direction) for point in points]
    return min(places), max(places)
