"""The recipe's own rules: what is drawn can be seen, and whole numbers say what the network said in float."""

import re
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import onnx
import onnxruntime
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from onnx import numpy_helper

from digitize.lettering.frame import HEIGHT_PX
from digitize.lettering.network import MODEL, Calibration
from digitize.lettering.stacks import LOWER_ALPHABET, UPPER_ALPHABET

pytest.importorskip("fontTools")  # the recipe's own need, no need of a user

from digitize.lettering.training import export
from digitize.lettering.training.clutter import _head_by
from digitize.lettering.training.damage import damaged
from digitize.lettering.training.draw import Faces, _laid_over, _overdrawn
from digitize.lettering.training.faces import Face, Glyph
from digitize.lettering.training.free_rows import free_row
from digitize.lettering.training.graph import LARGEST_LEVEL, Narrow, convolutions
from digitize.lettering.training.hand import _VARIANTS, with_signs
from digitize.lettering.training.heads import ctc_slope
from digitize.lettering.training.legible import is_seen, set_apart
from digitize.lettering.training.manners import Manner, Variety, manner
from digitize.lettering.training.no_lettering import _oblong
from digitize.lettering.training.phrases import phrase
from digitize.lettering.training.pieces import BAR, Piece, bounds
from digitize.lettering.training.plan import FEATURES, HEADS, LAYERS
from digitize.lettering.training.rounding import rounded
from digitize.lettering.training.scanned import LOOSE_SHARE, TRAINED_LOOSE_SHARE, cut, scanned
from digitize.lettering.training.score import Case, calibration_error, report
from digitize.lettering.training.setting import set_phrase
from digitize.lettering.training.written import Fraction, Phrase, titled


def upright(x: float, char: str = "1") -> Piece:
    return Piece((np.array([[x, 0.0], [x, 1.0]], np.float32),), False, 0.1, char)


def stop(x: float) -> Piece:
    return Piece((np.array([[x, 0.05], [x + 0.02, 0.05]], np.float32),), False, 0.12, ".")


def test_figures_that_stand_apart_are_legible() -> None:
    assert set_apart([upright(0.0), stop(0.3), upright(0.6)])


def test_a_full_stop_run_into_a_figure_is_not() -> None:
    assert not set_apart([upright(0.0), stop(0.03), upright(0.6)])


def test_figures_written_over_each_other_are_not() -> None:
    assert not set_apart([upright(0.0), upright(0.02)])


def scan_of_a_figure(marked: bool) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A figure 1 with a full stop after it: the scan, all its ink, and the stop's."""
    text, mark = np.zeros((40, 40), np.uint8), np.zeros((40, 40), np.uint8)
    mark[28:31, 24:27] = 255
    text[8:31, 12:15] = 255
    scan = 230 - (text * 0.8).astype(np.uint8) - ((mark * 0.8).astype(np.uint8) if marked else 0)
    return scan.astype(np.uint8), np.maximum(text, mark), mark


def test_a_mark_that_the_scan_kept_is_seen() -> None:
    scan, text, mark = scan_of_a_figure(marked=True)
    assert is_seen(scan, text, [mark])


def test_a_mark_that_the_scan_lost_is_not_seen() -> None:
    scan, text, mark = scan_of_a_figure(marked=False)
    assert not is_seen(scan, text, [mark])


def test_nothing_is_seen_in_a_black_scan() -> None:
    _, text, mark = scan_of_a_figure(marked=True)
    assert not is_seen(np.full_like(text, 12), text, [mark])


def random_weights(rng: np.random.Generator) -> dict[str, np.ndarray]:
    weights: dict[str, np.ndarray] = {}

    def convolution(prefix: str, outputs: int, inputs: int, kernel: tuple[int, int]) -> None:
        weights[f"{prefix}.conv.weight"] = rng.normal(0, 0.1, (outputs, inputs, *kernel)).astype(np.float32)
        for name, value in (("weight", 1), ("bias", 0), ("running_var", 1), ("running_mean", 0)):
            weights[f"{prefix}.norm.{name}"] = np.full(outputs, value, np.float32)

    for layer in LAYERS:
        convolution(f"steps.{layer.name}.first", layer.outputs, layer.inputs, layer.kernel)
        if layer.residual:
            convolution(f"steps.{layer.name}.second", layer.outputs, layer.outputs, layer.kernel)
    for head, alphabet in (("upper", UPPER_ALPHABET), ("lower", LOWER_ALPHABET)):
        weights[f"{head}.weight"] = rng.normal(0, 0.1, (1 + len(alphabet), FEATURES, 1)).astype(np.float32)
        weights[f"{head}.bias"] = np.zeros(1 + len(alphabet), np.float32)
    return weights


