"""Steps that a pen hides, told by the figures. Areas are sums of length times diameter."""

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import ezdxf
import pytest
import shapely
from hand_drawn import Print, blank_sheet
from shapely.affinity import translate

from digitize.lettering.text import Kind
from digitize.redraw.part import write_part
from digitize.redraw.report import OutlineKind, PartReport
from digitize.report.frame import sheet_frame
from digitize.strokes.primitives import Dash, Role

LONG, AXIS, LEFT = 40.0, 120.0, 60.0


def shaft(
    drawn: Sequence[float], said: Sequence[str], at: Sequence[float] = (0.5,) * 5, off: Sequence[float] = (0.0,) * 5
) -> Print:
    """Steps 40 long with a line at each shoulder; ``at`` is where along its step each diameter is written, ``off`` how
    far the step is drawn off the axis."""
    print_ = Print()
    xs = [LEFT + LONG * k for k in range(len(drawn) + 1)]
    steps = list(zip(xs, xs[1:], drawn, off, strict=False))
    upper = [(x, AXIS + shift + d / 2) for start, end, d, shift in steps for x in (start, end)]
    lower = [(x, AXIS + shift - d / 2) for start, end, d, shift in steps for x in (start, end)]
    print_.path(*upper, *reversed(lower), closed=True)
    print_.line((LEFT - 8, AXIS), (xs[-1] + 8, AXIS), Role.CENTRE, Dash.CHAIN)
    for shoulder, one, other in zip(xs[1:], drawn, drawn[1:], strict=False):
        half = max(one, other) / 2
        print_.line((shoulder, AXIS - half), (shoulder, AXIS + half))
    for start, end, d, text, share in zip(xs, xs[1:], drawn, said, at, strict=False):
        print_.row("40", Fraction(40), Kind.LINEAR, ((start + end) / 2, 80), (start, 80), (end, 80))
        x = start + share * LONG
        print_.row(f"Ø{text}", Fraction(text), Kind.DIAMETER, (x, AXIS + 5), (x, AXIS - d / 2), (x, AXIS + d / 2))
    return print_


def written(print_: Print, folder: Path) -> PartReport:
    reconciled = print_.reconciled()
    frame = sheet_frame(blank_sheet(), reconciled)
    return write_part(folder / "part.dxf", print_.strokes(), reconciled, None, frame, print_.unit)


@pytest.mark.parametrize(
    ("drawn", "said", "off"),
    [
        ((30.0, 50.0, 30.9), ("30", "50", "31"), (0.0,) * 3),
        ((30.0, 50.0, 30.9), ("30", "50", "31"), (0.2, 0.0, 0.1)),
        ((30.0, 50.0, 30.2), ("30", "50", "30.2"), (0.0, 0.0, 0.1)),
        ((30.0, 31.0), ("30", "31"), (0.0,) * 3),
        ((30.1, 30.3), ("30", "30.4"), (0.0,) * 3),
        ((30.9, 30.0, 50.0), ("31", "30", "50"), (0.0,) * 3),
        ((30.0, 30.9, 30.0), ("30", "31", "30"), (0.0,) * 3),
    ],
)
def test_two_diameters_make_the_step_that_one_level_hid(
    drawn: tuple[float, ...], said: tuple[str, ...], off: tuple[float, ...], tmp_path: Path
) -> None:
    """Half a millimetre of step, or a fifth, is within what this pen errs; two agreed figures say that it is there."""
    report = written(shaft(drawn, said, off=off), tmp_path)
    assert report.left_out == ()
    assert [each.determined for each in report.outlines] == [True]
    (outline,) = ezdxf.readfile(tmp_path / "part.dxf").modelspace().query("LWPOLYLINE")
    corners = shapely.Polygon(outline.get_points("xy"))
    true = shapely.union_all(
        [shapely.box(LONG * k, -float(d) / 2, LONG * (k + 1), float(d) / 2) for k, d in enumerate(said)]
    )
    left, low, _, high = corners.bounds
    assert translate(corners, -left, -(low + high) / 2).symmetric_difference(true).area < 1e-6


@pytest.mark.parametrize(
    ("drawn", "at"),
    [
        pytest.param((30.9, 30.0), (0.5, 0.5), id="drawn the other way"),
        pytest.param((30.0, 30.9), (0.5, -0.5), id="both written over one stroke"),
    ],
)
def test_figures_that_no_step_explains_still_contradict(
    drawn: tuple[float, ...], at: tuple[float, ...], tmp_path: Path
) -> None:
    report = written(shaft(drawn, ("30", "31"), at), tmp_path)
    assert len(report.contradicting) == 1
    assert not any(each.determined for each in report.outlines)


def test_an_edge_without_a_figure_keeps_its_own_height_and_is_scaled(tmp_path: Path) -> None:
    """Beyond a collar the shaft goes on about as thick as before it, and no figure says how thick."""
    print_ = shaft((30.0, 50.0, 30.9, 50.0, 30.4), ("30", "50", "31", "50", "30"))
    print_.dimensions = [each for each in print_.dimensions if each.id != print_.dimensions[-1].id]
    (outline,) = written(print_, tmp_path).outlines
    assert not outline.determined
    assert outline.area_mm2 == pytest.approx(LONG * (30 + 50 + 31 + 50 + 30.4), rel=1e-4)


@pytest.mark.parametrize("rim", ["49.5", "50"])
def test_the_risers_of_a_step_that_figures_tell_are_put_back(rim: str, tmp_path: Path) -> None:
    """A wheel's edge, 50 by 60, its rim set back by half a millimetre on both sides of the hub: the pen errs by as
    much, and the risers were not traced. Two lengths that are written alike tell of no step."""
    print_ = Print()
    print_.path((109.5, 135.0), (109.5, 150.0), (60.0, 150.0), (60.0, 90.0), (109.5, 90.0), (109.5, 105.0))
    print_.line((110.0, 135.0), (110.0, 105.0))
    print_.row("50", Fraction(50), Kind.LINEAR, (85, 120), (60, 120), (110, 120))
    print_.row(rim, Fraction(rim), Kind.LINEAR, (85, 145), (60, 145), (109.5, 145))
    print_.row("60", Fraction(60), Kind.LINEAR, (40, 120), (40, 90), (40, 150))
    report = written(print_, tmp_path)
    areas = [each.area_mm2 for each in report.outlines if each.kind is OutlineKind.OUTER]
    stepped = pytest.approx([3000.0 - 30.0 * 0.5], rel=1e-3)
    assert (areas == stepped) is (rim == "49.5")
