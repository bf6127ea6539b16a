"""The gear desk: what a person typed becomes evidence, and a finding becomes an answer.

In: the options of ``digitize gear``, as text. Out: a `DeskAnswer`, or an `InputError` with one clear sentence.
"""

from dataclasses import dataclass, replace
from pathlib import Path

from digitize.dimensions.table import State
from digitize.gears.body import body_from
from digitize.gears.desk.breakage import Breakage, breakage
from digitize.gears.desk.desk_files import write_files
from digitize.gears.desk.work import workpiece
from digitize.gears.identifying.evidence import Evidence
from digitize.gears.identifying.finding import GearFinding
from digitize.gears.identifying.hypotheses import weigh
from digitize.gears.identifying.identify import identify
from digitize.gears.options import BenchInput, BodyInput, DeskInput, DutyInput
from digitize.gears.sentences import shop_unit
from digitize.gears.teeth.inspection import BenchSize, inspection_sizes
from digitize.gears.teeth.mesh import Mesh
from digitize.gears.typed import evidence_from
from digitize.standards import INCH_MM

ODD_MODULES_MM = (0.3, 20.0)
"""Teeth finer or coarser than this are so rare that the unit is asked about (common practice, no source)."""
UNIT_WORDS = {"in": "inches", "mm": "millimetres"}
SWAPPED_NONE = 0.05
"""With the unit swapped the sizes must leave less than this to none of the systems, before the swap is hinted at."""


@dataclass(frozen=True)
class DeskAnswer:
    """The finding, hints about the input, and what follows of it.

    ``bench`` is of an agreed gear, ``mesh`` of the tooth that can be stated, ``breakage`` of the likeliest where a duty
    was typed; ``files`` were written.
    """

    evidence: Evidence
    finding: GearFinding
    hints: tuple[str, ...]
    bench: tuple[BenchSize, ...]
    mesh: Mesh | None = None
    breakage: Breakage | None = None
    files: tuple[Path, ...] = ()

    @property
    def unit(self) -> str:
        """Unit that the answer is given in."""
        return shop_unit(self.evidence)


def gear_desk(
    typed: DeskInput,
    body: BodyInput | None = None,
    duty: DutyInput | None = None,
    bench: BenchInput | None = None,
) -> DeskAnswer:
    """Answer what was typed, and write the sheet and the drawing that were asked for.

    Examples
    --------
    >>> answer = gear_desk(DeskInput(teeth=42, outside_diameter="5.5in"))
    >>> answer.finding.state.value, answer.finding.candidates[0].diametral_pitch
    ('unproven', 8.0)
    """
    body, duty, bench = body or BodyInput(), duty or DutyInput(), bench or BenchInput()
    evidence = evidence_from(typed, mate_alone=duty.mate_material is not None)
    finding = identify(evidence)
    given, unit = body_from(body), shop_unit(evidence)
    broken = breakage(duty, given, finding, evidence.mate_teeth, unit)
    work = workpiece(finding, evidence, given, bench)
    agreed = work if finding.state is State.AGREED else None
    return DeskAnswer(
        evidence,
        finding,
        _hints(evidence, finding),
        () if agreed is None else inspection_sizes(replace(agreed.gear, thinning_mm=0.0)),
        None if work is None else work.mesh,
        broken,
        write_files(work, bench, finding, unit),
    )


def _hints(evidence: Evidence, finding: GearFinding) -> tuple[str, ...]:
    """Whether the outside diameter would fit in the other unit."""
    size = evidence.outside_diameter
    if size is None or not _looks_odd(finding):
        return ()
    text = size.text.lower()
    factor, other = (1 / float(INCH_MM), "mm") if "mm" not in text else (float(INCH_MM), "in")
    swapped = replace(size, value=size.value * factor, place=size.place * factor)
    weighed = weigh(replace(evidence, outside_diameter=swapped, unit=None))
    if weighed.none > SWAPPED_NONE or not weighed.hypotheses:
        return ()
    return (
        f"If the outside diameter is meant in {UNIT_WORDS[other]}, {weighed.hypotheses[0].cut.pitch.label} fits it.",
    )


def _looks_odd(finding: GearFinding) -> bool:
    """Whether a slip of the unit is likely: nothing fits, or only teeth for a clock or a winding engine."""
    if not finding.candidates:
        return False
    small, large = ODD_MODULES_MM
    return finding.none_probability > 0.5 or not small <= finding.candidates[0].module_mm <= large
