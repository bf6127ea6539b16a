"""What is done in bands of rows gives the same as on the whole picture."""

import numpy as np
import pytest
from scipy import ndimage

from calibrate.restoring import specks
from calibrate.straightening import letters
from calibrate.straightening.letters import find_letters
from tests.calibrate import drawn


@pytest.mark.parametrize("smallest_px", [1.0, 2.7, 20.5])
@pytest.mark.parametrize("density", [0.05, 0.3, 0.41])
def test_specks_are_those_of_the_whole(smallest_px, density):
    """Against scipy's labels; at 0.41 of noise, 8-connected pieces cross the picture."""
    ink = np.random.default_rng(7).random((2 * specks.SPECK_BAND_PX + 90, 240)) < density
    labels, _ = ndimage.label(ink, np.ones((3, 3)))
    area = np.bincount(labels.ravel())
    area[0] = 0
    place, number = specks._specks(ink, smallest_px)
    of_whole = np.flatnonzero((labels > 0) & (area < smallest_px)[labels])
    assert np.array_equal(np.sort(place), of_whole)
    assert len(np.unique(number)) == len(np.unique(labels.ravel()[of_whole]))


def test_letters_are_those_of_the_whole(monkeypatch):
    ink = drawn.sheet() < 128
    in_bands = find_letters(ink, drawn.FINE_PX)
    monkeypatch.setattr(letters, "BAND_PX", 10 * len(ink))
    whole = find_letters(ink, drawn.FINE_PX)
    assert len(whole.rasters) > 50
    order = [np.lexsort(found.rasters.reshape(len(found.rasters), -1).T) for found in (in_bands, whole)]
    assert np.array_equal(in_bands.rasters[order[0]], whole.rasters[order[1]])
