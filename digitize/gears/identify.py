"""Which tooth system a gear is of, how sure that is, and what would settle it.

The claim is *agreed* only where one tooth (pitch, pressure angle, heights, form) has nearly all the posterior, every
size that was given fits it, and two sizes bear on its pitch, one of them a diameter that ties the number of teeth.
Sizes that no standard tooth fits together are *disputed*. Everything else is *unproven*, with what is left listed.
"""

from collections import defaultdict
from collections.abc import Callable

from digitize.dimensions.table import State
from digitize.gears.evidence import Evidence
from digitize.gears.finding import Candidate, GearFinding
from digitize.gears.hypotheses import Weighed, weigh
from digitize.gears.items import AnyItem, Hypothesis
from digitize.gears.kinds import sizes_of_kind, would_fit
from digitize.gears.sentences import angle, comparison, length, shop_unit, speaks_against, speaks_for
from digitize.gears.separate import measure_next, short
from digitize.gears.systems import same_tooth
from digitize.gears.tooth import FEWEST_TEETH
from digitize.gears.words import other_kind
from digitize.standards import INCH_MM

AGREED_PROBABILITY = 0.99
"""Posterior that one tooth needs before it is claimed; the rest would be wrong claims."""
DECIDED_PROBABILITY = 0.99
"""The same for one of its fields alone, in the sentences."""
LEAST_LISTED = 0.002
"""Candidates less probable than this are left out of the list."""
MOST_LISTED = 16
MOST_NEAREST = 6
"""How many candidates are shown, and how many where none fits."""
NEAREST_SAID = 3
"""How many pitches are named in the sentence that none fits."""
NONE_SAID = 0.05
"""What is left for none of the systems is said when it is more than this."""
RIVAL_PROBABILITY = 0.002
"""A rival below this is not worth a measurement."""
LOOKED_AT = 400
"""Hypotheses, best first, among which one that fits everything is looked for."""
SPUR_HELIX_DEG = 0.5
"""A helix angle up to this is a spur gear's."""
DIAMETERS = ("outside diameter", "root diameter", "pitch diameter", "centre distance")
"""Sizes that tie the number of teeth to the pitch."""


def identify(evidence: Evidence) -> GearFinding:
    """Rank the tooth systems that the evidence allows.

    Examples
    --------
    >>> from digitize.gears.evidence import Quantity
    >>> found = identify(Evidence(teeth=42, outside_diameter=Quantity(139.7, place=0.0254)))
    >>> found.state.value, found.candidates[0].diametral_pitch, found.kind
    ('unproven', 8.0, 'spur')
    """
    unit = shop_unit(evidence)
    kind = _kind(evidence)
    if kind is not None:
        return _no_spur_gear(kind, evidence)
    weighed = weigh(evidence)
    pitch_known = _pitch_items(weighed) or evidence.pair is not None
    if not weighed.hypotheses or not pitch_known or _too_few_teeth(evidence):
        return _nothing_to_go_by(evidence)
    leading, equals = _leading(weighed)
    state = _state(evidence, weighed, leading, equals)
    listed = _listed(weighed, equals)
    return GearFinding(
        kind="spur",
        teeth=leading.teeth if evidence.teeth is None else evidence.teeth,
        state=state,
        candidates=tuple(_candidate(weighed, index, evidence, unit) for index in listed),
        evidence=_sentences(evidence, weighed, state, leading, equals, unit),
        measure_next=_next(evidence, weighed, leading, state, unit),
        same_tooth=tuple(dict.fromkeys(h.system.id for h in equals if h.system.id != leading.system.id)),
        none_probability=weighed.none,
    )


def _kind(evidence: Evidence) -> str | None:
    helix = evidence.helix_angle
    if helix is not None and abs(helix.value) > SPUR_HELIX_DEG:
        return "helical"
    return other_kind(evidence.words)


def _no_spur_gear(kind: str, evidence: Evidence) -> GearFinding:
    why = "a helix angle is given" if evidence.helix_angle is not None else "the lettering says so"
    first = f"This is no plain spur gear but of the kind {kind}: {why}. No spur system is claimed for it"
    sentences = (first, *sizes_of_kind(kind, evidence))
    return GearFinding(kind, evidence.teeth or evidence.teeth_counted, State.UNPROVEN, (), _stopped(sentences))


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
    return GearFinding("spur", teeth, State.UNPROVEN, (), _stopped((why,)), (ask,), none_probability=1.0)


