"""A crop that was read is not read again."""

from collections.abc import Sequence

import numpy as np

from calibrate.sheet import GreyImage
from digitize.lettering.reading.once import ReadOnce
from digitize.lettering.text import Layout, Reading


class Counting:
    name = "counting"

    def __init__(self) -> None:
        self.asked: list[int] = []

    def read(self, crops: Sequence[GreyImage], layouts: Sequence[Layout]) -> list[tuple[Reading, ...]]:
        self.asked.append(len(crops))
        return [(Reading(f"{crop.sum()} {layout}", 1.0),) for crop, layout in zip(crops, layouts, strict=True)]


def test_each_crop_is_read_once_in_each_layout() -> None:
    one, two = np.full((4, 5), 1, np.uint8), np.full((5, 4), 1, np.uint8)
    plain, once = Counting(), ReadOnce(counted := Counting())
    crops, layouts = [one, one.copy(), two, one], [Layout.ROW, Layout.ROW, Layout.ROW, Layout.STACK]
    for _ in range(2):
        assert once.read(crops, layouts) == plain.read(crops, layouts)
    assert once.name == "counting"
    assert counted.asked == [3]
