"""`part.dxf` and R12 read by GDAL's DXF driver (through pyogrio): the same outlines, closed, of the same area."""

from pathlib import Path

import ezdxf
import pyogrio
import pytest
import shapely
from ezdxf import path as dxf_path
from hand_drawn import agreed_gear, blank_sheet, flange, spur_gear, stepped_shaft

from digitize.lettering.text import Unit
from digitize.redraw.part import write_part
from digitize.redraw.writing.layers import GEAR, INNER, OUTLINE
from digitize.redraw.writing.old_dxf import rewrite_r12
from digitize.report.frame import sheet_frame

PRINTS = {"shaft": stepped_shaft, "flange": flange, "gear": spur_gear}
GDAL_ARC_SHARE = 2e-3
"""GDAL cuts arcs into chords of four degrees: a circle loses under .1 % of its area, and some slack."""


def written(folder: Path, name: str) -> Path:
    print_ = PRINTS[name]()
    reconciled = print_.reconciled()
    gear = agreed_gear() if name == "gear" else None
    path = folder / "part.dxf"
    write_part(path, print_.strokes(), reconciled, gear, sheet_frame(blank_sheet(), reconciled), Unit.MM)
    return path


def areas_by_gdal(path: Path) -> list[float]:
    """Areas of the closed curves on the layers that are cut."""
    _meta, _index, geometry, fields = pyogrio.raw.read(path, columns=["Layer"])
    areas = []
    for blob, layer in zip(geometry, fields[0], strict=True):
        shape = shapely.from_wkb(blob)
        if layer not in (OUTLINE, INNER, GEAR):
            continue
        rings = shapely.get_parts(shapely.line_merge(shape)) if shape.geom_type.endswith("String") else [shape]
        areas += [
            shapely.Polygon(ring.coords).area for ring in rings if ring.geom_type == "LineString" and ring.is_ring
        ]
        areas += [ring.area for ring in rings if ring.geom_type == "Polygon"]
    return sorted(areas)


def areas_by_ezdxf(path: Path) -> list[float]:
    entities = (
        ezdxf.readfile(path)
        .modelspace()
        .query(f'LWPOLYLINE CIRCLE[layer=="{OUTLINE}"|layer=="{INNER}"|layer=="{GEAR}"]')
    )
    chosen = [each for each in entities if each.dxf.layer in (OUTLINE, INNER, GEAR)]
    return sorted(
        shapely.Polygon([(p.x, p.y) for p in dxf_path.make_path(each).flattening(1e-4)]).area for each in chosen
    )


@pytest.mark.parametrize("name", PRINTS)
def test_gdal_reads_the_same_closed_outlines(tmp_path: Path, name: str) -> None:
    path = written(tmp_path, name)
    ours = areas_by_ezdxf(path)
    assert ours
    assert areas_by_gdal(path) == pytest.approx(ours, rel=GDAL_ARC_SHARE)


def test_gdal_reads_the_old_form_too(tmp_path: Path) -> None:
    path = written(tmp_path, "shaft")
    before = areas_by_gdal(path)
    rewrite_r12(path)
    assert areas_by_gdal(path) == pytest.approx(before, rel=1e-9)
