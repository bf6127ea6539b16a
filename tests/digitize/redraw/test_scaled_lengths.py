"""Lengths that no figure gives: their names, their errors and the area's, by hand."""

import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from digitize.lettering.text import Kind, Unit
from digitize.redraw.solving.scaled_lengths import TRACE_MM, Play
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_part import written

PEN_MM, SCALE_ERROR = 0.12, 2e-5 / 0.1
"""As `hand_drawn.Print.scale` states them."""
PLACE_MM = math.hypot(PEN_MM, TRACE_MM)


def block(width: bool) -> Print:
    """100 by 60; its height has no figure."""
    print_ = Print()
    print_.path((50.0, 50.0), (150.0, 50.0), (150.0, 110.0), (50.0, 110.0), closed=True)
    if width:
        print_.row("100", Fraction(100), Kind.LINEAR, (100, 40), (50, 40), (150, 40))
    return print_


def test_a_height_without_a_figure_is_named_with_its_error(tmp_path: Path) -> None:
    """Two edges, each as far off as the pen, and the scale's error; the area is off by it times the width."""
    drawing, report = written(block(width=True), tmp_path)
    std = math.hypot(math.sqrt(2) * PLACE_MM, 60 * SCALE_ERROR)
    assert f"height 60.000 ± {1.96 * std:.3f} mm from y 50.00 to 110.00" in report.notes[0]
    (listed,) = drawing.modelspace().query("TEXT")
    assert listed.dxf.text.startswith("VIEW V1 SCALED: height 60.000 ± ")
    assert listed.dxf.layer == "SCALED_FROM_PRINT"
    (only,) = report.outlines
    assert only.area_std_mm2 == pytest.approx(100 * std, rel=1e-4)
    assert only.off_percent == pytest.approx(100 * 1.96 * std / 60, rel=1e-4)
    area = f"its outline encloses 6000.00 ± {1.96 * 100 * std:.2f} square mm, for the lengths that are scaled"
    assert report.notes[1] == f"view V1: {area}"


def test_width_and_height_are_named_in_the_file_s_unit(tmp_path: Path) -> None:
    _drawing, report = written(block(width=False), tmp_path, Unit.INCH)
    assert "2 lengths are left" in report.notes[0]
    assert "width 3.9370 ± " in report.notes[0]
    assert "height 2.3622 ± " in report.notes[0]


def test_what_the_figures_settle_has_no_error(tmp_path: Path) -> None:
    print_ = block(width=True)
    print_.row("60", Fraction(60), Kind.LINEAR, (40, 80), (40, 50), (40, 110))
    _drawing, report = written(print_, tmp_path)
    assert [(each.determined, each.area_std_mm2) for each in report.outlines] == [(True, 0.0)]


def test_the_error_is_that_of_many_drawings() -> None:
    """Least squares on three weighted places with one relation kept, against its own errors over 20,000 draws."""
    random = np.random.default_rng(5)
    weights, free = np.array([40.0, 10.0, 25.0]), np.linalg.qr(np.array([[1.0, 0.2], [0.3, 1.0], [-0.4, 0.7]]))[0]
    gradient = np.array([2.0, -1.0])
    draws = random.normal(0.0, 0.1, (20_000, 3))
    moved = np.linalg.solve(free.T * weights @ free, (free.T * weights) @ draws.T)
    told = Play(free, weights, np.zeros(3), np.full(3, 0.1), 0.0).std(gradient)
    assert told == pytest.approx(float((gradient @ moved).std()), rel=0.02)
