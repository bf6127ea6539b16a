"""Dirt goes, the points of small figures stay."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from scipy import ndimage

from calibrate.restoring.pen import PenWidths, pen_widths
from calibrate.restoring.restore import restore
from calibrate.restoring.specks import SPECK_PEN_AREAS, without_specks
from calibrate.sheet import InkImage, PageImage, Resolution, ResolutionStatus

PEN_PX, BROAD_PX = 3.0, 7
POINT_PX = 2
HEIGHT_PX = 20


def _with_figures(count: int) -> tuple[InkImage, list[tuple[int, int]]]:
    """A sheet of lines with small figures in a row, and where the point before each belongs."""
    picture = np.zeros((800, 1600), np.uint8)
    cv2.rectangle(picture, (40, 40), (1560, 760), 1, 3)
    points = []
    for i in range(count):
        cv2.putText(picture, "25", (150 + 120 * i, 300), cv2.FONT_HERSHEY_SIMPLEX, HEIGHT_PX / 22, 1, 2)
        points.append((144 + 120 * i, 299))
    return picture.astype(bool), points


def _dotted(ink: InkImage, places: list[tuple[int, int]]) -> InkImage:
    dotted = ink.copy()
    for x, y in places:
        dotted[y : y + POINT_PX, x : x + POINT_PX] = True
    return dotted


@pytest.mark.parametrize("pen_px", [1.5, 2.3, 6.4])
@pytest.mark.parametrize("density", [0.05, 0.3, 0.41])
def test_specks_are_blobs_of_few_pixels(pen_px: float, density: float) -> None:
    """Against scipy's labels; at 0.41 of noise, 8-connected pieces cross the picture."""
    ink = np.random.default_rng(7).random((1114, 2400)) < density
    labels, _ = ndimage.label(ink, np.ones((3, 3)))
    small = np.bincount(labels.ravel()) < SPECK_PEN_AREAS * pen_px**2
    assert np.array_equal(without_specks(ink.copy(), pen_px), ink & ~small[labels])


def test_points_before_small_figures_are_no_dirt() -> None:
    ink, points = _with_figures(6)
    dotted = _dotted(ink, points)
    assert np.array_equal(without_specks(dotted.copy(), PEN_PX), dotted)


@pytest.mark.parametrize("count", [1, 60])
def test_dirt_goes_and_on_a_dirty_sheet_what_lies_beside_letters_too(count: int) -> None:
    """Where dirt is everywhere, a speck beside a letter is likelier dirt than a point: it would make .25 of 25."""
    ink, points = _with_figures(6)
    dirt = [(int(x), int(y)) for x, y in np.random.default_rng(3).integers((60, 420), (1500, 740), (count, 2))]
    kept = without_specks(_dotted(ink, dirt + points[:2] * (count > 1)), PEN_PX)
    assert np.array_equal(kept, ink)


def test_points_of_small_figures_stay_where_most_lines_are_broad() -> None:
    """By the measure of broad outlines each point would be a speck."""
    ink, points = _with_figures(6)
    ink[:60, :] = ink[740:, :] = ink[:, :60] = ink[:, 1540:] = False
    picture = np.where(_dotted(ink, points), 0, 255).astype(np.uint8)
    picture[360 : 360 + round(PEN_PX), 100:600] = 0
    for left in range(100, 1500, 100):
        picture[380:720, left : left + BROAD_PX] = 0
    pens = pen_widths(picture, picture == 0)
    assert pens == PenWidths(BROAD_PX, PEN_PX)
    page = PageImage(picture, Path("page.png"), "", 1, 1, Resolution(ResolutionStatus.UNKNOWN, None, None, ""))
    assert all(restore(page).ink[y : y + POINT_PX, x : x + POINT_PX].any() for x, y in points)