def noise_met(weights: dict[str, np.ndarray], rng: np.random.Generator) -> dict[str, tuple[float, float]]:
    """Ranges of what a network's values reach on noise."""
    session = onnxruntime.InferenceSession(
        export.in_float(weights).SerializeToString(), providers=["CPUExecutionProvider"]
    )
    names = [output.name for output in session.get_outputs() if output.name not in HEADS]
    values = session.run(names, {"picture": rng.random((4, 1, HEIGHT_PX, 96), np.float32)})
    return {name: (float(value.min()), float(value.max())) for name, value in zip(names, values, strict=True)}


def test_a_network_in_whole_numbers_says_nearly_what_it_said_in_float(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    weights = export.folded(random_weights(rng))
    kernels = {
        name: rounded(weights[f"{name}.kernel"], np.eye(weights[f"{name}.kernel"][0].size))
        for name, *_ in convolutions()
    }
    export.export(weights, kernels, noise_met(weights, rng), tmp_path / "model.onnx", {})
    assert (tmp_path / "model.onnx").stat().st_size < 3_000_000
    again = export.unpacked(onnx.load(tmp_path / "model.onnx"))
    assert again.keys() == weights.keys()
    for name, *_ in convolutions():
        steps = kernels[name].scales[:, None, None, None]
        assert np.all(np.abs(again[f"{name}.kernel"] - weights[f"{name}.kernel"]) <= steps * 0.5001)
    picture = {"picture": rng.random((2, 1, HEIGHT_PX, 96), np.float32)}
    whole = onnxruntime.InferenceSession(tmp_path / "model.onnx", providers=["CPUExecutionProvider"])
    wide = onnxruntime.InferenceSession(
        export.in_float(weights).SerializeToString(), providers=["CPUExecutionProvider"]
    )
    for ours, wanted in zip(whole.run(list(HEADS), picture), wide.run(list(HEADS), picture), strict=True):
        assert np.corrcoef(ours.ravel(), wanted.ravel())[0, 1] > 0.99


def test_no_processor_can_lose_a_sum_of_the_model() -> None:
    """Two products are added in sixteen bits by processors without dot products of bytes (Intel, VPMADDUBSW: saturates
    at 32,767; from memory), a whole sum in thirty-two."""
    kept = {t.name: numpy_helper.to_array(t).astype(np.int64) for t in onnx.load(MODEL).graph.initializer}
    for name, *_ in convolutions():
        flat = np.abs(kept[f"{name}.kernel.whole"]).reshape(len(kept[f"{name}.kernel.whole"]), -1)
        assert LARGEST_LEVEL * 2 * flat.max() <= np.iinfo(np.int16).max
        assert (LARGEST_LEVEL * flat.sum(axis=1) + np.abs(kept[f"{name}.bias.whole"])).max() <= np.iinfo(np.int32).max


def test_a_weight_takes_back_what_rounding_its_neighbour_has_changed() -> None:
    """Two inputs that are always equal: only the sum of their weights counts."""
    kernel = np.array([64.0, 0.4, 0.4], np.float32).reshape(1, 3, 1, 1)
    together = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 1.0], [0.0, 1.0, 1.0]])
    assert rounded(kernel, np.eye(3)).whole.ravel().tolist() == [64, 0, 0]
    assert rounded(kernel, together).whole.ravel().tolist() == [64, 0, 1]


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=25, deadline=None)
def test_rounding_by_what_is_met_changes_sums_less_than_one_by_one(seed: int) -> None:
    """In all, not of each filter: what is carried on may happen to add up in one of them."""
    rng = np.random.default_rng(seed)
    inputs = rng.random((400, 3)) @ rng.random((3, 12)) + 0.05 * rng.random((400, 12))
    kernel = rng.normal(0, 1, (40, 12, 1, 1)).astype(np.float32)
    products = inputs.T @ inputs / len(inputs)

    def off(made: Narrow) -> float:
        return float(np.sum(((made.wide() - kernel).reshape(40, 12) @ inputs.T) ** 2))

    assert off(rounded(kernel, products)) < off(rounded(kernel, np.eye(12)))


