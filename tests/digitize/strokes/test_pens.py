"""Strokes in groups of width, measured whatever the blur."""

from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from digitize.lettering.text import Unit
from digitize.redraw.trace import write_trace
from digitize.report.frame import Frame, Length
from digitize.strokes.primitives import Line, Pen, Strokes
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import MM_PER_PX, Picture, sheet_of


def ruled(*widths: float) -> Picture:
    """Level, oblique and round strokes of each width, some 1300 px of each."""
    picture = Picture(700, 90 + 170 * len(widths))
    for n, width in enumerate(widths):
        top = 30.3 + 170 * n
        picture.line((20, top), (680, top + 3), width).line((20, top + 30), (600, top + 95), width)
        picture.arc((640.4, top + 95), 40.0, width=width)
    return picture


def pens(grey: np.ndarray) -> tuple[Pen, ...]:
    return trace_strokes(sheet_of(grey), np.zeros(grey.shape, bool)).pens


@pytest.mark.parametrize("blur_px", [0.0, 0.8])
@pytest.mark.parametrize("thin", [2.1, 3.0])
def test_two_pens_as_iso_128_has_them_one_twice_as_wide(thin: float, blur_px: float) -> None:
    """ISO 128-20: widths in the ratio 2 : 1 (from memory)."""
    grey = np.rint(gaussian_filter(ruled(thin, 2 * thin).grey(2.0).astype(float), blur_px)).astype(np.uint8)
    found = pens(grey)
    assert [pen.width_px for pen in found] == pytest.approx([thin, 2 * thin], abs=0.15)
    assert found[1].width_px / found[0].width_px == pytest.approx(2.0, rel=0.08)
    assert [pen.strokes for pen in found] == [3, 3]


def test_three_pens_and_one_pen() -> None:
    assert [pen.width_px for pen in pens(ruled(2.5, 4.0, 6.5).grey(2.0))] == pytest.approx([2.5, 4.0, 6.5], abs=0.15)
    assert [pen.width_px for pen in pens(ruled(3.0, 3.2).grey(2.0))] == pytest.approx([3.1], abs=0.2)


def test_a_blank_sheet_has_no_pen_and_a_stroke_no_pen_on_it() -> None:
    assert pens(np.full((80, 120), 250, np.uint8)) == ()
    assert Strokes().pen_of(Line((0.0, 0.0), (9.0, 0.0), 3.0)) is None


def test_the_trace_draws_each_line_with_the_weight_of_its_pen(tmp_path: Path) -> None:
    """DXF reference: group code 370 holds 1/100 mm, of a fixed list in which 25 and 50 stand."""
    thin, thick = Line((0.0, 0.0), (90.0, 0.0), 3.2), Line((0.0, 20.0), (90.0, 20.0), 6.1)
    made = (Pen(0.25 / MM_PER_PX, 0.1, 3.2, 90.0, 1), Pen(0.5 / MM_PER_PX, 0.1, 6.0, 90.0, 1))
    to_part = np.diag([2 * MM_PER_PX, -2 * MM_PER_PX, 1.0])  # at half size
    frame = Frame(to_part, np.eye(3), 2 * MM_PER_PX, 2 * MM_PER_PX, Length.PART_MM, 2.0)
    for strokes, weights in ((Strokes((thin, thick), pens=made), [25, 50]), (Strokes((thin, thick)), [-1, -1])):
        write_trace(tmp_path / "trace.dxf", strokes, frame, Unit.MM)
        drawing = ezdxf.readfile(tmp_path / "trace.dxf")  # type: ignore[attr-defined]
        assert [line.dxf.lineweight for line in drawing.modelspace().query("LINE")] == weights
    write_trace(tmp_path / "trace.dxf", Strokes((thin,), pens=made), replace(frame, length=Length.PIXEL), Unit.MM)
    (line,) = ezdxf.readfile(tmp_path / "trace.dxf").modelspace().query("LINE")  # type: ignore[attr-defined]
    assert line.dxf.lineweight == -1
