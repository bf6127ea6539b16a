"""The option ``--solid``: from the redrawn views to `part.step` and `part.stl`, or the name of the missing size."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from calibrate.lengths import parse_length
from digitize.dimensions.table import Reconciled
from digitize.gears.identifying.finding import GearFinding
from digitize.redraw.solids.kernel import check_installed, write_files
from digitize.redraw.solids.solid import plan_solid
from digitize.redraw.solids.solid_shape import Missing, SolidPlan, parts_of
from digitize.redraw.solving.heavy_edges import with_heavy_edges
from digitize.redraw.solving.solved import solve_part
from digitize.report.files import LAST, staged
from digitize.report.frame import Frame, Length, sheet_frame
from digitize.report.table import write_json
from digitize.strokes.primitives import Strokes

if TYPE_CHECKING:
    from digitize.pipeline import SheetResult

FILES = ("part.step", "part.stl")
ASK = "; measure it and give it with --thickness, for example --thickness 1/2in"


@dataclass(frozen=True)
class SolidOrder:
    """That a solid is wanted, with a thickness in mm that a person gave, or None."""

    thickness_mm: float | None = None


def solid_order(thickness: str | None) -> SolidOrder:
    """Read ``--thickness``; raises InputError where it is no length or the modeller is not installed.

    Examples
    --------
    >>> solid_order("1/2in")  # doctest: +SKIP
    SolidOrder(thickness_mm=12.7)
    """
    check_installed()
    return SolidOrder(None if thickness is None else float(parse_length(thickness, "thickness").value_mm))


def made_solid(result: "SheetResult", folder: Path, order: SolidOrder | None) -> str:
    """Make the solid of a digitized sheet and say what came of it, in `sheet.json` too; without an order, remove that
    of an earlier run."""
    if order is None:
        _remove(folder)
        return ""
    frame = sheet_frame(result.sheet, result.reconciled)
    said = make_solid(folder, result.strokes, result.reconciled, result.gear, frame, order.thickness_mm)
    _record(folder, said)
    return said


def _record(folder: Path, said: str) -> None:
    """Add to `sheet.json` what came of the solid and which of its files are there."""
    record = json.loads((folder / LAST).read_text(encoding="utf-8"))
    files = [name for name in FILES if (folder / name).exists()]
    with staged(folder) as stage:
        write_json(stage / LAST, record | {"solid": {"outcome": said, "files": files}})


def _remove(folder: Path) -> None:
    for name in FILES:
        (folder / name).unlink(missing_ok=True)


def make_solid(
    folder: Path,
    strokes: Strokes,
    reconciled: Reconciled,
    gear: GearFinding | None,
    frame: Frame,
    thickness_mm: float | None = None,
) -> str:
    """Write the part as a solid where its views tell one; a solid of an earlier run is removed where they don't.

    Parameters
    ----------
    folder : Path
    strokes : Strokes
    reconciled : Reconciled
        Of whole views, as `whole_views` gives both.
    gear : GearFinding or None
    frame : Frame
        Of the sheet.
    thickness_mm : float, optional
        Of the plate or the gear's face, where the print does not give it.

    Returns
    -------
    str
        What was written, or which size is missing.
    """
    plan: SolidPlan | Missing = Missing("the scale is not known")
    if frame.length is Length.PART_MM:
        part = solve_part(with_heavy_edges(strokes), reconciled, gear, frame)
        plan = plan_solid(part, reconciled, thickness_mm)
    if isinstance(plan, Missing):
        _remove(folder)
        return f"No solid: {plan.why}{ASK if plan.thickness else ''}."
    with staged(folder) as stage:
        volume = write_files(plan, *(stage / name for name in FILES))
    off = f" ± {plan.off_mm3:.1f}" if plan.off_mm3 else ""
    said = ", ".join((plan.what, *parts_of(plan), f"{volume:.1f}{off} cubic mm", *plan.notes))
    return f"Solid: {said}. Written to {' and '.join(FILES)}."
