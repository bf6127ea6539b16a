"""DXF R12 for old machines: lines, arcs and polylines, and nothing else."""

from pathlib import Path

from ezdxf import path as dxf_path
from ezdxf.addons.importer import Importer
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import new, readfile
from ezdxf.layouts.layout import Modelspace

from digitize.redraw.dxf import fixed_metadata

FLAT_MM = 0.001
"""A spline is cut into chords that leave it by no more."""
HALF = 180.0


def rewrite_r12(path: Path) -> int:
    """Write a drawing anew as R12; figures, the hatching of cut faces and tables are left out, and so is the unit.

    Returns
    -------
    int
        How many entities were left out.
    """
    with fixed_metadata():
        modern, old = readfile(path), new("R12")
        importer = Importer(modern, old)
        importer.import_table("linetypes")
        importer.import_table("layers")
        left_out = sum(not _copied(entity, old.modelspace()) for entity in modern.modelspace())
        old.modelspace().reset_extents(modern.header["$EXTMIN"], modern.header["$EXTMAX"])
        old.saveas(path)
    return left_out


def _copied(entity: DXFEntity, space: Modelspace) -> bool:
    layer = {"layer": entity.dxf.get("layer", "0")}
    match entity.dxftype():
        case "LINE":
            space.add_line(entity.dxf.start, entity.dxf.end, layer)
        case "ARC":
            turn = entity.dxf.start_angle, entity.dxf.end_angle
            space.add_arc(entity.dxf.center, entity.dxf.radius, *turn, True, layer)
        case "CIRCLE":
            for start in (0.0, HALF):
                space.add_arc(entity.dxf.center, entity.dxf.radius, start, start + HALF, True, layer)
        case "LWPOLYLINE":
            assert isinstance(entity, LWPolyline)
            space.add_polyline2d(entity.get_points("xyb"), "xyb", close=entity.closed, dxfattribs=layer)
        case "SPLINE" | "ELLIPSE":
            points = [(point.x, point.y) for point in dxf_path.make_path(entity).flattening(_flat(entity))]
            space.add_polyline2d(points, close=False, dxfattribs=layer)
        case _:
            return False
    return True


def _flat(entity: DXFEntity) -> float:
    """The chord's distance in the drawing's unit."""
    inch = entity.doc is not None and entity.doc.header.get("$INSUNITS") == 1
    return FLAT_MM / 25.4 if inch else FLAT_MM
