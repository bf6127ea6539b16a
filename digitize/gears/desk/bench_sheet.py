"""The inspection sheet's content: what to measure on a gear, what it should read, and where to write what it does."""

from dataclasses import dataclass

from digitize.dimensions.table import State
from digitize.gears.desk.bench_board import Drawing
from digitize.gears.desk.bench_drawing import (
    gear_drawing_for_bench,
    keyseat_drawing,
    scale_bar,
    tooth_drawing,
)
from digitize.gears.desk.bench_lines import Line, bore_lines, fitting_lines, run_out_lines, teeth_lines, usual_pin_mm
from digitize.gears.desk.work import Work
from digitize.gears.identifying.claim import root_rounds_mm
from digitize.gears.identifying.finding import GearFinding
from digitize.gears.sentences import angle, length
from digitize.report.cautions import CAUTIONS

TOOTH_BOX_MM, GEAR_BOX_MM, KEYSEAT_BOX_MM = (72.0, 46.0), (108.0, 100.0), (72.0, 46.0)
FILLED_IN = ("part", "drawing", "measured by", "date")
"""Whoever measures writes these in."""
BARS_MM = {
    "in": (50.8, "Printed at full size this bar is 2 in long"),
    "mm": (50.0, "Printed at full size this bar is 50 mm long"),
}


@dataclass(frozen=True)
class Block:
    """A table of the sheet."""

    title: str
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class BenchSheet:
    """Everything that stands on the sheet."""

    title: str
    subtitle: str
    banner: str
    blocks: tuple[Block, ...]
    drawings: tuple[Drawing, ...]
    bar: Drawing
    notes: tuple[str, ...]
    cautions: tuple[str, ...]


def bench_sheet(work: Work, finding: GearFinding, unit: str) -> BenchSheet:
    """Lay out the sheet of a gear.

    Parameters
    ----------
    work : Work
    finding : GearFinding
        For what is still open.
    unit : str
        "in" or "mm".
    """
    gear = work.gear
    pin = usual_pin_mm(gear, unit)
    blocks = [Block("Teeth", teeth_lines(gear, work.process, unit))]
    if work.body.bore_mm is not None:
        blocks.append(
            Block("Bore and keyseat", (*bore_lines(work.body, work.process, unit), *fitting_lines(work.body, unit)))
        )
    blocks.append(Block("Run-out, on a true mandrel in the bore", run_out_lines(work, unit)))
    drawings = [gear_drawing_for_bench(work, *GEAR_BOX_MM, pin), tooth_drawing(gear, *TOOTH_BOX_MM)]
    if work.body.bore_mm is not None and work.body.keyseat is not None:
        drawings.append(keyseat_drawing(work.body.bore_mm, work.body.keyseat, *KEYSEAT_BOX_MM))
    return BenchSheet(
        f"Inspection sheet: gear of {gear.teeth} teeth, {work.title}",
        _subtitle(work, unit),
        _banner(work.state),
        tuple(blocks),
        tuple(drawings),
        scale_bar(*BARS_MM[unit]),
        _notes(work, finding, unit),
        CAUTIONS,
    )


def _subtitle(work: Work, unit: str) -> str:
    gear = work.gear
    said = [f"pressure angle {angle(gear.pressure_angle_deg)}", f"module {gear.module_mm:.4g} mm"]
    said.append(f"pitch diameter {length(2 * gear.pitch_radius_mm, unit)}")
    if gear.profile_shift:
        said.append(f"profile shift {gear.profile_shift:g}")
    if gear.tip_chamfer_mm:
        said.append(f"tips chamfered {length(gear.tip_chamfer_mm, unit)}")
    return ", ".join(said)


def _banner(state: State) -> str:
    if state is State.AGREED:
        return "AGREED: every size that was given fits this tooth and no other."
    return "UNPROVEN: the likeliest tooth, not the only one that fits. Measure before you cut."


def _notes(work: Work, finding: GearFinding, unit: str) -> tuple[str, ...]:
    gear, made_by = work.gear, work.process
    found = [
        f"Nominal sizes are without backlash. Usual: as {made_by.id} gears come, {made_by.note}.",
        "Two spans differ by the base pitch, whatever the backlash: that difference tells pitch and pressure angle.",
    ]
    if gear.thinning_mm:
        found.insert(1, "The usual sizes here lie about the backlash that was asked for.")
    if work.assumed:
        found.append(f"{work.assumed[0].upper()}{work.assumed[1:]}.")
    rounds = root_rounds_mm(finding.names)
    if rounds is not None:
        least, most, here = (length(each, unit) for each in (*rounds, gear.fillet_radius * gear.module_mm))
        found.append(
            f"The names of this tooth differ in the round at the root alone: the tip of the rack is {least} to {most}, "
            f"{here} as drawn here."
        )
    if finding.by_word:
        found.insert(0, finding.by_word)
    if work.state is not State.AGREED:
        found += [f"To settle the tooth: {sentence}" for sentence in finding.measure_next]
    return tuple(found)
