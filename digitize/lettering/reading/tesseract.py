"""Tesseract as a reader, where it is installed: good at running notes, poor at stacked figures.

Stacked fractions and limits are taken apart here (numerator, bar, denominator, whole number), each piece is set at the
height that Tesseract reads best, and the pieces are put together again as canonical text. All pieces of a sheet go
through in a few calls, a column of lines each, since starting the program costs more than reading a line.
"""

import re
import shutil
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import GreyImage
from digitize.lettering.crops import INK_BELOW, montage
from digitize.lettering.text import Layout, Reading

LETTER_PX = 28
"""Height at which Tesseract reads best (its own documents: 20 to 30 px)."""
GAP_PX = 30
MOST_LINES = 60
"""Lines to a picture; more make Tesseract slow at finding them."""
HIGHEST = 0.9
"""No reading is believed more: its confidence is not a probability of the whole string."""
LEVEL_BAR = 3.0
SETTINGS = "--psm 6 --oem 1 -c preserve_interword_spaces=1"
SPELLINGS = str.maketrans(
    {"”": '"', "“": '"', "’": "'", "‘": "'", "×": "x", "—": "-", "–": "-", "º": "°", "⌀": "Ø", "@": "Ø"}
)
TALL = 0.45


def is_installed() -> bool:
    """Whether the program and its Python binding are there."""
    if shutil.which("tesseract") is None:
        return False
    try:
        import pytesseract  # noqa: F401
    except ImportError:
        return False
    return True


@dataclass(frozen=True)
class _Line:
    """A level strip of one crop: its picture and the height of its letters, in pixels."""

    picture: GreyImage
    height: float


@dataclass(frozen=True)
class _Piece:
    """A run of a crop: a strip, or a fraction or pair of limits made of an upper and a lower strip."""

    lines: tuple[_Line, ...]
    joint: str = ""


class TesseractReader:
    """Reads crops with Tesseract.

    Its confidences are turned into cautious probabilities: the least of a string's words, at most 0.9.
    """

    @property
    def name(self) -> str:
        """``tesseract``."""
        return "tesseract"

    def read(self, crops: Sequence[GreyImage], layouts: Sequence[Layout]) -> list[tuple[Reading, ...]]:
        """Read each crop; one reading at most."""
        pieces = [_pieces(crop, layout) for crop, layout in zip(crops, layouts, strict=True)]
        lines = [line for parts in pieces for piece in parts for line in piece.lines]
        found = iter(_read_lines([_scaled(line) for line in lines]))
        return [_together(parts, [[next(found) for _ in piece.lines] for piece in parts]) for parts in pieces]


def _together(pieces: Sequence[_Piece], found: Sequence[Sequence[tuple[str, float]]]) -> tuple[Reading, ...]:
    texts, probability = [], HIGHEST
    for piece, lines in zip(pieces, found, strict=True):
        strings = [text for text, _ in lines]
        if piece.joint and not all(strings):
            return ()
        texts.append(piece.joint.join(strings))
        probability = min([probability, *(confidence for text, confidence in lines if text)])
    text = _canonical(" ".join(text for text in texts if text))
    return (Reading(text, probability),) if text else ()


def _canonical(text: str) -> str:
    text = re.sub(r"[ \t]+", " ", text.translate(SPELLINGS)).strip()
    text = re.sub(r"''|,,", '"', text)
    return re.sub(r"(?<=[\d]) (?=[\"'°])", "", text)


def _read_lines(pictures: Sequence[GreyImage]) -> list[tuple[str, float]]:
    """Text and confidence of each picture of one line."""
    out: list[tuple[str, float]] = []
    for start in range(0, len(pictures), MOST_LINES):
        out += _read_column(pictures[start : start + MOST_LINES])
    return out


def _read_column(pictures: Sequence[GreyImage]) -> list[tuple[str, float]]:
    import pytesseract

    column, tops = montage(pictures, GAP_PX)
    data = pytesseract.image_to_data(column, config=SETTINGS, output_type=pytesseract.Output.DICT)
    words: list[list[tuple[int, str, float]]] = [[] for _ in pictures]
    for text, confidence, left, top, height in zip(
        data["text"], data["conf"], data["left"], data["top"], data["height"], strict=True
    ):
        if str(text).strip() and float(confidence) >= 0:
            index = int(np.searchsorted(tops, top + height / 2 + GAP_PX / 2)) - 1
            words[max(index, 0)].append((int(left), str(text).strip(), float(confidence) / 100))
    return [_line_of(row) for row in words]


