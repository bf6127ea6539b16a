"""Fractions written along the row: a slanting stroke with one figure to its upper left, another to its lower right.

The stroke may be as steep as a sloping 1, so that its slope alone tells nothing; the figures on its two sides do.
"""

from collections.abc import Sequence

from digitize.lettering.finding.parts import Look
from digitize.lettering.finding.placing import Placed, Unit

LEAST_SLASH_DEG, STEEP_BAR_DEG = 25.0, 80.0
"""Slopes of the stroke."""
STROKE_GAP, DIGIT_GAP = 0.25, 0.35
"""Paper between the stroke and its figures, and between the digits of one of them, in figure heights."""
FIGURE = 0.4
"""Least height of a figure, in figure heights."""
PAST_MIDDLE = 0.3
"""A figure over the stroke's middle reaches down past it by no more, one under it up, in figure heights: a whole number
stands on both sides of it."""
ONE_LEVEL = 0.5
"""Digits of one figure share so much of the lower one's height, and the stroke so much of a figure's."""


def has_sloped_fraction(placed: Sequence[Placed], angle_deg: float, height: float) -> bool:
    """Whether a slanting stroke has a figure to its upper left and another to its lower right."""
    return any(over and under for _, over, under in _strokes(placed, angle_deg, height))


def sloped_fractions_of(placed: Sequence[Placed], angle_deg: float, height: float) -> list[Unit]:
    """Slanting strokes with figures on their two sides, each as one unit, the stroke first.

    Parameters
    ----------
    placed : sequence of Placed
        Parts in the frame of ``angle_deg``.
    angle_deg : float
    height : float
        The sheet's usual figure height, in level pixels.
    """
    found: list[Unit] = []
    taken: set[int] = set()
    for bar, near_over, near_under in _strokes(placed, angle_deg, height):
        level, past = bar.middle[1], PAST_MIDDLE * height
        free = [
            item
            for item in _figures(placed, height)
            if item is not bar and item.part.label not in taken and _are_level(bar, item)
        ]
        over = [item for item in free if item.middle[0] < bar.middle[0] and item.bottom < level + past]
        under = [item for item in free if item.middle[0] > bar.middle[0] and item.top > level - past]
        over, under = (
            _digits_from([item for item in near if item in side], side, height)
            for near, side in ((near_over, over), (near_under, under))
        )
        if over and under:
            unit = Unit((bar, *over, *under), is_fraction=True)
            taken |= {item.part.label for item in unit.items}
            found.append(unit)
    return found


def _figures(placed: Sequence[Placed], height: float) -> list[Placed]:
    return [item for item in placed if item.height > FIGURE * height and item.part.look is not Look.DOT]


def _strokes(
    placed: Sequence[Placed], angle_deg: float, height: float
) -> list[tuple[Placed, list[Placed], list[Placed]]]:
    """Slanting strokes, with what stands close to each at its upper left and at its lower right."""
    found = []
    for bar in placed:
        slope = (bar.part.axis_deg - angle_deg + 90.0) % 180.0 - 90.0
        if bar.part.look is not Look.BAR or not LEAST_SLASH_DEG < slope < STEEP_BAR_DEG:
            continue
        u, v = bar.middle
        near = [
            item for item in _figures(placed, height) if item is not bar and _is_close(bar, item, STROKE_GAP * height)
        ]
        over = [item for item in near if item.middle[0] < u and item.middle[1] < v]
        under = [item for item in near if item.middle[0] > u and item.middle[1] > v]
        found.append((bar, over, under))
    return found


def _digits_from(chosen: list[Placed], items: Sequence[Placed], height: float) -> list[Placed]:
    """What was chosen, and the digits level with it that stand beside it, and beside these."""
    digits = list(chosen)
    for digit in digits:  # which grows as it goes
        digits += [
            item
            for item in items
            if item not in digits and _is_close(digit, item, DIGIT_GAP * height) and _are_level(digit, item)
        ]
    return digits


def _are_level(one: Placed, two: Placed) -> bool:
    shared = min(one.bottom, two.bottom) - max(one.top, two.top)
    return shared > ONE_LEVEL * min(one.height, two.height)


def _is_close(one: Placed, two: Placed, gap: float) -> bool:
    across = max(one.left, two.left) - min(one.right, two.right)
    return max(across, max(one.top, two.top) - min(one.bottom, two.bottom)) < gap
