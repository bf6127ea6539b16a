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

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import LevelSheet
from digitize.dimensions.linking.directions import unit
from digitize.dimensions.linking.link import Figure, find_slots, link
from digitize.dimensions.linking.spans import Span
from digitize.lettering.grammar import NotParsed, parse
from digitize.lettering.text import Kind, Layout, Reading, Text, TextBlock
from digitize.strokes.primitives import Arrowhead, Line, Point, Role, Strokes

FEWEST_FIGURES = 3
"""A sheet with fewer blocks does not tell how large its figures are, and which way they read."""
ALONG_HEIGHTS, ASIDE_HEIGHTS = 3.5, 2.3
"""How far from its place a figure's ink may lie, along its line and off it, in usual figure heights."""
BEYOND_HEIGHTS = 2.0
"""The middle of a figure that stands past the tail of an outside pair is so far beyond it."""
LEAST_FIGURE, LARGEST_FIGURE = 0.6, 1.7
"""Extent of one figure, in usual figure heights: some sheets have mostly fractions, or mostly whole numbers."""
LARGEST_BLOCK = 3.4
NEAR_HEIGHTS = 0.6
"""Paper between parts of one figure."""
STACK_HEIGHTS, STACK_FIGURE = 1.55, 0.42
"""From so many usual heights on a figure is a stack; height of its figures, in heights of the stack."""
LONG_MM = 8.0
"""A line that runs straight for so long is no stroke of a figure."""
DRAWN = (Role.DIMENSION, Role.EXTENSION, Role.CENTRE, Role.HATCH, Role.LEADER, Role.BORDER, Role.TABLE)
RIM_PX = 1.5
HEAD_BREADTH = 0.5
"""Breadth of an arrowhead with some room, in its lengths."""
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


def missed_figures(sheet: LevelSheet, strokes: Strokes, blocks: Sequence[TextBlock]) -> tuple[TextBlock, ...]:
    """Find what may be the figures of spans at which no block stands.

    Parameters
    ----------
    sheet : LevelSheet
    strokes : Strokes
        Level pixels, as seen.
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
    for span in bare_spans(strokes, blocks, sheet.paper_mm_per_px):
        for place in _places(span, usual.height_px):
            block = _block_at(sheet, strokes, (*blocks, *found), span, place, usual)
            if block is not None:
                found.append(block)
                break
    return tuple(found)


def usual_of(blocks: Sequence[TextBlock]) -> Usual | None:
    """Height and manner of a sheet's figures; None where there are too few."""
    if len(blocks) < FEWEST_FIGURES:
        return None
    turned = any(abs(math.sin(math.radians(block.angle_deg))) > 0.5 for block in blocks)
    return Usual(median(block.height_px for block in blocks), turned)


def bare_spans(strokes: Strokes, blocks: Sequence[TextBlock], mm_per_px: float) -> tuple[Span, ...]:
    """Spans of two seen heads at which no block stands."""
    slots = find_slots(strokes, mm_per_px)
    figures = [Figure(index, block, None) for index, block in enumerate(blocks)]
    linked = {id(found.slot) for found in link(figures, slots, mm_per_px)}
    return tuple(slot for slot in slots if isinstance(slot, Span) and slot.certain and id(slot) not in linked)


def believed(texts: Sequence[Text], looked_at: Sequence[TextBlock]) -> tuple[Text, ...]:
    """The texts without those second looks that do not read as a size, the others a little less sure."""
    places = {block.centre for block in looked_at}
    return tuple(
        _less_sure(text) if text.block.centre in places else text
        for text in texts
        if text.block.centre not in places or _is_size(text)
    )


def _is_size(text: Text) -> bool:
    if not text.readings or text.readings[0].probability < LEAST_READING:
        return False
    callout = parse(text.readings[0].text)
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


@dataclass(frozen=True)
class _Frame:
    """A window: its middle, the way in which figures there read, and how far it reaches along that and across it."""

    middle: Point
    along: Point
    reach: tuple[float, float]

    @property
    def matrix(self) -> NDArray[np.float64]:
        """From window to level pixels, shape (2, 3)."""
        (ux, uy), (x, y), (a, b) = self.along, self.middle, self.reach
        return np.array([[ux, -uy, x - a * ux + b * uy], [uy, ux, y - a * uy - b * ux]])

    @property
    def size(self) -> tuple[int, int]:
        """Width and height, in pixels."""
        return 2 * math.ceil(self.reach[0]) + 1, 2 * math.ceil(self.reach[1]) + 1


def _block_at(
    sheet: LevelSheet, strokes: Strokes, blocks: Sequence[TextBlock], span: Span, place: Point, usual: Usual
) -> TextBlock | None:
    """The ink that is left at a place, as a block; None where there is none as large as a figure."""
    angle_deg = _reading_deg(span, usual)
    height = usual.height_px
    room = span.size / 2 if not span.outside and abs(angle_deg - _line_deg(span)) < 1.0 else math.inf
    frame = _Frame(place, unit(angle_deg), (min(ALONG_HEIGHTS * height, room), ASIDE_HEIGHTS * height))
    left = _ink_left(sheet, strokes, blocks, frame)
    boxes = _figure_boxes(left, height)
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


