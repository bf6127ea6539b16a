"""Gears of every system without pixels: data blocks as read, or a worn part as measured, identified and judged.

    python -m tests.bench.gears block --seed 18500 --count 500 --misread 0.05
    python -m tests.bench.gears part --seed 18500 --count 500

``block`` leaves entries out and misreads one digit, or one value of a short list, in a share of the gears; ``part``
turns tips down, adds a caliper's error and backlash. A claim is false where an agreed gear is not the true one; where
nothing is agreed the true system must be in the list.
"""

import argparse
from collections import Counter, defaultdict
from dataclasses import replace
from typing import Any

import numpy as np

from calibrate.errors import InputError
from digitize.dimensions.table import State
from digitize.gears.cuts import Cut, standard_cuts
from digitize.gears.identifying.evidence import Evidence, Known, PinSize, Quantity, SpanSize
from digitize.gears.identifying.finding import GearFinding
from digitize.gears.identifying.identify import identify
from digitize.gears.identifying.items import Hypothesis, spec_for_sizes
from digitize.gears.teeth import inspection
from digitize.standards import INCH_MM

INCH = float(INCH_MM)
TEETH = (14, 70)
READING = 0.97
"""Probability that the reader states for an entry."""
TURNED_MM, CALIPER_MM, SPAN_MM, PIN_MM = 0.08, 0.12, 0.02, 0.03
"""Errors of a worn part: tips turned down, diameters, spans, pins (common practice, no source)."""
LISTED = {"diametral_pitch": (4, 5, 6, 8, 10, 12, 14, 16), "module": (1, 1.5, 2, 2.5, 3, 4, 5),
          "pressure_angle": (14.5, 15, 20, 22.5, 25)}  # fmt: skip

Rng = np.random.Generator


def truth(rng: Rng, by_system: dict[str, list[Cut]]) -> tuple[Cut, int]:
    """A gear, every system as often as any other."""
    system = list(by_system)[rng.integers(len(by_system))]
    return by_system[system][rng.integers(len(by_system[system]))], int(rng.integers(*TEETH))


def unit_of(cut: Cut) -> str:
    """Unit of the sheet that such a gear stands on."""
    return "mm" if cut.pitch.kind == "MODULE" else "in"


def block(rng: Rng, cut: Cut, teeth: int, misread: float) -> Evidence:
    """A data block with gaps, as it was read."""
    place = INCH / 1000 if unit_of(cut) == "in" else 0.01

    def size(value_mm: float) -> Quantity:
        return Quantity(round(value_mm / place) * place, place=place, probability=READING)

    def bare(value: float, last: float) -> Quantity:
        return Quantity(value, place=last, probability=READING)

    pitch = {"DP": ("diametral_pitch", 1.0), "MODULE": ("module", 0.01)}.get(cut.pitch.kind)
    entries: dict[str, tuple[float, Any]] = {
        "teeth": (0.92, teeth),
        "outside_diameter": (0.8, size(cut.outside_diameter_mm(teeth))),
        "whole_depth": (0.6, size(cut.whole_depth_mm)),
        "pitch_diameter": (0.5, size(teeth * cut.module_mm)),
        "root_diameter": (0.2, size(cut.root_diameter_mm(teeth))),
    }
    if cut.system.pressure_angle_deg is not None:
        entries["pressure_angle"] = (0.8, bare(cut.system.pressure_angle_deg, 0.5))
    if pitch is not None:
        entries[pitch[0]] = (0.8, bare(float(cut.pitch.value), pitch[1]))
    given = {name: value for name, (chance, value) in entries.items() if rng.random() < chance}
    if cut.pitch.kind == "PAIR":
        given["pair"] = cut.pitch.label.removesuffix(" P")
    if given and rng.random() < misread:
        name = list(given)[rng.integers(len(given))]
        given[name] = misread_entry(rng, name, given[name])
    return Evidence(unit=unit_of(cut), **given)


