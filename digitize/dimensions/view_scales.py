"""Scale of each view: which views share one, and how well it is known."""

import math
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

from calibrate.nominal import Length, vote, without
from calibrate.scale import ScaleFit, fit_scale
from calibrate.settle import CARRIES
from calibrate.stretching import Stretch
from digitize.dimensions.edges import edges_of
from digitize.dimensions.entries import Entry, in_mm, is_length
from digitize.dimensions.given import GivenLength
from digitize.dimensions.stretch import UNDECIDED, undecided
from digitize.dimensions.table import Measured, ViewScale
from digitize.lettering.text import Kind, Unit

STRENGTH = 17.5
"""Nats against chance that a scale needs: six lengths drawn by a usual pen, five with a scale note, or four exact ones
with it (a simulation asked for six, or five with a note)."""
FREE = 2
"""Lengths that a scale and a stretch fit whatever they are ..."""
FREE_IF_TOLD = 1
"""... and a scale alone, where circles tell the stretch."""
WELL_TOLD = 0.002
"""Circles tell the stretch where its standard error is no larger: a pen's error over a usual length."""
CHANCE_PEN_MM = 0.03
"""However well lengths agree, they are no better witnesses than with this pen error: four alone make no scale."""
LOG_RANGE = 4.6
"""A wrong ratio may lie anywhere within a factor of a hundred."""
WITHIN_Z = 3.0
"""A length carries the scale when it lies within this many standard errors."""
SHARE_WITH_MAIN = 0.5
"""A view joins the main scale when at least this share of its lengths fits it."""
FITS_MAIN = 0.012
"""... within this relative error, or three pen errors: paper shrinks by up to 1.2 %."""
PEN_SLACK_MM = 0.45
RADIUS_SHARE = 0.5
"""A radius carries half of its diameter's error: a circle is as far off its size however it is dimensioned."""
LEAST_CIRCLE_STD_PX = 0.025
"""A traced circle's size is not known better than this, whatever its own fit says (measured on clean sample sheets)."""
LEAST_LENGTH_MM = 1.5
"""Shorter lengths, in mm of paper, say nothing of a scale."""
NOTE_LENGTH_MM = 100.0
"""Length that a scale note is worth a statement about ..."""
NOTE_STD_MM = 1.2
"""... and its standard error, in mm of paper: a print shrinks by up to 1.2 %, a scan is off by one."""
NOTE_ENOUGH = 2
"""Inlying lengths that make a scale together with a scale note and a trusted resolution."""
FULL_BOUND = 0.003
"""Largest posterior error of an agreed value whose scale stands on `ENOUGH` lengths (simulated)."""
SHAPE_SHARE = 0.12
"""Paper whose stretch or bend is not known changes no length by more of itself (twice the worst stretch that is
weighed)."""
NOTE_BOUND = 0.001
"""... and whose scale leans on the note (simulated)."""
GIVEN_TRUST = 0.97
"""Trust in a length that a person gives: points may be taken wrongly."""
SCALE_NOTE = "scale note"
NOTE_VIEW = -1
"""Stands for the title block where the note is put among the views' lengths."""
NEGLIGIBLE = 0.001
"""An unusual stretch that is less probable than this with all lengths is not weighed again without one of them."""
HANGS_ON_NONE = 0.5
"""An unusual stretch stands where it is at least this probable without any one of the lengths."""
FOUND_BY = 3
"""A view is found to be not to scale by so many lengths that fit no scale."""
LEAST_VOTES = 2.5
"""Summed trust that a separate view scale needs."""


