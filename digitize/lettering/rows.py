"""Clusters of parts sorted into rows: which way each reads, and what lies over what.

Glossary
--------
frame
    Axes turned so that a cluster reads along +u; v points down as the reader sees it.
row
    Parts that are read one after the other: a figure with its stacked fraction is one row, and so are limits.
fraction bar
    A level bar with something to read over it and under it.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from calibrate.sheet import FloatArray
from digitize.lettering.parts import Look, Part

UNEVEN_COST, MOST_UNEVEN = 3.0, 2.0
"""Letters of a row stand level: cost of their middles' spread, in figure heights."""
LENGTH_WORTH = 0.6
"""Rows are longer than they are high: decides where letters are as wide as tall."""
STEEPEST_ANGLE_DEG = 105.0
"""Figures are read from the bottom or from the right of a sheet, a little past upright at most."""
SLANT_DEG = 12.0
"""A cluster nearer than this to level or upright is taken to be level or upright."""
FEW_LETTERS_SLANT_DEG = 24.0
MANY_LETTERS = 6
"""The tightest rectangle round a few sloping letters is turned by up to their own slope (15 degrees in ISO 3098)."""
SLANT_COST = 0.35
FRACTION_WORTH = 1.8
"""A fraction bar tells the direction more surely than the shape of a letter (1 at most) does."""
LYING = 0.75
"""A figure less high than this share of its width lies on its side."""
LEVEL_BAR_DEG = 24.0
LEAST_SLASH_DEG, STEEP_BAR_DEG = 25.0, 80.0
"""Slopes of the stroke of a fraction written along the row."""
BAR_REACH = 0.75
"""Figures of a fraction stand at most this far from its bar, in figure heights."""
BAR_OVERHANG = 0.35
"""Middles of sloping figures may stand beyond the ends of a short bar, in figure heights."""
ROW_STEP = 0.6
"""Middles of one row's letters differ by less than this, in figure heights."""
LIMITS_GAP = 0.45
LIMITS_LONGEST = 9
LIKE_WIDTH, LIKE_WIDTH_LEVEL = 0.7, 0.5
"""A word may stand beside one of two limits that begin in line."""
"""Two rows closer than this are limits rather than a note, if no row has more parts."""
LONGEST_HYPHEN = 1.0
MARK_REACH = 1.2
SPLIT_GAP = 1.25
TALL = 0.55


@dataclass(frozen=True)
class Placed:
    """A part in a frame: u from left to right, v from top to bottom."""

    part: Part
    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Extent along the reading direction."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Extent across the reading direction."""
        return self.bottom - self.top

    @property
    def middle(self) -> tuple[float, float]:
        """(u, v) of the box's middle."""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2


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

    @property
    def quad(self) -> tuple[tuple[float, float], ...]:
        """Corners in level pixels, in reading order from the top left."""
        left, top, right, bottom = self.box
        axes = frame_axes(self.angle_deg)
        corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom)]) @ axes
        return tuple((float(x), float(y)) for x, y in corners)

    @property
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
            and not _fractions(placed, self.height)
        )

    @property
    def letters(self) -> int:
        """How many parts are letters or upright bars, roughly."""
        return sum(part.look in (Look.GLYPH, Look.RING) or part.length > TALL * self.height for part in self.parts)


def frame_axes(angle_deg: float) -> FloatArray:
    """Unit vectors u and v in level pixels, as rows of a (2, 2) array.

    Examples
    --------
    >>> frame_axes(90.0).round(3).tolist()
    [[0.0, -1.0], [1.0, 0.0]]
    """
    turn = math.radians(angle_deg)
    return np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])


def place(parts: Iterable[Part], angle_deg: float) -> list[Placed]:
    """Boxes of parts in the frame of a reading direction."""
    axes = frame_axes(angle_deg)
    placed = []
    for part in parts:
        turned = part.hull @ axes.T
        (left, top), (right, bottom) = turned.min(axis=0), turned.max(axis=0)
        placed.append(Placed(part, float(left), float(top), float(right), float(bottom)))
    return placed