def loss(logits: np.ndarray, string: np.ndarray) -> float:
    """Minus the logarithm of the sum over all paths, column by column (Graves et al. 2006)."""
    shares = np.exp(logits) / np.exp(logits).sum(axis=1, keepdims=True)
    spelled = np.insert(string, np.arange(len(string) + 1), 0)
    leaps = np.array([i for i in range(3, len(spelled), 2) if spelled[i] != spelled[i - 2]], int)
    reached = np.zeros(len(spelled))
    reached[:2] = shares[0, spelled[:2]]
    for column in shares[1:]:
        before = reached.copy()
        reached[1:] += before[:-1]
        reached[leaps] += before[leaps - 2]
        reached *= column[spelled]
    return -float(np.log(reached[-2:].sum()))


@pytest.mark.parametrize("string", [[], [1], [1, 1], [2, 1, 3], [3, 3, 2]])
def test_slope_of_the_loss_is_its_difference_quotient(string: list[int]) -> None:
    logits, classes = np.random.default_rng(len(string)).normal(0, 1, (7, 4)), np.array(string, np.int64)
    slope = ctc_slope(logits - np.log(np.exp(logits).sum(axis=1, keepdims=True)), classes)
    step = 1e-5
    for place in np.ndindex(logits.shape):
        change = np.zeros_like(logits)
        change[place] = step
        quotient = (loss(logits + change, classes) - loss(logits - change, classes)) / (2 * step)
        assert slope[place] == pytest.approx(quotient, abs=1e-6)


def test_a_string_longer_than_the_columns_pulls_nowhere() -> None:
    assert not ctc_slope(np.full((2, 3), np.log(1 / 3)), np.array([1, 2, 1], np.int64)).any()


@pytest.fixture(scope="module")
def free_texts() -> list[str]:
    rng = np.random.default_rng(3)
    return [free_row(rng).text for _ in range(4000)]


@pytest.mark.parametrize(
    "follows",
    [
        r"[A-Z] \S*\d:\S*\d",  # a ratio after a word
        r"/\d+\"? \d+ [A-Z]",  # a count and a word after a fraction
        r"[A-Z] \d+ \d+/\d+ [A-Z]",  # a mixed number between words
        r"\d [A-Z]+ [A-Z]",  # two words after a size
        r"[A-Z] [A-Z]+ \.\d",  # a decimal without its nought after two words
    ],
)
def test_free_rows_write_what_no_template_holds(free_texts: list[str], follows: str) -> None:
    assert any(re.search(follows, text) for text in free_texts)


def test_free_rows_write_every_fraction_and_prefer_no_denominator(free_texts: list[str]) -> None:
    under = Counter(match for text in free_texts for match in re.findall(r"\d/(\d+)", text))
    assert len(under) > 90
    assert under.most_common(1)[0][1] < 0.15 * under.total()


def test_every_kind_of_phrase_is_still_drawn_beside_free_rows() -> None:
    rng = np.random.default_rng(4)
    styles = Counter(phrase(rng).style for _ in range(2000))
    assert 0.2 < styles["free"] / styles.total() < 0.4
    assert min(styles.values()) >= 15
    assert len(styles) == 15


def test_ink_that_pales_along_the_row_is_never_wholly_lost() -> None:
    ink = np.zeros((40, 400), np.uint8)
    ink[10:30, 10:390] = 255
    rng = np.random.default_rng(5)
    for _ in range(60):
        scan = damaged(rng, ink, "harsh").astype(float)
        paper = np.median(np.concatenate([scan[:6].ravel(), scan[-6:].ravel()]))
        assert scan[12:28, 12:388].mean() < paper - 10


