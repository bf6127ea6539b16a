"""The sentences that argue a finding: what contradicts, what is decided, what is left, and by which names it goes."""

from collections import defaultdict
from collections.abc import Callable

from digitize.dimensions.table import State
from digitize.gears.identifying.claim import root_rounds_mm
from digitize.gears.identifying.evidence import Evidence
from digitize.gears.identifying.finding import ToothName
from digitize.gears.identifying.hypotheses import Weighed
from digitize.gears.identifying.items import FULL_TURN_DEG, PART_STD_MM, TOOTH_ANGLE, AnyItem, Hypothesis
from digitize.gears.identifying.kinds import would_fit
from digitize.gears.identifying.likelihood import allowed_error
from digitize.gears.identifying.separate import short
from digitize.gears.sentences import angle, comparison, length
from digitize.standards import INCH_MM

DECIDED_PROBABILITY = 0.99
"""Posterior that one field of a tooth (its pitch, its pressure angle) needs before it is called decided."""
NEAREST_SAID = 3
"""How many pitches are named in the sentence that none fits."""
NONE_SAID = 0.05
"""What is left for none of the systems is said when it is more than this."""


def argued(
    evidence: Evidence,
    weighed: Weighed,
    state: State,
    leading: Hypothesis,
    names: tuple[ToothName, ...],
    unit: str,
) -> tuple[str, ...]:
    """Everything that is said of a finding, most important first."""
    found: list[str] = []
    if counts_differ(evidence):
        found.append(f"{evidence.teeth} teeth are written but {_drawn(evidence)}")
    if state is State.DISPUTED:
        found += [_contradiction(item, leading, unit) for item in weighed.misfits(leading)]
    if weighed.none > 0.5:
        found.append(f"No tabled system fits well (none of them: {weighed.none:.2f}); {_nearest(weighed, unit)}")
    elif state is not State.DISPUTED:
        found += _decided_or_not(evidence, weighed)
        if weighed.none > NONE_SAID:
            found.append(f"It may be none of the tabled systems ({weighed.none:.2f})")
    if weighed.none > 0.5 or state is State.DISPUTED:
        found += [_naive_pitch(evidence), *would_fit(evidence, unit)]
    if len(names) > 1 and weighed.none <= 0.5:
        found.append(_by_other_names(leading, names, unit))
    return stopped(tuple(sentence for sentence in found if sentence))


def _by_other_names(leading: Hypothesis, names: tuple[ToothName, ...], unit: str) -> str:
    """What is the same whatever the tooth is called, its other names, and in what they differ."""
    cut = leading.cut
    heights = f"addendum {length(cut.addendum_mm, unit)}, dedendum {length(cut.dedendum_mm, unit)}"
    titles = "; ".join(name.title for name in names[1:])
    said = f"The same tooth ({_pitch_of(leading)}, {_angle_of(leading)}, {heights}) goes by other names: {titles}"
    rounds = root_rounds_mm(names)
    if rounds is None:
        return said
    return f"{said}; they differ in the round at the root alone, {length(rounds[0], unit)} to {length(rounds[1], unit)}"


def _nearest(weighed: Weighed, unit: str) -> str:
    """The nearest pitches with the outside diameters they would give."""
    found: dict[str, str] = {}
    for index in weighed.nearest_first():
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


def counts_differ(evidence: Evidence) -> bool:
    """Written teeth differ from counted ones by more than a slip of one, or from the spacing of those drawn."""
    written, counted = evidence.sure_teeth, evidence.teeth_counted
    if written is None:
        return False
    return (counted is not None and abs(written - counted) > 1) or _spaced_otherwise(written, evidence)


def _spaced_otherwise(teeth: int, evidence: Evidence) -> bool:
    size = evidence.tooth_angle
    return size is not None and abs(size.value - FULL_TURN_DEG / teeth) > allowed_error(size, PART_STD_MM[TOOTH_ANGLE])


def _drawn(evidence: Evidence) -> str:
    if evidence.teeth_counted is not None or evidence.tooth_angle is None:
        return f"{evidence.teeth_counted} counted on the drawing"
    spaced = FULL_TURN_DEG / evidence.tooth_angle.value
    return f"the teeth that are drawn are spaced as those of a wheel of {spaced:.1f}"


def stopped(sentences: tuple[str, ...]) -> tuple[str, ...]:
    """Sentences with a capital and a full stop."""
    return tuple(f"{sentence[0].upper()}{sentence[1:]}." for sentence in sentences)
