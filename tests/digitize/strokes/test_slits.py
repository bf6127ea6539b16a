"""Lines so near to each other that their ink runs together stay two where a trace of paper is left between them."""

import math

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from digitize.strokes.centre_lines.thinning import BAND_PX
from digitize.strokes.slits import slits_in
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import Picture


@pytest.mark.parametrize("paper_px", [0.7, 1.0, 1.3])
@pytest.mark.parametrize("angle_deg", [0.0, 20.0, 45.0, 71.0])
def test_both_lines_beside_a_slit_lie_where_they_were_drawn(paper_px: float, angle_deg: float) -> None:
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    picture, wide, fine = Picture(300, 300), 6.0, 3.5
    apart = 0.5 * (wide + fine) + paper_px
    for off, width in ((0.0, wide), (apart, fine)):
        x, y = 150.3 - off * s, 149.6 + off * c
        picture.line((x - 110 * c, y - 110 * s), (x + 110 * c, y + 110 * s), width)
    strokes = trace_strokes(picture.sheet(3.0), picture.no_lettering())
    long = [line for line in strokes.lines if math.dist(line.start, line.end) > 180]
    offs = sorted(
        (0.5 * (p[1] + q[1]) - 149.6) * c - (0.5 * (p[0] + q[0]) - 150.3) * s
        for p, q in ((i.start, i.end) for i in long)
    )
    assert offs == pytest.approx([0.0, apart], abs=0.15)
    assert sorted(line.width_px for line in long) == pytest.approx([fine, wide], abs=1.0)


def test_the_tip_circle_of_a_gear_and_the_pitch_circle_close_to_it_are_two() -> None:
    picture = Picture(420, 420).arc((210.2, 209.7), 170.0, width=7.4).arc((210.2, 209.7), 163.4, 20.0, 310.0, width=4.0)
    strokes = trace_strokes(picture.sheet(3.0), picture.no_lettering())
    long = [arc.radius_px for arc in strokes.arcs if arc.sweep_deg > 280]
    assert sorted(long) == pytest.approx([163.4, 170.0], abs=0.15)


def test_the_grain_of_faded_ink_is_no_slit() -> None:
    grain = gaussian_filter(np.random.default_rng(5).normal(size=(200, 600)), 2.5)
    cover = Picture(600, 200).line((20, 60.4), (580, 60.4), 8.0).line((20, 140.3), (580, 140.3), 12.0).cover
    dark = np.clip(255 * cover * np.clip(1.0 + 0.15 * grain / grain.std(), 0.0, 1.0), 0, 255).astype(np.uint8)
    assert not len(slits_in(dark, 12.0)[0])


def test_blank_paper_has_no_slit() -> None:
    assert not len(slits_in(np.zeros((30, 40), np.uint8), 12.0)[0])


@pytest.mark.parametrize("down", [97, BAND_PX - 120, BAND_PX])
def test_a_slit_is_the_same_wherever_the_bands_part_it(down: int) -> None:
    picture = Picture(300, BAND_PX).line((30, 40.4), (270, 210.4), 6.0).line((30, 48.7), (270, 218.7), 6.0)
    dark = 255 - picture.sheet(3.0).working_grey
    rows, columns = slits_in(dark, 12.0)
    assert len(rows) > 200
    again = slits_in(np.pad(dark, ((down, 40), (0, 0))), 12.0)
    assert sorted(zip(again[0] - down, again[1], strict=True)) == sorted(zip(rows, columns, strict=True))
