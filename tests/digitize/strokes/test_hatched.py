"""Section lines become regions; in the trace each region is one HATCH that lies on the lines drawn."""

import math
from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from ezdxf.entities.hatch import Hatch
from shapely import Polygon

from digitize.lettering.text import Unit
from digitize.redraw.trace import write_trace
from digitize.redraw.writing.old_dxf import rewrite_r12
from digitize.report.frame import Frame, Length
from digitize.strokes.primitives import Line, Point, Role, Strokes
from digitize.strokes.roles.hatched import hatched_regions
from tests.bench.stroke_score import traced_polylines

STEP = 20.0


def field(left: float, top: float, size: float, step: float = STEP, deg: float = 45.0) -> list[Line]:
    """Section lines across a square, as one draws them."""
    u = np.array([math.cos(math.radians(deg)), -math.sin(math.radians(deg))])
    v = np.array([-u[1], u[0]])
    found = []
    middle = np.array([left + size / 2, top + size / 2])
    for k in range(-40, 41):
        s = np.linspace(-size, size, 4001)
        points = middle + k * step * v + s[:, None] * u
        inside = (np.abs(points - middle) <= size / 2).all(axis=1)
        if inside.sum() > 200:
            a, b = sorted([tuple(points[inside][0].tolist()), tuple(points[inside][-1].tolist())])
            found.append(Line(a, b, 2.0, role=Role.HATCH, view="A"))
    return found


def test_a_field_is_one_region_with_its_angle_and_step() -> None:
    lines = field(100, 100, 300)
    (region,) = hatched_regions(lines)
    assert sorted(region.lines) == list(range(len(lines)))
    assert region.angle_deg == pytest.approx(45.0, abs=0.01)
    assert region.step_px == pytest.approx(STEP, abs=0.01)
    assert Polygon(region.outline).is_valid
    assert Polygon(region.outline).area == pytest.approx(300**2, rel=0.1)  # the corners lie beyond the last lines


def test_fields_apart_and_crossing_ways_are_regions_of_their_own() -> None:
    lines = field(100, 100, 200) + field(500, 100, 200) + field(100, 500, 200, deg=135.0)
    regions = hatched_regions(lines)
    assert len(regions) == 3
    assert sorted(round(region.angle_deg) for region in regions) == [45, 45, 135]


def test_a_hole_parts_no_line_from_its_neighbours_twice() -> None:
    """Every line belongs to one region at most."""
    lines = [line for line in field(0, 0, 400) for line in _around_a_hole(line)]
    members = [k for region in hatched_regions(lines) for k in region.lines]
    assert len(members) == len(set(members)) >= 0.8 * len(lines)


def _around_a_hole(line: Line) -> list[Line]:
    points = np.linspace(line.start, line.end, 500)
    out = np.hypot(*(points - 200).T) > 80
    edges = np.flatnonzero(np.diff(np.concatenate([[False], out, [False]]).astype(int)))
    ends = [(points[a], points[b - 1]) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a > 30]
    return [Line((p[0], p[1]), (q[0], q[1]), 2.0, role=Role.HATCH, view="A") for p, q in ends]


def test_a_few_lines_are_no_region() -> None:
    assert hatched_regions(field(0, 0, 60)[:3]) == ()


FLIP = np.array([[0.1, 0.0, 0.0], [0.0, -0.1, 60.0], [0.0, 0.0, 1.0]])
"""Level px to mm of paper on a sheet 600 px high, at 10 px/mm."""


def written(path: Path, with_regions: bool = True) -> tuple[Line, ...]:
    """Write the trace of a field of section lines under an edge; returns the section lines."""
    return write(path, tuple(field(100, 100, 300)), with_regions)


