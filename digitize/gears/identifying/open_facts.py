"""Which few facts, given by a person, would make the likeliest tooth agreed.

Each set of facts is tried: were they given as the likeliest tooth has them, would it be agreed? So what is asked for is
enough, unless the tooth turns out to be another.
"""

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

from digitize.dimensions.table import State
from digitize.gears.identifying.evidence import Evidence, Known, Quantity
from digitize.gears.identifying.hypotheses import weigh
from digitize.gears.identifying.items import Hypothesis
from digitize.gears.identifying.standing import leading_tooth_of, state_of
from digitize.gears.options import option_words
from digitize.standards import INCH_MM

MOST_FACTS = 3
"""Where more are open, the gear is better measured at the desk first."""
PLACE_MM = float(INCH_MM) / 1000
"""To what a person reads a caliper: a thousandth of an inch."""


def open_facts(evidence: Evidence, leading: Hypothesis) -> tuple[str, ...]:
    """The fewest options, as they are typed, that would make the leading tooth agreed; none where no few would."""
    tried = [(name, given) for name, is_open, given in _FACTS if is_open(evidence, leading)]
    for count in range(1, MOST_FACTS + 1):
        for some in combinations(tried, count):
            supposed = evidence
            for _, given in some:
                supposed = given(supposed, leading)
            if _agreed(supposed):
                return tuple(option_words(name) for name, _ in some)
    return ()


def to_be_given(asked: tuple[str, ...]) -> tuple[str, ...]:
    """The sentence that says how; none where nothing is asked.

    Examples
    --------
    >>> to_be_given(("--teeth N", "--whole-depth LENGTH"))
    ('Give what you find with --teeth N and --whole-depth LENGTH.',)
    """
    spans = f", or the spans with {option_words('span')}" if option_words("pressure_angle") in asked else ""
    return (f"Give what you find with {' and '.join(asked)}{spans}.",) if asked else ()


def _agreed(evidence: Evidence) -> bool:
    weighed = weigh(evidence)
    return bool(weighed.hypotheses) and state_of(evidence, weighed, *leading_tooth_of(weighed)) is State.AGREED


def _measured(value: float, place: float = PLACE_MM) -> Quantity:
    return Quantity(value, Known.UNSAID, place)


def _weak(size: Quantity | None) -> bool:
    """Whether a size is not known, or by the drawing's scale alone."""
    return size is None or size.known is Known.SCALED


_FACTS: tuple[tuple[str, Callable[[Evidence, Hypothesis], bool], Callable[[Evidence, Hypothesis], Evidence]], ...] = (
    (
        "tooth_form",
        lambda e, h: e.form is None,
        lambda e, h: replace(e, form=h.system.form),
    ),
    (
        "whole_depth",
        lambda e, h: _weak(e.whole_depth),
        lambda e, h: replace(e, whole_depth=_measured(h.cut.whole_depth_mm)),
    ),
    (
        "outside_diameter",
        lambda e, h: _weak(e.outside_diameter),
        lambda e, h: replace(e, outside_diameter=_measured(h.cut.outside_diameter_mm(h.teeth))),
    ),
    (
        "root_diameter",
        lambda e, h: _weak(e.root_diameter),
        lambda e, h: replace(e, root_diameter=_measured(h.cut.root_diameter_mm(h.teeth))),
    ),
    (
        "pressure_angle",
        lambda e, h: e.pressure_angle is None and h.system.pressure_angle_deg is not None,
        lambda e, h: replace(e, pressure_angle=_measured(h.system.pressure_angle_deg or 0.0, 0.1)),
    ),
    (
        "teeth",
        lambda e, h: e.sure_teeth is None,
        lambda e, h: replace(e, teeth=h.teeth, teeth_reading=1.0),
    ),
    (
        "diametral_pitch",
        lambda e, h: e.diametral_pitch is None and h.cut.pitch.kind == "DP",
        lambda e, h: replace(e, diametral_pitch=_measured(h.cut.pitch.diametral_pitch, 1.0)),
    ),
    (
        "module",
        lambda e, h: e.module is None and h.cut.pitch.kind == "MODULE",
        lambda e, h: replace(e, module=_measured(h.cut.module_mm, 1.0)),
    ),
)
"""Facts by the name of their option, easiest to find first: when each is open, and what it would be given as."""
