"""Connected ink, checked against OpenCV's labelling."""

import cv2
import numpy as np
import pytest

from digitize.lettering.finding.components import components_of, touched_by


@pytest.mark.parametrize("share", [0.05, 0.3, 0.5, 0.7])
def test_components_are_those_of_opencv(share: float) -> None:
    ink = np.random.default_rng(7).random((61, 83)) < share
    found = components_of(ink)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(ink.view(np.uint8), connectivity=8)
    assert len(found.areas) == count
    assert ((labels == 0) == (found.labels == 0)).all()
    for label in range(1, count):
        (theirs,) = set(labels[found.labels == label].tolist())
        assert found.boxes[label].tolist() == stats[theirs, :4].tolist()
        assert found.areas[label] == stats[theirs, 4] == np.count_nonzero(labels == theirs)
        assert found.labels[found.boxes[label, 1], found.first_columns[label]] == label


def test_what_lies_beside_other_ink_is_touched_by_it() -> None:
    rng = np.random.default_rng(8)
    ink, other = rng.random((40, 50)) < 0.2, rng.random((40, 50)) < 0.02
    ink &= ~other
    found = components_of(ink)
    near = cv2.dilate(other.view(np.uint8), np.ones((3, 3), np.uint8)).view(np.bool_)
    wanted = np.zeros(len(found.areas), np.bool_)
    wanted[np.unique(found.labels[near & ink])] = True
    assert touched_by(found, other).tolist() == wanted.tolist()


@pytest.mark.parametrize("ink", [np.zeros((5, 4), bool), np.zeros((0, 4), bool), np.ones((3, 3), bool)])
def test_bare_and_full_paper(ink: np.ndarray) -> None:
    found = components_of(ink)
    assert len(found.areas) == 1 + bool(ink.any())
    assert found.areas.sum() == ink.sum()
    assert not touched_by(found, np.zeros_like(ink)).any()
