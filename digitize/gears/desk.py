"""The gear desk: what a person typed becomes evidence, and a finding becomes an answer.

In: the options of ``digitize gear``, as text. Out: a `DeskAnswer`, or an `InputError` with one clear sentence.
"""

import json
import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

from rich.console import Console, Group
from rich.table import Table
from rich.text import Text

from calibrate.errors import InputError
from digitize.dimensions.table import State
from digitize.gears.evidence import Evidence, Known, PinSize, Quantity, SpanSize
from digitize.gears.finding import GearFinding
from digitize.gears.hypotheses import weigh
from digitize.gears.identify import identify
from digitize.gears.inspection import BenchSize, inspection_sizes
from digitize.gears.lengths import exact_number, parse_length
from digitize.gears.mesh import Mesh, mesh
from digitize.gears.report import finding_to_json
from digitize.gears.sentences import length, shop_unit
from digitize.gears.systems import standard_cuts, system
from digitize.gears.tooth import FEWEST_TEETH, GearSpec
from digitize.report.cautions import CAUTIONS
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
    "centre_distance",
)
NUMBERS = {"module": "mm|m", "pressure_angle": "deg|°", "helix_angle": "deg|°"}
"""Bare numbers, with the marks that may follow them."""
ODD_MODULES_MM = (0.3, 20.0)
"""Teeth finer or coarser than this are so rare that the unit is asked about (common practice, no source)."""
UNIT_WORDS = {"in": "inches", "mm": "millimetres"}
SWAPPED_NONE = 0.05
"""With the unit swapped the sizes must leave less than this to none of the systems, before the swap is hinted at."""


@dataclass(frozen=True)
class DeskInput:
    """What was typed, each length as text; None where nothing was."""

    teeth: int | None = None
    teeth_counted: int | None = None
    outside_diameter: str | None = None
    root_diameter: str | None = None
    pitch_diameter: str | None = None
    whole_depth: str | None = None
    circular_pitch: str | None = None
    diametral_pitch: str | None = None
    module: str | None = None
    pressure_angle: str | None = None
    chordal_thickness: str | None = None
    span: tuple[str, ...] = ()
    pins: tuple[str, ...] = ()
    centre_distance: str | None = None
    mate_teeth: int | None = None
    helix_angle: str | None = None
    cutter: str | None = None
    words: tuple[str, ...] = ()
    year: int | None = None
    source: str | None = None


@dataclass(frozen=True)
class DeskAnswer:
    """The finding, hints about the input, and for an agreed gear its bench sizes and how it runs with its mate."""

    evidence: Evidence
    finding: GearFinding
    hints: tuple[str, ...]
    bench: tuple[BenchSize, ...]
    mesh: Mesh | None = None

    @property
    def unit(self) -> str:
        """Unit that the answer is given in."""
        return shop_unit(self.evidence)


def gear_desk(typed: DeskInput) -> DeskAnswer:
    """Answer what was typed.

    Examples
    --------
    >>> answer = gear_desk(DeskInput(teeth=42, outside_diameter="5.5in"))
    >>> answer.finding.state.value, answer.finding.candidates[0].diametral_pitch
    ('unproven', 8.0)
    """
    evidence = evidence_from(typed)
    finding = identify(evidence)
    gear = None if finding.teeth is None else _spec(finding, finding.teeth)
    bench = () if gear is None else inspection_sizes(gear)
    return DeskAnswer(evidence, finding, _hints(evidence, finding), bench, _mesh(evidence, finding, gear))