def split_rows(parts: Sequence[Part], usual_height: float) -> list[Row]:
    """Sort one cluster into rows, in its likeliest reading direction."""
    angle_deg = reading_angle(parts, usual_height)
    return rows_at(parts, angle_deg, usual_height)


def reading_angle(parts: Sequence[Part], usual_height: float) -> float:
    """The likeliest reading direction of a cluster, in (-75, 105] degrees, half turns not told apart."""
    slanted = [*_slanted_angles(parts), *_bar_angles(parts, usual_height)]
    candidates = [(0.0, 0.0), (90.0, 0.0), *((angle, SLANT_COST) for angle in slanted)]
    scores = [_direction_score(parts, angle, usual_height) - cost for angle, cost in candidates]
    return candidates[int(np.argmax(scores))][0]


def _slanted_angles(parts: Sequence[Part]) -> list[float]:
    """Directions of the tightest rectangle round the letters, where they are neither level nor upright."""
    letters = [part for part in parts if part.look is not Look.DOT]
    if len(letters) < 2:
        return []
    points = np.vstack([part.hull for part in letters])
    turns = np.arange(-45.0, 45.0, 1.0)
    areas = [_area_at(points, turn) for turn in turns]
    best = float(turns[int(np.argmin(areas))])
    if abs(best) < (SLANT_DEG if len(letters) >= MANY_LETTERS else FEW_LETTERS_SLANT_DEG):
        return []
    return [_normal_angle(best), _normal_angle(best + 90.0)]


def _bar_angles(parts: Sequence[Part], usual_height: float) -> list[float]:
    """Directions in which some slanted bar of a cluster would be a level fraction bar."""
    bars = [part for part in parts if part.look is Look.BAR and len(parts) >= 3]
    slanted = [bar for bar in bars if SLANT_DEG < abs(bar.axis_deg) < 90.0 - FEW_LETTERS_SLANT_DEG]
    angles = [_normal_angle(bar.axis_deg) for bar in slanted]
    return [angle for angle in angles if _fractions(place(parts, angle), usual_height)]


def _area_at(points: FloatArray, turn_deg: float) -> float:
    turned = points @ frame_axes(turn_deg).T
    spans = np.ptp(turned, axis=0)
    return float(spans[0] * spans[1])


def _normal_angle(angle_deg: float) -> float:
    low = STEEPEST_ANGLE_DEG - 180.0
    return (angle_deg - low) % 180.0 + low if (angle_deg - low) % 180.0 else STEEPEST_ANGLE_DEG


def _direction_score(parts: Sequence[Part], angle_deg: float, usual_height: float) -> float:
    """How well a cluster reads in a direction: letters stand upright, side by side, fraction bars lie level."""
    placed = place(parts, angle_deg)
    fractions = _fractions(placed, usual_height)
    is_square_on = angle_deg in (0.0, 90.0)  # on the slant, an upright stroke of the drawing would pass for a slash
    is_fraction = bool(fractions) or (is_square_on and _has_sloped_fraction(placed, angle_deg, usual_height))
    inside = {item.part.label for unit in fractions for item in unit.items}
    letters = [item for item in placed if item.part.size > TALL * usual_height and item.part.look is not Look.DOT]
    if not letters:
        return 0.0
    turned = [item for item in letters if item.part.look is not Look.BAR] or letters
    upright = [float(np.clip(math.log2((item.height + 1) / (item.width + 1)), -1, 1)) for item in turned]
    plain = [item for item in letters if item.part.label not in inside]
    length = LENGTH_WORTH * float(np.clip(math.log2(_span(placed, along=True) / _span(placed, along=False)), -1, 1))
    unevenness = float(np.std([item.middle[1] for item in plain])) / usual_height if plain else 0.0
    level = -min(UNEVEN_COST * unevenness, MOST_UNEVEN)
    beside = _neighbourliness(plain, usual_height)
    return float(np.mean(upright)) + FRACTION_WORTH * is_fraction + beside + length + level


