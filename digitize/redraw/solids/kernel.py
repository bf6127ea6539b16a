"""Solids as STEP and STL by the Open CASCADE kernel, which the extra ``solid`` brings."""

import importlib
import importlib.util
import math
from collections.abc import Sequence
from functools import reduce
from pathlib import Path
from typing import Any

from calibrate.errors import InputError, TraceclothError
from digitize.redraw.dxf import Corner
from digitize.redraw.solids.solid_shape import Slot, SolidPlan, Turned, flat, volume_mm3

VOLUME_SHARE = 5e-4
"""A solid whose volume is further from its outlines' own is not written."""
CHORD_MM = 0.01
"""The mesh of the STL leaves the solid by no more ..."""
CHORD_RAD = 0.03
"""... and turns by no more from facet to facet: a cylinder loses 0.015 % of its volume."""
_ONE_POINT_MM = 1e-7  # the kernel's own tolerance: it makes no edge between places nearer than this
_BEYOND_MM = 1.0  # a cutter reaches this much further than what it cuts
_DONE = 1  # IFSelect_RetDone


def check_installed() -> None:
    """Raise InputError where the kernel is missing."""
    if importlib.util.find_spec("OCP") is None:
        raise InputError("--solid needs a solid modeller: pip install 'tracecloth[solid]'.")


def write_files(plan: SolidPlan, step: Path, stl: Path) -> float:
    """Write a solid as STEP (mm) and as a binary STL.

    Returns
    -------
    float
        Its volume in cubic mm.

    Raises
    ------
    calibrate.errors.TraceclothError
        Where the kernel can't build it, or builds something of another volume.
    """
    shape = _shape(plan)
    volume = _volume(shape)
    expected = volume_mm3(plan)
    if volume <= 0 or (expected is not None and abs(volume - expected) > VOLUME_SHARE * expected):
        raise TraceclothError(f"The solid came out with {volume:.1f} cubic mm, which its outlines do not have.")
    _write_step(shape, step)
    _write_stl(shape, stl)
    return volume


def _ocp(module: str) -> Any:
    return importlib.import_module(f"OCP.{module}")


def _shape(plan: SolidPlan) -> Any:
    shape = None if plan.turned is None else _turned(plan.turned)
    if plan.prism is not None:
        bottom, top = (0.0, plan.prism.height) if shape is None else _beyond(plan.turned)
        assert top is not None
        outlined = _prism(plan.prism.outer, bottom, top, plan.holes if shape is None else ())
        shape = outlined if shape is None else _boolean("Common", shape, outlined)
    if plan.turned is None:
        return reduce(lambda body, cut: _boolean("Cut", body, _pocket(plan, *cut)), plan.pockets, shape)
    low, high = _beyond(plan.turned)
    shape = reduce(lambda body, slot: _boolean("Cut", body, _slot(slot, plan.turned)), plan.slots, shape)
    return reduce(lambda body, hole: _boolean("Cut", body, _prism(hole, low, high)), plan.holes, shape)


def _pocket(plan: SolidPlan, outline: Sequence[Corner], depth: float) -> Any:
    assert plan.prism is not None
    assert plan.prism.height is not None
    return _prism(outline, plan.prism.height - depth, plan.prism.height + _BEYOND_MM)


def _slot(slot: Slot, turned: Turned | None) -> Any:
    """What a cutter takes away from the slot's floor outwards, along x."""
    assert turned is not None
    gp = _ocp("gp")
    face = _face(slot.outline, lambda z, across: gp.gp_Pnt(slot.floor, across, z))
    reach = max(r for each in turned.faces for _, r in flat(each)) + _BEYOND_MM - slot.floor
    return _ocp("BRepPrimAPI").BRepPrimAPI_MakePrism(face, gp.gp_Vec(reach, 0.0, 0.0)).Shape()


def _beyond(turned: Turned | None) -> tuple[float, float]:
    assert turned is not None
    along = [z for face in turned.faces for z, _ in flat(face)]
    return min(along) - _BEYOND_MM, max(along) + _BEYOND_MM


def _boolean(what: str, one: Any, other: Any) -> Any:
    """Common, Cut or Fuse of two shapes."""
    operation = getattr(_ocp("BRepAlgoAPI"), f"BRepAlgoAPI_{what}")(one, other)
    if not operation.IsDone():
        raise TraceclothError("The solid modeller could not join the parts of the solid.")
    return operation.Shape()


