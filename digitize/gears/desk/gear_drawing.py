"""A gear, and its mate in mesh, as a DXF: closed outlines of arcs, circles, and words on what they are.

The gear's centre is the origin, a tooth on the +y axis; the mate stands over it at the centre distance, turned so that
one of its spaces takes that tooth with the play shared by both flanks.
"""

from math import pi
from pathlib import Path

from ezdxf.document import Drawing

from digitize.dimensions.table import State
from digitize.gears.body import GivenBody
from digitize.gears.desk.work import Work
from digitize.gears.keys import half_round_words
from digitize.gears.sentences import length
from digitize.gears.teeth.arcs import ArcOutline, bore_in_arcs, teeth_in_arcs
from digitize.lettering.text import Unit
from digitize.redraw import dxf
from digitize.strokes.primitives import Role

GEAR, GEAR_UNPROVEN, MATE, INNER, NOTE = "GEAR", "GEAR_UNPROVEN", "MATE", "INNER_OUTLINE", "NOTE"
DIGITS = 9
"""Decimals of a coordinate: below any meaning, above the outline's rounding."""
TEXT_MODULES = 0.8
"""Height of the words in modules: readable beside the teeth at any size."""
HUB, CENTRE, HIDDEN = Role.VISIBLE, Role.CENTRE, Role.HIDDEN


def write_gear_drawing(path: Path, work: Work, unit: str) -> None:
    """Write the gear of a desk answer, and its mate where one is given.

    Parameters
    ----------
    path : Path
    work : Work
    unit : str
        "in" or "mm", the file's.
    """
    file_unit = Unit.INCH if unit == "in" else Unit.MM
    drawing, factor = dxf.new_drawing(file_unit, dxf.per_mm(file_unit)), dxf.per_mm(file_unit)
    layer = GEAR if work.state is State.AGREED else GEAR_UNPROVEN
    _add_outline(drawing, teeth_in_arcs(work.gear), layer, factor)
    _add_circle(drawing, (0, 0), work.gear.pitch_radius_mm, CENTRE, factor)
    _add_body(drawing, work.body, factor, work.gear.root_radius_mm)
    if work.mate is not None and work.centre_mm is not None:
        mate = teeth_in_arcs(work.mate).moved(0.0, 0.0, pi + pi / work.mate.teeth).moved(0.0, work.centre_mm)
        _add_outline(drawing, mate, MATE, factor)
        ratio = work.gear.teeth / (work.gear.teeth + work.mate.teeth)
        for centre, radius in (((0.0, 0.0), ratio), ((0.0, work.centre_mm), 1 - ratio)):
            _add_circle(drawing, centre, radius * work.centre_mm, CENTRE, factor)
    _add_notes(drawing, work, unit, factor)
    dxf.save(drawing, path)


_STYLES = {
    GEAR: dxf.LayerStyle(dxf.BLACK_OR_WHITE, weight=dxf.WIDE_PEN),
    GEAR_UNPROVEN: dxf.LayerStyle(dxf.MAGENTA, weight=dxf.WIDE_PEN),
    MATE: dxf.LayerStyle(dxf.BLUE, weight=dxf.WIDE_PEN),
    INNER: dxf.LayerStyle(dxf.BLACK_OR_WHITE, weight=dxf.WIDE_PEN),
    NOTE: dxf.LayerStyle(dxf.GREY),
}


def _layer(drawing: Drawing, name: str) -> dict[str, str]:
    dxf.add_layer(drawing, name, _STYLES[name])
    return {"layer": name}


def _add_outline(drawing: Drawing, outline: ArcOutline, layer: str, factor: float) -> None:
    corners = [
        (round(x * factor, DIGITS), round(y * factor, DIGITS), bulge)
        for (x, y), bulge in zip(outline.points.tolist(), outline.bulges.tolist(), strict=True)
    ]
    drawing.modelspace().add_lwpolyline(corners, format="xyb", close=True, dxfattribs=_layer(drawing, layer))


