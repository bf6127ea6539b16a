"""The set-screw that a gear's print names, as a mark in `part.dxf`: its thread, its axis, and its name.

A print's note says which screw, hardly ever where: the mark stands towards +x of the gear's face and says so.
"""

from collections.abc import Sequence

from ezdxf.document import Drawing

from digitize.dimensions.table import Reconciled
from digitize.gears.desk.gear_drawing import add_screw
from digitize.gears.identifying.sheet_body import bore_of_sheet, set_screw
from digitize.lettering.text import Unit
from digitize.redraw import dxf
from digitize.redraw.gear_outline import GearCurve, GearPlan
from digitize.redraw.report import OutlineKind
from digitize.strokes.primitives import Strokes

NOTE, UNPROVEN = "NOTE", "SET_SCREW_UNPROVEN"
TEXT_MODULES = 0.8
"""Height of the words in modules: readable beside the teeth at any size."""
BEYOND_MODULES = 2.0
"""The words stand so far beyond the tips."""


def add_set_screw(
    drawing: Drawing,
    plan: GearPlan,
    curves: Sequence[GearCurve],
    reconciled: Reconciled,
    strokes: Strokes,
    unit: Unit,
) -> list[str]:
    """Draw and name the set-screw where the gear's teeth are drawn and its bore is agreed; else name it.

    One whose thread rests on its reading alone is drawn on a layer that says so, like teeth that are unproven.

    Returns
    -------
    list of str
        What is to be said of it; empty where the print names none.
    """
    screw, sure = set_screw(reconciled)
    if screw is None:
        return []
    said = f"set-screw {screw.thread} ({screw.series})" + ("" if sure else ", unproven")
    bore_mm, bore_sure = bore_of_sheet(reconciled, strokes)
    teeth = next((curve for curve in curves if curve.kind is OutlineKind.GEAR), None)
    if bore_mm is None or not bore_sure or teeth is None or plan.spec is None:
        return [f"{said}: named on the print and not drawn, since bore or teeth are not known"]
    if not sure:
        dxf.add_layer(drawing, UNPROVEN, dxf.LayerStyle(dxf.MAGENTA))
    x, y = teeth.middle
    factor, spec = dxf.per_mm(unit), plan.spec
    reach_mm = bore_mm / 2, spec.root_radius_mm
    add_screw(drawing, (x, y), screw.major_mm / 2, reach_mm, factor, None if sure else UNPROVEN)
    note = f"{said}: its place round the axis is not from the print"
    dxf.add_layer(drawing, NOTE, dxf.LayerStyle(dxf.GREY))
    place = ((x + spec.tip_radius_mm + BEYOND_MODULES * spec.module_mm) * factor, y * factor)
    height = TEXT_MODULES * spec.module_mm * factor
    drawing.modelspace().add_text(note.upper(), height=height, dxfattribs={"layer": NOTE, "insert": place})
    return [note]
