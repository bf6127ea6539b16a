"""Marks in another ink: told by their colour on every paper, and never found where there is but one ink."""

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from calibrate.restoring.other_ink import other_ink
from calibrate.sheet import OtherInk

Rgb = tuple[int, int, int]
CREAM, BROWN, BLUEPRINT = (246, 243, 235), (205, 180, 140), (45, 75, 140)
BLACK, WHITE = (25, 25, 30), (230, 232, 238)
RED, BLUE, GREEN, YELLOW = (190, 40, 40), (60, 80, 180), (40, 130, 60), (230, 200, 60)
STROKE = (300, 130), (420, 165)


def drawing(paper: Rgb, ink: Rgb, mark: Rgb, quality: int = 80) -> NDArray[np.uint8]:
    """Ruled lines in one ink and one short stroke in another, as a JPEG scan with coarse colours shows them."""
    picture = np.full((1200, 1600, 3), paper, np.uint8)
    for i in range(12):
        cv2.line(picture, (100, 100 + 80 * i), (1500, 100 + 80 * i), ink, 5 if i % 2 else 3, cv2.LINE_AA)
    cv2.line(picture, *STROKE, mark, 4, cv2.LINE_AA)
    blurred = cv2.GaussianBlur(picture, (0, 0), 0.8)
    noisy = np.clip(blurred + np.random.default_rng(3).normal(0, 5, picture.shape), 0, 255).astype(np.uint8)
    _, encoded = cv2.imencode(".jpg", noisy[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality])
    return np.ascontiguousarray(cv2.imdecode(encoded, cv2.IMREAD_COLOR)[..., ::-1])


@pytest.mark.parametrize(
    ("paper", "ink", "mark", "colour"),
    [
        (CREAM, BLACK, RED, "red"),
        (CREAM, BLACK, BLUE, "blue"),
        (CREAM, BLACK, GREEN, "green"),
        (BROWN, BLACK, RED, "red"),
        (BROWN, BLACK, BLUE, "blue"),
        (BLUEPRINT, WHITE, YELLOW, "yellow"),
        (BLUEPRINT, WHITE, RED, "red"),
    ],
)
def test_a_stroke_in_another_ink_is_found_where_it_lies(paper: Rgb, ink: Rgb, mark: Rgb, colour: str) -> None:
    found = other_ink(drawing(paper, ink, mark), None)
    assert found
    assert {each.colour for each in found} == {colour}
    (left, top), (right, bottom) = STROKE
    for each in found:
        assert left - 10 < each.least_px[0] < each.most_px[0] < right + 10
        assert top - 10 < each.least_px[1] < each.most_px[1] < bottom + 10
    assert max(each.most_px[0] for each in found) - min(each.least_px[0] for each in found) > 0.7 * (right - left)


@pytest.mark.parametrize("paper", [CREAM, BROWN])
@pytest.mark.parametrize("cover", [1.0, 0.5])
def test_thin_ink_that_lets_the_paper_through_is_the_same_ink(paper: Rgb, cover: float) -> None:
    red, green, blue = (round(cover * ink + (1 - cover) * below) for ink, below in zip(BLACK, paper, strict=True))
    assert other_ink(drawing(paper, BLACK, (red, green, blue)), None) == ()


def test_a_drawing_all_in_brown_ink_has_one_ink() -> None:
    assert other_ink(drawing(CREAM, (80, 60, 45), (130, 110, 90)), None) == ()


def test_a_grey_picture_has_no_colours() -> None:
    assert other_ink(np.full((100, 100), 200, np.uint8), None) == ()


def test_what_lies_off_the_sheet_is_no_mark() -> None:
    picture = drawing(CREAM, BLACK, RED)
    off = np.zeros(picture.shape[:2], np.bool_)
    off[:, 250:500] = True
    assert other_ink(picture, off) == ()


def test_a_red_line_right_across_is_one_mark() -> None:
    picture = drawing(CREAM, BLACK, BLACK)
    cv2.line(picture, (100, 130), (1500, 150), RED, 4, cv2.LINE_AA)
    (found,) = [each for each in other_ink(picture, None) if each.most_px[0] - each.least_px[0] > 1000]
    assert isinstance(found, OtherInk)


def test_a_stain_is_no_mark() -> None:
    picture = drawing(CREAM, BLACK, BLACK)
    cv2.ellipse(picture, (700, 350), (180, 150), 0, 0, 360, (215, 195, 165), 24, cv2.LINE_AA)
    assert other_ink(cv2.GaussianBlur(picture, (0, 0), 3.0).astype(np.uint8), None) == ()
