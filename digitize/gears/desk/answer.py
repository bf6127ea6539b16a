"""A desk answer as JSON and on the console."""

import json
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from rich.console import Console, Group
from rich.table import Table
from rich.text import Text

from digitize.dimensions.table import State
from digitize.gears.desk.breakage import CAUTION, Breakage
from digitize.gears.desk.desk import DeskAnswer
from digitize.gears.desk.quantities import torque_text
from digitize.gears.identifying.finding import GearFinding
from digitize.gears.identifying.report import finding_to_json
from digitize.gears.sentences import length
from digitize.gears.teeth.inspection import BenchSize
from digitize.gears.teeth.mesh import Mesh
from digitize.report.cautions import CAUTIONS


def mesh_sentence(found: Mesh, unit: str) -> str:
    """How a pair runs, in one sentence."""
    verdict = "they interfere" if found.interference else "no interference"
    who = {(True, True): ", both undercut", (True, False): ", undercut", (False, True): ", the mate undercut"}
    return (
        f"With a mate of the same cut at that centre distance: contact ratio {found.contact_ratio:.2f}, "
        f"backlash {length(found.backlash_mm, unit)}, clearance {length(found.clearance_mm, unit)}, "
        f"{verdict}{who.get(found.undercut, '')}."
    )


def answer_json(answer: DeskAnswer) -> str:
    """The answer as JSON: the table's ``gear`` object, with hints, what follows of the tooth, and cautions."""
    content = finding_to_json(answer.finding) | {
        "measure_next": list(answer.finding.measure_next),
        "hints": list(answer.hints),
        "inspection": [
            {"name": size.name, "value_mm": round(size.value_mm, 5), "usable": size.usable, "note": size.note}
            for size in answer.bench
        ],
        "mesh": None if answer.mesh is None else asdict(answer.mesh),
        "breaks_first": None if answer.breakage is None else _breakage_json(answer.breakage),
        "files": [str(path) for path in answer.files],
        "cautions": list(CAUTIONS),
    }
    return json.dumps(content, indent=2, ensure_ascii=False)


def _breakage_json(found: Breakage) -> dict[str, Any]:
    torque = found.duty.torque_nm
    return {
        "tooth": found.tooth_title,
        "torque_nm": round(torque, 4),
        "speed_rpm": round(found.duty.speed_rpm, 4),
        "ranked": [
            {
                "part": point.name,
                "bears_nm": round(point.torque_nm, 4),
                "over_the_duty": round(point.torque_nm / torque, 4),
                "basis": point.basis,
            }
            for point in found.ranked
        ],
        "tooth_goes_first": found.verdict.sure,
        "verdict": found.verdict.sentence,
        "changes": list(found.verdict.changes),
        "notes": list(found.notes),
        "caution": CAUTION,
    }


def print_answer(answer: DeskAnswer, console: Console) -> None:
    """Print the answer: state, candidates, sentences, what to measure next, sizes to inspect by, cautions."""
    finding = answer.finding
    teeth = "teeth unknown" if finding.teeth is None else f"{finding.teeth} teeth"
    console.print(Text(f"{finding.state.value.upper()}: {finding.kind} gear, {teeth}", style="bold"))
    if finding.candidates:
        console.print(_candidate_table(finding, answer.unit))
    console.print(Group(*_paragraphs(answer)))
    if answer.mesh is not None:
        console.print(Text(_of_the_tooth(finding) + mesh_sentence(answer.mesh, answer.unit)))
    if answer.bench:
        console.print(_bench_table(answer.bench, answer.unit))
    if answer.breakage is not None:
        _print_breakage(answer.breakage, answer.unit, console)
    for path in answer.files:
        console.print(Text(f"Written: {path}"))
    console.print(Text("Cautions: " + " ".join(CAUTIONS), style="dim"))


def _of_the_tooth(finding: GearFinding) -> str:
    """Which tooth a sentence takes for granted; empty where it is agreed."""
    return "" if finding.state is State.AGREED else f"If it is {finding.candidates[0].title}: "


def _candidate_table(finding: GearFinding, unit: str) -> Table:
    fits = finding.none_probability <= 0.5 and finding.state is not State.DISPUTED
    title = "Systems that fit" if fits else "Nearest systems, none fits well"
    table = Table("probability", "pitch", "system", "outside", "speaks against", title=title, title_justify="left")
    for one in finding.candidates:
        pitch, _, name = one.title.partition(", ")
        outside = length(one.outside_diameter_mm, unit)
        table.add_row(f"{one.probability:.3f}", pitch, name, outside, "; ".join(one.speaks_against))
    return table


def _print_breakage(found: Breakage, unit: str, console: Console) -> None:
    """The ranked parts, the margin of each to the next, whether the teeth go first, and what would change it."""
    title = f"What breaks first, under {torque_text(found.duty.torque_nm, unit)}"
    table = Table("part", "bears", "over the duty", "the next bears", title=title, title_justify="left")
    followers = [*found.ranked[1:], None]
    for point, following in zip(found.ranked, followers, strict=True):
        margin = "" if following is None else f"{following.torque_nm / point.torque_nm:.2f} times this"
        over = f"{point.torque_nm / found.duty.torque_nm:.2f}"
        table.add_row(point.name, torque_text(point.torque_nm, unit), over, margin)
    console.print(table)
    console.print(Text("Reckoned: " + "; ".join(f"{point.name}: {point.basis}" for point in found.ranked) + "."))
    console.print(Text(found.verdict.sentence, style="bold"))
    console.print(Group(*(Text(sentence) for sentence in (*found.verdict.changes, *found.notes))))
    console.print(Text(CAUTION, style="bold"))


def _paragraphs(answer: DeskAnswer) -> Iterable[Text]:
    yield from (Text(sentence) for sentence in (*answer.hints, *answer.finding.evidence))
    yield from (Text(f"Next: {sentence}", style="bold") for sentence in answer.finding.measure_next)


def _bench_table(bench: tuple[BenchSize, ...], unit: str) -> Table:
    table = Table("size", "value", "touches at diameter", title="To inspect by, without backlash", title_justify="left")
    for size in bench:
        touch = "" if size.touch_diameter_mm is None else length(size.touch_diameter_mm, unit)
        value = length(size.value_mm, unit)
        table.add_row(size.name, value if size.usable else f"({value})", touch if size.usable else size.note)
    return table
