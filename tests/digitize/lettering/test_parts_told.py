"""What the finder tells from the boxes and looks of parts alone; the boxes are of drawn samples."""

import numpy as np
import pytest

from digitize.lettering.finding.direction import reading_angle
from digitize.lettering.finding.end_marks import with_end_marks
from digitize.lettering.finding.parts import Look, Part
from digitize.lettering.finding.placing import place
from digitize.lettering.finding.row import Row, row_of

Box = tuple[float, float, float, float]


def part(label: int, box: Box, look: Look = Look.GLYPH, turning: float = 1.7) -> Part:
    left, top, right, bottom = box
    width, height = right - left + 1, bottom - top + 1
    hull = np.array([(left, top), (right, top), (right, bottom), (left, bottom)], dtype=np.float64)
    axis_deg = 0.0 if width > height else -90.0
    sizes = max(width, height), min(width, height)
    return Part(label, box, hull, axis_deg, *sizes, turning, 0, round(width * height / 2), look, free=True)


def turned(box: Box) -> Box:
    """A box turned by 90 degrees counter-clockwise about the origin."""
    left, top, right, bottom = box
    return top, -right, bottom, -left


def angle_of(boxes: list[Box], height: float) -> float:
    return reading_angle([part(label, box) for label, box in enumerate(boxes, start=1)], height)


@pytest.mark.parametrize(
    "boxes",
    [
        [(203.0, 359.0, 217.0, 384.0), (191.0, 387.0, 228.0, 419.0), (212.0, 393.0, 226.0, 418.0)],
        [(98.0, 358.0, 113.0, 383.0), (92.0, 387.0, 119.0, 417.0), (100.0, 392.0, 116.0, 419.0)],
    ],
)
def test_a_broad_bar_run_into_a_figure_tells_which_way_a_fraction_reads(boxes: list[Box]) -> None:
    assert angle_of(boxes, 26.0) == 0.0
    assert angle_of([turned(box) for box in boxes], 26.0) == 90.0


def test_the_torn_figure_of_an_upright_row_is_no_numerator() -> None:
    letters = [(629, 911, 660, 934), (630, 945, 660, 967), (629, 964, 660, 983), (643, 989, 660, 1007)]
    boxes = [*letters, (630, 1013, 661, 1035), (630, 985, 638, 1000)]
    assert angle_of([(float(a), float(b), float(c), float(d)) for a, b, c, d in boxes], 26.0) == 90.0


def test_small_strokes_behind_a_sloped_fraction_are_its_inch_mark() -> None:
    def row(*parts: Part) -> Row:
        return row_of(place(parts, 0.0), 0.0, 18.0)

    slash = part(1, (698.0, 844.0, 712.0, 881.0), Look.BAR, 1.1)
    figure = part(2, (721.0, 861.0, 732.0, 879.0))
    strokes = [part(3, (739.0, 843.0, 744.0, 854.0), turning=1.0), part(4, (749.0, 843.0, 753.0, 854.0), Look.BAR, 1.0)]
    (fraction,) = with_end_marks([row(slash, figure), row(*strokes)], [slash, figure, *strokes])
    assert {item.label for item in fraction.parts} == {1, 2, 3, 4}