def _add_circle(drawing: Drawing, centre: tuple[float, float], radius_mm: float, role: Role, factor: float) -> None:
    place = tuple(value * factor for value in centre)
    drawing.modelspace().add_circle(place, radius_mm * factor, {"layer": dxf.add_role_layer(drawing, role)})


def _add_body(drawing: Drawing, body: GivenBody, factor: float, root_mm: float) -> None:
    if body.bore_mm is not None:
        _add_outline(drawing, bore_in_arcs(body.bore_mm, body.keyseat), INNER, factor)
    for radius in (_half(body.hub_mm), None if body.rim_mm is None else root_mm - body.rim_mm):
        if radius is not None:
            _add_circle(drawing, (0, 0), radius, HUB, factor)
    if body.holes is not None:
        ring = body.holes.circle_mm / 2
        _add_circle(drawing, (0, 0), ring, CENTRE, factor)
        hole = bore_in_arcs(body.holes.diameter_mm)
        for each in range(body.holes.count):
            turned = hole.moved(ring, 0.0).moved(0.0, 0.0, 2 * pi * each / body.holes.count)
            _add_outline(drawing, turned, INNER, factor)
    if body.screw is not None and body.bore_mm is not None:
        outer = root_mm if body.hub_mm is None else body.hub_mm / 2
        add_screw(drawing, (0.0, 0.0), body.screw.major_mm / 2, (body.bore_mm / 2, outer), factor)


def _half(size_mm: float | None) -> float | None:
    return None if size_mm is None else size_mm / 2


def add_screw(
    drawing: Drawing,
    centre: tuple[float, float],
    half_mm: float,
    reach_mm: tuple[float, float],
    factor: float,
    layer: str | None = None,
) -> None:
    """A set-screw's thread as hidden lines, and its axis: towards +x of the gear's centre, from one radius to another.

    That is a quarter turn from a keyseat on the +y axis. All of it goes on ``layer`` where one is given.
    """

    def line(x0: float, x1: float, y: float, role: Role) -> None:
        first, last = (((centre[0] + x) * factor, (centre[1] + y) * factor) for x in (x0, x1))
        drawing.modelspace().add_line(first, last, {"layer": layer or dxf.add_role_layer(drawing, role)})

    inner, outer = reach_mm
    for y in (-half_mm, half_mm):
        line(inner, outer, y, HIDDEN)
    line(inner - half_mm, outer + half_mm, 0.0, CENTRE)


def _add_notes(drawing: Drawing, work: Work, unit: str, factor: float) -> None:
    """What the drawing shows, under the gear."""
    height = TEXT_MODULES * work.gear.module_mm * factor
    for row, text in enumerate(drawing_notes(work, unit), start=1):
        place = (-work.gear.tip_radius_mm * factor, -work.gear.tip_radius_mm * factor - 2 * row * height)
        drawing.modelspace().add_text(text, height=height, dxfattribs=_layer(drawing, NOTE) | {"insert": place})


def drawing_notes(work: Work, unit: str) -> list[str]:
    """The words of the drawing."""
    gear, body = work.gear, work.body
    said = [f"{gear.teeth} TEETH, {work.title}, {work.state.value.upper()}"]
    if gear.thinning_mm:
        said.append(f"TEETH THINNED {length(gear.thinning_mm, unit)} FOR BACKLASH")
    if gear.profile_shift:
        said.append(f"PROFILE SHIFT {gear.profile_shift:g}")
    if work.assumed:
        said.append(work.assumed.upper())
    if body.key is not None and body.key.half_round is not None:
        said.append(half_round_words(body.key.half_round).upper())
    if body.screw is not None:
        said.append(f"SET-SCREW {body.screw.thread} ({body.screw.series})")
    if work.mesh is not None and work.mate is not None:
        pair = work.mesh
        said.append(
            f"MATE OF {work.mate.teeth} TEETH AT {length(work.centre_mm or 0.0, unit)}: CONTACT RATIO "
            f"{pair.contact_ratio:.2f}, BACKLASH {length(pair.backlash_mm, unit)}, "
            f"{'THEY INTERFERE' if pair.interference else 'NO INTERFERENCE'}"
        )
    return said
