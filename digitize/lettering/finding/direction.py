"""Which way a cluster of parts reads.

Letters stand upright and side by side, rows are longer than high, fraction bars lie level. Half turns are not told
apart.
"""

import math
from collections.abc import Sequence
from itertools import permutations
from statistics import fmean

import numpy as np

from calibrate.sheet import FloatArray
from digitize.lettering.finding.parts import Look, Part
from digitize.lettering.finding.placing import TALL, Placed, fractions_of, frame_axes, place
from digitize.lettering.finding.sloped import LEAST_SLASH_DEG, STEEP_BAR_DEG, has_sloped_fraction

UNEVEN_COST, MOST_UNEVEN = 3.0, 2.0
"""Letters of a row stand level: cost of their middles' spread, in figure heights."""
BESIDE_WORTH = 0.6
LENGTH_WORTH = 0.6
"""Rows are longer than they are high: decides where letters are as wide as tall."""
STEEPEST_ANGLE_DEG = 105.0
"""Figures are read from the bottom or from the right of a sheet, a little past upright at most."""
SLANT_DEG = 12.0
"""A cluster nearer than this to level or upright is taken to be level or upright."""
FEW_LETTERS_SLANT_DEG = 24.0
MANY_LETTERS = 6
"""The tightest rectangle round a few sloping letters is turned by up to their own slope (15 degrees in ISO 3098)."""
TURNS_DEG = np.arange(-45.0, 45.0, 1.0)
TURNED_AXES = np.concatenate([frame_axes(turn) for turn in TURNS_DEG])
"""The tightest rectangle is sought among those turned so."""
LYING_DEG = 30.0
"""Letters whose longer sides are nearer than this to a direction do not read along it."""
LINE_STEP = 0.6
"""Middles further apart, in figure heights, are of two lines."""
SLANT_COST = 0.35
FRACTION_WORTH = 1.8
"""A fraction bar tells the direction more surely than the shape of a letter (1 at most) does."""
STROKE_LONG, STROKE_SLENDER = 1.5, 0.35
FUSED_UPRIGHT, FUSED_BROADEST = 1.2, 1.3
"""A figure is so much higher than broad; one that a fraction's bar ran into is at most so much broader than high.
Letters on their sides are broader."""
FUSED_UNDER_ONE = 1.05
"""... and no broader under a numerator 1: a fraction's bar on its side looks like one."""
FUSED_GAP, FUSED_BAR_GAP = 0.14, 0.25
"""Paper between the figures of such a fraction, in figure heights: where the bar does not show, and where it does."""


def reading_angle(parts: Sequence[Part], usual_height: float) -> float:
    """The likeliest reading direction of a cluster, in (-75, 105] degrees, half turns not told apart."""
    slanted = [*_slanted_angles(parts, usual_height), *_bar_angles(parts, usual_height)]
    candidates = [(0.0, 0.0), (90.0, 0.0), *((angle, SLANT_COST) for angle in slanted)]
    scores = [_direction_score(parts, angle, usual_height) - cost for angle, cost in candidates]
    return candidates[int(np.argmax(scores))][0]


def _slanted_angles(parts: Sequence[Part], usual_height: float) -> list[float]:
    """Directions of the tightest rectangle round the letters, where they are neither level nor upright."""
    letters = [part for part in parts if part.look is not Look.DOT]
    tall = sum(part.size > TALL * usual_height for part in letters)
    if tall < 2 or any(_is_fraction_stroke(part, usual_height) for part in letters):
        return []
    points = np.vstack([part.hull for part in letters])
    best = float(TURNS_DEG[int(np.argmin(_areas_of(points)))])
    if _stand_square(letters, best):
        return []
    if abs(best) < (SLANT_DEG if len(letters) >= MANY_LETTERS else FEW_LETTERS_SLANT_DEG):
        return []
    both = _normal_angle(best), _normal_angle(best + 90.0)
    return [angle for angle in both if tall > 2 or not _lie_along(letters, angle)]


def _stand_square(letters: Sequence[Part], turn_deg: float) -> bool:
    """Whether the letters by themselves lie nearer to level or upright than to a direction: staggered rows then."""
    square = fmean(_off_deg(part.axis_deg, 0.0) for part in letters)
    return square < fmean(_off_deg(part.axis_deg, turn_deg) for part in letters)


def _lie_along(letters: Sequence[Part], angle_deg: float) -> bool:
    """Whether letters lie on their sides in a direction: sloping ones of two rows line up along their slope."""
    off = [abs((part.axis_deg - angle_deg + 90.0) % 180.0 - 90.0) for part in letters]
    return float(np.median(off)) < LYING_DEG


def _off_deg(axis_deg: float, turn_deg: float) -> float:
    """Angle between the sides of a rectangle and those of a frame, 45 at most."""
    return abs((axis_deg - turn_deg + 45.0) % 90.0 - 45.0)


def _is_fraction_stroke(part: Part, usual_height: float) -> bool:
    """The long oblique stroke of a fraction written along the row, perhaps with a figure touching it."""
    slender = part.length > STROKE_LONG * usual_height and part.thickness < STROKE_SLENDER * part.length
    return slender and LEAST_SLASH_DEG < abs(part.axis_deg) < STEEP_BAR_DEG


