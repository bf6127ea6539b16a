"""Front and back of one sheet, known by what shines through; neighbours in a drawer that are not."""

from itertools import combinations

import cv2
import numpy as np
import pytest

from digitize.batch.backs import look_of, through

HEIGHT, WIDTH = 1100, 1600
BORDER = ((40, 40), (WIDTH - 40, HEIGHT - 40))


def side(seed: int) -> np.ndarray:
    """A sheet of the office: the same border and title block on each, its own lines and circles."""
    rng = np.random.default_rng(seed)
    grey = np.full((HEIGHT, WIDTH), 240, np.uint8)
    cv2.rectangle(grey, *BORDER, 30, 4)
    cv2.rectangle(grey, (WIDTH - 500, HEIGHT - 200), BORDER[1], 30, 3)
    for _ in range(14):
        x, y = (int(each) for each in rng.integers((100, 100), (WIDTH - 600, HEIGHT - 300)))
        w, h = (int(each) for each in rng.integers(40, 400, 2))
        cv2.rectangle(grey, (x, y), (x + w, y + h), 30, 3)
        cv2.circle(grey, (x, y), int(rng.integers(15, 60)), 30, 3)
    return grey


def shone_through(front: np.ndarray, back: np.ndarray, strength: float, flip: int = 1) -> np.ndarray:
    """The back as it is scanned: laid a little askew, the front's ink blurred and faint in it, grain."""
    ink = cv2.flip(cv2.GaussianBlur(240.0 - front, (0, 0), 3), flip)
    turn = cv2.getRotationMatrix2D((WIDTH / 2, HEIGHT / 2), 0.5, 1)
    turn[:, 2] += (11, -17)
    grain = np.random.default_rng(21_400).normal(0, 4, front.shape)
    seen = back - strength * cv2.warpAffine(ink, turn, (WIDTH, HEIGHT)) + grain
    return np.clip(seen, 0, 255).astype(np.uint8)


def height(one: np.ndarray, other: np.ndarray) -> tuple[bool, float]:
    seen = through(look_of(one), look_of(other))
    return (False, 0.0) if seen is None else (seen.is_back, seen.mirrored)


@pytest.mark.parametrize("flip", [0, 1])
@pytest.mark.parametrize("strength", [0.08, 0.2])
@pytest.mark.parametrize("is_drawn", [False, True])
def test_a_back_is_known_blank_or_drawn_turned_either_way(is_drawn: bool, strength: float, flip: int) -> None:
    front = side(21_401)
    own = side(21_402) if is_drawn else np.full_like(front, 236)
    back = shone_through(front, own, strength, flip)
    assert height(front, back)[0]
    assert height(back, front)[0]


def test_light_lines_on_dark_are_known_too() -> None:
    front = side(21_403)
    back = shone_through(front, np.full_like(front, 236), 0.2)
    assert height(255 - front, 255 - back)[0]


def test_sheets_of_one_form_are_no_backs_of_each_other() -> None:
    sides = [side(seed) for seed in range(21_410, 21_416)]
    assert [height(one, other) for one, other in combinations(sides, 2) if height(one, other)[0]] == []


def test_the_back_of_another_sheet_and_a_second_scan_are_none() -> None:
    front, other = side(21_420), side(21_421)
    back = shone_through(other, np.full_like(front, 236), 0.2)
    assert not height(front, back)[0]
    again = shone_through(front, np.full_like(front, 236), 1.0, flip=1)[:, ::-1]
    assert not height(front, again)[0]


def test_a_symmetric_part_on_one_side_alone_is_none() -> None:
    front = np.full((HEIGHT, WIDTH), 240, np.uint8)
    cv2.rectangle(front, *BORDER, 30, 4)
    cv2.circle(front, (WIDTH // 2, HEIGHT // 2), 300, 30, 3)
    grain = np.random.default_rng(21_430).normal(0, 4, (2, *front.shape))
    again, blank = (np.clip(each, 0, 255).astype(np.uint8) for each in (front + grain[0], 236 + grain[1]))
    assert not height(front, again)[0]
    assert not height(front, blank)[0]


def test_pages_of_another_size_or_without_lines_are_not_compared() -> None:
    front = side(21_440)
    blank = np.full_like(front, 236)
    assert through(look_of(front), look_of(front[:700])) is None
    assert through(look_of(blank), look_of(blank)) is None
