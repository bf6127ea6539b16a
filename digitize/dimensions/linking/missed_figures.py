"""A second look where a figure must stand: at dimension lines that have none.

The finder judges by shape alone, and leaves what is small, bare and single to the strokes: a lone 1, a fraction whose
bar ran into an arrowhead. Once the lines are traced, one that ends in two heads asks for its figure, and what stands
at its middle, or beyond its tails, is read as lettering. It counts only where it reads as a size, and never as surely
as what the finder saw.

Glossary
--------
bare
    A span at which no block of lettering stands.
place
    Where a draughtsman would write a span's figure.
left
    Ink that is neither a traced line of the drawing, nor an arrowhead, nor in a block.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

from shapely.geometry import Point as Place
from shapely.geometry import Polygon

from calibrate.sheet import LevelSheet
from digitize.dimensions.linking.directions import unit
from digitize.dimensions.linking.figure_boxes import Box, figure_boxes
from digitize.dimensions.linking.ink_left import Frame, ink_left, moved
from digitize.dimensions.linking.link import Figure, link, slots_of
from digitize.dimensions.linking.span import Span
from digitize.lettering.grammar import NotParsed, makes_sense
from digitize.lettering.text import Kind, Layout, Reading, Text, TextBlock
from digitize.strokes.primitives import Point, Strokes

FEWEST_FIGURES = 3
"""A sheet with fewer blocks does not tell how large its figures are, and which way they read."""
ALONG_HEIGHTS, ASIDE_HEIGHTS = 3.5, 2.3
"""How far from its place a figure's ink may lie, along its line and off it, in usual figure heights."""
BEYOND_HEIGHTS = 2.0
"""The middle of a figure that stands past the tail of an outside pair is so far beyond it."""
LARGEST_BLOCK = 3.4
STACK_HEIGHTS, STACK_FIGURE = 1.55, 0.42
"""From so many usual heights on a figure is a stack; height of its figures, in heights of the stack."""
GROWN = 0.15
"""A block is drawn out by this part of its height all round, as the finder's own are by the pen."""
NO_SIZE = (Kind.NOTE, Kind.GEAR_DATA, Kind.COUNT)
LEAST_READING = 0.8
"""What stands at a bare span is believed to be its figure from this probability on ..."""
TRUST = 0.9
"""... and so much less than what the finder saw."""


@dataclass(frozen=True)
class Usual:
    """What the blocks of a sheet tell of its figures: their height, in level pixels, and whether some stand upright."""

    height_px: float
    turned: bool


def missed_figures(
    sheet: LevelSheet, strokes: Strokes, spans: Sequence[Span], blocks: Sequence[TextBlock]
) -> tuple[TextBlock, ...]:
    """Find what may be the figures of spans at which no block stands.

    Parameters
    ----------
    sheet : LevelSheet
    strokes : Strokes
        Level pixels, as seen.
    spans : sequence of Span
        All lengths among them.
    blocks : sequence of TextBlock
        All that were found before.

    Returns
    -------
    tuple of TextBlock
        None of them in another's place.
    """
    usual = usual_of(blocks)
    if usual is None:
        return ()
    found: list[TextBlock] = []
    for span in bare_spans(strokes, spans, blocks, sheet.paper_mm_per_px):
        for place in _places(span, usual.height_px):
            block = _block_at(sheet, strokes, (*blocks, *found), span, place, usual)
            if block is not None:
                found.append(block)
                break
    return tuple(found)


def figures_at_spans(
    sheet: LevelSheet, strokes: Strokes, spans: Sequence[Span], blocks: Sequence[TextBlock]
) -> tuple[TextBlock, ...]:
    """What stands at the places of figures once lines and heads are taken away, be it found before or not.

    The finder parts lettering before lines are known, and takes dashes and arrowheads for a part of it; these are
    rivals of its blocks.
    """
    usual = usual_of(blocks)
    if usual is None:
        return ()
    found = (
        _block_at(sheet, strokes, (), span, place, way)
        for span in spans
        if span.certain
        for place in _places(span, usual.height_px)
        for way in {usual, replace(usual, turned=False)}
    )
    return tuple(block for block in found if block is not None)


