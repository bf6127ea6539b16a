"""Harms laid on samples: one at a time, the same each time, and the truth goes with the picture."""

import json

import numpy as np
import pytest
from PIL import Image

from samples.__main__ import make_sheet
from samples.aging import EXPOSE
from samples.compose import finished, streams
from samples.damage import HARMS, damaged

SEED = 75


@pytest.fixture(scope="module")
def sound():
    drawing = finished("clean", SEED, None, "none")
    return drawing, EXPOSE["clean"](drawing, streams("clean", SEED).exposure)


@pytest.mark.parametrize("harm", HARMS)
def test_a_harm_changes_the_picture_and_leaves_most_of_it(harm, sound):
    drawing, scan = sound
    once, again = (damaged(harm, SEED, drawing, scan) for _ in range(2))
    assert np.array_equal(once.picture, again.picture)
    if harm == "gutter":
        assert once.picture.shape[1] > scan.picture.shape[1]
        return
    changed = np.abs(once.picture.astype(int) - scan.picture) > 12
    assert 0.0001 < changed.mean() < 0.4


def test_the_truth_goes_with_the_page_beside_a_gutter(tmp_path):
    paths = [make_sheet("clean", SEED, tmp_path, harm=harm) for harm in (None, "gutter")]
    pictures = [np.asarray(Image.open(path)).astype(int) for path in paths]
    truths = [json.loads(path.with_name(f"{path.stem}.truth.json").read_text(encoding="utf-8")) for path in paths]
    shift = np.array(truths[1]["texts"][0]["quad_px"]) - np.array(truths[0]["texts"][0]["quad_px"])
    right = round(float(shift[0, 0]))
    middle = np.s_[100:-100, 200:-200]
    width = pictures[0].shape[1]
    assert np.array_equal(pictures[1][:, right : right + width][middle], pictures[0][middle])
    assert truths[1]["size_px"] == list(pictures[1].shape[::-1])
    band = pictures[1][:, :right] if right else pictures[1][:, width:]
    assert (band < 60).mean() > 0.3