def evidence_from(typed: DeskInput) -> Evidence:
    """Check and read what was typed.

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
    if (evidence.centre_distance is None) != (evidence.mate_teeth is None):
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
    plain = re.sub(rf"\s*({marks})\.?$", "", text.strip())
    value = exact_number(plain)
    if value < 0:
        raise InputError(f'"{text}" must not be negative.')
    decimals = len(plain.partition(".")[2])
    return Quantity(float(value), known, float(Fraction(1, 10**decimals)), None, text)


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


def _spec(finding: GearFinding, teeth: int) -> GearSpec | None:
    """A gear of the agreed cut; None where nothing is agreed or the flank is no plain involute."""
    if finding.state is not State.AGREED:
        return None
    claimed = finding.candidates[0]
    for cut in standard_cuts():
        if cut.system == system(claimed.system) and cut.title == claimed.title:
            try:
                return GearSpec.from_cut(cut, teeth)
            except InputError:
                return None
    return None


def _mesh(evidence: Evidence, finding: GearFinding, gear: GearSpec | None) -> Mesh | None:
    """How the agreed gear runs with its mate, taken to be of the same cut, at the centre distance given."""
    if gear is None or evidence.centre_distance is None or evidence.mate_teeth is None:
        return None
    mate = _spec(finding, evidence.mate_teeth)
    return None if mate is None else mesh(gear, mate, evidence.centre_distance.value)


def mesh_sentence(found: Mesh, unit: str) -> str:
    """How a pair runs, in one sentence."""
    verdict = "they interfere" if found.interference else "no interference"
    return (
        f"With a mate of the same cut at that centre distance: contact ratio {found.contact_ratio:.2f}, "
        f"backlash {length(found.backlash_mm, unit)}, clearance {length(found.clearance_mm, unit)}, {verdict}."
    )


def answer_json(answer: DeskAnswer) -> str:
    """The answer as JSON: the table's ``gear`` object, with hints, inspection sizes and cautions."""
    content = finding_to_json(answer.finding) | {
        "hints": list(answer.hints),
        "inspection": [
            {"name": size.name, "value_mm": round(size.value_mm, 5), "usable": size.usable, "note": size.note}
            for size in answer.bench
        ],
        "mesh": None if answer.mesh is None else asdict(answer.mesh),
        "cautions": list(CAUTIONS),
    }
    return json.dumps(content, indent=2, ensure_ascii=False)


def print_answer(answer: DeskAnswer, console: Console) -> None:
    """Print the answer: state, candidates, sentences, what to measure next, sizes to inspect by, cautions."""
    finding = answer.finding
    teeth = "teeth unknown" if finding.teeth is None else f"{finding.teeth} teeth"
    console.print(Text(f"{finding.state.value.upper()}: {finding.kind} gear, {teeth}", style="bold"))
    if finding.candidates:
        console.print(_candidate_table(finding, answer.unit))
    console.print(Group(*_paragraphs(answer)))
    if answer.mesh is not None:
        console.print(Text(mesh_sentence(answer.mesh, answer.unit)))
    if answer.bench:
        console.print(_bench_table(answer.bench, answer.unit))
    console.print(Text("Cautions: " + " ".join(CAUTIONS), style="dim"))


def _candidate_table(finding: GearFinding, unit: str) -> Table:
    title = "Nearest systems, none fits well" if finding.none_probability > 0.5 else "Systems that fit"
    table = Table("probability", "pitch", "system", "outside", "speaks against", title=title, title_justify="left")
    for one in finding.candidates:
        pitch, _, name = one.title.partition(", ")
        outside = length(one.outside_diameter_mm, unit)
        table.add_row(f"{one.probability:.3f}", pitch, name, outside, "; ".join(one.speaks_against))
    return table


def _paragraphs(answer: DeskAnswer) -> Iterable[Text]:
    yield from (Text(sentence) for sentence in (*answer.finding.evidence, *answer.hints))
    yield from (Text(f"Next: {sentence}", style="bold") for sentence in answer.finding.measure_next)


def _bench_table(bench: tuple[BenchSize, ...], unit: str) -> Table:
    table = Table("size", "value", "touches at diameter", title="To inspect by, without backlash", title_justify="left")
    for size in bench:
        touch = "" if size.touch_diameter_mm is None else length(size.touch_diameter_mm, unit)
        value = length(size.value_mm, unit)
        table.add_row(size.name, value if size.usable else f"({value})", touch if size.usable else size.note)
    return table
