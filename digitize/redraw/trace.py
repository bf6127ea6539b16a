"""`trace.dxf`: the strokes as drawn, one layer a role, in the trace frame."""

import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from ezdxf.document import Drawing
from ezdxf.layouts.layout import Modelspace
from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS

from digitize.dimensions.table import ViewScale
from digitize.lettering.text import Unit
from digitize.redraw import dxf
from digitize.redraw.planes.curve import Circular
from digitize.redraw.writing.hatch import add_hatch_as_drawn
from digitize.report.frame import Frame, Length
from digitize.strokes.primitives import Arc, Arrowhead, Dash, HatchedRegion, Line, Point, Role, Spline, Strokes, View

NOTE_LAYER = "NOTE"
NOTE_STYLE = dxf.LayerStyle(dxf.GREY)
NOTE_HEIGHT_PAPER_MM = 3.5  # ISO 3098 nominal size
NOTE_BELOW = 2.5  # text heights from the foot of what it speaks of to its base line: the pen stays clear of its letters
ARROW_HALF_WIDTH = 1 / 6  # of its length: arrowheads three times as long as wide (ASME Y14.2)


def write_trace(
    path: Path,
    strokes: Strokes,
    frame: Frame,
    unit: Unit,
    other_scales: tuple[ViewScale, ...] = (),
    with_regions: bool = True,
) -> None:
    """Write the strokes as drawn.

    Parameters
    ----------
    path : Path
    strokes : Strokes
        Level pixels.
    frame : Frame
    unit : Unit
        INCH or MM. A frame in pixels gives a file without a unit, whatever this says.
    other_scales : tuple of ViewScale
        Views at another scale than the frame's; each gets a note beside it, for their lengths are not to be taken.
    with_regions : bool
        Section lines as one HATCH a region; else line by line, for readers that know no HATCH.
    """
    file_unit = Unit.NONE if frame.length is Length.PIXEL else unit
    factor = dxf.per_mm(file_unit)
    drawing = dxf.new_drawing(file_unit, frame.paper_mm * factor)
    space = drawing.modelspace()
    regions = strokes.hatched if with_regions else ()
    hatching = {k for region in regions for k in region.lines}
    weights = _weights(strokes, frame)
    for k, line in enumerate(strokes.lines):
        if k not in hatching:
            _add_line(space, line, frame, factor, weights(line))
    for edge in strokes.laid_on:
        _add_line(space, edge, frame, factor, {})
    for region in regions:
        _add_hatched(space, region, strokes, frame, factor)
    for arc in strokes.arcs:
        add_circular(space, frame.arc(arc), factor, _attributes(drawing, arc) | weights(arc))
    for spline in strokes.splines:
        _add_spline(space, spline, frame, factor, weights(spline))
    for head in _drawn_heads(strokes.arrowheads):
        _add_arrowhead(space, head, strokes, frame, factor)
    _add_scale_notes(drawing, strokes.views, frame, factor, other_scales)
    dxf.save(drawing, path)


Attributes = dict[str, str | int]


def _weights(strokes: Strokes, frame: Frame) -> Callable[[Line | Arc | Spline], Attributes]:
    """What gives an entity the line weight of its pen on paper, in 1/100 mm: the nearest that DXF knows."""
    paper_mm_per_px = math.sqrt(frame.x_mm_per_px * frame.y_mm_per_px) / frame.paper_mm
    known = () if frame.length is Length.PIXEL else strokes.pens
    weight = {pen: _nearest_weight(100.0 * pen.width_px * paper_mm_per_px) for pen in known}

    def weight_of(stroke: Line | Arc | Spline) -> Attributes:
        pen = strokes.pen_of(stroke)
        return {"lineweight": weight[pen]} if pen in weight else {}

    return weight_of


def _nearest_weight(wanted: float) -> int:
    return min(VALID_DXF_LINEWEIGHTS, key=lambda known: abs(known - wanted))


def _attributes(drawing: Drawing, stroke: Line | Arc) -> Attributes:
    attributes: Attributes = {"layer": dxf.add_role_layer(drawing, stroke.role)}
    line_type = dxf.LINE_TYPE_OF_DASH[stroke.dash]
    if stroke.dash is not Dash.SOLID and line_type != dxf.ROLE_STYLES[stroke.role].line_type:
        attributes["linetype"] = line_type
    return attributes


def _add_line(space: Modelspace, line: Line, frame: Frame, factor: float, weight: Attributes) -> None:
    start, end = (dxf.scaled(frame.point(end), factor) for end in (line.start, line.end))
    space.add_line(start, end, _attributes(_drawing(space), line) | weight)