@dataclass(frozen=True)
class Scaled:
    """The fit, with what is needed to leave one length out.

    ``length_of`` maps an entry's index to its place in ``lengths``; ``group_of`` a view to its scale group. Where
    ``noted`` the last of the lengths stands for the sheet's scale note. ``stretch`` is what the circles say of it.
    ``marked`` are the views that the print says are not to scale; ``scaleless`` those whose lengths fit none.
    ``others`` maps the places in ``lengths`` of those that are no dimensions to what they are. ``crooked`` is True of a
    sheet that does not lie flat, nobody knows how. ``ratio_of`` holds views that are drawn to another scale than the
    rest of their group by the notes beside them.
    """

    lengths: tuple[Length, ...]
    length_of: dict[int, int]
    group_of: dict[str | None, int | None]
    starts: tuple[float, ...]
    fit: ScaleFit | None
    noted: bool = False
    stretch: Stretch = field(default_factory=Stretch)
    marked: frozenset[str] = frozenset()
    scaleless: frozenset[str] = frozenset()
    others: Mapping[int, str] = field(default_factory=dict)
    crooked: bool = False
    ratio_of: Mapping[str, float] = field(default_factory=dict)

    def ratio(self, view: str | None) -> float:
        """Part mm per paper mm of a view over that of its group."""
        return self.ratio_of.get(view or "", 1.0)

    def leave_out(self, entry: int) -> ScaleFit | None:
        """The fit without one entry's own length."""
        if entry not in self.length_of or self.fit is None:
            return self.fit
        rest = without(self.lengths, self.length_of[entry])
        known = self.stretch if self.fit.unusual > NEGLIGIBLE else replace(self.stretch, told=True)
        return fit_scale(rest, len(self.starts), self.starts, known) if rest else None

    def carriers(self, group: int) -> int:
        """Dimensions that carry the scale of a group; neither the note nor a given length is one."""
        return sum(place not in self.others for place in self._carrying(group))

    def also(self, group: int) -> list[str]:
        """What carries the scale of a group besides dimensions."""
        return [self.others[place] for place in self._carrying(group) if place in self.others]

    def _carrying(self, group: int) -> list[int]:
        """Places of the lengths that carry the scale of a group."""
        if self.fit is None:
            return []
        pairs = zip(self.lengths, self.fit.weights, strict=True)
        return [i for i, (length, weight) in enumerate(pairs) if length.group == group and weight > CARRIES]

    def note_holds(self, group: int) -> bool:
        """Does the scale note speak for this group, and agree with its dimensions?"""
        return (
            self.noted
            and self.fit is not None
            and self.lengths[-1].group == group
            and bool(self.fit.weights[-1] > CARRIES)
        )

    def strength(self, group: int) -> float:
        """Nats against the chance that lengths agree on a scale that is wrong.

        Each length beyond the first two, or beyond the first where circles tell the stretch, would fall within its own
        uncertainty of any scale with the chance 2 z sigma / (m ln 100); the scale note likewise.
        """
        if self.fit is None:
            return 0.0
        pen = max(self.fit.pen_std_mm, CHANCE_PEN_MM)
        nats = sorted(
            -math.log(min(1.0, 2 * WITHIN_Z * math.hypot(pen, length.std_mm) / length.measured_mm / LOG_RANGE))
            for length, weight in zip(self.lengths, self.fit.weights, strict=True)
            if length.group == group and weight > CARRIES
        )
        told = self.stretch.told and self.stretch.std <= WELL_TOLD
        return sum(nats[: -FREE_IF_TOLD if told else -FREE])

    @property
    def unsure_share(self) -> float:
        """By how much of itself any length may be wrong beyond its standard error: the sheet's shape is not known."""
        return SHAPE_SHARE if undecided(self.fit) or self.crooked else 0.0

    def holds(self, group: int) -> bool:
        """Do the lengths of a group agree on its scale beyond chance?"""
        return self.strength(group) >= STRENGTH

    def error_bound(self, group: int) -> float:
        """Largest posterior error that an agreed value of this group may have; 0 where none may be agreed."""
        if self.unsure_share:
            return 0.0
        if self.holds(group):
            return FULL_BOUND
        return NOTE_BOUND if self.note_holds(group) and self.carriers(group) >= NOTE_ENOUGH else 0.0


def cos2_of(measured: Measured) -> float:
    """Cosine of twice the angle of a measured length to the x axis; 0 where a whole circle was measured."""
    if measured.kind is Kind.RADIUS or (measured.kind is Kind.DIAMETER and not measured.lines):
        return 0.0
    dx, dy = measured.second[0] - measured.first[0], measured.second[1] - measured.first[1]
    return (dx * dx - dy * dy) / (dx * dx + dy * dy)


