"""Which tooth system a gear is of, how sure that is (`standing`), and what would settle it."""

from digitize.dimensions.table import State
from digitize.gears.cuts import same_tooth
from digitize.gears.identifying.argument import argued, stopped
from digitize.gears.identifying.evidence import Evidence
from digitize.gears.identifying.finding import Candidate, GearFinding, ToothName
from digitize.gears.identifying.hypotheses import Weighed, weigh
from digitize.gears.identifying.items import Hypothesis
from digitize.gears.identifying.kinds import sizes_of_kind
from digitize.gears.identifying.open_facts import open_facts, to_be_given
from digitize.gears.identifying.separate import measure_next
from digitize.gears.identifying.standing import LOOKED_AT, leading_tooth_of, pitch_items, probability, state_of
from digitize.gears.options import option_words
from digitize.gears.sentences import shop_unit, speaks_against, speaks_for
from digitize.gears.teeth.tooth import FEWEST_TEETH
from digitize.gears.words import other_kind

LEAST_LISTED = 0.002
"""Candidates less probable than this are left out of the list."""
MOST_LISTED = 16
MOST_NEAREST = 6
"""How many candidates are shown, and how many where none fits."""
RIVAL_PROBABILITY = 0.002
"""A rival below this is not worth a measurement."""
NUMBER_PROBABILITY = 0.8
"""A number of teeth that nobody wrote is stated when so much of the posterior holds it."""
SPUR_HELIX_DEG = 0.5
"""A helix angle up to this is a spur gear's."""


def identify(evidence: Evidence) -> GearFinding:
    """Rank the tooth systems that the evidence allows.

    Examples
    --------
    >>> from digitize.gears.identifying.evidence import Quantity
    >>> found = identify(Evidence(teeth=42, outside_diameter=Quantity(139.7, place=0.0254)))
    >>> found.state.value, found.candidates[0].diametral_pitch, found.kind
    ('unproven', 8.0, 'spur')
    """
    unit = shop_unit(evidence)
    kind = _kind(evidence)
    if kind is not None:
        return _no_spur_gear(kind, evidence)
    weighed = weigh(evidence)
    pitch_known = pitch_items(weighed) or evidence.pair is not None
    if not weighed.hypotheses or not pitch_known or _too_few_teeth(evidence):
        return _nothing_to_go_by(evidence)
    leading, equals = leading_tooth_of(weighed)
    state = state_of(evidence, weighed, leading, equals)
    names = _names(weighed, equals)
    listed = _listed(weighed, equals)
    asked = open_facts(evidence, weighed, leading) if state is State.UNPROVEN and weighed.none <= 0.5 else ()
    return GearFinding(
        kind="spur",
        teeth=evidence.sure_teeth or _sure_number(weighed, leading),
        state=state,
        candidates=tuple(_candidate(weighed, index, evidence, unit) for index in listed),
        evidence=argued(evidence, weighed, state, leading, names, unit),
        measure_next=(*_next(evidence, weighed, leading, state, unit), *to_be_given(asked)),
        names=names,
        none_probability=weighed.none,
        asked=asked,
    )


def _sure_number(weighed: Weighed, leading: Hypothesis) -> int | None:
    """The leading number of teeth, where others are hardly believed."""
    alike = tuple(h for h in weighed.hypotheses if h.teeth == leading.teeth)
    return leading.teeth if probability(weighed, alike) >= NUMBER_PROBABILITY else None


def _kind(evidence: Evidence) -> str | None:
    helix = evidence.helix_angle
    if helix is not None and abs(helix.value) > SPUR_HELIX_DEG:
        return "helical"
    return other_kind(evidence.words)


def _no_spur_gear(kind: str, evidence: Evidence) -> GearFinding:
    why = "a helix angle is given" if evidence.helix_angle is not None else "the lettering says so"
    first = f"This is no plain spur gear but of the kind {kind}: {why}. No spur system is claimed for it"
    sentences = (first, *sizes_of_kind(kind, evidence))
    return GearFinding(kind, evidence.teeth or evidence.teeth_counted, State.UNPROVEN, (), stopped(sentences))


