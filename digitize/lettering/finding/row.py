"""One row of lettering, as the finder holds it until it is a block.

Glossary
--------
row
    Parts that are read one after the other: a figure with its stacked fraction is one row, and so are limits.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from digitize.lettering.finding.parts import Look, Part
from digitize.lettering.finding.placing import TALL, Placed, fractions_of, frame_axes, place

STACKED = 1.55
"""A row deeper than this is stacked, in heights of its plain figures."""


@dataclass(frozen=True)
class Row:
    """Parts read one after the other.

    ``box`` is (left, top, right, bottom) in the frame of ``angle_deg``; ``height`` that of plain figures.
    """

    parts: tuple[Part, ...]
    angle_deg: float
    box: tuple[float, float, float, float]
    height: float
    stacked: bool

    @cached_property
    def quad(self) -> tuple[tuple[float, float], ...]:
        """Corners in level pixels, in reading order from the top left."""
        left, top, right, bottom = self.box
        ((ux, uy), (vx, vy)) = frame_axes(self.angle_deg).tolist()
        corners = (left, top), (right, top), (right, bottom), (left, bottom)
        return tuple((u * ux + v * vx, u * uy + v * vy) for u, v in corners)

    @property
    def centre(self) -> tuple[float, float]:
        """Middle of the box, in level pixels."""
        xs, ys = zip(*self.quad, strict=True)
        return sum(xs) / 4, sum(ys) / 4

    @cached_property
    def is_pair(self) -> bool:
        """Whether it is two lines over each other without a fraction bar, such as limits."""
        if not self.stacked:
            return False
        placed = place(self.parts, self.angle_deg)
        middle = (self.box[1] + self.box[3]) / 2
        tall = [item for item in placed if item.height > TALL * self.height]
        return (
            len(tall) > 2
            and not any(item.top < middle < item.bottom for item in tall)
            and not fractions_of(placed, self.height)
        )

    @property
    def stroke_px(self) -> float:
        """Mean width of its strokes, points apart: their ink over the way that the pen went."""
        strokes = [part for part in self.parts if part.look is not Look.DOT] or self.parts
        return sum(part.area for part in strokes) / max(sum(part.way_px for part in strokes), 1.0)

    @cached_property
    def letters(self) -> int:
        """How many parts are letters or upright bars, roughly."""
        return sum(part.look in (Look.GLYPH, Look.RING) or part.length > TALL * self.height for part in self.parts)


def stands_alone(bar: Placed, items: Sequence[Placed]) -> bool:
    """A level bar with nothing over it or under it."""
    if bar.part.look is not Look.BAR or bar.width < bar.height:
        return False
    left, right = bar.left + 0.2 * bar.width, bar.right - 0.2 * bar.width
    return not any(item is not bar and item.left < right and item.right > left for item in items)


def row_of(items: Sequence[Placed], angle_deg: float, height: float) -> Row:
    """A row of parts placed in the frame of ``angle_deg``, with figures of a height."""
    box = (
        min(item.left for item in items),
        min(item.top for item in items),
        max(item.right for item in items),
        max(item.bottom for item in items),
    )
    stacked = box[3] - box[1] > STACKED * height and len(items) > 2
    parts = tuple(sorted((item.part for item in items), key=lambda part: part.label))
    return Row(parts, angle_deg, box, height, stacked)


def without_end_dashes(row: Row) -> Row:
    """A row without level bars that stand alone at its ends: bits of a dimension line, for no figure ends so."""
    items = sorted(place(row.parts, row.angle_deg), key=lambda item: item.left)
    count = len(items)
    while items and stands_alone(items[0], items):
        items.pop(0)
    items.sort(key=lambda item: item.right)
    while items and stands_alone(items[-1], items):
        items.pop()
    return row_of(items, row.angle_deg, row.height) if 0 < len(items) < count else row


def joined(one: Row, two: Row, between: Sequence[Part] = ()) -> Row:
    """Two rows in line and signs between them, as one; all is carried into the first one's frame."""
    items = place([*one.parts, *between, *two.parts], one.angle_deg)
    row = row_of(items, one.angle_deg, max(one.height, two.height))
    return replace(row, stacked=one.stacked or two.stacked)