def usual_of(blocks: Sequence[TextBlock]) -> Usual | None:
    """Height and manner of a sheet's figures; None where there are too few."""
    if len(blocks) < FEWEST_FIGURES:
        return None
    turned = any(abs(math.sin(math.radians(block.angle_deg))) > 0.5 for block in blocks)
    return Usual(median(block.height_px for block in blocks), turned)


def bare_spans(
    strokes: Strokes, spans: Sequence[Span], blocks: Sequence[TextBlock], mm_per_px: float
) -> tuple[Span, ...]:
    """Spans of two seen heads at which no block stands."""
    slots = slots_of(strokes, spans, mm_per_px)
    figures = [Figure(index, block, None) for index, block in enumerate(blocks)]
    linked = {id(found.slot) for found in link(figures, slots, mm_per_px)}
    return tuple(slot for slot in slots if isinstance(slot, Span) and slot.certain and id(slot) not in linked)


def believed(texts: Sequence[Text], looked_at: Sequence[TextBlock]) -> tuple[Text, ...]:
    """The texts without those second looks that do not read as a size, the others a little less sure.

    A rival that stood in for a second look is one as well.
    """
    places = [Place(block.centre) for block in looked_at]
    second = [any(Polygon(text.block.quad).convex_hull.contains(place) for place in places) for text in texts]
    return tuple(
        _less_sure(text) if looked else text
        for text, looked in zip(texts, second, strict=True)
        if not looked or _is_size(text)
    )


def _is_size(text: Text) -> bool:
    if not text.readings or text.readings[0].probability < LEAST_READING:
        return False
    callout = makes_sense(text.readings[0].text)
    return not isinstance(callout, NotParsed) and all(value.kind not in NO_SIZE for value in callout.values)


def _less_sure(text: Text) -> Text:
    return replace(text, readings=tuple(Reading(r.text, TRUST * r.probability) for r in text.readings))


def _places(span: Span, height_px: float) -> tuple[Point, ...]:
    """Where a span's figure may have its middle: between its tips, else past its tails."""
    middle = (span.first[0] + span.second[0]) / 2, (span.first[1] + span.second[1]) / 2
    if not span.outside:
        return (middle,)
    past = BEYOND_HEIGHTS * height_px
    (x, y), (first, second) = span.direction, span.tails
    return middle, (first[0] - past * x, first[1] - past * y), (second[0] + past * x, second[1] + past * y)


def _block_at(
    sheet: LevelSheet, strokes: Strokes, blocks: Sequence[TextBlock], span: Span, place: Point, usual: Usual
) -> TextBlock | None:
    """The ink that is left at a place, as a block; None where there is none as large as a figure."""
    angle_deg = _reading_deg(span, usual)
    height = usual.height_px
    room = span.size / 2 if not span.outside and abs(angle_deg - _line_deg(span)) < 1.0 else math.inf
    frame = Frame(place, unit(angle_deg), (min(ALONG_HEIGHTS * height, room), ASIDE_HEIGHTS * height))
    left = ink_left(sheet, strokes, blocks, frame)
    boxes = figure_boxes(left, height)
    if not boxes:
        return None
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    box = (min(lefts), min(tops), max(rights), max(bottoms))
    depth = box[3] - box[1]
    if max(depth, 0.5 * (box[2] - box[0])) > LARGEST_BLOCK * height:
        return None
    stacked = depth > STACK_HEIGHTS * height
    return _as_block(box, frame, angle_deg, STACK_FIGURE * depth if stacked else depth, stacked)


def _line_deg(span: Span) -> float:
    """Direction of a span, as figures along it read: from the bottom or from the right of the sheet."""
    x, y = span.direction
    angle_deg = math.degrees(math.atan2(-y, x))
    return (angle_deg + 89.0) % 180.0 - 89.0


def _reading_deg(span: Span, usual: Usual) -> float:
    return _line_deg(span) if usual.turned else 0.0


def _as_block(box: Box, frame: Frame, angle_deg: float, height_px: float, stacked: bool) -> TextBlock:
    grown = GROWN * height_px
    left, top, right, bottom = box[0] - grown, box[1] - grown, box[2] + grown, box[3] + grown
    corners = moved(frame.matrix, [(left, top), (right, top), (right, bottom), (left, bottom)])
    quad = [(float(x), float(y)) for x, y in corners]
    layout = Layout.STACK if stacked else Layout.ROW
    return TextBlock((quad[0], quad[1], quad[2], quad[3]), angle_deg % 360.0, height_px, layout)