def _too_few_teeth(evidence: Evidence) -> bool:
    teeth = evidence.teeth if evidence.teeth is not None else evidence.teeth_counted
    return teeth is not None and teeth < FEWEST_TEETH


def _nothing_to_go_by(evidence: Evidence) -> GearFinding:
    teeth = evidence.teeth if evidence.teeth is not None else evidence.teeth_counted
    why = (
        f"{teeth} teeth are too few for any tabled system"
        if _too_few_teeth(evidence)
        else "Teeth and one size that bears on the pitch are not both known, so no system can be ranked"
    )
    ask = "Count the teeth and measure the outside diameter."
    asked = () if _too_few_teeth(evidence) else (option_words("teeth"), option_words("outside_diameter"))
    return GearFinding("spur", teeth, State.UNPROVEN, (), stopped((why,)), (ask,), none_probability=1.0, asked=asked)


def _names(weighed: Weighed, equals: tuple[Hypothesis, ...]) -> tuple[ToothName, ...]:
    """The names of one tooth, likeliest first, each with its share of the tooth's posterior."""
    total = probability(weighed, equals)
    shares = [(h, probability(weighed, (h,)) / total if total else 1 / len(equals)) for h in equals]
    return tuple(ToothName(h.system.id, h.cut.title, h.cut.pitch.label, h.cut.fillet_mm, share) for h, share in shares)


def _listed(weighed: Weighed, equals: tuple[Hypothesis, ...]) -> list[int]:
    """Indices of the candidates to show: the leading tooth's names, then others; the nearest where none fits."""
    if weighed.none > 0.5:
        return list(weighed.nearest_first()[:MOST_NEAREST])
    names = set(map(id, equals))
    probable = [i for i, p in enumerate(weighed.probabilities[:LOOKED_AT]) if p >= LEAST_LISTED]
    return sorted(probable, key=lambda i: id(weighed.hypotheses[i]) not in names)[:MOST_LISTED]


def _candidate(weighed: Weighed, index: int, evidence: Evidence, unit: str) -> Candidate:
    one = weighed.hypotheses[index]
    return Candidate(
        system=one.system.id,
        title=one.cut.title,
        teeth=one.teeth,
        module_mm=one.cut.module_mm,
        diametral_pitch=one.cut.pitch.diametral_pitch,
        pressure_angle_deg=one.system.pressure_angle_deg,
        outside_diameter_mm=one.cut.outside_diameter_mm(one.teeth),
        probability=float(weighed.probabilities[index]),
        speaks_for=speaks_for(weighed, one, evidence, unit),
        speaks_against=speaks_against(weighed, one, evidence, unit),
    )


def _next(evidence: Evidence, weighed: Weighed, leading: Hypothesis, state: State, unit: str) -> tuple[str, ...]:
    if state is State.AGREED:
        return ()
    if state is State.DISPUTED:
        return ("Check the sizes named above on the part itself before anything else.",)
    if weighed.none > 0.5:
        return ("Measure over two and over three teeth: their difference is the base pitch, whatever the outside.",)
    rivals = _rivals(weighed, leading)
    found = (measure_next(leading, rivals, evidence, unit),) if rivals else ()
    if found and evidence.outside_diameter is not None:
        return found
    return (*found, _second_witness(evidence))


def _rivals(weighed: Weighed, leading: Hypothesis) -> list[Hypothesis]:
    """Hypotheses of another tooth than the leading one that are still worth a measurement, most probable first."""
    return [
        h
        for h, p in zip(weighed.hypotheses[:LOOKED_AT], weighed.probabilities, strict=False)
        if p >= RIVAL_PROBABILITY and (h.teeth != leading.teeth or not same_tooth(h.cut, leading.cut))
    ]


def _second_witness(evidence: Evidence) -> str:
    if evidence.outside_diameter is None:
        return "Measure the outside diameter: it ties pitch and number of teeth together."
    return "Measure the whole depth: a second size must bear on the pitch."
