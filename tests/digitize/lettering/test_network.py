"""The reader's parts against outside rules, and its model file against the ONNX checker and two runtimes."""

import itertools
import json
import math
import sys
from pathlib import Path

import cv2
import numpy as np
import onnx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from digitize.lettering.ctc import best_strings
from digitize.lettering.frame import HEIGHT_PX, WIDTH_STEP_PX, framed
from digitize.lettering.meaning.spelling import one_spelling
from digitize.lettering.network import MODEL, Calibration, NetworkReader, _opencv
from digitize.lettering.stacks import END, FRACTION, LIMITS, LOWER_ALPHABET, START, UPPER_ALPHABET, canonical
from digitize.lettering.text import Layout
from digitize.lettering.training.export import recipe_hash

LARGEST_MODEL_BYTES = 3_000_000


@pytest.fixture(scope="module")
def reader() -> NetworkReader:
    return NetworkReader()


def drawn(text: str, height_px: int = 60) -> np.ndarray:
    """Text in OpenCV's own Hershey face, which the reader must read for a start."""
    (wide, tall), base = cv2.getTextSize(text, cv2.FONT_HERSHEY_SIMPLEX, 1.0, 2)
    crop = np.full((tall + base + 8, wide + 14), 255, np.uint8)
    cv2.putText(crop, text, (7, tall + 6), cv2.FONT_HERSHEY_SIMPLEX, 1.0, 0, 2, cv2.LINE_AA)
    return crop


def summed_over_paths(scores: np.ndarray) -> dict[tuple[int, ...], float]:
    """Every string's probability by its definition: the sum over all paths that collapse to it (Graves et al. 2006)."""
    totals: dict[tuple[int, ...], float] = {}
    for path in itertools.product(range(scores.shape[1]), repeat=scores.shape[0]):
        string = tuple(c for c, before in zip(path, (0, *path), strict=False) if c and c != before)
        totals[string] = totals.get(string, 0.0) + math.exp(sum(scores[t, c] for t, c in enumerate(path)))
    return totals


@settings(max_examples=40)
@given(st.integers(0, 2**32 - 1))
def test_string_probability_is_the_sum_over_its_paths(seed: int) -> None:
    scores = np.random.default_rng(seed).normal(0, 2, (5, 3)).astype(np.float32)
    scores -= np.log(np.exp(scores).sum(1, keepdims=True))
    expected = summed_over_paths(scores)
    found = dict(best_strings(scores, beams=64, floor=-1e9))
    assert found.keys() == expected.keys()
    for string, total in expected.items():
        assert math.exp(found[string]) == pytest.approx(total, abs=1e-6)


def test_narrow_beam_still_finds_the_best_string() -> None:
    scores = np.full((6, 4), math.log(0.01), np.float32)
    scores[np.arange(6), [1, 0, 1, 2, 2, 0]] = math.log(0.97)
    assert best_strings(scores, beams=2)[0][0] == (1, 1, 2)


@pytest.mark.parametrize(
    ("upper", "lower", "text"),
    [
        (f'2{FRACTION}3{END}"', f"{START}8", '2 3/8"'),
        (f'KEY {FRACTION}3{END}" x {FRACTION}7{END}"', f"{START}4{START}16", 'KEY 3/4" x 7/16"'),
        (f"{LIMITS}1.250{END}", f"{START}1.248", "1.250\n1.248"),
        (f".750{LIMITS}+.002{END}", f"{START}-.000", ".750 +.002\n-.000"),
        (f"Ø{LIMITS}1.250{END}", f"{START}1.248", "Ø1.250\n1.248"),
        (f'5"{FRACTION}1{END}', f"{START}2", '5 1/2"'),
        ('3 1/2"', "", '3 1/2"'),
    ],
)
def test_two_outputs_join_to_canonical_text(upper: str, lower: str, text: str) -> None:
    assert canonical(upper, lower) == text


