"""Parts that stand close together, whichever way they read.

Letters are joined first, by the gap between them; marks, points and fraction bars then go to the letters beside them.
A cluster may hold several rows; which way it reads and how its rows lie is for `digitize.lettering.finding.rows`.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from scipy.spatial import cKDTree

from calibrate.sheet import InkImage, LevelSheet
from digitize.lettering.finding.linework import Lines
from digitize.lettering.finding.parts import Look, Part

SMALLEST_FIGURE_MM = 1.2
LARGEST_FIGURE_MM = 9.0
USUAL_FIGURE_MM = 3.2
"""Height of figures where a sheet has too few to tell (between 1/8 in and 3.5 mm: see heights.csv)."""
LETTER_GAP = 0.62
"""Widest paper between letters of a word, in figure heights."""
TALLEST_SHARE = 1.8
"""Taller letters stand no further apart than letters of this height, in figure heights."""
FREED_MARK = 0.55
"""What is smaller and touched a line is a bit of that line."""
MARK_GAP = 1.1
BAR_GAP, BAR_LENGTH = 0.55, 0.45
SIGN_GAP = 0.6
"""Widest paper between the parts of a sign (the equals sign, inch marks over the bar of a fraction)."""
LONGEST_ONE = 1.7
"""Whole figures are that much taller than the fractions', which may be the more usual ones on a sheet."""
RUN_TOGETHER, ONE_ROW = 3.6, 1.4
"""Longest piece of two or three letters that touch, and how high it is then."""
RAGGED, RAGGED_PENS = 0.3, 2.0
"""What is no bar and more slender, or thinner, is the ragged edge of the sheet."""
ONE_SLOPE_DEG, ONE_NEAR = 25.0, 1.4
PARTED = 0.9
BLOB_TURNING, SMALL = 1.25, 0.6
"""An inch mark drawn thick is as long as some letters, but its pen never turned."""
BLOT, FULL = 0.6, 0.65
"""Thickness over length of a blot, and how much of its rectangle is ink: a circle fills 0.79."""
LOOSE_TURNING = 1.45
"""A part that was freed from a line is taken for a letter only when its pen turned this much."""


def figure_height_px(sheet: LevelSheet, parts: Sequence[Part]) -> float:
    """The height that most letters of a sheet have, in level pixels."""
    low, high = sheet.px(SMALLEST_FIGURE_MM), sheet.px(LARGEST_FIGURE_MM)
    sizes = np.array([part.size for part in parts if part.free and part.look is Look.GLYPH and low < part.size < high])
    if len(sizes) < 5:
        return sheet.px(USUAL_FIGURE_MM)
    logs = np.log(sizes)
    width = 0.08
    crowd = np.exp(-(((logs[:, None] - logs[None, :]) / width) ** 2) / 2).sum(axis=0)
    peak = logs[int(np.argmax(crowd))]
    return float(np.exp(np.median(logs[np.abs(logs - peak) < 2 * width])))


def cluster(sheet: LevelSheet, parts: Sequence[Part], height_px: float, thinned: InkImage) -> list[list[Part]]:
    """Sort parts into clusters, each with one letter or upright bar at least.

    Parameters
    ----------
    sheet : LevelSheet
    parts : sequence of Part
    height_px : float
        The sheet's usual figure height.
    thinned : ndarray, bool, shape (H, W)
        Its ink without lines: parts on two sides of one do not belong together.
    """
    tall = [part for part in parts if _is_letter(sheet, part, height_px) or _is_upright_bar(part, height_px)]
    taken = {part.label for part in tall}
    small = [part for part in parts if part.label not in taken and _is_mark(part, height_px)]
    members = [*tall, *small]
    if not members:
        return []
    group, lines = _Union(len(members)), Lines(sheet.ink, thinned)
    marks: list[tuple[float, int, int]] = []
    for first, second, gap in _near_pairs(members, height_px):
        one, two = members[first], members[second]
        if max(first, second) < len(tall):
            if gap <= LETTER_GAP * min(_clipped(one, height_px), _clipped(two, height_px)):
                _join(group, lines, members, first, second)
        elif gap <= (MARK_GAP if min(first, second) < len(tall) else SIGN_GAP) * height_px:
            marks.append((gap, first, second))
    _attach(group, lines, members, sorted(marks), len(tall), height_px)
    clusters: dict[int, list[Part]] = {}
    for index, part in enumerate(members):
        clusters.setdefault(group.root(index), []).append(part)
    tall_labels = {part.label for part in tall}
    return [items for items in clusters.values() if any(part.label in tall_labels for part in items)]


def _join(group: "_Union", lines: Lines, members: Sequence[Part], first: int, second: int) -> None:
    if not _is_parted(lines, members[first], members[second]):
        group.join(first, second)


def _attach(
    group: "_Union",
    lines: Lines,
    members: Sequence[Part],
    marks: Sequence[tuple[float, int, int]],
    tall: int,
    height_px: float,
) -> None:
    """Give each mark to the cluster nearest to it; the bar of a fraction and a point between figures join two."""
    placed = set(range(tall))
    waiting = list(marks)
    while waiting:
        left: list[tuple[float, int, int]] = []
        for gap, first, second in waiting:
            newcomers = [index for index in (first, second) if index not in placed]
            if len(newcomers) == 2:
                left.append((gap, first, second))
                continue
            bridges = any(_is_bridge(members[index], height_px) for index in (first, second) if index >= tall)
            letters = [_clipped(members[index], height_px) for index in (first, second) if index < tall]
            local = min(letters, default=height_px)
            if newcomers or (bridges and gap <= BAR_GAP * local):
                _join(group, lines, members, first, second)
                placed.update(newcomers)
        if len(left) == len(waiting):
            return
        waiting = left


