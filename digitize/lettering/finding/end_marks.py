"""Inch, foot and degree marks at the ends of rows, and over them."""

from collections.abc import Sequence

from digitize.lettering.finding.loose import Loose
from digitize.lettering.finding.parts import Look, Part
from digitize.lettering.finding.placing import place
from digitize.lettering.finding.row import Row, joined, row_of

STACK_MARK, RING_WIDEST = 0.6, 1.35
"""Marks beside a stack go by this share of its height where that is more; a ring with a line through it is broad."""
STROKE_TURNING, STROKE_SLIM = 1.2, 1.6
"""How much the pen turns at most for the stroke of a mark, and its length at least in its breadths."""
MARK_UPRIGHT = 1.1
MARK_LOW, MARK_HIGH, MARK_FAR, RING_TURNING = 0.2, 0.62, 0.75, 1.35
"""Size of an inch or degree mark, paper before it, in figure heights; how much the pen turns for the ring."""
HIGH_MARK_INTO, HIGH_MARK_OVER, HIGH_MARK_BESIDE = 0.35, 1.0, 2.0
"""How far a high mark's foot reaches down beside a row's figures, stands over them, and ends after them, in heights."""


def with_end_marks(rows: Sequence[Row], parts: Sequence[Part]) -> list[Row]:
    """Give rows the inch, foot and degree marks at their ends that went to a neighbour or touch a line.

    Without its mark a figure reads as another unit.
    """
    claimed = {part.label for row in rows if row.letters > 0 and not _is_strokes(row) for part in row.parts}
    loose = Loose([part for part in parts if part.label not in claimed])
    taken: set[int] = set()
    out = []
    for row in sorted(rows, key=_is_strokes):
        while row.letters and not _is_strokes(row) and (mark := _next_mark(row, loose)) is not None:
            row = joined(row, row_of(place([mark], row.angle_deg), row.angle_deg, row.height))
            loose.take(mark)
            taken.add(mark.label)
        if not (_is_strokes(row) and taken & {part.label for part in row.parts}):
            out.append(row)
    return out


def _next_mark(row: Row, loose: Loose) -> Part | None:
    """The nearest loose mark that stands at the upper right of a row."""
    _, top, right, bottom = row.box
    height = max(row.height, STACK_MARK * (bottom - top))
    reach = 2 * height + right - row.box[0]
    near = [part for part in loose.near(row.centre, reach) if part.size < MARK_HIGH * height]
    best, best_gap = None, MARK_FAR * height
    for item in place(near, row.angle_deg):
        gap = item.left - right
        high = top - 0.3 * height < item.top and item.bottom < min((top + bottom) / 2, top + height) + 0.05 * height
        tall = MARK_LOW * height < item.height and item.width < RING_WIDEST * item.height
        is_ring = item.part.turning > RING_TURNING
        sound = is_ring or (item.part.free and item.height > MARK_UPRIGHT * item.width)
        if high and tall and sound and -0.15 * height < gap < best_gap:
            best, best_gap = item.part, gap
    return best


def without_high_marks(rows: Sequence[Row]) -> list[Row]:
    """Rows, those left out that are the strokes of a mark set high over the figures of another; they would read 11."""
    return [row for row in rows if not (_is_strokes(row) and any(_stands_over(row, other) for other in rows))]


def _is_strokes(row: Row) -> bool:
    """Whether a row may be the strokes of a foot or inch mark; small ones are hardly longer than their pen is broad."""
    return len(row.parts) <= 2 and all(
        part.look is Look.BAR or (part.look is Look.GLYPH and part.turning < STROKE_TURNING and _is_slim(part))
        for part in row.parts
    )


def _is_slim(part: Part) -> bool:
    return part.length > STROKE_SLIM * part.thickness


def _stands_over(mark: Row, row: Row) -> bool:
    """Whether strokes stand over the end of a row, as it reads."""
    if _is_strokes(row):
        return False
    placed = place(mark.parts, row.angle_deg)
    height = max(row.height, max(item.height for item in placed))
    left, right = min(item.left for item in placed), max(item.right for item in placed)
    gap = row.box[1] - max(item.bottom for item in placed)
    near = -HIGH_MARK_INTO * height < gap < HIGH_MARK_OVER * height
    return near and left > row.box[0] and right < row.box[2] + HIGH_MARK_BESIDE * height
