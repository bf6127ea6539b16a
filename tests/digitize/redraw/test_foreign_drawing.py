"""`part.dxf` as ezdxf's drawing add-on shows it, against our own page at true size: the same lines, the same places."""

from pathlib import Path

import numpy as np
import pytest
import shapely
from ezdxf.addons.drawing import Frontend, RenderContext
from ezdxf.addons.drawing.config import Configuration, LinePolicy
from ezdxf.addons.drawing.json import CustomJSONBackend
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.filemanagement import readfile
from hand_drawn import agreed_gear, blank_sheet, bushing, flange, spur_gear, stepped_shaft

from digitize.lettering.text import Unit
from digitize.redraw.part import write_part
from digitize.redraw.writing.true_size import FLAT_MM, SHAPES, true_size
from digitize.report.frame import sheet_frame

PRINTS = {"shaft": stepped_shaft, "flange": flange, "gear": spur_gear, "bushing": bushing}
SLACK_MM = 2 * FLAT_MM
"""Both draw curves by chords."""


def shown(path: Path) -> shapely.Geometry:
    """What the add-on draws of lines and curves."""
    drawing = readfile(path)
    backend = CustomJSONBackend()
    wanted = lambda entity: isinstance(entity, DXFGraphic) and entity.dxftype() in SHAPES  # noqa: E731
    solid = Configuration(line_policy=LinePolicy.SOLID)
    Frontend(RenderContext(drawing), backend, config=solid).draw_layout(drawing.modelspace(), filter_func=wanted)
    return shapely.union_all([line for each in backend.get_json_data() for line in lines(each)])


def lines(entity: dict) -> list[shapely.LineString]:  # type: ignore[type-arg]
    """Polylines of one drawn entity; Bezier curves are sampled finely."""
    kind, geometry = entity["type"], entity["geometry"]
    if kind == "lines":
        return [shapely.LineString([(x0, y0), (x1, y1)]) for x0, y0, x1, y1 in geometry]
    if kind != "path":
        return []
    points: list[tuple[float, float]] = []
    for command, *args in geometry:
        if command in ("M", "L"):
            points.append(tuple(args))
        elif command == "C":
            a, (b, c, d) = points[-1], [tuple(args[k : k + 2]) for k in (0, 2, 4)]
            steps = [k / 64 for k in range(1, 65)]
            points += [
                tuple(
                    (1 - t) ** 3 * p + 3 * (1 - t) ** 2 * t * q + 3 * (1 - t) * t * t * r + t**3 * s
                    for p, q, r, s in zip(a, b, c, d, strict=True)
                )
                for t in steps
            ]
        elif command == "Z":
            points.append(points[0])
    return [shapely.LineString(points)]


@pytest.mark.parametrize("name", PRINTS)
def test_the_add_on_draws_what_our_page_shows(tmp_path: Path, name: str) -> None:
    print_ = PRINTS[name]()
    reconciled = print_.reconciled()
    gear = agreed_gear() if name == "gear" else None
    path = tmp_path / "part.dxf"
    write_part(path, print_.strokes(), reconciled, gear, sheet_frame(blank_sheet(), reconciled), Unit.MM)
    page = true_size(path, "")
    assert page is not None
    ours = shapely.union_all([shapely.LineString(line) for line in (*page.lines, *page.chains)])
    theirs = shown(path)
    (left, low, *_), (their_left, their_low, *_) = ours.bounds, theirs.bounds
    moved = shapely.transform(theirs, lambda xy: xy + np.array([left - their_left, low - their_low]))
    assert ours.hausdorff_distance(moved) <= SLACK_MM
    assert moved.buffer(SLACK_MM).covers(ours)
    assert ours.buffer(SLACK_MM).covers(moved)