def misread_entry(rng: Rng, name: str, value: Any) -> Any:
    """The entry with one digit, or one value of its list, taken for another."""
    if isinstance(value, str):
        return value
    if name in LISTED:
        return replace(value, value=float(rng.choice(LISTED[name])))
    text = str(value) if name == "teeth" else f"{value.value:.3f}"
    index = rng.choice([i for i, figure in enumerate(text) if figure.isdigit()])
    wrong = f"{text[:index]}{(int(text[index]) + rng.integers(1, 10)) % 10}{text[index + 1 :]}"
    return max(5, int(wrong)) if name == "teeth" else replace(value, value=float(wrong))


def part(rng: Rng, cut: Cut, teeth: int) -> Evidence:
    """Sizes taken from a worn gear with a caliper."""

    def taken(value_mm: float, std: float, turned: bool = False) -> Quantity:
        off = rng.normal(0, std)
        return Quantity(value_mm - abs(off) if turned else value_mm + off, Known.ON_PART, 0.01)

    sizes: dict[str, tuple[float, Quantity]] = {
        "outside_diameter": (0.9, taken(cut.outside_diameter_mm(teeth), TURNED_MM, turned=True)),
        "root_diameter": (0.5, taken(cut.root_diameter_mm(teeth), CALIPER_MM)),
        "whole_depth": (0.5, taken(cut.whole_depth_mm, TURNED_MM, turned=True)),
    }
    given: dict[str, Any] = {name: size for name, (chance, size) in sizes.items() if rng.random() < chance}
    spec = spec_for_sizes(Hypothesis(cut, teeth))
    if spec is not None:
        worn = replace(spec, thinning_mm=float(rng.choice([0, rng.uniform(0.01, 0.06)])) * cut.module_mm)
        k, pin = inspection.usual_span_teeth(spec), inspection.USUAL_PIN_FACTOR * cut.module_mm
        try:
            spans = [
                each for each in (k, k + 1)[: int(rng.choice([0, 1, 2]))] if inspection.span_can_be_taken(spec, each)
            ]
            given["spans"] = tuple(SpanSize(each, taken(inspection.span_mm(worn, each), SPAN_MM)) for each in spans)
            if rng.random() < 0.2:
                given["pins"] = (PinSize(pin, taken(inspection.over_pins_mm(worn, pin), PIN_MM)),)
        except InputError:
            given.pop("spans", None)
    return Evidence(teeth=teeth, unit=unit_of(cut), **given)


def judged(found: GearFinding, cut: Cut, teeth: int) -> str:
    """What the answer came to, in a word or two."""
    names = {name.system for name in found.names}

    def is_true(index: int) -> bool:
        each = found.candidates[index]
        return each.teeth == teeth and abs(each.module_mm / cut.module_mm - 1) < 1e-6

    if found.state is State.AGREED:
        return "agreed" if is_true(0) and cut.system.id in names else "FALSE CLAIM"
    if found.state is State.DISPUTED:
        return "disputed"
    if not found.candidates:
        return "nothing to go by"
    listed = any(is_true(i) and cut.system.id in {each.system, *names} for i, each in enumerate(found.candidates))
    return "unproven, listed" if listed else "unproven, not listed"


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="gears", description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("kind", choices=("block", "part"))
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--misread", type=float, default=0.0, help="share of the blocks with one entry misread")
    options = parser.parse_args(argv)
    by_system: dict[str, list[Cut]] = defaultdict(list)
    for cut in standard_cuts():
        if not cut.remark and 0.8 < cut.module_mm < 13:
            by_system[cut.system.id].append(cut)
    rng, results = np.random.default_rng(options.seed), Counter[str]()
    for _ in range(options.count):
        cut, teeth = truth(rng, by_system)
        evidence = block(rng, cut, teeth, options.misread) if options.kind == "block" else part(rng, cut, teeth)
        found = identify(evidence)
        result = judged(found, cut, teeth)
        results[result] += 1
        if result in ("FALSE CLAIM", "unproven, not listed"):
            print(f"{result}: {teeth} teeth of {cut.title}, answered {found.candidates[0].title}")
    print(f"{options.count} gears: " + ", ".join(f"{count} {name}" for name, count in sorted(results.items())))


if __name__ == "__main__":
    main()
