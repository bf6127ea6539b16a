"""Whether a gear's tooth is agreed, unproven or disputed, by what is left of each hypothesis.

The claim is *agreed* only where one tooth (pitch, pressure angle, heights, form) has nearly all the posterior, every
size that was given fits it, and two sizes bear on its pitch, one of them a diameter that ties the number of teeth.
Sizes that no standard tooth fits together are *disputed*. Everything else is *unproven*.
"""

from dataclasses import replace

from digitize.dimensions.table import State
from digitize.gears.cuts import same_tooth
from digitize.gears.identifying.argument import counts_differ
from digitize.gears.identifying.evidence import Evidence, Known
from digitize.gears.identifying.hypotheses import Weighed
from digitize.gears.identifying.items import TOOTH_ANGLE, AnyItem, Hypothesis

MOST_NAMES = 16
"""Among so many hypotheses, best first, the leading tooth is looked for."""
LOOKED_AT = 400
"""Hypotheses, best first, among which one that fits everything is looked for."""
AGREED_PROBABILITY = 0.99
"""Posterior that one tooth needs before it is claimed; the rest would be wrong claims."""
DIAMETERS = ("outside diameter", "root diameter", "pitch diameter", "centre distance")
"""Sizes that tie the number of teeth to the pitch."""


def leading_tooth_of(weighed: Weighed) -> tuple[Hypothesis, tuple[Hypothesis, ...]]:
    """The most probable tooth, by its most probable name, and all its names."""
    best, most = weighed.hypotheses[0], -1.0
    names: tuple[Hypothesis, ...] = ()
    for candidate in weighed.hypotheses[:MOST_NAMES]:
        group = _names_of(weighed, candidate)
        total = probability(weighed, group)
        if total > most + 1e-12:
            best, names, most = candidate, group, total
    return best, names


def _names_of(weighed: Weighed, one: Hypothesis) -> tuple[Hypothesis, ...]:
    return tuple(h for h in weighed.hypotheses if h.teeth == one.teeth and same_tooth(h.cut, one.cut))


def probability(weighed: Weighed, some: tuple[Hypothesis, ...]) -> float:
    """Posterior of some hypotheses together."""
    wanted = set(map(id, some))
    return float(sum(p for h, p in zip(weighed.hypotheses, weighed.probabilities, strict=True) if id(h) in wanted))


def pitch_items(weighed: Weighed) -> list[AnyItem]:
    """The sizes that bear on the pitch."""
    return [*(item for item in weighed.items if item.bears_on_pitch), *weighed.thickness_items]


def state_of(evidence: Evidence, weighed: Weighed, leading: Hypothesis, equals: tuple[Hypothesis, ...]) -> State:
    """How the leading tooth stands, given by all its names."""
    if counts_differ(evidence) or _contradicted(weighed):
        return State.DISPUTED
    sure = probability(weighed, equals) >= AGREED_PROBABILITY and not weighed.misfits(leading)
    return State.AGREED if sure and _well_witnessed(evidence, weighed) else State.UNPROVEN


def _contradicted(weighed: Weighed) -> bool:
    """Several sizes bear on the pitch, and no standard tooth fits all that is given."""
    if len(pitch_items(weighed)) < 2:
        return False
    return all(weighed.misfits(h) for h in weighed.hypotheses[:LOOKED_AT])


def _well_witnessed(evidence: Evidence, weighed: Weighed) -> bool:
    """Two sizes bear on the pitch, and two witnesses on the number of teeth: written, counted, and every diameter.

    Diameters scaled from the drawing are one witness together, since one scale made them all. The angle between a few
    drawn teeth counts where it tells the number from its neighbours.
    """
    known = [item.size.known for item in weighed.items if item.name in DIAMETERS]
    diameters = sum(each is not Known.SCALED for each in known) + (Known.SCALED in known)
    on_teeth = diameters + (evidence.sure_teeth is not None) + (evidence.teeth_counted is not None)
    return on_teeth + _angle_tells(weighed) >= 2 and len(pitch_items(weighed)) >= 2


def _angle_tells(weighed: Weighed) -> bool:
    leading = weighed.hypotheses[0]
    neighbours = [replace(leading, teeth=leading.teeth + each) for each in (-1, 1)]
    angles = [item for item in weighed.items if item.name == TOOTH_ANGLE]
    return any(all(item.misfit(each) > 1 for each in neighbours) for item in angles)
