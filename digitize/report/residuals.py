"""The residual map: where on the sheet its lengths are longer or shorter than their figures say.

Arrows that point the same way over a part of the sheet tell of paper that has shrunk or does not lie flat there; a
lone long one tells of a slip of the pen or of a figure.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calibrate.sheet import LevelSheet
from digitize.dimensions.table import Dimension, State
from digitize.lettering.text import Kind, Unit
from digitize.strokes.primitives import Point

LONGEST = 0.06
"""The largest residual is drawn this long, as a share of the sheet's width."""
TIP = 0.006
"""Length of an arrow's head, as a share of the sheet's width."""
LEAST_MM = 0.005
"""Residuals under this, in mm of paper, are nothing on any print."""
STEPS = (1, 2, 5)


@dataclass(frozen=True)
class Arrow:
    """One length and its residual, in level pixels.

    ``first`` and ``second`` are its ends; the arrow goes from ``tail`` to ``head``, out of the length where it
    measures too long, into it where too short. ``words`` say so.
    """

    id: str
    first: Point
    second: Point
    tail: Point
    head: Point
    tip: tuple[Point, Point, Point]
    too_long: bool
    words: str


@dataclass(frozen=True)
class ResidualMap:
    """All arrows of a sheet, and how many times larger than on the paper they are drawn."""

    arrows: tuple[Arrow, ...]
    times: int


def residual_map(sheet: LevelSheet, dimensions: Sequence[Dimension], part_per_paper: float) -> ResidualMap:
    """Draw the residuals of all measured lengths that are not disputed.

    Parameters
    ----------
    sheet : LevelSheet
    dimensions : sequence of Dimension
    part_per_paper : float
        Millimetres of part in one of paper.
    """
    measured = [(each, _paper_mm(each, part_per_paper)) for each in dimensions if _is_length(each)]
    largest = max((abs(mm) for _, mm in measured), default=0.0)
    if largest < LEAST_MM:
        return ResidualMap((), 1)
    times = _round_down(LONGEST * sheet.grey.shape[1] * sheet.paper_mm_per_px / largest)
    return ResidualMap(
        tuple(_arrow(each, mm, times / sheet.paper_mm_per_px, TIP * sheet.grey.shape[1]) for each, mm in measured),
        times,
    )


def _is_length(each: Dimension) -> bool:
    lengths = (Kind.LINEAR, Kind.DIAMETER, Kind.RADIUS, Kind.THREAD)
    sound = each.state in (State.AGREED, State.UNPROVEN) and each.kind in lengths
    return sound and each.geometry is not None and each.residual is not None and each.geometry.size > 0


def _paper_mm(each: Dimension, part_per_paper: float) -> float:
    assert each.residual is not None
    return each.residual * (25.4 if each.unit is Unit.INCH else 1.0) / part_per_paper


def _round_down(times: float) -> int:
    """The largest of 1, 2, 5, 10, 20 ... that is no more.

    Examples
    --------
    >>> [_round_down(times) for times in (0.3, 4.9, 5.0, 163.0)]
    [1, 2, 5, 100]
    """
    if times < 1:
        return 1
    power = 10 ** int(math.log10(times))
    return max(int(step * power) for step in STEPS if step * power <= times)


def _arrow(each: Dimension, paper_mm: float, px_per_mm: float, tip_px: float) -> Arrow:
    assert each.geometry is not None
    (x0, y0), (x1, y1) = each.geometry.first, each.geometry.second
    size = math.hypot(x1 - x0, y1 - y0) or 1.0
    along = (x1 - x0) / size, (y1 - y0) / size
    reach = paper_mm * px_per_mm
    head = x1 + along[0] * reach, y1 + along[1] * reach
    way = math.copysign(tip_px, paper_mm)
    foot = head[0] - way * along[0], head[1] - way * along[1]
    side = -along[1] * tip_px / 3, along[0] * tip_px / 3
    tip = head, (foot[0] + side[0], foot[1] + side[1]), (foot[0] - side[0], foot[1] - side[1])
    longer = "longer" if paper_mm > 0 else "shorter"
    words = f"{each.id}: {abs(paper_mm):.2f} mm of paper {longer} than {each.text}"
    return Arrow(each.id, (x0, y0), (x1, y1), (x1, y1), head, tip, paper_mm > 0, words.replace("\n", " / "))