def test_a_slot_on_end_is_never_as_short_as_a_nought() -> None:
    rng = np.random.default_rng(6)
    sizes = [np.ptp(_oblong(rng, (0.0, 0.0, 4.0, 2.0), 0.1)[0].parts[0], axis=0) for _ in range(400)]
    upright = [tall / wide for wide, tall in sizes if tall > wide]
    assert len(upright) > 40
    assert min(upright) > 2


def test_a_fraction_whose_bar_the_frame_cuts_off_is_drawn_again() -> None:
    bar = Piece((np.array([[0.0, 3.0], [0.6, 3.0]], np.float32),), False, 0.1, BAR)
    frame, rng = (-0.3, -0.3, 0.8, 1.3), np.random.default_rng(7)
    assert scanned(rng, [upright(0.1)], [], frame, "clean", 1.0) is not None
    assert scanned(rng, [upright(0.1), bar], [], frame, "clean", 1.0) is None


def test_a_typewriters_space_is_as_wide_as_its_letters() -> None:
    def face(advances: dict[str, float]) -> Face:
        stroke = (np.array([[0.0, 0.0], [0.0, 1.0]], np.float32),)
        return Face("any", "typewriter", "train", {c: Glyph(stroke, a, True) for c, a in advances.items()})

    rng = np.random.default_rng(8)
    assert manner(rng, face(dict.fromkeys("IlMW.", 0.84))).space == 0.84
    spaces = {manner(rng, face({"I": 0.3, "M": 0.9})).space for _ in range(20)}
    assert len(spaces) == 20


def test_words_that_show_no_case_keep_their_capitals() -> None:
    assert titled("SCREW X COVS DIA") == "screw X COVS dia"


def stroke_face(group: str, split: str) -> Face:
    """A face in which every character is a crossed upright."""
    cross = (np.array([[0.2, 0.0], [0.2, 1.0]], np.float32), np.array([[0.0, 0.5], [0.4, 0.5]], np.float32))
    return Face("any", group, split, {char: Glyph(cross, 0.6, False) for char in UPPER_ALPHABET if char.isalnum()})


def hands(split: str) -> list[Manner]:
    rng = np.random.default_rng(9)
    return [manner(rng, stroke_face("hand", split)) for _ in range(40)]


def bars_at(how: Manner) -> list[float]:
    """Heights of the cross bars of a row of figures, over the height of their uprights."""
    pieces = set_phrase(np.random.default_rng(10), Phrase(("0123456789",), "integer"), how)
    return [float(p.parts[1][:, 1].mean() - p.parts[0][0, 1]) / float(np.ptp(p.parts[0][:, 1])) for p in pieces]


def test_hands_stray_from_their_faces_in_training_and_not_where_they_are_scored() -> None:
    assert {how.variety for how in hands("test")} == {how.variety for how in hands("calibrate")} == {Variety()}
    assert len({how.variety for how in hands("train")}) == 40
    assert manner(np.random.default_rng(1), stroke_face("plain", "train")).variety == Variety()


def test_a_straying_hand_moves_waists_and_keeps_feet_and_tops() -> None:
    still = replace(hands("test")[0], warp=0.0, looseness=0.0)
    assert np.ptp(bars_at(still)) < 1e-5
    straying = bars_at(replace(still, variety=Variety(proportions=0.05)))
    assert 0.05 < np.ptp(straying) < 0.5
    assert np.all(np.abs(np.array(straying) - 0.5) <= 0.25)


def test_of_two_figures_over_each_other_some_are_hidden_and_both_are_in_the_crop() -> None:
    face = stroke_face("hand", "train")
    faces = Faces({"hand": (face,)}, (face,), "train")
    rng, told = np.random.default_rng(11), 0
    for _ in range(60):
        drawn = _overdrawn(rng, Phrase(("3875",), "integer"), faces, "clean")
        told += drawn is not None
    assert told > 10
    row = [upright(x) for x in (0.0, 0.4, 0.8)]
    for _ in range(20):
        left, _, right, _ = bounds(_laid_over(rng, row, (5.0, 0.0, 6.0, 1.0)))
        assert left < 6.0
        assert right > 5.0