def scale_views(
    entries: Sequence[Entry],
    unit: Unit,
    mm_per_px: float,
    note: float | None = None,
    stretch: Stretch | None = None,
    level_with: Mapping[str, Sequence[str]] | None = None,
    marked: frozenset[str] = frozenset(),
    given: Sequence[GivenLength] = (),
    *,
    ratios: Mapping[str, float] | None = None,
    bent: bool = False,
) -> Scaled:
    """Fit one scale a group of views, and one stretch for the sheet.

    Parameters
    ----------
    entries : sequence of Entry
    unit : Unit
        The sheet's own.
    mm_per_px : float
        Paper millimetres per level pixel.
    note : float, optional
        Part mm per paper mm by the sheet's scale note; only where the resolution is trusted.
    stretch : Stretch, optional
        What the sheet's circles say of it.
    level_with : mapping of view to views, optional
        Views that are projected from each other: one without lengths of its own takes the other's scale.
    marked : frozenset of str, optional
        Views that the print says are not to scale: they keep a scale of their own, or have none.
    given : sequence of GivenLength, optional
        Lengths from elsewhere than the figures.
    ratios : mapping of view to float, optional
        How the scale of a view differs from the sheet's by its own note; heeded where its figures bear it out.
    bent : bool
        True where the standard errors of lengths are those that a bend leaves.

    Returns
    -------
    Scaled
    """
    views = sorted(
        {entry.view or "" for entry in entries} | set(level_with or ()) | {each.view or "" for each in given}
    )
    number = {view: i for i, view in enumerate(views)}
    length_of, lengths = _figures(entries, number, unit, mm_per_px, bent)
    lengths += [_given_length(each, number[each.view or ""], mm_per_px) for each in given]
    noted = note is not None
    if note is not None:
        lengths.append(Length(NOTE_VIEW, NOTE_LENGTH_MM, NOTE_STD_MM, NOTE_LENGTH_MM * note, 0.0, 0.9, drawn=False))
    if not lengths:
        return Scaled((), {}, dict.fromkeys(view or None for view in views), (0.0,), None)
    out_of = {number[view] for view in marked if view in number}
    lengths, ratio_of = _obeying(
        lengths, {number[view]: r for view, r in (ratios or {}).items() if view in number}, out_of
    )
    groups, starts = _group(lengths, len(views), out_of)
    _share(groups, {number[view]: [number[o] for o in others] for view, others in (level_with or {}).items()}, lengths)
    group_of: dict[str | None, int | None] = {view or None: groups[number[view]] for view in views}
    kept = [i for i, length in enumerate(lengths) if groups[length.group] is not None]
    place = {old: new for new, old in enumerate(kept)}
    regrouped = tuple(replace(lengths[i], group=groups[lengths[i].group] or 0) for i in kept)
    own = {entry: place[i] for entry, i in length_of.items() if i in place}
    known = stretch or Stretch()
    fit = fit_scale(regrouped, len(starts), starts, known) if regrouped else None
    counted = Counter(length.group for length in lengths)
    scaleless = frozenset(
        view for view in views if groups[number[view]] is None and (counted[number[view]] >= FOUND_BY or view in marked)
    )
    named = [each.source for each in given] + [SCALE_NOTE] * noted
    others = {place[i]: name for i, name in enumerate(named, len(length_of)) if i in place}
    return _doubting(
        Scaled(
            regrouped, own, group_of, tuple(starts), fit, noted, known, marked, scaleless - {""}, others,
            ratio_of={views[view]: ratio for view, ratio in ratio_of.items()},
        )
    )  # fmt: skip


def _figures(
    entries: Sequence[Entry], number: Mapping[str, int], unit: Unit, mm_per_px: float, bent: bool
) -> tuple[dict[int, int], list[Length]]:
    """The lengths that figures give, and the place among them of each entry that gives one."""
    lengths: list[Length] = []
    length_of: dict[int, int] = {}
    for index, (entry, ends) in enumerate(zip(entries, edges_of(entries, mm_per_px), strict=True)):
        length = _length(entry, number[entry.view or ""], unit, mm_per_px)
        if length is not None:
            length_of[index] = len(lengths)
            lengths.append(replace(length, ends=ends, grain=length.grain and not bent))
    return length_of, lengths


