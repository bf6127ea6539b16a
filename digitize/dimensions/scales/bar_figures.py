"""Figures of a drawn scale bar that stand alone over its divisions: a lone 0 or 1 is no lettering anywhere else.

A place is looked at only where a level rule has even cross lines from end to end, and what stands there counts only
where ink of one height stands free, in one row, at two of the divisions or more.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from calibrate.restoring.connected import connected_pieces
from calibrate.sheet import LevelSheet
from digitize.dimensions.scales.scale_bar import FIGURE_AWAY_MM, FIGURE_OFF_MM, rules_with_divisions
from digitize.lettering.text import TextBlock
from digitize.strokes.primitives import Strokes

HEIGHT_MM = (1.5, 6.0)
WIDEST_MM = 8.0
"""All figures of one division together."""
LIKE_HEIGHT = 0.25
"""Figures of one row differ in height by less than this part; their middles lie as near to one line."""
FEWEST = 2
GROWN = 0.15
"""A block is drawn out by this part of its height all round, as the finder's own are by the pen."""


@dataclass(frozen=True)
class _Figure:
    """Ink over one division: left, top, right, bottom, in level pixels."""

    box: tuple[float, float, float, float]

    @property
    def height(self) -> float:
        return self.box[3] - self.box[1]

    @property
    def middle(self) -> float:
        return (self.box[1] + self.box[3]) / 2


def bar_figures(sheet: LevelSheet, strokes: Strokes, blocks: Sequence[TextBlock]) -> tuple[TextBlock, ...]:
    """Find the figures of scale bars that are no block yet.

    Parameters
    ----------
    sheet : LevelSheet
    strokes : Strokes
        Level pixels, as seen.
    blocks : sequence of TextBlock
        All others.

    Returns
    -------
    tuple of TextBlock
    """
    found: list[TextBlock] = []
    for y, places in rules_with_divisions(strokes, sheet.paper_mm_per_px):
        for side in (-1, 1):
            row = _in_row([_figure(sheet, x, y, side) for x in places])
            found += [
                block for block in map(_block, row) if not any(_same(block, other) for other in (*blocks, *found))
            ]
    return tuple(found)


def _figure(sheet: LevelSheet, x: float, y: float, side: int) -> _Figure | None:
    """Free-standing ink over (side -1) or under a division."""
    reach, half = round(sheet.px(FIGURE_AWAY_MM)), round(sheet.px(WIDEST_MM) / 2)
    left, top = max(round(x) - half, 0), max(round(y) - (reach if side < 0 else 0), 0)
    window = sheet.ink[top : round(y) + (reach if side > 0 else 1), left : round(x) + half]
    stats = connected_pieces(window).stats
    height, width = window.shape
    low, high = (sheet.px(mm) for mm in HEIGHT_MM)
    boxes = [
        (left + bx, top + by, left + bx + bw, top + by + bh)
        for bx, by, bw, bh, _ in stats[1:].tolist()
        if low <= bh <= high and bx > 0 and by > 0 and bx + bw < width and by + bh < height
    ]
    if not boxes:
        return None
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    box = (float(min(lefts)), float(min(tops)), float(max(rights)), float(max(bottoms)))
    centred = abs((box[0] + box[2]) / 2 - x) <= sheet.px(FIGURE_OFF_MM)
    return _Figure(box) if centred and box[3] - box[1] <= high else None


def _in_row(figures: Sequence[_Figure | None]) -> list[_Figure]:
    """Those figures of like height that stand in one row; none where there are too few."""
    seen = [figure for figure in figures if figure is not None]
    rows = [
        [
            one
            for one in seen
            if abs(one.height - first.height) <= LIKE_HEIGHT * first.height
            and abs(one.middle - first.middle) <= LIKE_HEIGHT * first.height
        ]
        for first in seen
    ]
    best = max(rows, key=len, default=[])
    return best if len(best) >= FEWEST else []


def _block(figure: _Figure) -> TextBlock:
    grown = GROWN * figure.height
    left, top, right, bottom = figure.box
    left, top, right, bottom = left - grown, top - grown, right + grown, bottom + grown
    return TextBlock(((left, top), (right, top), (right, bottom), (left, bottom)), 0.0, figure.height)


def _same(block: TextBlock, other: TextBlock) -> bool:
    """Does the middle of either lie in the other?"""
    return block.holds(other.centre) or other.holds(block.centre)