def _line_of(words: Sequence[tuple[int, str, float]]) -> tuple[str, float]:
    ordered = sorted(words)
    return " ".join(text for _, text, _ in ordered), min((confidence for *_, confidence in ordered), default=0.0)


def _scaled(line: _Line) -> GreyImage:
    scale = LETTER_PX / max(line.height, 1.0)
    height, width = line.picture.shape
    size = (max(round(width * scale), 1), max(round(height * scale), 1))
    how = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(line.picture, size, interpolation=how), dtype=np.uint8)


# Taking stacks apart -------------------------------------------------------------------------------------------------


def _pieces(crop: GreyImage, layout: Layout) -> list[_Piece]:
    """Pieces of a crop from left to right."""
    ink = np.asarray(crop < INK_BELOW)
    if layout is Layout.ROW or not ink.any():
        return [_Piece((_Line(crop, _letter_height(ink)),))]
    boxes = _boxes(ink)
    bars = [box for box in boxes if _is_bar(box, boxes)]
    if not bars:
        halves = _level_halves(crop, ink)
        return [_Piece(halves, "\n")] if halves else [_Piece((_Line(crop, _letter_height(ink)),))]
    return _around_bars(crop, bars, boxes)


Box = tuple[int, int, int, int]


def _boxes(ink: NDArray[np.bool_]) -> list[Box]:
    """(left, top, right, bottom) of each part, right and bottom not included."""
    count, _, stats, _ = cv2.connectedComponentsWithStats(ink.view(np.uint8), connectivity=8)
    rows = [tuple(int(value) for value in stats[label, :4]) for label in range(1, count)]
    return [(left, top, left + width, top + height) for left, top, width, height in rows if width * height > 4]


def _is_bar(box: Box, boxes: Sequence[Box]) -> bool:
    """A level bar with something over it and something under it."""
    left, top, right, bottom = box
    if right - left < LEVEL_BAR * (bottom - top):
        return False
    near = [other for other in boxes if other != box and left <= (other[0] + other[2]) / 2 <= right]
    over = any(other[3] <= (top + bottom) / 2 + 1 for other in near)
    return over and any(other[1] >= (top + bottom) / 2 - 1 for other in near)


def _around_bars(crop: GreyImage, bars: Sequence[Box], boxes: Sequence[Box]) -> list[_Piece]:
    pieces: list[_Piece] = []
    start = 0
    for left, top, right, bottom in sorted(bars):
        own = [box for box in boxes if left <= (box[0] + box[2]) / 2 <= right]
        first, last = min(box[0] for box in own), max(box[2] for box in own)
        pieces += _plain(crop[:, start:first])
        pieces.append(_Piece((_strip(crop[:top, first:last]), _strip(crop[bottom:, first:last])), "/"))
        start = last
    return pieces + _plain(crop[:, start:])


def _plain(crop: GreyImage) -> list[_Piece]:
    ink = np.asarray(crop < INK_BELOW)
    return [_Piece((_strip(crop),))] if ink.any() else []


def _strip(crop: GreyImage) -> _Line:
    """A crop cut to its ink, with paper round it."""
    ink = np.asarray(crop < INK_BELOW)
    rows, columns = np.flatnonzero(ink.any(axis=1)), np.flatnonzero(ink.any(axis=0))
    if not len(rows):
        return _Line(np.full((4, 4), 255, np.uint8), 4.0)
    tight = crop[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    edge = max(tight.shape[0] // 3, 3)
    picture = np.asarray(cv2.copyMakeBorder(tight, edge, edge, edge, edge, cv2.BORDER_CONSTANT, value=255), np.uint8)
    return _Line(picture, _letter_height(ink))


def _level_halves(crop: GreyImage, ink: NDArray[np.bool_]) -> tuple[_Line, _Line] | None:
    """Upper and lower row of limits, parted at the barest row near the middle."""
    rows = np.flatnonzero(ink.any(axis=1))
    low, high = rows[0], rows[-1]
    third = (high - low) // 3
    sums = ink[low + third : high - third + 1].sum(axis=1)
    if not len(sums):
        return None
    cut = low + third + int(np.argmin(sums))
    upper, lower = crop[:cut], crop[cut:]
    return (_strip(upper), _strip(lower)) if (upper < INK_BELOW).any() and (lower < INK_BELOW).any() else None


def _letter_height(ink: NDArray[np.bool_]) -> float:
    heights = [bottom - top for _, top, _, bottom in _boxes(ink)]
    tallest = max(heights, default=ink.shape[0])
    return float(np.median([height for height in heights if height > TALL * tallest] or [tallest]))