def _prism(outer: Sequence[Corner], low: float, high: float, holes: Sequence[Sequence[Corner]] = ()) -> Any:
    gp = _ocp("gp")
    face = _face(outer, lambda x, y: gp.gp_Pnt(x, y, low), holes)
    return _ocp("BRepPrimAPI").BRepPrimAPI_MakePrism(face, gp.gp_Vec(0.0, 0.0, high - low)).Shape()


def _turned(turned: Turned) -> Any:
    gp = _ocp("gp")
    axis = gp.gp_Ax1(gp.gp_Pnt(0.0, 0.0, 0.0), gp.gp_Dir(0.0, 0.0, 1.0))
    bodies = []
    for corners in turned.faces:
        points = flat(corners)
        face = _face(corners, lambda z, r: gp.gp_Pnt(r, 0.0, z))
        if min(r for _, r in points) < 0:
            left, right = min(z for z, _ in points) - _BEYOND_MM, max(z for z, _ in points) + _BEYOND_MM
            top = max(r for _, r in points) + _BEYOND_MM
            upper = ((left, 0.0, 0.0), (right, 0.0, 0.0), (right, top, 0.0), (left, top, 0.0))
            face = _boolean("Common", face, _face(upper, lambda z, r: gp.gp_Pnt(r, 0.0, z)))
        bodies.append(_ocp("BRepPrimAPI").BRepPrimAPI_MakeRevol(face, axis, 2 * math.pi).Shape())
    return reduce(lambda one, other: _boolean("Fuse", one, other), bodies)


def _face(corners: Sequence[Corner], point: Any, holes: Sequence[Sequence[Corner]] = ()) -> Any:
    builder = _ocp("BRepBuilderAPI")
    face = builder.BRepBuilderAPI_MakeFace(_wire(corners, point), True)
    for hole in holes:
        face.Add(_wire(hole, point, True))
    if not face.IsDone():
        raise TraceclothError("The solid modeller could not make a face of an outline.")
    return face.Face()


def _wire(corners: Sequence[Corner], point: Any, clockwise: bool = False) -> Any:
    builder = _ocp("BRepBuilderAPI")
    wire = builder.BRepBuilderAPI_MakeWire()
    for (x, y, bulge), (next_x, next_y, _) in zip(corners, [*corners[1:], corners[0]], strict=True):
        start, end = point(x, y), point(next_x, next_y)
        if start.Distance(end) <= _ONE_POINT_MM:
            continue
        if bulge:
            top = (x + next_x) / 2 + bulge * (next_y - y) / 2, (y + next_y) / 2 - bulge * (next_x - x) / 2
            curve = _ocp("GC").GC_MakeArcOfCircle(start, point(*top), end).Value()
            wire.Add(builder.BRepBuilderAPI_MakeEdge(curve).Edge())
        else:
            wire.Add(builder.BRepBuilderAPI_MakeEdge(start, end).Edge())
    if not wire.IsDone():
        raise TraceclothError("The solid modeller could not follow an outline.")
    made = wire.Wire()
    if clockwise:
        made.Reverse()
    return made


def _volume(shape: Any) -> float:
    properties = _ocp("GProp").GProp_GProps()
    _ocp("BRepGProp").BRepGProp.VolumeProperties_s(shape, properties)
    return abs(float(properties.Mass()))


def _write_step(shape: Any, path: Path) -> None:
    message = _ocp("Message")
    for printer in message.Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(message.Message_Gravity.Message_Fail)
    control = _ocp("STEPControl")
    writer = control.STEPControl_Writer()
    writer.Transfer(shape, control.STEPControl_StepModelType.STEPControl_AsIs)
    if int(writer.Write(str(path))) != _DONE:
        raise TraceclothError(f"{path.name} could not be written.")


def _write_stl(shape: Any, path: Path) -> None:
    _ocp("BRepMesh").BRepMesh_IncrementalMesh(shape, CHORD_MM, False, CHORD_RAD)
    writer = _ocp("StlAPI").StlAPI_Writer()
    writer.ASCIIMode = False
    if not writer.Write(shape, str(path)):
        raise TraceclothError(f"{path.name} could not be written.")