def test_weights_out_of_a_model_file_say_what_it_says_in_float_and_can_be_trained() -> None:
    torch = pytest.importorskip("torch")
    from digitize.lettering.training.regrown import measure, unfolded

    pictures = np.random.default_rng(12).integers(0, 256, (3, 64, 96), np.uint8)
    wide = export.in_float(export.unpacked(onnx.load(MODEL))).SerializeToString()
    session = onnxruntime.InferenceSession(wide, providers=["CPUExecutionProvider"])
    wanted, _ = session.run(["upper", "lower"], {"picture": pictures[:, None].astype(np.float32) / np.float32(255)})
    net, inputs = unfolded(MODEL).eval(), torch.from_numpy(pictures)

    def read() -> np.ndarray:
        with torch.no_grad():
            upper, _ = net(inputs.unsqueeze(1).float() / 255)
        return np.asarray(upper.permute(0, 2, 1).log_softmax(2))

    assert np.allclose(read(), wanted, atol=1e-3)
    measure(net, [inputs])
    assert np.allclose(read(), wanted, atol=1e-3)
    net.train()
    net.drop.eval()  # with the normalisation of these very pictures, as training takes it
    assert np.allclose(read(), wanted, atol=1e-2)


def marked_face(split: str) -> Face:
    """`stroke_face` with an upright for its inch mark, as high as the figures."""
    face = stroke_face("plain", split)
    mark = (np.array([[0.1, 0.6], [0.1, 1.0]], np.float32),)
    return replace(face, glyphs={**face.glyphs, '"': Glyph(mark, 0.3, False)})


def marks_of(split: str, parts: tuple[str | Fraction, ...], raised: bool) -> list[tuple[float, float]]:
    """How far inch marks stand to the right of the figure before and over the figures, in figure heights."""
    rng, found = np.random.default_rng(13), []
    for _ in range(300):
        how = replace(manner(rng, marked_face(split)), marks_raised=raised, slant_deg=0.0, warp=0.0, looseness=0.0)
        pieces = set_phrase(rng, Phrase(parts, "integer"), how)
        place = next(at for at, piece in enumerate(pieces) if piece.char == '"')
        mark, before = pieces[place].parts[0], np.concatenate(pieces[place - 1].parts)
        found.append((float(mark[:, 0].min() - before[:, 0].max()), float(mark[:, 1].min() - 1.0)))
    return found


def test_inch_marks_stand_apart_and_well_above_in_training_and_not_where_they_are_scored() -> None:
    for split, some in (("train", True), ("test", False)):
        apart = sum(gap > 0.62 for gap, _ in marks_of(split, ('38"',), False))
        above = sum(lift > 0.3 for _, lift in marks_of(split, ('38"',), True))
        assert (apart > 20, above > 60) == (some, some)
        assert some or apart == above == 0


def test_marks_between_a_whole_number_and_its_fraction_may_be_small_and_high() -> None:
    between = ("2", Fraction("3", "4", "slope", '"'))
    assert sum(lift > 0.1 for _, lift in marks_of("train", between, False)) > 30
    assert max(lift for _, lift in marks_of("test", between, False)) < 0.01


def test_sloping_strokes_of_plates_go_on_beyond_their_figures() -> None:
    def longest(split: str) -> float:
        rng, how = np.random.default_rng(14), manner(np.random.default_rng(15), stroke_face("plain", split))
        drawn = [set_phrase(rng, Phrase((Fraction("15", "16", "slope"),), "fraction_sloped"), how) for _ in range(200)]
        return max(float(np.ptp(p.parts[0][:, 1])) for pieces in drawn for p in pieces if p.char == BAR)

    assert longest("train") > 1.8
    assert longest("test") < 1.5


def test_inch_marks_of_type_are_now_and_then_drawn_with_a_pen() -> None:
    type_ = Face("any", "book", "train", {'"': Glyph((np.zeros((3, 2), np.float32),), 0.3, True)})
    rng = np.random.default_rng(16)
    penned = sum(not with_signs(rng, type_).glyphs['"'].filled for _ in range(200))
    assert 30 < penned < 100
    assert all(with_signs(rng, replace(type_, split="test")).glyphs['"'].filled for _ in range(50))


