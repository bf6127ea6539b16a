"""Connected ink, checked against OpenCV's labelling."""

import cv2
import numpy as np
import pytest

from calibrate.restoring.connected import connected_pieces, erase, pieces_of, runs_of, touched, without


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
    left, pieces = ink.copy(), pieces_of(ink)
    erase(left, pieces, chosen)
    assert np.array_equal(left, ink & ~chosen[found.labels])
    for label in range(1, count):
        x, y, width, height = found.stats[label, :4]
        assert np.array_equal(pieces.picture(label), found.labels[y : y + height, x : x + width] == label)
    rows, columns = np.indices(ink.shape).reshape(2, -1)
    assert np.array_equal(pieces.at(rows, columns), found.labels.ravel())


def test_what_lies_beside_ink_that_was_taken_away_is_touched_by_it() -> None:
    rng = np.random.default_rng(8)
    ink, gone = rng.random((40, 50)) < 0.2, rng.random((40, 50)) < 0.1
    left = without(ink, runs_of(ink), gone)
    assert np.array_equal(left, ink & ~gone)
    labels, pieces = connected_pieces(left).labels, pieces_of(left)
    near = cv2.dilate((ink & gone).view(np.uint8), np.ones((3, 3), np.uint8)).view(np.bool_)
    wanted = np.zeros(len(pieces.stats), np.bool_)
    wanted[np.unique(labels[near & left])] = True
    among = np.arange(len(wanted)) % 3 > 0
    assert touched(pieces, ink, left, among).tolist() == (wanted & among).tolist()


@pytest.mark.parametrize("ink", [np.zeros((5, 4), bool), np.zeros((0, 4), bool), np.ones((3, 3), bool)])
def test_bare_and_full_paper(ink: np.ndarray) -> None:
    found = connected_pieces(ink)
    assert len(found.stats) == 1 + bool(ink.any())
    assert found.stats[:, 4].sum() == ink.sum()
    assert not touched(pieces_of(ink), ink, ink, np.ones(len(found.stats), np.bool_)).any()
