import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont
from skimage import data

from calibrate.errors import InputError
from calibrate.restoring.restore import restore
from calibrate.straightening.check import BLANK, NOISE, PHOTOGRAPH, TEXT
from calibrate.straightening.straighten import straighten
from tests.calibrate import drawn
from tests.calibrate.test_straighten import page_of

SHAPE = (1000, 800)
SENTENCE = "The wheel was repaired in the spring and the stones were dressed again by the old man. "


def refused(pixels):
    page = page_of(pixels)
    with pytest.raises(InputError) as caught:
        straighten(page, restore(page))
    return str(caught.value).removeprefix("sheet.png: ")


def stained():
    rows, columns = np.mgrid[0 : SHAPE[0], 0 : SHAPE[1]]
    paper = 232 * (0.7 + 0.3 * np.cos(columns / 900) * np.cos(rows / 1200))
    paper *= 1 - 0.2 * np.exp(-((np.hypot(columns - 300, rows - 400) / 120) ** 6))
    picture = drawn.noisy(paper.astype(np.uint8), 5, 3.0)
    picture[np.random.default_rng(2).integers(0, SHAPE[0], 80), 100:102] = 60
    return picture


def text_page():
    image = Image.new("L", SHAPE[::-1], 250)
    pen = ImageDraw.Draw(image)
    for k in range(38):
        pen.text((60, 50 + 24 * k), (SENTENCE * 3)[7 * (k % 9) :][:72], fill=25, font=ImageFont.load_default(17))
    return np.asarray(image)


@pytest.mark.parametrize("value", [0, 128, 255])
def test_plain_pages_are_blank(value):
    assert refused(np.full(SHAPE, value, np.uint8)) == BLANK


def test_an_empty_old_sheet_is_blank():
    assert refused(stained()) == BLANK


@pytest.mark.parametrize("seed", [1, 2])
def test_noise(seed):
    rng = np.random.default_rng(seed)
    assert refused(rng.integers(0, 256, SHAPE).astype(np.uint8)) == NOISE
    assert refused((rng.random(SHAPE) < 0.1) * np.uint8(255)) == NOISE


@pytest.mark.parametrize("name", ["camera", "astronaut", "coffee", "chelsea", "rocket"])
def test_photographs(name):
    """Outside pictures: the photographs that scikit-image brings along."""
    assert refused(np.ascontiguousarray(getattr(data, name)())) == PHOTOGRAPH


def test_text_pages():
    assert refused(text_page()) == TEXT
    assert refused(np.ascontiguousarray(data.page())) == TEXT


class TestDrawingsPass:
    def passes(self, pixels):
        page = page_of(pixels)
        return straighten(page, restore(page)).ink.any()

    def test_a_drawing_beside_much_text(self):
        page = text_page().copy()
        page[300:700, 60:760] = cv2.resize(drawn.sheet(), (700, 400), interpolation=cv2.INTER_AREA)
        assert self.passes(page)

    def test_a_lone_flange_without_a_border(self):
        picture = np.full(SHAPE, 245, np.uint8)
        for radius in (60, 140, 220):
            cv2.circle(picture, (400, 450), radius, 30, 3, cv2.LINE_AA)
        for x, y, text in ((380, 180, "8 DIA"), (640, 450, "2 1/2"), (330, 720, "6 BOLTS")):
            cv2.putText(picture, text, (x, y), cv2.FONT_HERSHEY_SIMPLEX, 0.9, 30, 2, cv2.LINE_AA)
        cv2.line(picture, (150, 450), (650, 450), 30, 2, cv2.LINE_AA)
        assert self.passes(picture)

    def test_a_stained_noisy_drawing(self):
        assert self.passes(drawn.noisy(np.minimum(drawn.sheet(), cv2.resize(stained(), (1400, 1000))), 3, 8.0))
