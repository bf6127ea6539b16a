"""What each reading of an entry would measure, held against what is drawn."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calibrate.scaling.settle import LINE_WRONG
from digitize.dimensions.linking.entries import Entry, in_mm, is_length
from digitize.dimensions.linking.link import Slot
from digitize.dimensions.scales.scale_lengths import cos2_of
from digitize.dimensions.scales.scaled import Scaled
from digitize.dimensions.table import Measured, Point
from digitize.dimensions.witnesses.habits import style_prior, table_prior, tolerance_prior
from digitize.dimensions.witnesses.other_views import Elsewhere, together
from digitize.dimensions.witnesses.witness import ERROR_BOUND, RIVAL_Z, Verdict, judge
from digitize.lettering.text import Kind, TypedValue, Unit

BLIND_SHARE = 1 / 4.6
"""U: a length unconnected with its figure is log-uniform over a factor of a hundred (simulated)."""
BLIND_DEG = 1 / 180.0
ANGLE_PEN_DEG = 0.35
"""Error of an angle as set out, in degrees (common practice, no source) ..."""
PROTRACTOR_MM = 20.0
"""... unless lengths are drawn so exactly that the pen's error at this radius, in mm of paper, turns it by less."""
ANGLE_DOF = 6.0
"""Degrees of freedom behind the error of an angle where no pen error is known."""
UNKNOWN_SCALE = 0.2
"""A scale that may be off by so much of itself measures nothing."""
LEAST_PEN_MM = 0.015
"""No drawing is judged as if drawn more exactly than this, in mm of paper: traced lines have faults of their own."""
FIGURE_BEFORE = 1.9
"""A figure before another adds twice as many mm of the part, or degrees, at least: 11/64 in for 1/64 in."""
COUNT_SIGMA = 0.15
"""A count of drawn holes is whole: one more or less is many standard errors off."""
COUNT_DOF = 30.0
"""... with hardly a tail."""
BLIND_COUNT = 0.05
"""Density of a count that has nothing to do with the figure: up to a score of holes are usual."""


@dataclass(frozen=True)
class Seconded:
    """A size measured in another view too, in mm of paper there, and the two together with their standard error."""

    view: str
    measured: float
    sigma: float
    joint: float
    joint_sigma: float


@dataclass(frozen=True)
class Weighed:
    """An entry's measurement on the scale that it did not help to set; nothing may be agreed at an error bound of 0.

    ``unsure`` is how far off the scale may be, in mm of paper: what lies further apart is contradicted all the same.
    ``seconded`` is what another view shows of the same size.
    """

    measured: float
    sigma: float
    dof: float
    expected: tuple[float, ...]
    part_per_paper: float
    blind: float
    error_bound: float
    unsure: float = 0.0
    seconded: Seconded | None = None


@dataclass(frozen=True)
class Bench:
    """What every judgement of a sheet leans on.

    Its slots that may yet be another figure's, scale, unit and whether that is sure, paper mm per level pixel,
    whether most of its bare figures are tied to a line, so that one which is not is likely a part of something else,
    what other views say of each entry's size, where figures stand that are tied to nothing or to what they do not
    fit, with what they say, which circles figures that lead to them give the size of, by slot and arcs, and the longest
    length of the part that the sheet has room for, in mm, where that is known.
    """

    slots: Sequence[Slot]
    scaled: Scaled
    unit: Unit
    mm_per_px: float
    unit_sure: bool = True
    mostly_tied: bool = False
    elsewhere: Sequence[Elsewhere] = ()
    unplaced: Sequence[tuple[Point, TypedValue]] = ()
    circles_told: frozenset[tuple[int, tuple[int, ...]]] = frozenset()
    room_mm: float | None = None

    def in_doubt(self, value: TypedValue) -> bool:
        """Does the value hang on a unit that is not sure?"""
        return not self.unit_sure and value.unit is Unit.UNMARKED