def _ink_left(sheet: LevelSheet, strokes: Strokes, blocks: Sequence[TextBlock], frame: _Frame) -> NDArray[np.uint8]:
    """The ink of a window without lines of the drawing, arrowheads and known lettering."""
    to_window = np.asarray(cv2.invertAffineTransform(frame.matrix), np.float64)
    ink = np.asarray(cv2.warpAffine(sheet.ink.view(np.uint8), to_window, frame.size, flags=cv2.INTER_NEAREST), np.uint8)
    for line in strokes.lines:
        if math.dist(line.start, line.end) * sheet.paper_mm_per_px > LONG_MM or _is_drawn(line, strokes.arrowheads):
            _rub_out(ink, to_window, (line.start, line.end), line.width_px + 2 * RIM_PX)
    for head in strokes.arrowheads:
        _rub_out(ink, to_window, (head.tip, _tail(head)), HEAD_BREADTH * head.length_px)
    for block in blocks:
        corners = np.rint(_moved(to_window, block.quad)).astype(np.int32)
        cv2.fillConvexPoly(ink, corners, 0)
    return ink


def _is_drawn(line: Line, heads: Sequence[Arrowhead]) -> bool:
    """Whether a short line is of the drawing; what is an extension line by its pen alone may be of a figure."""
    return line.role in DRAWN and (line.role is not Role.EXTENSION or any(_is_on(head.tip, line) for head in heads))


def _is_on(tip: Point, line: Line) -> bool:
    """Whether a tip lies on a line, between its ends."""
    to_start, to_end = math.dist(tip, line.start), math.dist(tip, line.end)
    detour = to_start + to_end - math.dist(line.start, line.end)
    return detour <= RIM_PX and min(to_start, to_end) > line.width_px


def _tail(head: Arrowhead) -> Point:
    x, y = unit(head.direction_deg)
    return head.tip[0] - head.length_px * x, head.tip[1] - head.length_px * y


def _moved(matrix: NDArray[np.float64], points: Sequence[Point]) -> NDArray[np.float64]:
    return np.asarray(np.array(points) @ matrix[:, :2].T + matrix[:, 2], np.float64)


def _rub_out(ink: NDArray[np.uint8], to_window: NDArray[np.float64], ends: Sequence[Point], width_px: float) -> None:
    (x0, y0), (x1, y1) = np.rint(_moved(to_window, ends)).astype(int).tolist()
    cv2.line(ink, (x0, y0), (x1, y1), 0, max(round(width_px), 1))


Box = tuple[float, float, float, float]


def _figure_boxes(ink: NDArray[np.uint8], usual: float) -> list[Box]:
    """Boxes of the parts that stand near the middle of a window, and of those that stand near them.

    What runs out of the window, or is larger than a figure, is no part of one.
    """
    height, width = ink.shape
    _, _, stats, _ = cv2.connectedComponentsWithStats(ink, connectivity=8)
    whole = [
        (float(x), float(y), float(x + w), float(y + h))
        for x, y, w, h, _ in stats[1:].tolist()
        if x > 0 and y > 0 and x + w < width and y + h < height and max(w, h) < LARGEST_FIGURE * usual
    ]
    figures = [box for box in whole if max(box[2] - box[0], box[3] - box[1]) > LEAST_FIGURE * usual]
    if not figures:
        return []
    middle = (width / 2, height / 2)
    chosen = [min(figures, key=lambda box: math.dist(((box[0] + box[2]) / 2, (box[1] + box[3]) / 2), middle))]
    grew = True
    while grew:
        more = [b for b in whole if b not in chosen and any(_gap(b, c) < NEAR_HEIGHTS * usual for c in chosen)]
        chosen += more
        grew = bool(more)
    return chosen


def _gap(one: Box, other: Box) -> float:
    """Paper between two boxes."""
    across = max(one[0], other[0]) - min(one[2], other[2])
    down = max(one[1], other[1]) - min(one[3], other[3])
    return math.hypot(max(across, 0.0), max(down, 0.0))


def _as_block(box: Box, frame: _Frame, angle_deg: float, height_px: float, stacked: bool) -> TextBlock:
    grown = GROWN * height_px
    left, top, right, bottom = box[0] - grown, box[1] - grown, box[2] + grown, box[3] + grown
    corners = _moved(frame.matrix, [(left, top), (right, top), (right, bottom), (left, bottom)])
    quad = [(float(x), float(y)) for x, y in corners]
    layout = Layout.STACK if stacked else Layout.ROW
    return TextBlock((quad[0], quad[1], quad[2], quad[3]), angle_deg % 360.0, height_px, layout)