@pytest.mark.parametrize(
    ("upper", "lower"),
    [
        (f"2{FRACTION}3{END}", ""),
        ("2", f"{START}8"),
        (f"2{FRACTION}3", f"{START}8"),
        (f"{FRACTION}3{END}", START),
        ("2", "8"),
    ],
)
def test_outputs_that_contradict_each_other_give_no_text(upper: str, lower: str) -> None:
    assert canonical(upper, lower) is None


@given(st.integers(3, 120), st.integers(3, 400), st.integers(0, 255))
def test_frame_is_64_rows_and_even_paper_is_no_ink(rows: int, columns: int, grey: int) -> None:
    picture = framed(np.full((rows, columns), grey, np.uint8), Layout.ROW)
    assert picture.shape[0] == HEIGHT_PX
    assert picture.shape[1] % WIDTH_STEP_PX == 0
    assert not picture.any()


@given(st.dictionaries(st.text(max_size=4), st.floats(0, 0.2), max_size=5), st.floats(0.5, 4), st.floats(0.9, 1))
def test_calibrated_probabilities_keep_their_order_and_sum_to_at_most_one(
    raw: dict[str, float], temperature: float, ceiling: float
) -> None:
    made = Calibration(temperature, ceiling).applied(raw)
    assert sum(made.values()) <= 1 + 1e-9
    order = sorted(raw, key=lambda text: raw[text])
    assert all(made[a] <= made[b] + 1e-12 for a, b in itertools.pairwise(order))


def test_model_file_is_small_valid_and_names_its_recipe() -> None:
    assert MODEL.stat().st_size <= LARGEST_MODEL_BYTES
    model = onnx.load(MODEL)
    onnx.checker.check_model(model, full_check=True)
    facts = {entry.key: entry.value for entry in model.metadata_props}
    assert facts["recipe"] == recipe_hash(), "the recipe was changed and the network not trained again"
    assert (json.loads(facts["upper"]), json.loads(facts["lower"])) == (UPPER_ALPHABET, LOWER_ALPHABET)
    assert json.loads(MODEL.with_suffix(".json").read_text(encoding="utf-8")) == facts


def test_both_runtimes_say_the_same_of_clear_lettering(reader: NetworkReader) -> None:
    """Where both compute in whole numbers the sums are alike, but one that lies half way may be rounded up by the one
    and down by the other: of clear lettering that moves a probability by a thousandth at most."""
    pictures = np.stack([framed(drawn(text), Layout.ROW) for text in ("12.50", "17/32 ", "4 REQ")])
    grey = pictures[:, None].astype(np.float32) / np.float32(255)
    for ours, theirs in zip(reader._run(grey), _opencv(MODEL)(grey), strict=True):
        np.testing.assert_allclose(np.exp(ours), np.exp(theirs), atol=1e-3)


def test_without_onnxruntime_opencv_reads(monkeypatch: pytest.MonkeyPatch, reader: NetworkReader) -> None:
    monkeypatch.setitem(sys.modules, "onnxruntime", None)
    crops = [drawn("12.5"), drawn("2 REQ'D")]
    fallen_back = NetworkReader()
    for ours, theirs in zip(
        reader.read(crops, [Layout.ROW] * 2), fallen_back.read(crops, [Layout.ROW] * 2), strict=True
    ):
        assert ours[0].text == theirs[0].text
        assert ours[0].probability == pytest.approx(theirs[0].probability, abs=2e-3)
    assert fallen_back.accept_at == reader.accept_at


NO_TEMPLATE = ["SCALE 1:2.5", "VIEW C-C 1:7.5", "9/16 6 HOLES", "BORE 2.125 FOR 7 BUSH", "LAP 1/32 EACH SIDE"]


@pytest.mark.parametrize("text", ["1.250", "2 REQ'D", "R87.5", "3/4 REAM", "45", *NO_TEMPLATE])
def test_plain_lettering_is_read(reader: NetworkReader, text: str) -> None:
    (readings,) = reader.read([drawn(text)], [Layout.ROW])
    assert readings[0].text == text
    assert readings[0].probability > 0.5


