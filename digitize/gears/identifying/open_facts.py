"""Which few facts, given by a person, would make the tooth agreed, whichever of the likely ones it turns out to be.

Each set of facts is tried: were they given as a tooth has them, would that tooth be agreed? So what is asked for is
enough.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from digitize.dimensions.table import State
from digitize.gears.cuts import same_tooth
from digitize.gears.identifying.evidence import Evidence, Known, Quantity
from digitize.gears.identifying.hypotheses import Weighed, weigh
from digitize.gears.identifying.items import Hypothesis
from digitize.gears.identifying.standing import leading_tooth_of, state_of
from digitize.gears.options import option_words
from digitize.standards import INCH_MM

MOST_FACTS = 4
"""Where more are open, the gear is better measured at the desk first."""
LIKELY = 0.04
"""A tooth less probable than this is not provided for: what is asked for would grow too long."""
POSSIBLE = 1e-5
"""One less probable than this is no rival, whatever is given besides."""
PLACE_MM = float(INCH_MM) / 1000
"""To what a person reads a caliper: a thousandth of an inch."""


@dataclass(frozen=True)
class _Fact:
    """A fact by the name of its option: when it is open, and the evidence with it as a tooth has it."""

    name: str
    is_open: Callable[[Evidence, Hypothesis], bool]
    given: Callable[[Evidence, Hypothesis], Evidence]


def open_facts(evidence: Evidence, weighed: Weighed, leading: Hypothesis) -> tuple[str, ...]:
    """The few options, as they are typed, that would make the leading tooth agreed, and with those that the other
    likely teeth need besides; none where no few would."""
    tried = [fact for fact in _FACTS if fact.is_open(evidence, leading)]
    possible = {h for h, p in zip(weighed.hypotheses, weighed.probabilities, strict=True) if p >= POSSIBLE}
    asked: tuple[_Fact, ...] = ()
    for tooth in _likely(weighed, leading):
        more = _enough(evidence, tooth, asked, tried, possible)
        if more is None and tooth is leading:
            return ()
        asked += more or ()
    return tuple(option_words(fact.name) for fact in asked)


def _likely(weighed: Weighed, leading: Hypothesis) -> list[Hypothesis]:
    """The leading tooth, and others that are likely, each by one name."""
    found = [leading]
    for one, probability in zip(weighed.hypotheses, weighed.probabilities, strict=True):
        if probability < LIKELY:
            break
        if not any(one.teeth == each.teeth and same_tooth(one.cut, each.cut) for each in found):
            found.append(one)
    return found


def _enough(
    evidence: Evidence,
    tooth: Hypothesis,
    asked: tuple[_Fact, ...],
    tried: Sequence[_Fact],
    possible: Collection[Hypothesis],
) -> tuple[_Fact, ...] | None:
    """The fewest facts that, with those asked for already, would make a tooth agreed; None where no few would."""
    left = [fact for fact in tried if fact not in asked]
    for count in range(MOST_FACTS - len(asked) + 1):
        for more in combinations(left, count):
            if _agreed(_supposed(evidence, tooth, (*asked, *more)), possible):
                return more
    return None


def _supposed(evidence: Evidence, tooth: Hypothesis, facts: Sequence[_Fact]) -> Evidence:
    """The evidence with facts given as a tooth has them."""
    for fact in facts:
        evidence = fact.given(evidence, tooth)
    return evidence


def to_be_given(asked: tuple[str, ...]) -> tuple[str, ...]:
    """The sentence that says how; none where nothing is asked.

    Examples
    --------
    >>> to_be_given(("--teeth N", "--whole-depth LENGTH"))
    ('Give what you find with --teeth N and --whole-depth LENGTH.',)
    """
    spans = f", or the spans with {option_words('span')}" if option_words("pressure_angle") in asked else ""
    return (f"Give what you find with {' and '.join(asked)}{spans}.",) if asked else ()


def _agreed(evidence: Evidence, among: Collection[Hypothesis]) -> bool:
    weighed = weigh(evidence, among)
    return bool(weighed.hypotheses) and state_of(evidence, weighed, *leading_tooth_of(weighed)) is State.AGREED


def _measured(value: float, place: float = PLACE_MM) -> Quantity:
    return Quantity(value, Known.UNSAID, place)


def _weak(size: Quantity | None) -> bool:
    """Whether a size is not known, or by the drawing's scale alone."""
    return size is None or size.known is Known.SCALED


_FACTS = (
    _Fact(
        "tooth_form",
        lambda e, h: e.form is None,
        lambda e, h: replace(e, form=h.system.form),
    ),
    _Fact(
        "whole_depth",
        lambda e, h: _weak(e.whole_depth),
        lambda e, h: replace(e, whole_depth=_measured(h.cut.whole_depth_mm)),
    ),
    _Fact(
        "outside_diameter",
        lambda e, h: _weak(e.outside_diameter),
        lambda e, h: replace(e, outside_diameter=_measured(h.cut.outside_diameter_mm(h.teeth))),
    ),
    _Fact(
        "root_diameter",
        lambda e, h: _weak(e.root_diameter),
        lambda e, h: replace(e, root_diameter=_measured(h.cut.root_diameter_mm(h.teeth))),
    ),
    _Fact(
        "pressure_angle",
        lambda e, h: e.pressure_angle is None and h.system.pressure_angle_deg is not None,
        lambda e, h: replace(e, pressure_angle=_measured(h.system.pressure_angle_deg or 0.0, 0.1)),
    ),
    _Fact(
        "teeth",
        lambda e, h: e.sure_teeth is None,
        lambda e, h: replace(e, teeth=h.teeth, teeth_reading=1.0),
    ),
    _Fact(
        "diametral_pitch",
        lambda e, h: e.diametral_pitch is None and h.cut.pitch.kind == "DP",
        lambda e, h: replace(e, diametral_pitch=_measured(h.cut.pitch.diametral_pitch, 1.0)),
    ),
    _Fact(
        "module",
        lambda e, h: e.module is None and h.cut.pitch.kind == "MODULE",
        lambda e, h: replace(e, module=_measured(h.cut.module_mm, 1.0)),
    ),
)
"""Easiest to find first."""
