"""What is done in bands of rows gives the same as on the whole picture."""

import numpy as np

from calibrate.straightening import letters
from calibrate.straightening.letters import find_letters
from tests.calibrate import drawn


def test_letters_are_those_of_the_whole(monkeypatch):
    ink = drawn.sheet() < 128
    in_bands = find_letters(ink, drawn.FINE_PX)
    monkeypatch.setattr(letters, "BAND_PX", 10 * len(ink))
    whole = find_letters(ink, drawn.FINE_PX)
    assert len(whole.rasters) > 50
    order = [np.lexsort(found.rasters.reshape(len(found.rasters), -1).T) for found in (in_bands, whole)]
    assert np.array_equal(in_bands.rasters[order[0]], whole.rasters[order[1]])