def _has_sloped_fraction(placed: Sequence[Placed], angle_deg: float, height: float) -> bool:
    """Whether a slanting stroke has a figure to its upper left and another to its lower right."""
    figures = [item for item in placed if item.height > 0.4 * height and item.part.look is not Look.DOT]
    for bar in placed:
        slope = (bar.part.axis_deg - angle_deg + 90.0) % 180.0 - 90.0
        if bar.part.look is not Look.BAR or not LEAST_SLASH_DEG < slope < STEEP_BAR_DEG:
            continue
        u, v = bar.middle
        near = [item for item in figures if item is not bar and _is_close(bar, item, 0.25 * height)]
        over = any(item.middle[0] < u and item.middle[1] < v for item in near)
        under = any(item.middle[0] > u and item.middle[1] > v for item in near)
        if over and under:
            return True
    return False


def _is_close(one: Placed, two: Placed, gap: float) -> bool:
    across = max(one.left, two.left) - min(one.right, two.right)
    return max(across, max(one.top, two.top) - min(one.bottom, two.bottom)) < gap


def _span(placed: Sequence[Placed], along: bool) -> float:
    if along:
        return max(item.right for item in placed) - min(item.left for item in placed) + 1
    return max(item.bottom for item in placed) - min(item.top for item in placed) + 1


def _neighbourliness(letters: Sequence[Placed], height: float) -> float:
    """Share of letters with a neighbour beside them, less that with a neighbour over or under them."""
    if len(letters) < 2:
        return 0.0
    boxes = np.array([(item.left, item.top, item.right, item.bottom) for item in letters])
    across = np.maximum(boxes[:, None, 0], boxes[None, :, 0]) - np.minimum(boxes[:, None, 2], boxes[None, :, 2])
    down = np.maximum(boxes[:, None, 1], boxes[None, :, 1]) - np.minimum(boxes[:, None, 3], boxes[None, :, 3])
    shorter = np.minimum(boxes[:, None, 3] - boxes[:, None, 1], boxes[None, :, 3] - boxes[None, :, 1])
    narrower = np.minimum(boxes[:, None, 2] - boxes[:, None, 0], boxes[None, :, 2] - boxes[None, :, 0])
    other = ~np.eye(len(letters), dtype=bool)
    beside = other & (-down > 0.5 * shorter) & (across < 0.7 * height)
    over = other & (-across > 0.5 * narrower) & (down < 0.7 * height)
    return float(beside.any(axis=1).mean() - over.any(axis=1).mean())


@dataclass(frozen=True)
class _Unit:
    """Something that stands in a row as one: a letter, or a whole fraction."""

    items: tuple[Placed, ...]
    is_fraction: bool = False

    @property
    def left(self) -> float:
        return min(item.left for item in self.items)

    @property
    def right(self) -> float:
        return max(item.right for item in self.items)

    @property
    def top(self) -> float:
        return min(item.top for item in self.items)

    @property
    def bottom(self) -> float:
        return max(item.bottom for item in self.items)

    @property
    def level(self) -> float:
        """v of the unit's middle; a fraction's middle is its bar."""
        item = self.items[0]
        return (item.top + item.bottom) / 2


def rows_at(parts: Sequence[Part], angle_deg: float, usual_height: float) -> list[Row]:
    """Sort one cluster into rows in a given reading direction."""
    placed = place(parts, angle_deg)
    fractions = _fractions(placed, usual_height)
    inside = {item.part.label for fraction in fractions for item in fraction.items}
    loose = [item for item in placed if item.part.label not in inside]
    height = _plain_height(loose, fractions, usual_height)
    tall = [_Unit((item,)) for item in loose if _stands(item, height)]
    standing = {unit.items[0].part.label for unit in tall}
    small = [item for item in loose if item.part.label not in standing]
    lines = _merge_overlapping(_level_lines([*fractions, *tall], height), height)
    runs = [run for line in lines for run in _split_wide_gaps(_with_marks(line, small, height), height)]
    return [row_of(items, angle_deg, height) for items in runs if any(_is_upright(item, height) for item in items)]


