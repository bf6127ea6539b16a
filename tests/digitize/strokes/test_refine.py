"""Centre and width of drawn lines to a few hundredths of a pixel."""

import numpy as np
import pytest

from digitize.strokes.centre_lines.refine import DOUBTFUL, Trail, refine_chains
from digitize.strokes.centre_lines.seeds import trace_chains
from tests.digitize.strokes.drawn import Picture


def trail_of(picture: Picture, noise: float = 0.0) -> Trail:
    ground = picture.ground(noise)
    return refine_chains(ground.dark, ground.slitless, ground.ink, trace_chains(ground.ink), 3.0)


@pytest.mark.parametrize("angle", [0.0, 9.0, 31.0, 45.0, 77.0, 90.0])
@pytest.mark.parametrize("width", [2.0, 3.4, 7.0])
def test_centre_and_width_of_a_line(angle: float, width: float) -> None:
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    trail = trail_of(Picture(160, 160).line((80.3 - 60 * c, 79.6 - 60 * s), (80.3 + 60 * c, 79.6 + 60 * s), width))
    sure = trail.weight > 5 * DOUBTFUL
    off = (trail.y[sure] - 79.6) * c - (trail.x[sure] - 80.3) * s
    # at 45 degrees every point lies the same way between pixels, and its error does not average out
    assert abs(off.mean()) < (0.07 if angle == 45.0 else 0.03)
    assert np.sqrt((off**2).mean()) < 0.08
    # the blur of the scan makes a line hardly wider than itself look wider
    assert abs(np.median(trail.width[sure]) - width) < (0.4 if width < 3.0 else 0.2)


def test_centre_of_a_circle_is_not_drawn_inwards() -> None:
    """A pen of width w on radius r: smoothing would shift the centre by about w^2 / 24 r."""
    trail = trail_of(Picture(120, 120).arc((60.2, 59.7), 25.0, width=5.0))
    radius = np.hypot(trail.x - 60.2, trail.y - 59.7)
    assert abs(radius.mean() - 25.0) < 0.03


def test_points_beside_a_junction_are_doubtful() -> None:
    trail = trail_of(Picture(100, 100).line((10, 50), (90, 50)).line((50, 10), (50, 90)))
    beside = np.hypot(trail.x - 50, trail.y - 50) < 2.0
    assert beside.any()
    assert (trail.weight[beside] <= 1.5 * DOUBTFUL).all()


def test_noise_averages_out_along_a_line() -> None:
    trail = trail_of(Picture(220, 60).line((10, 30.25), (210, 30.25)), noise=12.0)
    sure = trail.weight > 5 * DOUBTFUL
    assert abs(trail.y[sure].mean() - 30.25) < 0.03