def weigh(index: int, entry: Entry, bench: Bench) -> Weighed | None:
    """What each candidate would measure, in mm of paper (or degrees); None where nothing can be compared."""
    if entry.measured is None or entry.value is None or not entry.options:
        return None
    if entry.value.kind is Kind.COUNT:
        counts = tuple(float(option.value.nominal or 0) for option in entry.options)
        return Weighed(entry.measured.size, COUNT_SIGMA, COUNT_DOF, counts, 1.0, BLIND_COUNT, ERROR_BOUND)
    if entry.value.kind is Kind.ANGLE:
        # What lies between two legs is an angle, whatever the reader makes of its degree sign.
        degrees = (float(o.value.nominal or 0) if o.value.kind is Kind.ANGLE else math.inf for o in entry.options)
        size_deg, sigma, dof = _angle(entry, entry.measured, bench)
        return Weighed(size_deg, sigma, dof, tuple(degrees), 1.0, BLIND_DEG, ERROR_BOUND)
    if not is_length(entry.value) or entry.value.not_to_scale:
        return None
    fit = bench.scaled.leave_out(index)
    group = bench.scaled.group_of[entry.view]
    if fit is None or group is None:
        return None
    log_scale, log_std = fit.log_scale(group, cos2_of(entry.measured))
    if log_std > UNKNOWN_SCALE:
        return None
    measured = entry.measured.size * bench.mm_per_px
    pen = max(fit.pen_std_mm, LEAST_PEN_MM)
    sigma = math.sqrt(pen**2 + (entry.measured.size_std * bench.mm_per_px) ** 2 + (measured * log_std) ** 2)
    part_per_paper = math.exp(log_scale) * bench.scaled.ratio(entry.view)
    expected = tuple(float(in_mm(option.value, bench.unit) or 0) / part_per_paper for option in entry.options)
    doubtful = bench.in_doubt(entry.value)
    bound = 0.0 if doubtful else bench.scaled.error_bound(group)
    unsure = math.inf if bound == 0 and doubtful else bench.scaled.unsure_share(group) * measured
    blind = BLIND_SHARE / measured
    seconded = _seconded(index, entry.measured, pen, measured * log_std, bench)
    return Weighed(measured, sigma, fit.dof, expected, part_per_paper, blind, bound, unsure, seconded)


def _angle(entry: Entry, drawn: Measured, bench: Bench) -> tuple[float, float, float]:
    """An angle without the sheet's stretch, its standard error by the pen of its legs, in degrees, and its dof."""
    fit, legs = bench.scaled.fit, drawn.legs
    if fit is None or legs is None or bench.scaled.group_of[entry.view] is None:
        return drawn.size, math.hypot(drawn.size_std, ANGLE_PEN_DEG), ANGLE_DOF
    pen_mm = max(fit.pen_std_mm, LEAST_PEN_MM)
    set_out = min(ANGLE_PEN_DEG, math.degrees(pen_mm / PROTRACTOR_MM))
    ruled = math.degrees(pen_mm / (legs.arm_px * bench.mm_per_px))
    stretched = math.sqrt(float(fit.covariance[-1, -1])) * legs.per_stretch_deg
    size_deg = drawn.size + float(fit.parameters[-1]) * legs.per_stretch_deg
    return size_deg, math.hypot(drawn.size_std, set_out, ruled, stretched), fit.dof


def _seconded(index: int, own: Measured, pen: float, scale_std: float, bench: Bench) -> Seconded | None:
    """What another view shows of the same size, where both can be one."""
    shown = bench.elsewhere[index].shown if bench.elsewhere else None
    mm = bench.mm_per_px
    both = together(own.size, own.size_std, shown, pen / mm) if shown is not None else None
    if shown is None or both is None:
        return None
    sigma = math.hypot(pen, shown.std * mm, scale_std)
    return Seconded(shown.view, shown.size * mm, sigma, both[0] * mm, math.hypot(math.sqrt(both[1]) * mm, scale_std))


def usual_shares(entry: Entry, seen: Sequence[TypedValue]) -> list[float]:
    """How usual each candidate is as it is written, beside the other figures of the sheet."""
    return [style_prior(o.value, seen) * table_prior(o.value) * tolerance_prior(o) for o in entry.options]


def verdict_of(entry: Entry, w: Weighed | None, prior: Sequence[float], chain: Sequence[float]) -> Verdict | None:
    if w is None:
        return None
    reading = [option.probability for option in entry.options]
    measured, sigma = (w.measured, w.sigma) if w.seconded is None else (w.seconded.joint, w.seconded.joint_sigma)
    # What is longer by a figure before it would measure otherwise, but on a wrong line.
    unlisted = LINE_WRONG * entry.unlisted if w is not None and figure_before_would_show(entry, w) else entry.unlisted
    return judge(measured, w.expected, sigma, w.dof, reading, prior, chain, w.blind, unlisted)


def figure_before_would_show(entry: Entry, w: Weighed) -> bool:
    """Is a figure before the reading all that may be missing, and the drawing exact enough to show it?

    A sign may be lost as well as a figure, so what says nothing but a length may be a radius or a diameter.
    """
    says_its_kind = entry.value is not None and entry.value.kind is not Kind.LINEAR
    return entry.cut_before and says_its_kind and RIVAL_Z * w.sigma * w.part_per_paper < FIGURE_BEFORE


def in_unit(w: Weighed, value: TypedValue, unit: Unit) -> tuple[float, float, str]:
    """Measured size and its standard error in the value's own unit, with the unit's name."""
    if value.kind in (Kind.ANGLE, Kind.COUNT):
        return w.measured, w.sigma if value.kind is Kind.ANGLE else 0.0, value.unit.value
    own = unit if value.unit is Unit.UNMARKED else value.unit
    factor = w.part_per_paper / (25.4 if own is Unit.INCH else 1.0)
    return w.measured * factor, w.sigma * factor, own.value
