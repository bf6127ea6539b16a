"""Skeleton and chains: shapes whose topology is plain to see."""

import cv2
import numpy as np
import pytest
from skimage.measure import label

from digitize.strokes.centre_lines import thinning
from digitize.strokes.centre_lines.ink_width import WIDEST_HALF_PX, half_widths
from digitize.strokes.centre_lines.seeds import CLOSED, FREE_END, Chains, trace_chains
from digitize.strokes.centre_lines.thinning import BEYOND_PX, thinned
from tests.digitize.strokes.drawn import Picture


def chains_of(picture: Picture) -> Chains:
    ground = picture.ground()
    return trace_chains(ground.ink)


def test_no_ink_has_no_chain() -> None:
    assert len(chains_of(Picture(40, 30))) == 0


def test_a_single_pixel_is_one_chain_of_one_point() -> None:
    ink = np.zeros((9, 9), bool)
    ink[4, 4] = True
    chains = trace_chains(ink)
    assert chains.x.tolist() == [4]
    assert chains.y.tolist() == [4]


def test_ink_up_to_the_edge_of_the_picture_is_thinned() -> None:
    image, *_ = thinned(np.ones((12, 40), bool))
    assert 0 < image.sum() <= 40


LEAST_BAND_PX = 4 * BEYOND_PX


@pytest.mark.parametrize("down", [0, 7, 20, 61])
def test_ink_is_thinned_alike_wherever_the_bands_part_it(down: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its thickest ink takes more passes than a band is thinned by."""
    drawn = (
        Picture(400, 280)
        .line((20, 15), (380, 105), 9.0)
        .line((20, 265), (380, 15), 5.0)
        .line((200, 140), (300, 150), 190.0)
    )
    alone, *_ = thinned(drawn.cover >= 0.5)
    assert len(alone) > 3 * LEAST_BAND_PX
    monkeypatch.setattr(thinning, "BAND_AREA_PX", 0)
    image, rows, columns = thinned(np.pad(drawn.cover >= 0.5, ((down, 40), (0, 0))))
    assert np.array_equal(image[down : down + len(alone)], alone)
    assert np.array_equal(np.argwhere(image), np.column_stack([rows, columns]))


def test_ink_that_no_pass_reaches_is_of_the_skeleton() -> None:
    """The middle of a ring whose every pixel must stay is never looked at."""
    ink = np.random.default_rng(5).random((300, 300)) < 0.7
    image, rows, columns = thinned(ink)
    assert np.array_equal(np.argwhere(image), np.column_stack([rows, columns]))


@pytest.mark.parametrize("angle", [0.0, 17.0, 45.0, 80.0, 90.0])
def test_a_bar_is_one_chain_with_two_free_ends(angle: float) -> None:
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    chains = chains_of(Picture(140, 140).line((70 - 50 * c, 70 + 50 * s), (70 + 50 * c, 70 - 50 * s), 7.0))
    assert chains.nodes.tolist() == [[FREE_END, FREE_END]]


def test_a_cross_has_four_arms_from_one_junction() -> None:
    chains = chains_of(Picture(100, 100).line((10, 50), (90, 50)).line((50, 10), (50, 90)))
    assert len(chains) == 4
    assert {int(n) for n in chains.nodes.ravel()} == {FREE_END, 1}


def test_a_ring_is_one_closed_chain() -> None:
    chains = chains_of(Picture(100, 100).arc((50, 50), 30))
    assert chains.nodes.tolist() == [[CLOSED, CLOSED]]
    assert len(chains.x) > 150


def test_spurs_of_a_thick_line_are_cut() -> None:
    picture = Picture(160, 60).line((20, 30), (140, 30), 13.0)
    picture.cover[22:24, 60:63] = 1.0
    assert len(chains_of(picture)) == 1


def test_a_sloping_line_of_even_width_survives() -> None:
    """Zhang and Suen's half-steps wipe it out."""
    ink = np.zeros((40, 40), bool)
    for k in range(5, 35):
        ink[k, k : k + 2] = True
    chains = trace_chains(ink)
    assert len(chains.x) >= 28


def test_thinning_keeps_every_component_and_hardly_a_block() -> None:
    rng = np.random.default_rng(5)
    ink = rng.random((60, 60)) > 0.45
    image = thinned(ink)[0]
    assert label(image, connectivity=2).max() == label(ink, connectivity=2).max()
    blocks = image[:-1, :-1] + image[1:, :-1] + image[:-1, 1:] + image[1:, 1:]
    assert (blocks == 4).sum() <= 0.01 * image.sum()


@pytest.mark.parametrize("seed", range(4))
def test_half_widths_are_distances_to_paper(seed: int) -> None:
    """OpenCV's exact distance transform of the same ink (`DIST_MASK_PRECISE`)."""
    ink = cv2.GaussianBlur(np.random.default_rng(seed).random((90, 120)).astype(np.float32), (0, 0), 4.0) > 0.5
    ys, xs = (np.ascontiguousarray(at, dtype=np.int32) for at in np.nonzero(ink))
    expected = cv2.distanceTransform(ink.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)[ys, xs]
    assert half_widths(ink, ys, xs) == pytest.approx(expected, abs=1e-4)


def test_a_blot_is_as_wide_as_is_looked_at() -> None:
    at = np.array([150], np.int32)
    assert half_widths(np.ones((300, 300), bool), at, at).tolist() == [WIDEST_HALF_PX]
