"""The gear desk: what a person typed becomes evidence, and a finding becomes an answer.

In: the options of ``digitize gear``, as text. Out: a `DeskAnswer`, or an `InputError` with one clear sentence.
"""

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

from calibrate.errors import InputError
from calibrate.lengths import TOLERANCE_STDS
from digitize.dimensions.table import State
from digitize.gears.body import body_from
from digitize.gears.desk.breakage import Breakage, breakage
from digitize.gears.desk.desk_files import write_files
from digitize.gears.desk.work import workpiece
from digitize.gears.identifying.evidence import Evidence, Known, PinSize, Quantity, SpanSize
from digitize.gears.identifying.finding import GearFinding
from digitize.gears.identifying.hypotheses import weigh
from digitize.gears.identifying.identify import identify
from digitize.gears.lengths import exact_number, parse_length
from digitize.gears.options import BenchInput, BodyInput, DeskInput, DutyInput
from digitize.gears.sentences import shop_unit
from digitize.gears.systems import standard_cuts
from digitize.gears.teeth.inspection import BenchSize, inspection_sizes
from digitize.gears.teeth.mesh import Mesh
from digitize.gears.teeth.tooth import FEWEST_TEETH
from digitize.standards import INCH_MM

MOST_TEETH = 1000
"""More teeth than this on one spur gear are a slip of the key."""
SOURCES = {"print": Known.WRITTEN, "part": Known.ON_PART, None: Known.UNSAID}
LENGTHS = (
    "outside_diameter",
    "root_diameter",
    "pitch_diameter",
    "whole_depth",
    "circular_pitch",
    "chordal_thickness",
    "chordal_addendum",
    "centre_distance",
)
NUMBERS = {"module": "mm|m", "pressure_angle": "deg|°", "helix_angle": "deg|°", "tooth_angle": "deg|°"}
"""Bare numbers, with the marks that may follow them."""
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


def evidence_from(typed: DeskInput, mate_alone: bool = False) -> Evidence:
    """Check and read what was typed; the mate's teeth need a centre distance unless ``mate_alone``.

    Raises
    ------
    InputError
        With one sentence, for whatever can't be meant.
    """
    if typed.source not in SOURCES:
        raise InputError(f"Sizes come from print or part, not from {typed.source}.")
    known = SOURCES[typed.source]
    teeth = _teeth(typed.teeth, "teeth")
    evidence = Evidence(
        teeth=teeth,
        teeth_counted=_teeth(typed.teeth_counted, "counted teeth"),
        mate_teeth=_teeth(typed.mate_teeth, "mate's teeth"),
        spans=tuple(_span(text, teeth, known) for text in typed.span),
        pins=tuple(_pin(text, known) for text in typed.pins),
        cutter_number=None if typed.cutter is None else exact_number(typed.cutter),
        words=typed.words,
        year=typed.year,
    )
    sizes: dict[str, Any] = {**_lengths(typed, known), **_numbers(typed, known), **_pitch(typed, known)}
    evidence = replace(evidence, **sizes)
    if (evidence.centre_distance is None) != (evidence.mate_teeth is None) and not (
        mate_alone and evidence.centre_distance is None
    ):
        raise InputError("A centre distance needs the mate's teeth, and the mate's teeth need a centre distance.")
    _check_sizes(evidence)
    return evidence


def _teeth(number: int | None, name: str) -> int | None:
    if number is not None and not FEWEST_TEETH <= number <= MOST_TEETH:
        raise InputError(f"{number} {name} can't be meant; give a number from {FEWEST_TEETH} to {MOST_TEETH}.")
    return number


def _lengths(typed: DeskInput, known: Known) -> dict[str, Quantity]:
    texts = ((name, getattr(typed, name)) for name in LENGTHS)
    return {name: parse_length(t, name.replace("_", " ")).quantity(known) for name, t in texts if t is not None}


def _numbers(typed: DeskInput, known: Known) -> dict[str, Quantity]:
    texts = ((name, getattr(typed, name)) for name in NUMBERS)
    return {name: _number(text, NUMBERS[name], known) for name, text in texts if text is not None}


def _number(text: str, marks: str, known: Known) -> Quantity:
    size, _, tolerance = re.sub(r"\+/-|\+-", "±", text).partition("±")
    plain, allowed = (re.sub(rf"\s*({marks})\.?$", "", part.strip()) for part in (size, tolerance))
    value = exact_number(plain)
    if value < 0:
        raise InputError(f'"{text}" must not be negative.')
    decimals = len(plain.partition(".")[2])
    std = float(exact_number(allowed)) / TOLERANCE_STDS if allowed else None
    return Quantity(float(value), known, float(Fraction(1, 10**decimals)), std, text)


def _pitch(typed: DeskInput, known: Known) -> dict[str, Any]:
    """A diametral pitch, or a two-number one such as 8/10."""
    text = typed.diametral_pitch
    if text is None:
        return {}
    if re.fullmatch(r"\d+/\d+", text):
        if not any(cut.pitch.label == f"{text} P" for cut in standard_cuts()):
            raise InputError(f"{text} is no two-number pitch of the tables; they are 4/5, 5/7, 6/8 ... 12/14.")
        return {"pair": text}
    size = _number(text, "p|P|dp|DP", known)
    if size.value <= 0:
        raise InputError("The diametral pitch must be larger than zero.")
    return {"diametral_pitch": size}


def _span(text: str, teeth: int | None, known: Known) -> SpanSize:
    count, _, size = text.partition(":")
    if not count.isdigit() or not size:
        raise InputError(f'The span "{text}" is not readable; write teeth and length like 5:1.735in.')
    if int(count) < 2 or (teeth is not None and int(count) >= teeth):
        raise InputError(f"A span over {count} teeth can't be taken; span at least 2 and fewer than all.")
    return SpanSize(int(count), parse_length(size, "span").quantity(known))


def _pin(text: str, known: Known) -> PinSize:
    pin, _, size = text.partition(":")
    if not size:
        raise InputError(f'The pins "{text}" are not readable; write pin and length like .216in:5.716in.')
    return PinSize(float(parse_length(pin, "pin").value_mm), parse_length(size, "size over pins").quantity(known))


def _check_sizes(evidence: Evidence) -> None:
    """Sizes that contradict each other whatever the system."""
    order = (
        ("root diameter", evidence.root_diameter),
        ("pitch diameter", evidence.pitch_diameter),
        ("outside diameter", evidence.outside_diameter),
    )
    given = [(name, size.value) for name, size in order if size is not None]
    for (small_name, small), (large_name, large) in pairwise(given):
        if small >= large:
            raise InputError(f"The {small_name} can't reach the {large_name}; check both, and their units.")
    outside, depth = evidence.outside_diameter, evidence.whole_depth
    if outside is not None and depth is not None and 2 * depth.value >= outside.value:
        raise InputError("The whole depth is too large for the outside diameter; check both, and their units.")


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