def _is_bridge(mark: Part, height_px: float) -> bool:
    return mark.look is Look.DOT or mark.length > BAR_LENGTH * height_px


def _is_letter(sheet: LevelSheet, part: Part, height_px: float) -> bool:
    if part.look is Look.RING:
        return 0.75 * height_px < part.size < 1.4 * height_px
    if part.look is not Look.GLYPH or _is_blob(part, height_px):
        return False
    if not part.free and (part.turning < LOOSE_TURNING or part.size > 1.6 * height_px):
        return False
    shorter = min(part.box[2] - part.box[0], part.box[3] - part.box[1])
    if part.thickness < max(RAGGED * min(part.length, 1.5 * height_px), RAGGED_PENS * sheet.pen_px):
        return False
    longest = RUN_TOGETHER if part.thickness < ONE_ROW * height_px else 3.0
    figure = 0.45 * height_px < part.size < longest * height_px
    script = part.turning > 2.5 and 0.5 * height_px < shorter < 1.8 * height_px and part.size < 14 * height_px
    return (figure and part.size < sheet.px(2 * LARGEST_FIGURE_MM)) or script


def _is_blob(part: Part, height_px: float) -> bool:
    """A small part whose pen did not turn, or a blot: a point, a short thick mark."""
    small = part.turning < BLOB_TURNING and part.size < SMALL * height_px and not part.holes
    return small or is_blot(part)


def is_blot(part: Part) -> bool:
    """Whether a part is about as broad as long, and full: a blot, or a filled circle."""
    full = part.area > FULL * part.length * part.thickness and part.thickness > BLOT * part.length
    return part.look is Look.GLYPH and part.turning < BLOB_TURNING and full and not part.holes


def _is_upright_bar(part: Part, height_px: float) -> bool:
    longest = LONGEST_ONE if part.free else 1.4
    return part.look is Look.BAR and 0.55 * height_px < part.length < longest * height_px


def with_thick_ones(parts: Sequence[Part], height_px: float) -> tuple[Part, ...]:
    """The parts; ones that a thick pen drew as wedges are bars where they stand free beside or over a figure."""
    figures = [
        part
        for part in parts
        if part.free and part.look is Look.GLYPH and 0.45 * height_px < part.size < 1.6 * height_px
    ]
    if not figures:
        return tuple(parts)
    near = cKDTree(np.array([part.centre for part in figures]))

    def is_one(part: Part) -> bool:
        square_on = min(abs(part.axis_deg), 90.0 - abs(part.axis_deg)) < ONE_SLOPE_DEG
        as_tall = 0.55 * height_px < part.length < 1.4 * height_px
        wedge = part.look is Look.WEDGE and part.free
        return wedge and square_on and as_tall and bool(near.query(part.centre)[0] < ONE_NEAR * height_px)

    return tuple(replace(part, look=Look.BAR) if is_one(part) else part for part in parts)


def _is_mark(part: Part, height_px: float) -> bool:
    if not part.free and part.size < FREED_MARK * height_px:
        return False
    if part.look is Look.BAR:
        return part.length < 3.6 * height_px
    if part.look is Look.GLYPH or part.look is Look.RING:
        return part.size < SMALL * height_px
    return part.look is Look.DOT


def _clipped(part: Part, height_px: float) -> float:
    return min(max(part.size, 0.9 * height_px), TALLEST_SHARE * height_px)


def _is_parted(lines: Lines, one: Part, two: Part) -> bool:
    """Whether a line runs between two parts, all along the side by which they face each other."""
    left, right = max(one.box[0], two.box[0]), min(one.box[2], two.box[2])
    top, bottom = max(one.box[1], two.box[1]), min(one.box[3], two.box[3])
    if top < bottom and right < left:
        between = lines.within(slice(round(top), round(bottom) + 1), slice(round(right) + 1, round(left)))
        return bool(between.size and between.any(axis=1).mean() > PARTED)
    if left < right and bottom < top:
        between = lines.within(slice(round(bottom) + 1, round(top)), slice(round(left), round(right) + 1))
        return bool(between.size and between.any(axis=0).mean() > PARTED)
    return False


def _near_pairs(parts: Sequence[Part], height_px: float) -> list[tuple[int, int, float]]:
    """Pairs of parts that may belong together, with the paper between their boxes."""
    left, top, right, bottom = np.array([part.box for part in parts]).T
    boxes = shapely.box(left, top, right, bottom)
    farthest = max(MARK_GAP, SIGN_GAP, LETTER_GAP * TALLEST_SHARE) * height_px
    one, two = shapely.STRtree(boxes).query(boxes, predicate="dwithin", distance=farthest)
    order = np.lexsort((two, one))
    one, two = (each[order][one[order] < two[order]] for each in (one, two))
    across = np.maximum(left[one], left[two]) - np.minimum(right[one], right[two])
    down = np.maximum(top[one], top[two]) - np.minimum(bottom[one], bottom[two])
    gaps = np.hypot(np.maximum(across, 0.0), np.maximum(down, 0.0))
    return list(zip(one.tolist(), two.tolist(), gaps.tolist(), strict=True))


class _Union:
    """Disjoint sets of indices."""

    def __init__(self, count: int) -> None:
        self._parent = list(range(count))

    def root(self, index: int) -> int:
        """The set's first member."""
        while self._parent[index] != index:
            self._parent[index] = self._parent[self._parent[index]]
            index = self._parent[index]
        return index

    def join(self, one: int, two: int) -> None:
        """Make one set of two."""
        first, second = sorted((self.root(one), self.root(two)))
        self._parent[second] = first