def test_heads_near_a_figure_are_met_by_those_of_the_next_dimension() -> None:
    rng = np.random.default_rng(17)
    drawn = [_head_by(rng, 2.0, 0.5, 1.0, 0.05) for _ in range(200)]
    assert 20 < sum(len(pieces) == 4 for pieces in drawn) < 80
    for pieces in drawn:
        for head in pieces[:1] + pieces[2:3]:
            assert head.parts[0][1].tolist() == [2.0, 0.5]  # both tips at one place


def test_training_crops_have_room_at_their_ends_more_often() -> None:
    def loose(share: float) -> int:
        rng = np.random.default_rng(18)
        return sum(cut(rng, (0.0, 0.0, 1.0, 1.0), "clean", share)[0] < -0.6 for _ in range(1000))

    assert loose(TRAINED_LOOSE_SHARE) > 1.5 * loose(LOOSE_SHARE)


def test_the_flag_of_every_1_falls_and_the_bar_of_no_7_does() -> None:
    for variants in _VARIANTS["calibrate"]["1"], _VARIANTS["calibrate"]["7"]:
        assert len(variants) > 10
    for strokes in _VARIANTS["calibrate"]["1"]:
        points = np.concatenate(strokes)
        flag = points[(points[:, 1] > 0.4) & (points[:, 0] < points[np.argmax(points[:, 1]), 0] - 0.15)]
        assert np.all(flag[:, 1] < 0.93)
    for strokes in _VARIANTS["calibrate"]["7"]:
        points = np.concatenate(strokes)
        high = points[points[:, 1] > 0.8]
        assert np.ptp(high[:, 0]) > 0.45
        assert high[high[:, 0] < 0.15][:, 1].max() > 0.9


def test_the_mean_of_weights_is_measured_anew_on_what_it_meets() -> None:
    torch = pytest.importorskip("torch")
    from digitize.lettering.training.averaged import RunningMean, measure
    from digitize.lettering.training.net import Network

    torch.manual_seed(1)
    nets, mean = [Network(), Network()], RunningMean()
    for net in nets:
        mean.note(net.state_dict())
    made = mean.network()
    wanted = (nets[0].upper.weight + nets[1].upper.weight) / 2
    assert torch.allclose(made.upper.weight, wanted, atol=1e-6)
    pictures = torch.from_numpy(np.random.default_rng(19).integers(0, 256, (8, 64, 96), np.uint8))
    measure(made, [pictures])
    with torch.no_grad():
        still = made(pictures.unsqueeze(1).float() / 255)[0]
        made.train()
        made.drop.eval()
        assert float((made(pictures.unsqueeze(1).float() / 255)[0] - still).abs().mean()) < 0.03


def test_scores_tell_technical_lettering_from_handwriting_and_idle_spaces_from_the_rest() -> None:
    read = [
        Case("4 HOLES", "words", "technical", "any", "clean", {"4HOLES": 0.9}),  # a space that tells nothing
        Case("1 1/2", "fraction_sloped", "book", "any", "clean", {"11/2": 0.9}),  # one that does
        Case("7", "integer", "hand", "any", "clean", {"1": 0.6, "7": 0.3}),
        Case("", "none", "none", "none", "clean", {}),
    ]
    kinds = report(read, Calibration(1.0), 0.5)["level_kind"]
    assert isinstance(kinds, dict)
    lettering, handwriting = kinds["clean lettering"], kinds["clean handwriting"]
    assert (lettering["count"], lettering["exact"], lettering["exact_but_idle_spaces"]) == (2, 0.0, 0.5)
    assert (handwriting["exact"], handwriting["among_five"]) == (0.0, 1.0)
    assert kinds["clean none"]["exact"] == 1.0


def test_probabilities_that_come_true_as_often_as_they_say_have_no_calibration_error() -> None:
    honest = [(0.75, True)] * 3 + [(0.75, False)]
    assert calibration_error(honest) == 0.0
    assert calibration_error([(0.75, True)] * 4) == 0.25