def _obeying(
    lengths: list[Length], ratios: Mapping[int, float], marked: Collection[int]
) -> tuple[list[Length], dict[int, float]]:
    """Lengths of views with a scale note of their own as they would be at the sheet's scale, where most fit it so."""
    plain = [length for length in lengths if length.group not in ratios and length.group not in marked]
    obeyed: dict[int, float] = {}
    if not plain:
        return lengths, obeyed
    main, _ = vote(plain)
    for view, ratio in ratios.items():
        own = [_at_ratio(length, ratio) for length in lengths if length.group == view]
        if own and view not in marked and sum(_fits(length, main) for length in own) >= SHARE_WITH_MAIN * len(own):
            obeyed[view] = ratio
    return [_at_ratio(length, obeyed.get(length.group, 1.0)) for length in lengths], obeyed


def _at_ratio(length: Length, ratio: float) -> Length:
    return replace(length, nominal_mm=length.nominal_mm / ratio)


def _doubting(scaled: Scaled) -> Scaled:
    """Leave an unusual stretch undecided where it hangs on one length: that figure may be wrong."""
    if scaled.fit is None or scaled.fit.unusual <= UNDECIDED[0]:
        return scaled
    alone = [fit.unusual for entry in scaled.length_of if (fit := scaled.leave_out(entry)) is not None]
    if min(alone, default=0.0) >= HANGS_ON_NONE:
        return scaled
    doubtful = min(scaled.fit.unusual, (UNDECIDED[0] + UNDECIDED[1]) / 2)
    return replace(scaled, fit=replace(scaled.fit, unusual=doubtful))


def _given_length(given: GivenLength, view: int, mm_per_px: float) -> Length:
    (x0, y0), (x1, y1) = given.first_px, given.second_px
    dx, dy = x1 - x0, y1 - y0
    length_px = math.hypot(dx, dy)
    std_mm = given.relative_std * length_px * mm_per_px
    cos2 = (dx * dx - dy * dy) / length_px**2
    return Length(view, length_px * mm_per_px, std_mm, given.value_mm, cos2, GIVEN_TRUST, drawn=False)


def drawn_over_mm(entries: Sequence[Entry], mm_per_px: float) -> float | None:
    """Paper mm a unit of the unmarked figures by the vote of the dimensions; None where too few are measured.

    Parameters
    ----------
    entries : sequence of Entry
    mm_per_px : float
        Paper millimetres per level pixel.
    """
    unmarked = [entry for entry in entries if entry.value is not None and entry.value.unit is Unit.UNMARKED]
    found = [_length(entry, 0, Unit.MM, mm_per_px) for entry in unmarked]
    lengths = [length for length in found if length is not None]
    if not lengths:
        return None
    log_scale, support = vote(lengths)
    return math.exp(-log_scale) if support >= LEAST_VOTES else None


def _length(entry: Entry, view: int, unit: Unit, mm_per_px: float) -> Length | None:
    value, measured = entry.value, entry.measured
    if value is None or measured is None or not is_length(value) or value.not_to_scale:
        return None
    nominal_mm = in_mm(value, unit)
    measured_mm = measured.size * mm_per_px
    if nominal_mm is None or nominal_mm <= 0 or measured_mm < LEAST_LENGTH_MM:
        return None
    if not entry.certain_line:
        return None
    circle = cos2_of(measured) == 0.0 and bool(measured.arcs)
    std_mm = max(measured.size_std, LEAST_CIRCLE_STD_PX if circle else 0.0) * mm_per_px
    own = Length(view, measured_mm, std_mm, float(nominal_mm), cos2_of(measured), entry.reading, grain=not circle)
    return replace(own, pen_share=RADIUS_SHARE) if measured.kind is Kind.RADIUS else own


def _fits(length: Length, log_scale: float) -> bool:
    off = abs(length.log_ratio - log_scale)
    return off < FITS_MAIN or off * length.measured_mm < PEN_SLACK_MM