def test_readings_are_five_at_most_best_first_and_not_empty(reader: NetworkReader) -> None:
    crop = cv2.GaussianBlur(drawn("1.68"), (0, 0), 3.5)
    (readings,) = reader.read([crop], [Layout.ROW])
    assert 0 < len(readings) <= 5
    assert all(a.probability >= b.probability > 0 for a, b in itertools.pairwise(readings))
    assert all(reading.text for reading in readings)


def test_answer_does_not_depend_on_what_else_is_read(reader: NetworkReader) -> None:
    crops = [drawn(text) for text in ("12.5", "7/8", "1.375", "SECTION A-A")]
    together = reader.read(crops, [Layout.ROW] * 4)
    alone = [reader.read([crop], [Layout.ROW])[0] for crop in crops]
    for ours, theirs in zip(together, alone, strict=True):
        assert [r.text for r in ours] == [r.text for r in theirs]
        assert ours[0].probability == pytest.approx(theirs[0].probability, abs=1e-3)


LEAST_EXACT = {"clean": 0.96, "medium": 0.92}
"""What must hold on few crops; the scores beside the model are taken from 30,000."""


@pytest.mark.parametrize("level", ["clean", "medium"])
def test_hands_that_training_never_saw_are_read(reader: NetworkReader, level: str) -> None:
    pytest.importorskip("fontTools")  # the recipe's own need, no need of a user
    from digitize.lettering.training.draw import Faces, sample
    from digitize.lettering.training.faces import Face, _hershey

    letters = (Face("hershey-rowmand", "stroke", "test", _hershey("rowmand")),)
    unseen = Faces({"stroke": letters}, letters, "test")
    rng = np.random.default_rng(2024)
    drawn_crops = [sample(rng, unseen, level) for _ in range(150)]
    found = reader.read([s.crop for s in drawn_crops], [s.layout for s in drawn_crops])
    exact = [(r[0].text if r else "") == one_spelling(s.phrase.text) for r, s in zip(found, drawn_crops, strict=True)]
    assert np.mean(exact) >= LEAST_EXACT[level]
    sure = [right for right, r in zip(exact, found, strict=True) if r and r[0].probability >= reader.accept_at]
    assert len(sure) > 40
    assert all(sure)


def hatching() -> np.ndarray:
    crop = np.full((60, 120), 255, np.uint8)
    for x in range(-60, 120, 9):
        cv2.line(crop, (x, 60), (x + 60, 0), 0, 1, cv2.LINE_AA)
    return crop


def noise() -> np.ndarray:
    return np.random.default_rng(5).integers(0, 256, (40, 100), dtype=np.uint8)


def clock() -> np.ndarray:
    crop = np.full((120, 120), 255, np.uint8)
    cv2.circle(crop, (60, 60), 50, 0, 2, cv2.LINE_AA)
    for k in range(12):
        way = np.array([math.sin(k * math.pi / 6), math.cos(k * math.pi / 6)])
        cv2.line(crop, tuple((60 + 42 * way).astype(int)), tuple((60 + 48 * way).astype(int)), 0, 2, cv2.LINE_AA)
    cv2.line(crop, (60, 60), (60, 20), 0, 2, cv2.LINE_AA)
    cv2.line(crop, (60, 60), (85, 70), 0, 2, cv2.LINE_AA)
    return crop


def blank() -> np.ndarray:
    return np.full((30, 80), 240, np.uint8)


@pytest.mark.parametrize("crop", [hatching(), noise(), clock(), blank()], ids=["hatching", "noise", "clock", "blank"])
def test_what_is_no_lettering_is_rejected_or_not_believed(reader: NetworkReader, crop: np.ndarray) -> None:
    (readings,) = reader.read([crop], [Layout.ROW])
    assert not readings or readings[0].probability < 0.5


def test_no_crops_give_no_readings(reader: NetworkReader) -> None:
    assert reader.read([], []) == []


def test_model_path_is_inside_the_package() -> None:
    assert MODEL.parent == Path(__file__).parents[3] / "digitize" / "lettering" / "model"
