"""Connected ink, checked against OpenCV's labelling."""

import cv2
import numpy as np
import pytest

from calibrate.restoring.connected import connected_pieces, erase, pieces_of, touched_by


@pytest.mark.parametrize("share", [0.002, 0.05, 0.3, 0.5, 0.7])
@pytest.mark.parametrize("first", range(3))
def test_pieces_are_those_of_opencv(share: float, first: int) -> None:
    ink = np.random.default_rng(7).random((64, 83))[first:] < share  # rows begin anywhere in a word of memory
    found = connected_pieces(ink)
    count, labels, stats, centres = cv2.connectedComponentsWithStats(ink.view(np.uint8), connectivity=8)
    assert len(found.stats) == count
    assert ((labels == 0) == (found.labels == 0)).all()
    for label in range(1, count):
        (theirs,) = set(labels[found.labels == label].tolist())
        assert found.stats[label].tolist() == stats[theirs].tolist()
        assert found.stats[label, 4] == np.count_nonzero(labels == theirs)
        assert found.centres[label] == pytest.approx(centres[theirs])
        assert found.labels[found.stats[label, 1], found.first_columns[label]] == label
    chosen = np.arange(count) % 2 == 1
    left = ink.copy()
    erase(left, pieces_of(ink), chosen)
    assert np.array_equal(left, ink & ~chosen[found.labels])


def test_what_lies_beside_other_ink_is_touched_by_it() -> None:
    rng = np.random.default_rng(8)
    ink, other = rng.random((40, 50)) < 0.2, rng.random((40, 50)) < 0.02
    ink &= ~other
    found = connected_pieces(ink)
    near = cv2.dilate(other.view(np.uint8), np.ones((3, 3), np.uint8)).view(np.bool_)
    wanted = np.zeros(len(found.stats), np.bool_)
    wanted[np.unique(found.labels[near & ink])] = True
    assert touched_by(found, other).tolist() == wanted.tolist()


@pytest.mark.parametrize("ink", [np.zeros((5, 4), bool), np.zeros((0, 4), bool), np.ones((3, 3), bool)])
def test_bare_and_full_paper(ink: np.ndarray) -> None:
    found = connected_pieces(ink)
    assert len(found.stats) == 1 + bool(ink.any())
    assert found.stats[:, 4].sum() == ink.sum()
    assert not touched_by(found, np.zeros_like(ink)).any()
