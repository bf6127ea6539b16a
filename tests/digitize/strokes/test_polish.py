"""Circles and arcs against what their pixels can tell at best, and without the pull of blur or of what they meet."""

import math
from collections.abc import Callable

import numpy as np
import pytest

from digitize.strokes.centre_lines.circle_model import error_function
from digitize.strokes.centre_lines.fit import ARC
from digitize.strokes.centre_lines.refine import FloatArray
from digitize.strokes.trace import traced_pieces
from tests.bench.arcs import ROUND_CAP, SQUARE_CAP, TrueArc, arc_somewhere, bound_px, by_area, by_pdfium, errors_on
from tests.digitize.strokes.drawn import Picture

NOISE = 6.0
DRAWS = 16
"""So many draws know a scatter to 18 %; limits allow two of that."""
ALLOWED = 1.1 * 1.36


def radius_errors(arcs: list[TrueArc], draw: Callable[[TrueArc], FloatArray], noise: float) -> FloatArray:
    rng = np.random.default_rng(5)
    return np.array([errors_on(arc, draw(arc), noise, rng).radius for arc in arcs])


@pytest.mark.parametrize("draw", [by_area, by_pdfium])
@pytest.mark.parametrize(("radius", "sweep", "width"), [(60, 30, 3), (60, 45, 3), (40, 90, 4), (25, 360, 3)])
def test_an_arc_is_as_good_as_its_pixels_allow(
    draw: Callable[[TrueArc], FloatArray], radius: float, sweep: float, width: float
) -> None:
    rng = np.random.default_rng(24)
    arcs = [arc_somewhere(radius, sweep, width, rng) for _ in range(DRAWS)]
    bound = np.mean([bound_px(arc, NOISE)[1] for arc in arcs[:3]])
    assert float(np.sqrt(np.mean(radius_errors(arcs, draw, NOISE) ** 2))) < ALLOWED * bound


@pytest.mark.parametrize("cap", [ROUND_CAP, SQUARE_CAP])
def test_free_ends_do_not_bend_an_arc(cap: int) -> None:
    """Without noise nothing else is left: a quarter of what noise of four grey levels would do at best."""
    rng = np.random.default_rng(87000)
    arcs = [arc_somewhere(20.0, 90.0, 4.0, rng) for _ in range(24)]
    errors = radius_errors(arcs, lambda arc: by_pdfium(arc, cap), 0.0)
    assert float(np.sqrt(np.mean(errors**2))) < 0.25 * bound_px(arcs[0], 4.0)[1]


@pytest.mark.parametrize("radius", [6.0, 9.0, 14.0])
def test_blur_does_not_shrink_a_small_circle(radius: float) -> None:
    """Centres between edges would come out short by the blur's variance over twice the radius: .035 px at 6 px."""
    rng = np.random.default_rng(2)
    arcs = [arc_somewhere(radius, 360.0, 4.0, rng) for _ in range(8)]
    assert abs(float(radius_errors(arcs, by_area, 4.0).mean())) < 0.01


def test_an_arc_between_unequal_lines_is_not_drawn_to_the_longer_one() -> None:
    picture = Picture(300, 260).line((10, 200.3), (40, 200.3), 4.0).line((100.2, 140), (100.2, 20), 4.0)
    picture.arc((40.0, 140.1), 60.2, 270.0, 90.0, 4.0)
    (arc,) = [p.track for p in traced_pieces(picture.ground(4.0)).pieces if p.track.kind == ARC]
    assert arc.radius == pytest.approx(60.2, abs=0.05)
    assert (arc.x, arc.y) == pytest.approx((40.0, 140.1), abs=0.05)


def test_ink_on_one_side_of_an_arc_does_not_draw_it_over() -> None:
    picture = Picture(240, 240).arc((120.3, 119.8), 80.0, width=4.0)
    for k in range(12):  # section lines that end on the circle from within, over a quarter of it
        a = np.radians(6.0 + 7.0 * k)
        end = 120.3 + 80.0 * np.cos(a), 119.8 - 80.0 * np.sin(a)
        picture.line((end[0] - 30.0, end[1] + 30.0), end, 2.0)
    arc = max((p for p in traced_pieces(picture.ground(4.0)).pieces if p.track.kind == ARC), key=lambda p: p.length)
    assert arc.track.radius == pytest.approx(80.0, abs=0.05)
    assert (arc.track.x, arc.track.y) == pytest.approx((120.3, 119.8), abs=0.05)


def test_the_error_function_is_that_of_the_standard_library() -> None:
    for x in np.linspace(-4.0, 4.0, 161).tolist():
        assert error_function(x, math.exp(-x * x)) == pytest.approx(math.erf(x), abs=2e-7)