def _bar_angles(parts: Sequence[Part], usual_height: float) -> list[float]:
    """Directions in which some slanted bar of a cluster would be a level fraction bar."""
    bars = [part for part in parts if part.look is Look.BAR and len(parts) >= 3]
    slanted = [bar for bar in bars if SLANT_DEG < abs(bar.axis_deg) < 90.0 - FEW_LETTERS_SLANT_DEG]
    angles = [_normal_angle(bar.axis_deg) for bar in slanted]
    return [angle for angle in angles if fractions_of(place(parts, angle), usual_height)]


def _areas_of(points: FloatArray) -> FloatArray:
    """Areas of the rectangles round points that are turned by each of `TURNS_DEG`."""
    return np.asarray(np.ptp(points @ TURNED_AXES.T, axis=0).reshape(-1, 2).prod(axis=1))


def _normal_angle(angle_deg: float) -> float:
    low = STEEPEST_ANGLE_DEG - 180.0
    return (angle_deg - low) % 180.0 + low if (angle_deg - low) % 180.0 else STEEPEST_ANGLE_DEG


def _direction_score(parts: Sequence[Part], angle_deg: float, usual_height: float) -> float:
    """How well a cluster reads in a direction: letters stand upright, side by side, fraction bars lie level."""
    placed = place(parts, angle_deg)
    fractions = fractions_of(placed, usual_height)
    is_square_on = angle_deg in (0.0, 90.0)  # on the slant, an upright stroke of the drawing would pass for a slash
    is_fused = is_square_on and not fractions and _has_fused_fraction(placed, usual_height)
    is_sloped = is_square_on and has_sloped_fraction(placed, angle_deg, usual_height)
    is_fraction = bool(fractions) or is_fused or is_sloped
    inside = {item.part.label for unit in fractions for item in unit.items}
    letters = [item for item in placed if item.part.size > TALL * usual_height and item.part.look is not Look.DOT]
    if not letters:
        return 0.0
    turned = [item for item in letters if item.part.label not in inside or item.part.look is not Look.BAR] or letters
    upright = [_at_most_double((item.height + 1) / (item.width + 1)) for item in turned]
    plain = [] if is_fused else [item for item in letters if item.part.label not in inside]
    levels = [item.middle[1] for item in plain]
    # Two letters may be two rows, which tell nothing of the longer way and are level each.
    rows = is_square_on and len(levels) == len(letters) == 2 and abs(levels[0] - levels[1]) > LINE_STEP * usual_height
    longer = 1.0 if rows else _span(placed, along=True) / _span(placed, along=False)
    length = LENGTH_WORTH * _at_most_double(longer)
    unevenness = _spread(levels) / usual_height if plain and not rows else 0.0
    level = -min(UNEVEN_COST * unevenness, MOST_UNEVEN)
    beside = 0.0 if rows else BESIDE_WORTH * _neighbourliness(plain, usual_height)
    return fmean(upright) + FRACTION_WORTH * is_fraction + beside + length + level


def _at_most_double(ratio: float) -> float:
    """How many times one length is another, as the power of two, from -1 to 1."""
    return min(max(math.log2(ratio), -1.0), 1.0)


def _spread(levels: Sequence[float]) -> float:
    """Standard deviation."""
    middle = fmean(levels)
    return math.sqrt(fmean((level - middle) ** 2 for level in levels))


def _has_fused_fraction(placed: Sequence[Placed], height: float) -> bool:
    """Whether two upright figures stand close over each other, the bar run into one of them; rows stand further off.

    That one may be broader than high by the bar, which then reaches beyond the other on both sides.
    """
    tall = [item for item in placed if item.part.look in (Look.GLYPH, Look.BAR) and item.height > 0.4 * height]
    for upper, lower in permutations(tall, 2):
        gap = abs(lower.top - upper.bottom) / height
        if gap >= FUSED_BAR_GAP or lower.part.look is Look.BAR:
            continue
        shared = min(upper.right, lower.right) - max(upper.left, lower.left)
        narrower, broader = sorted((upper, lower), key=lambda item: item.width)
        if not _is_upright(narrower) or shared < 0.5 * narrower.width:
            continue
        reaches_beyond = broader.left < narrower.left and narrower.right < broader.right
        broadest = FUSED_BROADEST if upper.part.look is Look.GLYPH else FUSED_UNDER_ONE
        has_bar = reaches_beyond and broader.width < broadest * broader.height
        if upper.part.look is Look.BAR and not (has_bar and _is_first_and_last(upper, lower, tall)):
            continue
        if has_bar or (gap < FUSED_GAP and _is_upright(broader)):
            return True
    return False


def _is_upright(item: Placed) -> bool:
    return item.height > FUSED_UPRIGHT * item.width


def _is_first_and_last(upper: Placed, lower: Placed, tall: Sequence[Placed]) -> bool:
    """Whether nothing stands over or under two parts that stand over each other."""
    column = [item for item in tall if upper.left < item.right and item.left < upper.right]
    return all(upper.top < item.middle[1] < lower.bottom for item in column)


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
