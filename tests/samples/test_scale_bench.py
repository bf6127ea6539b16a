"""The bench of the scale: what it keeps comes back, and its bound is what the draughtsman's error leaves."""

import copy
import json
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import cast

import numpy as np
import pytest

from calibrate.sheet import FloatArray
from calibrate.straightening.bend import Bend
from samples.bends import CURL, Eye
from samples.bends import Bend as DrawnBend
from samples.compose import finished, streams
from samples.museum import open_office
from samples.truth import Exposure, truth_record
from tests.bench.cache import Kept, keep, kept
from tests.bench.records import Case, Record
from tests.bench.scale import bound
from tests.bench.sheet_score import scale_errors
from tests.digitize.dimensions.drawn import draw, level_sheet
from tests.digitize.dimensions.test_reconcile import WIDTHS_IN, drawn

PEN_MM = 0.2
PAPER = Exposure(np.eye(3), (1000, 1000), 0.0, 0, "dark_on_light", (0.0, 0.0), 25.4, 25.4)


def hand_drawn() -> Record:
    """Truth of the first sheet by hand from seed 900 on, in mm of paper."""
    seed = next(s for s in range(900, 1000) if open_office(streams("clean", s).office).style.pen_error_mm)
    drawing = finished("clean", seed, "bracket", "none")
    return json.loads(json.dumps(truth_record(drawing, PAPER, name="clean-00900", seed=seed, level="clean", image="")))


def with_dimensions(record: Record, lengths_mm: list[float], from_one_edge: bool) -> Record:
    """The same sheet with level lengths only, one under the other, from one edge or each by itself."""
    truth, scale, view = copy.deepcopy(record), record["views"][0]["scale"], record["views"][0]["id"]
    truth["pen_error_mm"], truth["dimensions"] = PEN_MM, []
    truth["views"] = truth["views"][:1]
    for k, length in enumerate(lengths_mm):
        left = 20.0 if from_one_edge else 20.0 + 0.37 * k
        mark = {"view": view, "trap": None, "kind": "linear", "unit": "mm", "value": length * scale}
        truth["dimensions"].append(mark | {"first_px": [left, 10.0 * k], "second_px": [left + length, 10.0 * k]})
    return truth


def along_x(truth: Record) -> float:
    both = bound(Case("clean-00900", truth, None, None, Path()))
    assert both is not None
    return both[0]


LENGTHS_MM = [40.0, 61.3, 77.7, 98.1, 120.9]


def test_the_bound_of_lengths_by_themselves_is_the_pen_over_their_root_sum_of_squares() -> None:
    """Least squares through the origin: std = sigma / sqrt(sum x^2)."""
    expected = PEN_MM / np.sqrt(np.sum(np.square(LENGTHS_MM)))
    assert along_x(with_dimensions(hand_drawn(), LENGTHS_MM, from_one_edge=False)) == pytest.approx(expected, rel=0.01)


def test_lengths_from_one_edge_tell_less() -> None:
    alone = along_x(with_dimensions(hand_drawn(), LENGTHS_MM, from_one_edge=False))
    assert along_x(with_dimensions(hand_drawn(), LENGTHS_MM, from_one_edge=True)) > alone


CURLED = DrawnBend(CURL, 3.0, 8.0, 0.0, 420.0, Eye(250.0, 120.0, 500.0))


@dataclass(frozen=True)
class KnownExactly:
    """What calibration would find of a bend if it found all of it."""

    bend: DrawnBend

    def flattened(self, points: FloatArray) -> FloatArray:
        found = points
        for _ in range(20):
            found = found + points - self.bend.seen(found)
        return found


def test_the_scale_of_a_bent_sheet_is_that_of_the_flat_one() -> None:
    """Calibration that knows the bend has no error; one homography for a curled sheet is off by parts in a hundred."""
    truth = hand_drawn()
    scale = truth["views"][0]["scale"]
    truth |= {"views": truth["views"][:1], "bend": asdict(CURLED)}
    claimed = {"pixel_to_mm": np.diag([scale, scale, 1.0]).tolist(), "scale": {"part_mm_per_px": [scale, scale]}}
    flat = level_sheet()
    bent = replace(flat, bend=cast(Bend, KnownExactly(CURLED)))
    assert np.allclose(flat.level_from_source, np.eye(3))
    found, unfound = (scale_errors(Case("one", truth, {}, claimed, Path(), level)) for level in (bent, flat))
    assert found == pytest.approx((0.0, 0.0), abs=1e-6)
    assert unfound is not None
    assert max(map(abs, unfound)) > 0.01


def test_what_is_kept_comes_back_without_pictures(tmp_path: Path) -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    one = Kept("clean-00001", {"name": "clean-00001"}, level_sheet(), strokes, texts, {"straighten": 0.5}, "abc")
    keep(one, tmp_path)
    (back,) = kept(tmp_path)
    assert (back.truth, back.strokes, back.texts, back.timings_s, back.revision) == (
        one.truth, one.strokes, one.texts, one.timings_s, one.revision
    )  # fmt: skip
    assert back.sheet.grey.shape == one.sheet.grey.shape
    assert [*kept(tmp_path, lambda name: name.startswith("aged"))] == []
