"""`part.dxf` read by a B-rep kernel: the DXF import of build123d (extra ``interop``) on Open CASCADE.

Faces are made of the curves on each outline layer; their areas and their common box are those that our report and ezdxf
give. Skipped where build123d is not installed.
"""

import warnings
from pathlib import Path

import ezdxf
import pytest
from ezdxf import bbox
from hand_drawn import agreed_gear, blank_sheet, flange, spur_gear, stepped_shaft

from digitize.lettering.text import Unit
from digitize.redraw.part import write_part
from digitize.redraw.report import OutlineKind, PartReport
from digitize.redraw.writing.layers import GEAR, INNER, OUTLINE
from digitize.redraw.writing.old_dxf import rewrite_r12
from digitize.report.frame import sheet_frame

PRINTS = {"shaft": stepped_shaft, "flange": flange, "gear": spur_gear}
CUT_LAYERS = (OUTLINE, INNER, GEAR)


def written(folder: Path, name: str) -> tuple[Path, PartReport]:
    """The part with what a workshop cuts alone: other entities are taken out by ezdxf, as a person would hide them."""
    print_ = PRINTS[name]()
    reconciled = print_.reconciled()
    gear = agreed_gear() if name == "gear" else None
    path = folder / "part.dxf"
    report = write_part(path, print_.strokes(), reconciled, gear, sheet_frame(blank_sheet(), reconciled), Unit.MM)
    drawing = ezdxf.readfile(path)
    for entity in list(drawing.modelspace()):
        if entity.dxf.layer not in CUT_LAYERS:
            drawing.modelspace().delete_entity(entity)
    drawing.saveas(path)
    return path, report


def faces(path: Path) -> list:  # type: ignore[type-arg]
    """Faces that the kernel makes of the closed curves it imports, smallest first."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # what the library warns of at import is not ours
        build123d = pytest.importorskip("build123d")
        curves = build123d.import_dxf(str(path))
        edges = [edge for curve in curves for edge in curve.edges()]
        wires = build123d.Wire.combine(edges)
        assert all(wire.is_closed for wire in wires)
        return sorted((build123d.Face(wire) for wire in wires), key=lambda face: face.area)


@pytest.mark.parametrize("old_form", [False, True])
@pytest.mark.parametrize("name", PRINTS)
def test_the_kernel_makes_the_same_faces(tmp_path: Path, name: str, old_form: bool) -> None:
    path, report = written(tmp_path, name)
    wanted = sorted(each.area_mm2 for each in report.outlines if each.kind is not OutlineKind.CUT and each.determined)
    box = bbox.extents(ezdxf.readfile(path).modelspace())
    if old_form:
        rewrite_r12(path)
    found = faces(path)
    assert [face.area for face in found] == pytest.approx(wanted, rel=1e-6)
    bounds = [face.bounding_box() for face in found]
    low = min(each.min.X for each in bounds), min(each.min.Y for each in bounds)
    high = max(each.max.X for each in bounds), max(each.max.Y for each in bounds)
    assert (*low, *high) == pytest.approx((box.extmin.x, box.extmin.y, box.extmax.x, box.extmax.y), abs=1e-4)
