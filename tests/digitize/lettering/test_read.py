"""Reading of blocks: other directions, two figures in one block, and the order of results."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from calibrate.errors import InputError
from calibrate.sheet import GreyImage
from digitize.lettering import network
from digitize.lettering.find import find_lettering
from digitize.lettering.read import default_reader, read_blocks
from digitize.lettering.reading import tesseract
from digitize.lettering.text import Layout, Reading, TextBlock
from tests.digitize.lettering.sheets import Board, lettered


class Lookup:
    """A reader that knows a few pictures by their look and rejects every other."""

    name = "lookup"

    def __init__(self, known: dict[str, str]) -> None:
        self._pictures = {text: _tight(lettered(drawn, 3.5)) for drawn, text in known.items()}

    def read(self, crops: Sequence[GreyImage], layouts: Sequence[Layout]) -> list[tuple[Reading, ...]]:
        assert len(crops) == len(layouts)
        return [self._one(_tight(crop)) for crop in crops]

    def _one(self, crop: GreyImage) -> tuple[Reading, ...]:
        scores = [(_likeness(crop, picture), text) for text, picture in self._pictures.items()]
        best = max(scores)
        return (Reading(best[1], best[0]),) if best[0] > 0.8 else ()


def _tight(picture: GreyImage) -> GreyImage:
    rows, columns = np.nonzero(picture < 128)
    if not len(rows):
        return picture
    return picture[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]


def _likeness(one: GreyImage, two: GreyImage) -> float:
    """Correlation of two pictures of like shape, 0 where their shapes differ."""
    shape = np.array(one.shape) / np.array(two.shape)
    if shape.max() > 1.15 or shape.min() < 0.85:
        return 0.0
    resized = cv2.resize(one, two.shape[::-1], interpolation=cv2.INTER_AREA)
    return float(np.corrcoef(resized.ravel(), two.ravel())[0, 1])


def _block(centre: tuple[float, float], angle: float, size: tuple[float, float]) -> TextBlock:
    turn = np.radians(angle)
    along, down = (
        np.array([np.cos(turn), -np.sin(turn)]) * size[0] / 2,
        np.array([np.sin(turn), np.cos(turn)]) * size[1] / 2,
    )
    middle = np.array(centre)
    corners = (middle - along - down, middle + along - down, middle + along + down, middle - along + down)
    a, b, c, d = [(float(x), float(y)) for x, y in corners]
    return TextBlock((a, b, c, d), angle % 360, 41.0)


@pytest.mark.parametrize("angle", [0.0, 90.0, 37.0])
def test_a_block_is_read_along_its_direction(angle: float) -> None:
    board = Board()
    board.write("2.625", (500, 400), angle=angle)
    (text,) = read_blocks(board.sheet(), [_block((500, 400), angle, (155, 42))], Lookup({"2.625": "2.625"}))
    assert text.readings[0].text == "2.625"
    assert text.reader == "lookup"


def test_a_block_on_its_head_is_turned() -> None:
    board = Board()
    board.write("2.625", (500, 400), angle=180.0)
    (text,) = read_blocks(board.sheet(), [_block((500, 400), 0.0, (155, 42))], Lookup({"2.625": "2.625"}))
    assert text.readings[0].text == "2.625"
    assert text.block.angle_deg == 180.0


def test_a_short_block_may_lie_a_quarter_turn_off() -> None:
    board = Board()
    board.write("7", (500, 400), angle=90.0)
    (text,) = read_blocks(board.sheet(), [_block((500, 400), 0.0, (42, 30))], Lookup({"7": "7"}))
    assert text.readings[0].text == "7"
    assert text.block.angle_deg == 90.0


@pytest.mark.parametrize("text", ["6", "9", "68", "89", ".69", "906"])
@pytest.mark.parametrize("is_upright", [False, True])
def test_what_also_reads_on_its_head_goes_by_its_dimension_line(text: str, is_upright: bool) -> None:
    board = Board()  # figures read from the bottom or from the right of the sheet: ISO 129, from memory
    if is_upright:
        board.dimension_line(300, 1000, 500, (570, 730))
        board.grey = np.ascontiguousarray(np.rot90(board.grey))
        board.width, board.height = board.height, board.width
        centre, angle = (500.0, 749.0), 90.0
    else:
        board.dimension_line(300, 1000, 500, (570, 730))
        centre, angle = (650.0, 500.0), 0.0
    board.write(text, centre, angle=angle)
    sheet = board.sheet()
    texts = read_blocks(sheet, find_lettering(sheet).blocks, network.NetworkReader(threads=1))
    said = [
        item.readings[0].text
        for item in texts
        if item.readings and np.hypot(*np.subtract(item.block.centre, centre)) < 40
    ]
    assert said == [text]


def test_words_are_no_reason_to_turn_a_block() -> None:
    board = Board()
    board.write("2.625", (500, 400))
    reader = Lookup({"2.625": "2.6Z5"})
    turned = Board()
    turned.write("2.625", (500, 400), angle=180.0)
    reader._pictures["SHOE"] = _tight(turned.sheet().grey[350:450, 400:600])
    (text,) = read_blocks(board.sheet(), [_block((500, 400), 0.0, (155, 42))], reader)
    assert text.block.angle_deg == 0.0
    assert text.readings[0].text == "2.6Z5"


def test_two_figures_that_make_no_sense_together_are_two() -> None:
    board = Board()
    board.write("2.625", (500, 400))
    board.write("3.875", (700, 400))
    reader = Lookup({"2.625": "2.625", "3.875": "3.875", "2.625 3.875": "2.625 3.875"})
    texts = read_blocks(board.sheet(), [_block((600, 400), 0.0, (355, 42))], reader)
    assert [text.readings[0].text for text in texts] == ["2.625", "3.875"]
    assert texts[0].block.centre[0] == pytest.approx(500, abs=6)
    assert texts[1].block.centre[0] == pytest.approx(700, abs=6)


def test_a_rejected_block_has_no_readings() -> None:
    board = Board()
    board.circle((500, 400), 30)
    (text,) = read_blocks(board.sheet(), [_block((500, 400), 0.0, (60, 60))], Lookup({"2.625": "2.625"}))
    assert text.readings == ()


def test_no_blocks_no_texts() -> None:
    assert read_blocks(Board().sheet(), [], Lookup({})) == ()


def test_without_any_reader_one_sentence_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(network, "MODEL", Path("nowhere") / "lettering.onnx")
    monkeypatch.setattr(tesseract.shutil, "which", lambda _: None)
    with pytest.raises(InputError, match="install tesseract-ocr"):
        default_reader()


@pytest.mark.skipif(not tesseract.is_installed(), reason="tesseract-ocr is not installed")
def test_tesseract_reads_notes_and_stacks() -> None:
    board = Board()
    board.write("DRILL AND REAM", (400, 200), 4.0)
    board.fraction("2", "5", "8", (400, 400))
    board.write("4.625\n4.623", (900, 400), 4.0)
    sheet = board.sheet()
    texts = read_blocks(sheet, find_lettering(sheet).blocks, tesseract.TesseractReader())
    read = {text.readings[0].text for text in texts if text.readings}
    assert read == {"DRILL AND REAM", "2 5/8", "4.625\n4.623"}
    assert all(text.readings[0].probability <= 0.9 for text in texts)


def test_limits_that_no_reader_knows_whole_are_read_line_by_line() -> None:
    board = Board()
    board.write("1.250\n1.248", (500, 400))
    known = Lookup({"1.250": "1.250", "1.248": "1.248"})
    block = replace(_block((500, 400), 0.0, (155, 97)), layout=Layout.STACK)
    (text,) = read_blocks(board.sheet(), [block], known)
    assert text.readings[0].text == "1.250\n1.248"
    assert text.block == block
    board = Board()
    board.write("1.250\n3.5", (500, 400))
    (text,) = read_blocks(board.sheet(), [block], Lookup({"1.250": "1.250", "3.5": "3.5"}))
    assert all("\n" not in reading.text for reading in text.readings)