def _leading(weighed: Weighed) -> tuple[Hypothesis, tuple[Hypothesis, ...]]:
    """The most probable tooth, by its most probable name, and all its names."""
    best, most = weighed.hypotheses[0], -1.0
    names: tuple[Hypothesis, ...] = ()
    for candidate in weighed.hypotheses[:MOST_LISTED]:
        group = _names_of(weighed, candidate)
        total = _probability(weighed, group)
        if total > most + 1e-12:
            best, names, most = candidate, group, total
    return best, names


def _names_of(weighed: Weighed, one: Hypothesis) -> tuple[Hypothesis, ...]:
    return tuple(h for h in weighed.hypotheses if h.teeth == one.teeth and same_tooth(h.cut, one.cut))


def _probability(weighed: Weighed, some: tuple[Hypothesis, ...]) -> float:
    wanted = set(map(id, some))
    return float(sum(p for h, p in zip(weighed.hypotheses, weighed.probabilities, strict=True) if id(h) in wanted))


def _misfits(weighed: Weighed, hypothesis: Hypothesis) -> list[AnyItem]:
    return [item for item in weighed.everything if item.misfit(hypothesis) > 1]


def _pitch_items(weighed: Weighed) -> list[AnyItem]:
    return [*(item for item in weighed.items if item.bears_on_pitch), *weighed.thickness_items]


def _state(evidence: Evidence, weighed: Weighed, leading: Hypothesis, equals: tuple[Hypothesis, ...]) -> State:
    if _counts_differ(evidence) or _contradicted(weighed):
        return State.DISPUTED
    sure = _probability(weighed, equals) >= AGREED_PROBABILITY and not _misfits(weighed, leading)
    return State.AGREED if sure and _well_witnessed(evidence, weighed) else State.UNPROVEN


def _counts_differ(evidence: Evidence) -> bool:
    """Written and counted teeth differ by more than a slip of one."""
    written, counted = evidence.teeth, evidence.teeth_counted
    return written is not None and counted is not None and abs(written - counted) > 1


def _contradicted(weighed: Weighed) -> bool:
    """Several sizes bear on the pitch, and no standard tooth fits all that is given."""
    if len(_pitch_items(weighed)) < 2:
        return False
    return all(_misfits(weighed, h) for h in weighed.hypotheses[:LOOKED_AT])


def _well_witnessed(evidence: Evidence, weighed: Weighed) -> bool:
    """Two sizes bear on the pitch, and two witnesses on the number of teeth: written, counted, and every diameter."""
    diameters = sum(item.name in DIAMETERS for item in weighed.items)
    on_teeth = diameters + (evidence.teeth is not None) + (evidence.teeth_counted is not None)
    return on_teeth >= 2 and len(_pitch_items(weighed)) >= 2


def _listed(weighed: Weighed, equals: tuple[Hypothesis, ...]) -> list[int]:
    """Indices of the candidates to show: the leading tooth's names, then others; the nearest where none fits."""
    if weighed.none > 0.5:
        return sorted(range(len(weighed.hypotheses)), key=lambda i: _distance(weighed, i))[:MOST_NEAREST]
    names = set(map(id, equals))
    probable = [i for i, p in enumerate(weighed.probabilities[:LOOKED_AT]) if p >= LEAST_LISTED]
    return sorted(probable, key=lambda i: id(weighed.hypotheses[i]) not in names)[:MOST_LISTED]


def _distance(weighed: Weighed, index: int) -> tuple[int, float]:
    """How far a hypothesis is from the sizes: how many it misses, then by how much in all."""
    misfits = [item.misfit(weighed.hypotheses[index]) for item in weighed.everything]
    return sum(misfit > 1 for misfit in misfits), sum(misfits)


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


