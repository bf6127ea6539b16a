"""What a person types of a gear's teeth, read as evidence: for the desk, and for a sheet that leaves them open."""

import re
from dataclasses import fields, replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

from calibrate.errors import InputError
from calibrate.lengths import TOLERANCE_STDS
from digitize.gears.cuts import standard_cuts
from digitize.gears.identifying.evidence import Evidence, Known, PinSize, Quantity, SpanSize
from digitize.gears.lengths import exact_number, parse_length
from digitize.gears.options import DeskInput
from digitize.gears.teeth.tooth import FEWEST_TEETH

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
FORMS = ("involute", "composite")
NUMBERS = {"module": "mm|m", "pressure_angle": "deg|°", "helix_angle": "deg|°", "tooth_angle": "deg|°"}
"""Bare numbers, with the marks that may follow them."""


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
        form=_form(typed.tooth_form),
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


def with_persons_word(evidence: Evidence, typed: DeskInput) -> Evidence:
    """Evidence in which what a person typed stands in place of what was known.

    Examples
    --------
    >>> with_persons_word(Evidence(teeth=41, unit="in"), DeskInput(teeth=42)).teeth
    42
    """
    said = evidence_from(typed)
    new: dict[str, Any] = {
        each.name: getattr(said, each.name) for each in fields(said) if getattr(said, each.name) != each.default
    }
    return replace(evidence, **new)


def _teeth(number: int | None, name: str) -> int | None:
    if number is not None and not FEWEST_TEETH <= number <= MOST_TEETH:
        raise InputError(f"{number} {name} can't be meant; give a number from {FEWEST_TEETH} to {MOST_TEETH}.")
    return number


def _form(text: str | None) -> str | None:
    if text is not None and text.lower() not in FORMS:
        raise InputError(f"Teeth have the form {' or '.join(FORMS)}, not {text}.")
    return None if text is None else text.lower()


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
