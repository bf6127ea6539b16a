"""Small sheets with known lettering, drawn with a single-stroke font."""

from dataclasses import dataclass, field
from pathlib import Path

import cv2
import numpy as np
from HersheyFonts import HersheyFonts

from calibrate.sheet import GreyImage, LevelSheet, Polarity, Resolution, ResolutionStatus

PX_PER_MM = 300 / 25.4
PEN_PX = 4
Point = tuple[float, float]
FONT = HersheyFonts()
FONT.load_default_font("futural")
CAPITAL = 21.0
"""Height of the font's capitals, in its own units."""


@dataclass
class Board:
    """A sheet of paper to draw on; lengths in pixels at 300 dpi, angles counter-clockwise."""

    width: int = 1400
    height: int = 1000
    grey: GreyImage = field(init=False)

    def __post_init__(self) -> None:
        self.grey = np.full((self.height, self.width), 255, np.uint8)

    def write(self, text: str, centre: tuple[float, float], mm: float = 3.5, angle: float = 0.0) -> None:
        """Letter a row, or rows parted by line feeds, ``mm`` high and turned about its centre."""
        self.paste(lettered(text, mm), centre, angle)

    def fraction(self, whole: str, top: str, bottom: str, centre: tuple[float, float], angle: float = 0.0) -> None:
        """Letter a stacked fraction with 3 mm figures, its whole number before it."""
        over, under = lettered(top, 3.0), lettered(bottom, 3.0)
        width = max(over.shape[1], under.shape[1])
        gap = 9
        stack = np.full((over.shape[0] + under.shape[0] + 2 * gap + PEN_PX, width), 255, np.uint8)
        _put(stack, over, (width - over.shape[1]) // 2, 0)
        stack[over.shape[0] + gap : over.shape[0] + gap + PEN_PX] = 0
        _put(stack, under, (width - under.shape[1]) // 2, over.shape[0] + 2 * gap + PEN_PX)
        if whole:
            before = lettered(whole, 3.5)
            both = np.full((stack.shape[0], before.shape[1] + 14 + width), 255, np.uint8)
            _put(both, before, 0, (stack.shape[0] - before.shape[0]) // 2)
            _put(both, stack, before.shape[1] + 14, 0)
            stack = both
        self.paste(stack, centre, angle)

    def paste(self, picture: GreyImage, centre: tuple[float, float], angle: float) -> None:
        """Put a picture's ink on the board, turned about its centre."""
        height, width = picture.shape
        turn = cv2.getRotationMatrix2D(((width - 1) / 2, (height - 1) / 2), angle, 1.0)
        turn[:, 2] += np.array(centre) - np.array([(width - 1) / 2, (height - 1) / 2])
        moved = cv2.warpAffine(picture, turn, (self.width, self.height), flags=cv2.INTER_LINEAR, borderValue=255)
        self.grey = np.minimum(self.grey, moved)

    def line(
        self, start: tuple[float, float], end: tuple[float, float], dash: tuple[float, float] | None = None
    ) -> None:
        """Draw a line, or dashes of so many pixels with gaps of so many."""
        first, last = np.array(start), np.array(end)
        length = float(np.hypot(*(last - first)))
        step = (last - first) / length
        on, off = dash or (length, 1.0)
        for s in np.arange(0.0, length, on + off):
            a, b = first + s * step, first + min(s + on, length) * step
            cv2.line(
                self.grey, tuple(np.rint(a).astype(int).tolist()), tuple(np.rint(b).astype(int).tolist()), 0, PEN_PX
            )

    def circle(self, centre: tuple[int, int], radius: int) -> None:
        """Draw a circle."""
        cv2.circle(self.grey, centre, radius, 0, PEN_PX, cv2.LINE_AA)

    def arrowhead(self, tip: tuple[float, float], direction_deg: float) -> None:
        """Draw a filled arrowhead, 3 mm long."""
        length = 3 * PX_PER_MM
        turn = np.radians(direction_deg)
        back = np.array([-np.cos(turn), np.sin(turn)]) * length
        side = np.array([np.sin(turn), np.cos(turn)]) * length / 6
        corners = np.array([np.array(tip), np.array(tip) + back + side, np.array(tip) + back - side])
        cv2.fillPoly(self.grey, [np.rint(corners).astype(np.int32)], 0)

    def dimension_line(self, left: float, right: float, y: float, gap: tuple[float, float]) -> None:
        """Draw a level dimension line with a gap, arrowheads and extension lines."""
        self.line((left, y), (gap[0], y))
        self.line((gap[1], y), (right, y))
        self.arrowhead((left, y), 180.0)
        self.arrowhead((right, y), 0.0)
        for x in (left, right):
            self.line((x, y - 30), (x, y + 150))

    def sheet(self) -> LevelSheet:
        """The board as a level sheet."""
        grey = cv2.GaussianBlur(self.grey, (0, 0), 0.7)
        ink = grey < 128
        eye = np.eye(3)
        return LevelSheet(
            path=Path("board.png"), sha256="0" * 64, page=1, page_count=1, source_shape_px=grey.shape,
            polarity=Polarity.DARK_ON_LIGHT, resolution=Resolution(ResolutionStatus.STATED, 300.0, 300.0, ""),
            working_grey=grey, working_ink=ink, grey=grey, ink=ink, working_from_source=eye, level_from_working=eye,
            orientation_deg=0, skew_deg=0.0, skew_std_deg=0.01, rectified=False, paper_mm_per_px=1 / PX_PER_MM,
            pen_px=float(PEN_PX),
        )  # fmt: skip


def lettered(text: str, mm: float) -> GreyImage:
    """Rows of text, cut to their ink; capitals are ``mm`` high."""
    height = mm * PX_PER_MM
    pen = max(min(PEN_PX, round(height / 9)), 1)
    rows = [_row(row, (height - pen) / CAPITAL, pen) for row in text.split("\n")]
    gap = round(0.35 * height)
    tall = sum(row.shape[0] for row in rows) + gap * (len(rows) - 1)
    out = np.full((tall, max(row.shape[1] for row in rows)), 255, np.uint8)
    top = 0
    for row in rows:
        _put(out, row, 0, top)
        top += row.shape[0] + gap
    return out


def _row(text: str, scale: float, pen: int) -> GreyImage:
    strokes = [np.array(stroke) * scale + 100 for stroke in FONT.strokes_for_text(text)]
    size = np.ceil(np.vstack(strokes).max(axis=0)).astype(int) + 100
    picture = np.full((size[1], size[0]), 255, np.uint8)
    for stroke in strokes:
        cv2.polylines(picture, [np.rint(stroke * 16).astype(np.int32)], False, 0, pen, cv2.LINE_AA, 4)
    rows, columns = np.nonzero(picture < 128)
    return picture[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]


def _put(board: GreyImage, picture: GreyImage, left: int, top: int) -> None:
    window = board[top : top + picture.shape[0], left : left + picture.shape[1]]
    np.minimum(window, picture, out=window)