def _stands_alone(bar: Placed, items: Sequence[Placed]) -> bool:
    """A level bar with nothing over it or under it."""
    if bar.part.look is not Look.BAR or bar.width < bar.height:
        return False
    left, right = bar.left + 0.2 * bar.width, bar.right - 0.2 * bar.width
    return not any(item is not bar and item.left < right and item.right > left for item in items)


def _is_upright(item: Placed, height: float) -> bool:
    return item.height > 0.4 * height


def _fractions(placed: Sequence[Placed], height: float) -> list[_Unit]:
    """Level bars with figures over and under them, each as one unit, the bar first."""
    letters = [item for item in placed if item.part.look is not Look.DOT]
    found = []
    taken: set[int] = set()
    for bar in placed:
        if bar.part.look is not Look.BAR or bar.height > bar.width * math.tan(math.radians(LEVEL_BAR_DEG)):
            continue
        level = bar.middle[1]
        beside = [
            item
            for item in letters
            if item is not bar
            and item.part.label not in taken
            and bar.left - BAR_OVERHANG * height < item.middle[0] < bar.right + BAR_OVERHANG * height
            and item.height > max(0.4 * height, LYING * item.width)
        ]
        over = [item for item in beside if item.middle[1] < level and bar.top - item.bottom < BAR_REACH * height]
        under = [item for item in beside if item.middle[1] > level and item.top - bar.bottom < BAR_REACH * height]
        over = [item for item in over if item.bottom < level + 0.15 * height]
        under = [item for item in under if item.top > level - 0.15 * height]
        if over and under:
            unit = _Unit((bar, *over, *under), is_fraction=True)
            taken |= {item.part.label for item in unit.items}
            found.append(unit)
    return found


def _plain_height(loose: Sequence[Placed], fractions: Sequence[_Unit], usual_height: float) -> float:
    """Height of the plain figures: those outside fractions where there are any."""
    plain = [item.height for item in loose if item.part.look is Look.GLYPH and item.height > 0.5 * usual_height]
    plain += [item.height for item in loose if item.part.look is Look.RING and item.height > 0.7 * usual_height]
    if not plain:
        plain = [item.height for item in loose if _is_steep(item) and 0.55 < item.height / usual_height < 1.5]
    if not plain:
        plain = [item.height for unit in fractions for item in unit.items[1:] if item.height > 0.4 * usual_height]
    return float(np.percentile(plain, 60)) if plain else usual_height


def _is_steep(item: Placed) -> bool:
    return item.part.look is Look.BAR and item.height > item.width


def _stands(item: Placed, height: float) -> bool:
    if item.part.look is Look.BAR:
        tallest = 1.5 if item.width < 0.4 * item.height else 2.8
        return _is_steep(item) and TALL * height < item.height < tallest * height
    return item.part.look in (Look.GLYPH, Look.RING) and item.height > TALL * height


def _level_lines(units: Sequence[_Unit], height: float) -> list[list[_Unit]]:
    """Units sorted into lines by the level of their middles."""
    lines: list[list[_Unit]] = []
    for unit in sorted(units, key=lambda item: item.level):
        if lines and unit.level - lines[-1][-1].level < ROW_STEP * height:
            lines[-1].append(unit)
        else:
            lines.append([unit])
    return lines


def _merge_overlapping(lines: list[list[_Unit]], height: float) -> list[list[_Unit]]:
    """Join lines that lie into one another, and pairs of short lines that are limits."""
    merged: list[list[_Unit]] = []
    for line in lines:
        if merged and _gap_below(merged[-1], line) < -0.12 * height:
            merged[-1] = [*merged[-1], *line]
        else:
            merged.append(line)
    if len(merged) == 2 and _are_limits(merged[0], merged[1], height):
        return [[*merged[0], *merged[1]]]
    return merged


