"""Layers of `part.dxf`: what stands on each, and how it looks."""

from ezdxf.document import Drawing

from digitize.redraw import dxf

OUTLINE, INNER, CUT, EDGE = "OUTLINE", "INNER_OUTLINE", "CUT_OUTLINE", "EDGE"
GEAR, GEAR_UNPROVEN = "GEAR", "GEAR_UNPROVEN"
OPEN, OPEN_END, SCALE_UNPROVEN = "OPEN_OUTLINE", "OPEN_END", "SCALE_UNPROVEN"
SCALED, HIDDEN_SCALED = "SCALED_FROM_PRINT", "HIDDEN_SCALED_FROM_PRINT"
REMARK = "REMARK"
APPLIED, NOT_APPLIED, UNPROVEN, DISPUTED = "DIMENSION", "DIMENSION_NOT_APPLIED", "UNPROVEN", "DISPUTED"
_STYLES = {
    OUTLINE: dxf.LayerStyle(dxf.BLACK_OR_WHITE, weight=dxf.WIDE_PEN),
    INNER: dxf.LayerStyle(dxf.BLACK_OR_WHITE, weight=dxf.WIDE_PEN),
    CUT: dxf.LayerStyle(dxf.CYAN, weight=dxf.WIDE_PEN),
    EDGE: dxf.LayerStyle(dxf.GREEN),
    GEAR: dxf.LayerStyle(dxf.BLACK_OR_WHITE, weight=dxf.WIDE_PEN),
    GEAR_UNPROVEN: dxf.LayerStyle(dxf.MAGENTA, weight=dxf.WIDE_PEN),
    OPEN: dxf.LayerStyle(dxf.RED),
    OPEN_END: dxf.LayerStyle(dxf.RED),
    SCALE_UNPROVEN: dxf.LayerStyle(dxf.RED, weight=dxf.WIDE_PEN),
    SCALED: dxf.LayerStyle(dxf.GREY, weight=dxf.WIDE_PEN),
    HIDDEN_SCALED: dxf.LayerStyle(dxf.GREY, "HIDDEN"),
    APPLIED: dxf.LayerStyle(dxf.BLUE),
    NOT_APPLIED: dxf.LayerStyle(dxf.MAGENTA),
    UNPROVEN: dxf.LayerStyle(dxf.MAGENTA),
    REMARK: dxf.LayerStyle(dxf.RED),
    DISPUTED: dxf.LayerStyle(dxf.RED),
}


def on_layer(drawing: Drawing, name: str) -> dict[str, str]:
    """Attributes that put an entity on a layer, which is added where it is missing."""
    dxf.add_layer(drawing, name, _STYLES[name])
    return {"layer": name}
