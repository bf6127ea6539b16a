"""Scale of each view: which views share one, and how well it is known."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calibrate.scale import Length, ScaleFit, fit_scale, regroup, vote, without
from digitize.dimensions.entries import LENGTHS, Entry, in_mm
from digitize.dimensions.table import Measured, ViewScale
from digitize.lettering.text import Kind, Unit

ENOUGH = 6
"""Inlying lengths that make a scale (shared trial: 6)."""
SHARE_WITH_MAIN = 0.5
"""A view joins the main scale when at least this share of its lengths fits it."""
FITS_MAIN = 0.012
"""... within this relative error, or three pen errors: paper shrinks by up to 1.2 %."""
PEN_SLACK_MM = 0.45
LEAST_LENGTH_MM = 1.5
"""Shorter lengths, in mm of paper, say nothing of a scale."""
LEAST_VOTES = 2.5
"""Summed trust that a separate view scale needs."""


@dataclass(frozen=True)
class Scaled:
    """The fit, with what is needed to leave one length out.

    ``length_of`` maps an entry's index to its place in ``lengths``; ``group_of`` a view to its scale group.
    """

    lengths: tuple[Length, ...]
    length_of: dict[int, int]
    group_of: dict[str | None, int]
    starts: tuple[float, ...]
    fit: ScaleFit | None

    def leave_out(self, entry: int) -> ScaleFit | None:
        """The fit without one entry's own length."""
        if entry not in self.length_of or self.fit is None:
            return self.fit
        rest = without(self.lengths, self.length_of[entry])
        return fit_scale(rest, len(self.starts), self.starts) if rest else None

    def enough(self, entry: int, group: int) -> bool:
        """Do enough other lengths carry the scale of this entry's group?"""
        if self.fit is None:
            return False
        own = self.length_of.get(entry)
        carriers = self.fit.carriers(self.lengths, group)
        itself = own is not None and self.fit.weights[own] > 0.5
        return carriers - itself >= ENOUGH - 1


def cos2_of(measured: Measured) -> float:
    """Cosine of twice the angle of a measured length to the x axis; 0 where a whole circle was measured."""
    if measured.kind is Kind.RADIUS or (measured.kind is Kind.DIAMETER and measured.arcs and not measured.lines):
        return 0.0
    dx, dy = measured.second[0] - measured.first[0], measured.second[1] - measured.first[1]
    return (dx * dx - dy * dy) / (dx * dx + dy * dy)


def scale_views(entries: Sequence[Entry], unit: Unit, mm_per_px: float) -> Scaled:
    """Fit one scale a group of views, and one stretch for the sheet.

    Parameters
    ----------
    entries : sequence of Entry
    unit : Unit
        The sheet's own.
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    Scaled
    """
    views = sorted({entry.view or "" for entry in entries})
    number = {view: i for i, view in enumerate(views)}
    lengths: list[Length] = []
    length_of: dict[int, int] = {}
    for index, entry in enumerate(entries):
        length = _length(entry, number[entry.view or ""], unit, mm_per_px)
        if length is not None:
            length_of[index] = len(lengths)
            lengths.append(length)
    if not lengths:
        return Scaled((), {}, {None if v == "" else v: 0 for v in views}, (0.0,), None)
    groups, starts = _group(lengths, len(views))
    regrouped = tuple(regroup(lengths, groups))
    group_of: dict[str | None, int] = {view or None: groups[number[view]] for view in views}
    return Scaled(regrouped, length_of, group_of, tuple(starts), fit_scale(regrouped, len(starts), starts))


def _length(entry: Entry, view: int, unit: Unit, mm_per_px: float) -> Length | None:
    value, measured = entry.value, entry.measured
    if value is None or measured is None or value.kind not in LENGTHS or value.not_to_scale:
        return None
    nominal_mm = in_mm(value, unit)
    measured_mm = measured.size * mm_per_px
    if nominal_mm is None or nominal_mm <= 0 or measured_mm < LEAST_LENGTH_MM:
        return None
    if not entry.certain_line:
        return None
    std_mm = measured.size_std * mm_per_px
    return Length(view, measured_mm, std_mm, float(nominal_mm), cos2_of(measured), max(entry.reading, 0.05))


def _fits(length: Length, log_scale: float) -> bool:
    off = abs(length.log_ratio - log_scale)
    return off < FITS_MAIN or off * length.measured_mm < PEN_SLACK_MM


def _group(lengths: Sequence[Length], views: int) -> tuple[list[int], list[float]]:
    """Let views share the main scale where their own lengths allow it."""
    main, _ = vote(lengths)
    starts = [main]
    groups = [0] * views
    for view in range(views):
        own = [length for length in lengths if length.group == view]
        if not own or sum(_fits(length, main) for length in own) >= SHARE_WITH_MAIN * len(own):
            continue
        log_scale, support = vote(own)
        if support < LEAST_VOTES or _fits_all(own, main):
            continue
        groups[view] = len(starts)
        starts.append(log_scale)
    return groups, starts


def _fits_all(lengths: Sequence[Length], log_scale: float) -> bool:
    return all(_fits(length, log_scale) for length in lengths)


def describe(scaled: Scaled, mm_per_px: float) -> tuple[ViewScale, ...]:
    """The scales as the table and `sheet.json` state them, the best-supported group first."""
    if scaled.fit is None:
        return ()
    fit = scaled.fit
    support = [fit.carriers(scaled.lengths, g) for g in range(len(scaled.starts))]
    order = sorted(scaled.group_of.items(), key=lambda item: (-support[item[1]], item[0] or ""))
    return tuple(_view_scale(view, group, fit, support[group], mm_per_px) for view, group in order)


def _view_scale(view: str | None, group: int, fit: ScaleFit, support: int, mm_per_px: float) -> ViewScale:
    (x, x_std), (y, y_std) = fit.log_scale(group, 1.0), fit.log_scale(group, -1.0)
    x_scale, y_scale = math.exp(x) * mm_per_px, math.exp(y) * mm_per_px
    known = f"{support} dimensions" if support >= ENOUGH else ""
    stds = x_scale * x_std, y_scale * y_std
    return ViewScale(view or "", x_scale, y_scale, *stds, support, fit.pen_std_mm, known=known)