def _gap_below(upper: Sequence[_Unit], lower: Sequence[_Unit]) -> float:
    return min(unit.top for unit in lower) - max(unit.bottom for unit in upper)


def _are_limits(upper: Sequence[_Unit], lower: Sequence[_Unit], height: float) -> bool:
    """Two short lines of like width, close over each other."""
    if any(unit.is_fraction for unit in (*upper, *lower)) or max(len(upper), len(lower)) > LIMITS_LONGEST:
        return False
    spans = [(min(unit.left for unit in line), max(unit.right for unit in line)) for line in (upper, lower)]
    widths = sorted(right - left for left, right in spans)
    shared = min(spans[0][1], spans[1][1]) - max(spans[0][0], spans[1][0])
    begin_alike = abs(spans[0][0] - spans[1][0]) < 0.4 * height and widths[0] > LIKE_WIDTH_LEVEL * widths[1]
    alike = shared > 0.8 * widths[0] and (widths[0] > LIKE_WIDTH * widths[1] or begin_alike)
    return _gap_below(upper, lower) < LIMITS_GAP * height and alike


def _split_wide_gaps(line: Sequence[Placed], height: float) -> list[list[Placed]]:
    runs: list[list[Placed]] = []
    right = -math.inf
    for item in sorted(line, key=lambda item: item.left):
        if runs and item.left - right < SPLIT_GAP * height:
            runs[-1].append(item)
        else:
            runs.append([item])
            right = -math.inf
        right = max(right, item.right)
    return runs


def _with_marks(line: Sequence[_Unit], small: Sequence[Placed], height: float) -> list[Placed]:
    """The parts of a line, with the points, marks and signs that stand in it, each near what is there already."""
    left, right = min(unit.left for unit in line), max(unit.right for unit in line)
    top, bottom = min(unit.top for unit in line), max(unit.bottom for unit in line)
    items = [item for unit in line for item in unit.items]
    within = [
        item
        for item in small
        if top - 0.35 * height < item.middle[1] < bottom + 0.3 * height and not _is_underline(item, bottom, height)
    ]
    for item in sorted(within, key=lambda item: max(left - item.middle[0], item.middle[0] - right)):
        if left - MARK_REACH * height < item.middle[0] < right + MARK_REACH * height:
            items.append(item)
            left, right = min(left, item.left), max(right, item.right)
    return items


def _is_underline(item: Placed, bottom: float, height: float) -> bool:
    level = item.part.look is Look.BAR and item.width > item.height
    return level and (item.middle[1] > bottom - 0.1 * height or item.width > LONGEST_HYPHEN * height)


def row_of(items: Sequence[Placed], angle_deg: float, height: float) -> Row:
    """A row of parts placed in the frame of ``angle_deg``, with figures of a height."""
    box = (
        min(item.left for item in items),
        min(item.top for item in items),
        max(item.right for item in items),
        max(item.bottom for item in items),
    )
    stacked = box[3] - box[1] > 1.55 * height and len(items) > 2
    parts = tuple(sorted((item.part for item in items), key=lambda part: part.label))
    return Row(parts, angle_deg, box, height, stacked)


def without_end_dashes(row: Row) -> Row:
    """A row without level bars that stand alone at its ends: bits of a dimension line, for no figure ends so."""
    items = sorted(place(row.parts, row.angle_deg), key=lambda item: item.left)
    count = len(items)
    while items and _stands_alone(items[0], items):
        items.pop(0)
    items.sort(key=lambda item: item.right)
    while items and _stands_alone(items[-1], items):
        items.pop()
    return row_of(items, row.angle_deg, row.height) if 0 < len(items) < count else row


def joined(one: Row, two: Row, between: Sequence[Part] = ()) -> Row:
    """Two rows in line and signs between them, as one; all is carried into the first one's frame."""
    items = place([*one.parts, *between, *two.parts], one.angle_deg)
    row = row_of(items, one.angle_deg, max(one.height, two.height))
    return replace(row, stacked=one.stacked or two.stacked)
