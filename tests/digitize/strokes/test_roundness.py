"""What circles tell of a sheet's stretch."""

import numpy as np
import pytest

from digitize.strokes.gearing import roundness
from digitize.strokes.gearing.roundness import Squeeze, measure_squeeze


class Ground:
    """Thresholds at 300 dpi."""

    def px(self, mm: float) -> float:
        return mm * 300 / 25.4


@pytest.mark.parametrize(
    ("circles", "told"),
    [
        ([], Squeeze()),
        ([(0.02, 1e-4), (-0.02, 1e-4)], Squeeze()),  # as on a bent sheet
        ([(0.01, 1e-4), (0.0101, 1e-4), (-0.03, 1e-4)], Squeeze(0.01005, 7.07e-5, 2)),
    ],
)
def test_circles_that_contradict_each_other_tell_nothing(
    circles: list[tuple[float, float]], told: Squeeze, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(roundness, "_same_circle", lambda *_: [[k] for k in range(len(circles))])
    monkeypatch.setattr(roundness, "_ellipse_of", lambda trail, group, turn_deg: circles[group[0]])
    found = measure_squeeze(Ground(), None, [], 0.0)  # type: ignore[arg-type]
    assert (found.value, found.circles) == (pytest.approx(told.value, abs=1e-6), told.circles)
    assert np.isfinite(found.std) == np.isfinite(told.std)
