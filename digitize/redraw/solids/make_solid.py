"""The option ``--solid``: from the redrawn views to `part.step` and `part.stl`, or the name of the missing size."""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from calibrate.lengths import parse_length
from calibrate.scaling.known_option import KNOWN, METAVAR
from digitize.dimensions.table import Reconciled, State
from digitize.gears.identifying.finding import GearFinding
from digitize.redraw.solids.kernel import check_installed, write_files
from digitize.redraw.solids.open_teeth import as_if_agreed, lacking_teeth
from digitize.redraw.solids.solid import plan_solid
from digitize.redraw.solids.solid_shape import Asked, Missing, SolidPlan, parts_of
from digitize.redraw.solving.body_sizes import NOT_MEASURED, BodySizes
from digitize.redraw.solving.solved import solve_part
from digitize.report.files import LAST, staged
from digitize.report.frame import Frame, Length, sheet_frame
from digitize.report.table import write_json
from digitize.strokes.primitives import Strokes

if TYPE_CHECKING:
    from digitize.pipeline import SheetResult

FILES = ("part.step", "part.stl")
SCALE_ASKED = f"{KNOWN} {METAVAR}"
_LENGTHS = frozenset(Asked)


def body_sizes(given: Mapping[Asked, str | None]) -> BodySizes:
    """Read what a person measured, by option; raises InputError where it is no length or the modeller is missing.

    Examples
    --------
    >>> body_sizes({Asked.WEB: "1/2in"})  # doctest: +SKIP
    BodySizes(thickness=None, hub=None, hub_diameter=None, web=12.7, rim=None)
    """
    check_installed()
    sizes = {
        asked: float(parse_length(text, asked.removeprefix("--").replace("-", " ")).value_mm)
        for asked, text in given.items()
        if text is not None
    }
    return BodySizes(
        sizes.get(Asked.THICKNESS),
        sizes.get(Asked.HUB),
        sizes.get(Asked.HUB_DIAMETER),
        sizes.get(Asked.WEB),
        sizes.get(Asked.RIM),
    )


def made_solid(result: "SheetResult", folder: Path, sizes: BodySizes | None) -> str:
    """Make the solid of a digitized sheet and say what came of it, in `sheet.json` too; without sizes, not even unknown
    ones, none is wanted: that of an earlier run is removed."""
    if sizes is None:
        _remove(folder)
        return ""
    frame = sheet_frame(result.sheet, result.reconciled)
    said = make_solid(folder, result.strokes, result.reconciled, result.gear, frame, sizes)
    _record(folder, said)
    return said


def _ask(asked: Sequence[str]) -> str:
    if not asked:
        return ""
    *others, last = (f"{each} LENGTH" if each in _LENGTHS else each for each in asked)
    options = f"{', '.join(others)} and {last}" if others else last
    example = next((f", for example {each} 1/2in" for each in asked if each in _LENGTHS), "")
    return f"; give what you find on the old part with {options}{example}"


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
    sizes: BodySizes = NOT_MEASURED,
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
    sizes : BodySizes, optional
        What a person measured of what the print does not give.

    Returns
    -------
    str
        What was written, or which size is missing.
    """
    plan = _planned(strokes, reconciled, gear, frame, sizes)
    if isinstance(plan, Missing):
        _remove(folder)
        return f"No solid: {plan.why}{_ask(plan.asked)}."
    with staged(folder) as stage:
        volume = write_files(plan, *(stage / name for name in FILES))
    off = f" ± {plan.off_mm3:.1f}" if round(plan.off_mm3, 1) else ""
    said = ", ".join((plan.what, *parts_of(plan), f"{volume:.1f}{off} cubic mm", *plan.notes))
    return f"Solid: {said}. Written to {' and '.join(FILES)}."


def _planned(
    strokes: Strokes, reconciled: Reconciled, gear: GearFinding | None, frame: Frame, sizes: BodySizes
) -> SolidPlan | Missing:
    """The solid, or all that is missing at once: of the teeth, and of the body if they are the likeliest ones."""
    lacking = lacking_teeth(gear)
    if lacking is not None and gear is not None and gear.state is State.DISPUTED:
        return lacking
    plan: SolidPlan | Missing = Missing("the scale is not known", (SCALE_ASKED,))
    if frame.length is Length.PART_MM:
        part = solve_part(strokes, reconciled, as_if_agreed(gear), frame, sizes=sizes)
        plan = plan_solid(part, reconciled, sizes)
    return plan if lacking is None else lacking.and_(plan)
