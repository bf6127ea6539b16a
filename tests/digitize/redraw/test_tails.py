"""Lettering over an edge, and corners that stay open; areas by hand."""

from pathlib import Path

import pytest

from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_loose_ends import outer_areas

EDGE = 150.0
BOWS = (
    (-2.64, 0.10, 1.06, 222.6, 92.8), (-1.07, 2.07, 0.98, 0.0, 131.2), (0.90, 0.12, 1.08, 146.5, 156.2),
    (1.34, -0.69, 4.76, 131.2, 48.0), (2.47, 2.00, 1.05, 43.6, 91.9),
)  # fmt: skip
"""Bows of two noughts that an edge runs through, as traced: centre beside the edge, radius, start and sweep."""


def bushing(lettered: bool) -> Print:
    """A bushing's section, 60 by 60, its bore 20 wide; where ``lettered``, two noughts stand over its right end."""
    print_ = Print()
    print_.path((90.0, 50.0), (EDGE, 50.0), (EDGE, 110.0), (90.0, 110.0), closed=True)
    for height in (70.0, 90.0):
        print_.line((90.0, height), (EDGE, height))
    for x, y, radius, start, sweep in BOWS if lettered else ():
        print_.arc((EDGE + x, 80.0 + y), radius, start, sweep)
    if lettered:
        print_.line((EDGE - 1.82, 79.3), (EDGE + 1.65, 82.83))
    return print_


@pytest.mark.parametrize("lettered", [False, True])
def test_noughts_over_an_edge_do_not_tie_up_its_outline(lettered: bool, tmp_path: Path) -> None:
    assert outer_areas(bushing(lettered), tmp_path) == pytest.approx([3600.0], rel=1e-3)


@pytest.mark.parametrize(("short_mm", "closes"), [((1.2, 1.0), True), ((1.0, 0.1), True), ((3.0, 3.0), False)])
def test_a_corner_open_by_a_lost_bevel_is_closed_by_one(
    short_mm: tuple[float, float], closes: bool, tmp_path: Path
) -> None:
    across, up = short_mm
    print_ = Print()
    print_.path((150.0 - across, 110.0), (50.0, 110.0), (50.0, 50.0), (150.0, 50.0), (150.0, 110.0 - up))
    wanted = pytest.approx([6000.0 - across * up / 2], rel=1e-6)
    assert outer_areas(print_, tmp_path) == (wanted if closes else [])


def test_an_end_that_two_corners_claim_makes_neither(tmp_path: Path) -> None:
    """Two upright edges end below one level one: which of them it belongs to is open."""
    print_ = Print()
    print_.path((148.5, 110.0), (50.0, 110.0), (50.0, 50.0), (150.0, 50.0), (150.0, 108.8))
    print_.line((149.3, 60.0), (149.3, 108.7))
    assert outer_areas(print_, tmp_path) == []
