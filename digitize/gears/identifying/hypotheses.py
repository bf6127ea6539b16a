"""Every tooth that the evidence may be of, and how probable each is.

A hypothesis is a standard cut with a number of teeth. Beside all of them stands one more: none of these. It explains
any size a little and none well, so that a gear of no standard is not forced into one.
"""

from collections.abc import Collection
from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray

from calibrate.errors import InputError
from digitize.gears.identifying.evidence import Evidence
from digitize.gears.identifying.items import (
    MOST_THINNING,
    AnyItem,
    Hypothesis,
    Item,
    ThicknessItem,
    size_items,
    spec_for_sizes,
    thickness_items,
)
from digitize.gears.identifying.likelihood import log_densities
from digitize.gears.identifying.priors import with_priors
from digitize.gears.teeth.tooth import GearSpec

NONE_PRIOR = 0.05
"""How often a gear on a print is none of the tabled systems (common practice, no source)."""
NO_THINNING_WEIGHT = 0.4
"""How often a size for inspection is given without any backlash."""
THINNING_STEPS = 101
"""Grid over the thinning; fine against the error of a span on any module above 0.5 mm."""
HOPELESS = 30.0
"""Hypotheses so many nats behind the best are not worked out further."""


@dataclass(frozen=True)
class Weighed:
    """Posterior over hypotheses, most probable first, and what is left for none of them."""

    hypotheses: tuple[Hypothesis, ...]
    probabilities: NDArray[np.float64]
    none: float
    items: tuple[Item, ...]
    thickness_items: tuple[ThicknessItem, ...]

    @property
    def everything(self) -> tuple[AnyItem, ...]:
        """All sizes of the evidence."""
        return self.items + self.thickness_items

    def misfits(self, hypothesis: Hypothesis) -> list[AnyItem]:
        """Sizes that a hypothesis does not fit."""
        return [item for item in self.everything if item.misfit(hypothesis) > 1]

    def nearest_first(self) -> tuple[int, ...]:
        """Indices of the hypotheses by how few sizes they miss, then by how far in all."""

        def distance(index: int) -> tuple[int, float]:
            misfits = [item.misfit(self.hypotheses[index]) for item in self.everything]
            return sum(misfit > 1 for misfit in misfits), sum(misfits)

        return tuple(sorted(range(len(self.hypotheses)), key=distance))


def weigh(evidence: Evidence, among: Collection[Hypothesis] = ()) -> Weighed:
    """Posterior over every standard cut and tooth number the evidence allows, or over those of some hypotheses."""
    items, thick = size_items(evidence), thickness_items(evidence)
    priors = [(h, weight) for h, weight in with_priors(evidence) if not among or h in among]
    none_log = log(NONE_PRIOR)
    none_log += sum(item.log_density_of_none for item in items) + sum(item.log_density_of_none for item in thick)
    if not priors:
        return Weighed((), np.zeros(0), 1.0, items, thick)
    total = sum(weight for _, weight in priors)
    logs = [log((1 - NONE_PRIOR) * weight / total) + _log_likelihood(h, items) for h, weight in priors]
    if thick:
        best = max(logs)
        found = [
            _log_thickness(h, thick) if value > best - HOPELESS else -HOPELESS
            for value, (h, _) in zip(logs, priors, strict=True)
        ]
        logs = [value + more for value, more in zip(logs, found, strict=True)]
    return _ranked([h for h, _ in priors], np.array([*logs, none_log]), items, thick)


def _ranked(
    found: list[Hypothesis], logs: NDArray[np.float64], items: tuple[Item, ...], thick: tuple[ThicknessItem, ...]
) -> Weighed:
    weights = np.exp(logs - logs.max())
    shares = weights / weights.sum()
    order = np.argsort(-shares[:-1], kind="stable")
    return Weighed(tuple(found[i] for i in order), shares[:-1][order], float(shares[-1]), items, thick)


def _log_likelihood(hypothesis: Hypothesis, items: tuple[Item, ...]) -> float:
    return sum(item.log_density(hypothesis) for item in items)


def _log_thickness(hypothesis: Hypothesis, items: tuple[ThicknessItem, ...]) -> float:
    """Log likelihood of the thickness sizes together, over one common thinning of the teeth."""
    gear = spec_for_sizes(hypothesis)
    if gear is None:
        return sum(item.log_density_of_none for item in items)
    thinning = np.linspace(0.0, MOST_THINNING, THINNING_STEPS) * hypothesis.cut.module_mm
    weights = np.full(THINNING_STEPS, (1 - NO_THINNING_WEIGHT) / THINNING_STEPS)
    weights[0] += NO_THINNING_WEIGHT
    step = thinning[1]
    total = np.log(weights)
    for item in items:
        total += _thinned_log_density(item, gear, thinning, step)
    return float(np.logaddexp.reduce(total))


def _thinned_log_density(
    item: ThicknessItem, gear: GearSpec, thinning: NDArray[np.float64], step: float
) -> NDArray[np.float64]:
    try:
        nominal, fall = item.nominal_mm(gear), item.fall(gear)
    except InputError:
        return np.full(len(thinning), item.log_density_of_none)
    # The grid's own step is part of the error, or a written size would slip between two places of it.
    std = item.size.std if item.size.std is not None else item.part_std
    return log_densities(item.size, nominal - fall * thinning, float(np.hypot(std, step / 3)))