def write(path: Path, lines: tuple[Line, ...], with_regions: bool = True) -> tuple[Line, ...]:
    """Write the trace of section lines under an edge; returns the section lines."""
    edge = Line((100.0, 100.0), (400.0, 100.0), 4.0, view="A")
    frame = Frame(FLIP, np.eye(3), 0.1, 0.1, Length.PAPER_MM, 1.0)
    strokes = Strokes(lines=(*lines, edge), hatched=hatched_regions(lines))
    write_trace(path, strokes, frame, Unit.MM, with_regions=with_regions)
    return lines


def test_the_trace_holds_a_hatch_in_place_of_its_lines(tmp_path: Path) -> None:
    lines = written(tmp_path / "trace.dxf")
    drawing = ezdxf.readfile(tmp_path / "trace.dxf")  # type: ignore[attr-defined]
    (line,) = drawing.modelspace().query("LINE")
    assert line.dxf.layer == "VISIBLE"
    (hatch,) = drawing.modelspace().query("HATCH")
    assert isinstance(hatch, Hatch)
    assert hatch.pattern is not None
    # every line as drawn is one of the pattern
    assert len(hatch.pattern.lines) == len(lines)
    for pattern, drawn in zip(hatch.pattern.lines, lines, strict=True):
        u = np.array([math.cos(math.radians(pattern.angle)), math.sin(math.radians(pattern.angle))])
        for end in (drawn.start, drawn.end):
            x, y = FLIP[:2, :2] @ end + FLIP[:2, 2] - np.array([pattern.base_point.x, pattern.base_point.y])
            assert abs(x * -u[1] + y * u[0]) < 1e-6
    assert not drawing.audit().errors


def test_section_lines_stepped_by_eye_lie_where_the_pen_went(tmp_path: Path) -> None:
    even = field(100, 100, 300)
    drawn = [replace(line, start=_along_x(line.start, k), end=_along_x(line.end, k)) for k, line in enumerate(even)]
    write(tmp_path / "trace.dxf", tuple(drawn))
    read = [points for points, role in traced_polylines(tmp_path / "trace.dxf", np.eye(3), 1.0) if role == "hatch"]
    true = [np.array([FLIP[:2, :2] @ end + FLIP[:2, 2] for end in (line.start, line.end)]) for line in drawn]
    assert _by_place(read) == pytest.approx(_by_place(true), abs=2e-3)


def _by_place(lines: list[np.ndarray]) -> np.ndarray:
    """Lines at 45 degrees from the left to the right, each from its lower end."""
    upward = [line[np.argsort(line[:, 1])] for line in lines]
    return np.array(sorted(upward, key=lambda line: float(line[0, 0] - line[0, 1])))


def _along_x(point: Point, k: int) -> Point:
    """Every other line strays by a quarter of a mm."""
    return point[0] + 2.5 * (k % 2), point[1]


def test_a_trace_for_old_machines_holds_section_lines_as_lines(tmp_path: Path) -> None:
    lines = written(tmp_path / "trace.dxf", with_regions=False)
    assert rewrite_r12(tmp_path / "trace.dxf") == 0
    drawing = ezdxf.readfile(tmp_path / "trace.dxf")  # type: ignore[attr-defined]
    found = drawing.modelspace().query("LINE[layer=='HATCH']")
    ends = sorted((*line.dxf.start.vec2, *line.dxf.end.vec2) for line in found)
    drawn = sorted((*(FLIP[:2, :2] @ p.start + FLIP[:2, 2]), *(FLIP[:2, :2] @ p.end + FLIP[:2, 2])) for p in lines)
    assert np.array(ends) == pytest.approx(np.array(drawn), abs=1e-6)


def test_the_scorer_reads_the_lines_that_a_hatch_covers(tmp_path: Path) -> None:
    lines = written(tmp_path / "trace.dxf")
    read = [points for points, role in traced_polylines(tmp_path / "trace.dxf", np.eye(3), 1.0) if role == "hatch"]
    assert len(read) == len(lines)
    lengths = sorted(float(np.hypot(*(b - a))) for a, b in read)
    drawn = sorted(0.1 * math.dist(line.start, line.end) for line in lines)
    assert lengths == pytest.approx(drawn, rel=0.02, abs=0.3)
