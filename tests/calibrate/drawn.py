"""Small sheets drawn with known skew: exact coverage of pixels by ruled lines, lettering from Pillow's own font."""

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from calibrate.sheet import FloatArray

HEIGHT, WIDTH = 1000, 1400
DPI = 200.0
FINE_PX, BROAD_PX = 2.4, 4.4
BORDER = ((60, 60), (1340, 60), (1340, 940), (60, 940))
VIEW = ((250, 250), (800, 250), (800, 600), (250, 600))
TITLE = ((900, 780), (1340, 780)), ((900, 780), (900, 940)), ((900, 830), (1340, 830)), ((900, 885), (1340, 885))
FINE = ((220, 425), (830, 425)), ((525, 220), (525, 630)), ((250, 700), (800, 700)), ((250, 610), (250, 720))
WORDS = (
    ((915, 790), "BRAMLEY FULLING MILL"),
    ((915, 842), "FLANGE FOR CURTAIN LIFT"),
    ((915, 895), "CAST IRON  DRAWN 1907"),
    ((470, 660), "24.375 DIA"),
    ((100, 880), "ALL EDGES PLANED"),
    ((860, 300), "KEYWAY 1/4 RED. 2 PLACES"),
    ((860, 340), "TURN LAP FOR JOURNAL"),
)


def _lines(border: bool) -> list[tuple[FloatArray, float]]:
    outlines = (BORDER, VIEW) if border else (VIEW,)
    frames = [(np.array([c[k], c[(k + 1) % 4]], float), BROAD_PX) for c in outlines for k in range(4)]
    return frames + [(np.array(line, float), FINE_PX) for line in (*TITLE, *FINE)]


def _cover(ink: NDArray[np.float64], ends: FloatArray, width_px: float) -> None:
    reach = int(np.ceil(width_px / 2)) + 2
    left, top = np.maximum(np.floor(ends.min(axis=0)).astype(int) - reach, 0)
    right, bottom = np.ceil(ends.max(axis=0)).astype(int) + reach + 1
    part = ink[top:bottom, left:right]
    y, x = np.mgrid[top : top + part.shape[0], left : left + part.shape[1]]
    length = np.linalg.norm(ends[1] - ends[0])
    along = (ends[1] - ends[0]) / length
    position = (x - ends[0, 0]) * along[0] + (y - ends[0, 1]) * along[1]
    distance = (y - ends[0, 1]) * along[0] - (x - ends[0, 0]) * along[1]
    beyond = np.maximum(np.maximum(-position, position - length), 0)
    np.maximum(part, np.clip(width_px / 2 + 0.5 - np.hypot(distance, beyond), 0, 1), out=part)


def turning(skew_deg: float) -> FloatArray:
    """Map of the straight sheet to the one turned counter-clockwise as seen about its middle, shape (3, 3)."""
    t = np.radians(skew_deg)
    turn = np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]])
    middle = np.array([WIDTH - 1, HEIGHT - 1]) / 2
    matrix = np.eye(3)
    matrix[:2, :2], matrix[:2, 2] = turn, middle - turn @ middle
    return matrix


def sheet(skew_deg: float = 0.0, *, words: bool = True, border: bool = True) -> NDArray[np.uint8]:
    """Draw the sheet, paper 245, ink 30.

    Lines cover pixels by their exact distance, so their turn is known to a thousandth of a degree.
    """
    matrix = turning(skew_deg)
    ink = np.zeros((HEIGHT, WIDTH))
    for ends, width in _lines(border):
        _cover(ink, ends @ matrix[:2, :2].T + matrix[:2, 2], width)
    if words:
        layer = Image.new("L", (WIDTH, HEIGHT), 0)
        pen = ImageDraw.Draw(layer)
        for place, text in WORDS:
            pen.text(place, text, fill=255, font=ImageFont.load_default(28))
        turned = cv2.warpAffine(np.asarray(layer), matrix[:2], (WIDTH, HEIGHT), flags=cv2.INTER_LINEAR)
        ink = np.maximum(ink, np.asarray(turned) / 255)
    return np.round(245 - 215 * ink).astype(np.uint8)


def noisy(grey: NDArray[np.uint8], seed: int, sigma: float = 5.0) -> NDArray[np.uint8]:
    """Add grain."""
    grain = np.random.default_rng(seed).normal(0, sigma, grey.shape)
    return np.clip(grey + grain, 0, 255).astype(np.uint8)


def blueprint(grey: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """White lines on blue."""
    ink = (245 - grey[..., None].astype(np.float64)) / 215
    blue, white = np.array([38, 66, 128]), np.array([226, 232, 238])
    return np.round(blue + (white - blue) * np.clip(ink, 0, 1)).astype(np.uint8)