def _add_spline(space: Modelspace, spline: Spline, frame: Frame, factor: float, weight: Attributes) -> None:
    points = [dxf.scaled(frame.point(point), factor) for point in spline.control]
    attributes = {"layer": dxf.add_role_layer(_drawing(space), spline.role)} | weight
    degree = len(spline.knots) - len(points) - 1
    space.add_open_spline(points, degree, spline.knots, dxfattribs=attributes)


def _add_hatched(space: Modelspace, region: HatchedRegion, strokes: Strokes, frame: Frame, factor: float) -> None:
    """Add a HATCH whose lines lie where the section lines were drawn."""

    def place(point: Point) -> Point:
        return dxf.scaled(frame.point(point), factor)

    lines = [(place(strokes.lines[k].start), place(strokes.lines[k].end)) for k in region.lines]
    corners = [(*place(point), 0.0) for point in region.outline]
    add_hatch_as_drawn(space, corners, lines, dxf.add_role_layer(_drawing(space), Role.HATCH))


def _drawing(space: Modelspace) -> Drawing:
    assert space.doc is not None
    return space.doc


def add_circular(space: Modelspace, curve: Circular, factor: float, attributes: Mapping[str, str | int]) -> None:
    """Add a CIRCLE or an ARC, its lengths times ``factor``."""
    centre, radius = dxf.scaled(curve.centre, factor), curve.radius * factor
    if curve.full:
        space.add_circle(centre, radius, attributes)
    else:
        space.add_arc(centre, radius, curve.start_deg, curve.start_deg + curve.sweep_deg, dxfattribs=attributes)


def _drawn_heads(heads: Sequence[Arrowhead]) -> list[Arrowhead]:
    """Heads that need drawing: a tick's own stroke is among the lines, and a dot may end two dimensions."""
    dots = {head.tip: head for head in heads if head.form == "dot"}
    return [head for head in heads if head.form not in ("tick", "dot")] + list(dots.values())


def _add_arrowhead(space: Modelspace, head: Arrowhead, strokes: Strokes, frame: Frame, factor: float) -> None:
    role = Role.DIMENSION if head.line is None else strokes.lines[head.line].role
    attributes = {"layer": dxf.add_role_layer(_drawing(space), role)}

    def place(along: float, across: float) -> Point:
        """Level pixels along and to the left of the arrow's direction, measured from its tip, into the file."""
        cos, sin = math.cos(math.radians(head.direction_deg)), math.sin(math.radians(head.direction_deg))
        dx, dy = along * cos - across * sin, along * sin + across * cos
        return dxf.scaled(frame.point((head.tip[0] + dx, head.tip[1] - dy)), factor)

    length, half = head.length_px, head.length_px * ARROW_HALF_WIDTH
    tip, left, right = place(0, 0), place(-length, half), place(-length, -half)
    if head.form == "open":
        space.add_lwpolyline([left, tip, right], dxfattribs=attributes)
    elif head.form == "blank":
        space.add_lwpolyline([left, tip, right], close=True, dxfattribs=attributes)
    elif head.form == "dot":
        space.add_circle(tip, math.dist(tip, place(length, 0)), attributes)
    else:
        space.add_solid([tip, left, right], attributes)


def _add_scale_notes(
    drawing: Drawing, views: tuple[View, ...], frame: Frame, factor: float, others: tuple[ViewScale, ...]
) -> None:
    boxes = {view.id: view.box for view in views}
    for scale in others:
        if scale.view not in boxes:
            continue
        left, _top, _right, bottom = boxes[scale.view]
        dxf.add_layer(drawing, NOTE_LAYER, NOTE_STYLE)
        height, (x, y) = NOTE_HEIGHT_PAPER_MM * frame.paper_mm, frame.point((left, bottom))
        drawing.modelspace().add_text(
            _scale_note(scale, frame),
            height=height * factor,
            dxfattribs={"layer": NOTE_LAYER, "insert": dxf.scaled((x, y - NOTE_BELOW * height), factor)},
        )


def _scale_note(scale: ViewScale, frame: Frame) -> str:
    if scale.not_to_scale:
        return f"VIEW {scale.view}: NOT TO SCALE"
    ratio = (scale.x_mm_per_px + scale.y_mm_per_px) / (frame.x_mm_per_px + frame.y_mm_per_px)
    return f"VIEW {scale.view}: DRAWN AT ANOTHER SCALE, MULTIPLY LENGTHS HERE BY {ratio:.4f}"