def _group(
    lengths: Sequence[Length], views: int, marked: Collection[int] = ()
) -> tuple[dict[int, int | None], list[float]]:
    """Let views share the main scale where their own lengths allow it.

    A view whose lengths fit neither the main scale nor one of their own has none: it is not drawn to scale, or its
    figures are wrong, and which of the two can't be said.
    """
    main, _ = vote([length for length in lengths if length.group not in marked] or lengths)
    starts = [main]
    groups: dict[int, int | None] = {NOTE_VIEW: 0}
    for view in range(views):
        own = [length for length in lengths if length.group == view]
        if not own:
            groups[view] = None
            continue
        if view not in marked and sum(_fits(length, main) for length in own) >= SHARE_WITH_MAIN * len(own):
            groups[view] = 0
            continue
        log_scale, support = vote(own)
        groups[view] = len(starts) if support >= LEAST_VOTES else None
        if support >= LEAST_VOTES:
            starts.append(log_scale)
    return groups, starts


def _share(groups: dict[int, int | None], level_with: Mapping[int, Sequence[int]], lengths: Sequence[Length]) -> None:
    """Give each view without lengths of its own the scale of a view that it is projected from."""
    measured = {length.group for length in lengths}
    for view, others in level_with.items():
        known = [groups[other] for other in others if other in measured and groups[other] is not None]
        if view not in measured and known:
            groups[view] = known[0]


def describe(scaled: Scaled, mm_per_px: float) -> tuple[ViewScale, ...]:
    """The scales as the table and `sheet.json` state them, the best-supported group first."""
    if scaled.fit is None:
        return ()
    fit = scaled.fit
    support = [scaled.carriers(group) for group in range(len(scaled.starts))]
    grouped = [(view, group) for view, group in scaled.group_of.items() if group is not None]
    # A view that the print marks as not to scale, or as larger, never lends the sheet its own.
    order = sorted(
        grouped,
        key=lambda item: (item[0] in scaled.marked, scaled.ratio(item[0]) != 1.0, -support[item[1]], item[0] or ""),
    )
    drawn = tuple(_view_scale(view, group, scaled, fit, mm_per_px) for view, group in order)
    none = ViewScale("", mm_per_px, mm_per_px, 0.0, 0.0, 0, fit.pen_std_mm, not_to_scale=True)
    without_scale = (
        replace(none, view=view, marked_not_to_scale=view in scaled.marked) for view in sorted(scaled.scaleless)
    )
    return (*drawn, *without_scale)


def _view_scale(view: str | None, group: int, scaled: Scaled, fit: ScaleFit, mm_per_px: float) -> ViewScale:
    (x, x_std), (y, y_std) = fit.log_scale(group, 1.0), fit.log_scale(group, -1.0)
    ratio = scaled.ratio(view)
    x_scale, y_scale = ratio * math.exp(x) * mm_per_px, ratio * math.exp(y) * mm_per_px
    stds = x_scale * x_std, y_scale * y_std
    halves = x_scale * fit.half_width(group, 1.0), y_scale * fit.half_width(group, -1.0)
    return ViewScale(
        view or "",
        x_scale,
        y_scale,
        *stds,
        scaled.carriers(group),
        fit.pen_std_mm,
        known=_known(scaled, group),
        part_per_paper=ratio * math.exp((x + y) / 2),
        half_width_95=halves,
        marked_not_to_scale=view in scaled.marked,
    )


def _known(scaled: Scaled, group: int) -> str:
    """How the scale of a group is known, in words; empty where it is not."""
    if scaled.error_bound(group) == 0.0:
        return ""
    also = Counter(scaled.also(group))
    words = [f"{scaled.carriers(group)} dimensions", *(_counted(name, count) for name, count in also.items())]
    return " and ".join(filter(None, [", ".join(words[:-1]), words[-1]]))


def _counted(name: str, count: int) -> str:
    if name == SCALE_NOTE:
        return f"the {name}"
    return f"{count} {name}{'s' if count > 1 else ''}"
