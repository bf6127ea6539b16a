"""Which way up a sheet lies, told by its figures: drawn with OpenCV's own stroke font (an outside face)."""

import json
from pathlib import Path

import cv2
import numpy as np
import pytest

from calibrate.level import calibrate_sheet
from calibrate.straightening import straighten
from calibrate.straightening.turns import NOT_TOLD, Turn
from digitize.pipeline import laid_upright
from tests.bench.skew import measure

FIGURES = ("24.5", "125", "37.25", "42", "73")


@pytest.fixture(autouse=True)
def _letter_shapes_tell_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(straighten, "find_turn", lambda ink, letters: Turn(0, NOT_TOLD))


def _sheet(path: Path, figures: tuple[str, ...], quarters: int) -> Path:
    """Dimension-like figures over long lines, one of them read from the right, turned counter-clockwise."""
    paper = np.full((900, 1300), 255, np.uint8)
    for row, figure in enumerate(figures):
        cv2.putText(paper, figure, (500, 150 + 130 * row), cv2.FONT_HERSHEY_SIMPLEX, 1.3, 0, 3, cv2.LINE_AA)
        cv2.line(paper, (200, 180 + 130 * row), (900, 180 + 130 * row), 0, 2, cv2.LINE_AA)
    on_its_side = np.full((100, 300), 255, np.uint8)
    cv2.putText(on_its_side, "58.4", (60, 70), cv2.FONT_HERSHEY_SIMPLEX, 1.3, 0, 3, cv2.LINE_AA)
    paper[300:600, 1000:1100] = np.rot90(on_its_side)
    cv2.line(paper, (1120, 200), (1120, 800), 0, 2, cv2.LINE_AA)
    cv2.imwrite(str(path), np.rot90(paper, quarters))
    return path


def _laid(path: Path) -> tuple[int, tuple[str, ...]]:
    sheet = laid_upright(lambda orientation_deg: calibrate_sheet(path, orientation_deg=orientation_deg))
    return sheet.orientation_deg, sheet.warnings


@pytest.mark.parametrize("quarters", [0, 1, 2, 3])
def test_figures_that_are_read_tell_the_turn(quarters: int, tmp_path: Path) -> None:
    orientation_deg, warnings = _laid(_sheet(tmp_path / "sheet.png", FIGURES, quarters))
    assert (orientation_deg + 90 * quarters) % 360 == 0
    assert NOT_TOLD not in warnings


def test_what_reads_both_ways_up_tells_nothing(tmp_path: Path) -> None:
    """A 6 is a 9 upside down, 0 and 8 stay what they are."""
    orientation_deg, warnings = _laid(_sheet(tmp_path / "sheet.png", ("608", "96", "806", "69"), 2))
    assert orientation_deg == 0
    assert NOT_TOLD in warnings


def test_the_bench_turns_a_sheet_as_the_product_does(tmp_path: Path) -> None:
    picture = _sheet(tmp_path / "sheet.png", FIGURES, 2)
    line = {"type": "line", "p0": [20, 20], "p1": [90, 20]}
    truth = {"skew_deg": 0.0, "orientation_deg": 180, "strokes": [line], "dimensions": []}
    picture.with_name("sheet.truth.json").write_text(json.dumps(truth), encoding="utf-8")
    turned = measure(picture, 0.0)
    assert turned.turn_right
    assert not turned.turn_doubted