def _sentences(
    evidence: Evidence,
    weighed: Weighed,
    state: State,
    leading: Hypothesis,
    equals: tuple[Hypothesis, ...],
    unit: str,
) -> tuple[str, ...]:
    found: list[str] = []
    if _counts_differ(evidence):
        found.append(f"{evidence.teeth} teeth are written but {evidence.teeth_counted} counted on the drawing")
    if state is State.DISPUTED:
        found += [_contradiction(item, leading, unit) for item in _misfits(weighed, leading)]
    if weighed.none > 0.5:
        found.append(f"No tabled system fits well (none of them: {weighed.none:.2f}); {_nearest(weighed, unit)}")
    elif state is not State.DISPUTED:
        found += _decided_or_not(evidence, weighed)
        if weighed.none > NONE_SAID:
            found.append(f"It may be none of the tabled systems ({weighed.none:.2f})")
    if weighed.none > 0.5 or state is State.DISPUTED:
        found += [_naive_pitch(evidence), *would_fit(evidence, unit)]
    others = sorted({h.system.name for h in equals} - {leading.system.name})
    if others and weighed.none <= 0.5:
        found.append(f"The same tooth goes by other names: {'; '.join(others)}")
    return _stopped(tuple(sentence for sentence in found if sentence))


def _nearest(weighed: Weighed, unit: str) -> str:
    """The nearest pitches with the outside diameters they would give."""
    found: dict[str, str] = {}
    for index in sorted(range(len(weighed.hypotheses)), key=lambda i: _distance(weighed, i)):
        one = weighed.hypotheses[index]
        outside = length(one.cut.outside_diameter_mm(one.teeth), unit)
        found.setdefault(one.cut.pitch.label, f"{short(one)}, {outside} outside")
        if len(found) == NEAREST_SAID:
            break
    return f"the nearest are {'; '.join(found.values())}"


def _contradiction(item: AnyItem, leading: Hypothesis, unit: str) -> str:
    what = f"{leading.teeth} teeth of {leading.cut.title}"
    return f"Contradiction, {comparison(item, leading, unit)} ({what})"


def _naive_pitch(evidence: Evidence) -> str:
    size = evidence.outside_diameter
    if size is None or evidence.teeth is None:
        return ""
    module = size.value / (evidence.teeth + 2)
    return (
        f"(N + 2)/OD would give {float(INCH_MM) / module:.4g} P (module {module:.4g}); "
        "that alone does not make it a gear of that pitch"
    )


def _decided_or_not(evidence: Evidence, weighed: Weighed) -> list[str]:
    """Pitch, pressure angle and depth, each as decided or with the shares of what is left."""
    fields: tuple[tuple[str, Callable[[Hypothesis], str]], ...] = (
        ("Pitch", _pitch_of),
        ("Pressure angle", _angle_of),
        ("Whole depth", lambda h: f"{h.cut.whole_depth_mm / h.cut.module_mm:.3f} over the pitch"),
        ("Form of the flank", lambda h: h.system.form),
    )
    found = [_share_sentence(name, key, weighed) for name, key in fields]
    if _only_outside_known(evidence) and "not decided" in found[1]:
        found.append("Teeth and outside diameter are alike in all full-depth systems: they say nothing of the angle")
    return found


def _only_outside_known(evidence: Evidence) -> bool:
    angle_known = evidence.pressure_angle is not None or bool(evidence.spans or evidence.pins)
    return evidence.outside_diameter is not None and not angle_known


def _pitch_of(hypothesis: Hypothesis) -> str:
    pitch = hypothesis.cut.pitch
    return f"{pitch.diametral_pitch:g} P" if pitch.kind == "PAIR" else pitch.label


def _angle_of(hypothesis: Hypothesis) -> str:
    degrees = hypothesis.system.pressure_angle_deg
    return "none, the teeth are cast" if degrees is None else angle(degrees)


def _share_sentence(name: str, key: Callable[[Hypothesis], str], weighed: Weighed) -> str:
    shares: dict[str, float] = defaultdict(float)
    for hypothesis, probability in zip(weighed.hypotheses, weighed.probabilities, strict=True):
        shares[key(hypothesis)] += float(probability)
    ranked = sorted(shares.items(), key=lambda entry: -entry[1])
    if ranked[0][1] >= DECIDED_PROBABILITY:
        return f"{name}: {ranked[0][0]}, decided ({ranked[0][1]:.3f})"
    left = ", ".join(f"{label} {share:.2f}" for label, share in ranked[:4] if share >= 0.005)
    return f"{name} is not decided: {left}"


def _stopped(sentences: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f"{sentence[0].upper()}{sentence[1:]}." for sentence in sentences)
