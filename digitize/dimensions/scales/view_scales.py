"""Scale of each view: which views share one."""

import math
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from calibrate.scaling.nominal import Length, vote
from calibrate.scaling.scale import fit_scale
from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.scales.scale_lengths import LEAST_VOTES, NOTE_VIEW, figure_lengths, given_length, note_length
from digitize.dimensions.scales.scaled import BORDER_NOTE, BY_PERSON, SCALE_NOTE, Scaled
from digitize.dimensions.scales.stretch import UNDECIDED
from digitize.dimensions.scales.told import Told
from digitize.lettering.text import Unit

SHARE_WITH_MAIN = 0.5
"""A view joins the main scale when at least this share of its lengths fits it."""
FITS_MAIN = 0.012
"""... within this relative error, or three pen errors: paper shrinks by up to 1.2 %."""
PEN_SLACK_MM = 0.45
SLACK_Z = 3.0
"""... and as many of its own standard errors, which are large on a sheet that bows."""
TELLS_SHARE = 0.25
"""What is so far from known that it fits within more than this share of itself says nothing of its view's scale."""
HANGS_ON_NONE = 0.5
"""An unusual stretch stands where it is at least this probable without any one of the lengths."""
FOUND_BY = 3
"""A view is found to be not to scale by so many lengths that fit no scale."""


@dataclass(frozen=True)
class _Gathered:
    """All lengths of a sheet, those of figures first.

    ``views`` are numbered by their place; ``length_of`` maps an entry's index to its place in ``lengths``; ``others``
    names what the lengths after those are. Where ``noted`` the last one stands for the scale note.
    """

    views: list[str]
    lengths: list[Length]
    length_of: dict[int, int]
    others: list[str]
    noted: bool

    def by_person(self) -> dict[int, Length]:
        """The longest of the lengths that people gave in each view, by the view's number."""
        lengths = self.lengths[len(self.length_of) :]
        given = [length for length, source in zip(lengths, self.others, strict=True) if source == BY_PERSON]
        return {length.group: length for length in sorted(given, key=lambda each: each.measured_mm)}

    def numbered(self, views: Collection[str]) -> set[int]:
        """Numbers of some views."""
        return {i for i, view in enumerate(self.views) if view in views}


def scale_views(entries: Sequence[Entry], unit: Unit, mm_per_px: float, told: Told) -> Scaled:
    """Fit one scale a group of views, and one stretch for the sheet.

    Parameters
    ----------
    entries : sequence of Entry
    unit : Unit
        The sheet's own.
    mm_per_px : float
        Paper millimetres per level pixel.
    told : Told

    Returns
    -------
    Scaled
    """
    all_of = _gathered(entries, unit, mm_per_px, told)
    if not all_of.lengths:
        return Scaled((), {}, dict.fromkeys(view or None for view in all_of.views), (0.0,), None)
    marked = all_of.numbered(told.marked)
    ratios = {i: told.ratios[view] for i, view in enumerate(all_of.views) if view in told.ratios}
    lengths, ratio_of = _obeying(all_of.lengths, ratios, marked)
    all_of = replace(all_of, lengths=lengths)
    groups, starts = _group(lengths, len(all_of.views), marked, all_of.by_person())
    _share(groups, _by_number(told.level_with, all_of.views), lengths)
    return _doubting(_fitted(all_of, groups, starts, ratio_of, told))


def _gathered(entries: Sequence[Entry], unit: Unit, mm_per_px: float, told: Told) -> _Gathered:
    """Number the views, and collect what figures, people and notes say of lengths."""
    views = sorted(
        {entry.view or "" for entry in entries} | set(told.level_with) | {each.view or "" for each in told.given}
    )
    number = {view: i for i, view in enumerate(views)}
    length_of, lengths = figure_lengths(entries, number, unit, mm_per_px, told.bent)
    lengths += [given_length(each, number[each.view or ""], mm_per_px) for each in told.given]
    others = [each.source for each in told.given]
    note = _fitting(told.bordered, lengths) if told.note is None else told.note
    if note is not None:
        lengths.append(note_length(note, max(len(told.bordered), 1)))
        others.append(BORDER_NOTE if told.note is None else SCALE_NOTE)
    return _Gathered(views, lengths, length_of, others, note is not None)


def _by_number(level_with: Mapping[str, Sequence[str]], views: Sequence[str]) -> dict[int, list[int]]:
    number = {view: i for i, view in enumerate(views)}
    return {number[view]: [number[other] for other in others] for view, others in level_with.items()}


def _fitted(
    all_of: _Gathered,
    groups: Mapping[int, int | None],
    starts: Sequence[float],
    ratio_of: Mapping[int, float],
    told: Told,
) -> Scaled:
    """Fit the scales of all groups at once, from the lengths of the views that have one."""
    lengths, views = all_of.lengths, all_of.views
    kept = [i for i, length in enumerate(lengths) if groups[length.group] is not None]
    place = {old: new for new, old in enumerate(kept)}
    regrouped = tuple(replace(lengths[i], group=groups[lengths[i].group] or 0) for i in kept)
    counted = Counter(length.group for length in lengths)
    return Scaled(
        lengths=regrouped,
        length_of={entry: place[i] for entry, i in all_of.length_of.items() if i in place},
        group_of={view or None: groups[i] for i, view in enumerate(views)},
        starts=tuple(starts),
        fit=fit_scale(regrouped, len(starts), starts, told.stretch) if regrouped else None,
        noted=all_of.noted,
        stretch=told.stretch,
        marked=told.marked,
        scaleless=frozenset(
            view
            for i, view in enumerate(views)
            if view and groups[i] is None and (counted[i] >= FOUND_BY or view in told.marked)
        ),
        others={place[i]: name for i, name in enumerate(all_of.others, len(all_of.length_of)) if i in place},
        ratio_of={views[i]: ratio for i, ratio in ratio_of.items()},
    )


def _fitting(bordered: Sequence[float], lengths: Sequence[Length]) -> float | None:
    """The one of several scales that the lengths bear out."""
    if not bordered or not lengths:
        return None
    main, _ = vote(lengths)
    nearest = min(bordered, key=lambda scale: abs(math.log(scale) - main))
    return nearest if abs(math.log(nearest) - main) < FITS_MAIN else None


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


def _fits(length: Length, log_scale: float) -> bool:
    off = abs(length.log_ratio - log_scale)
    slack_mm = math.hypot(PEN_SLACK_MM, SLACK_Z * length.std_mm)
    return off < FITS_MAIN or off * length.measured_mm < min(slack_mm, TELLS_SHARE * length.measured_mm)


def _group(
    lengths: Sequence[Length], views: int, marked: Collection[int], by_person: Mapping[int, Length]
) -> tuple[dict[int, int | None], list[float]]:
    """Let views share the main scale where their own lengths allow it, or what a person measured there.

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
        said = by_person.get(view)
        fitting = sum(_fits(length, main) for length in own) >= SHARE_WITH_MAIN * len(own)
        if view not in marked and (fitting or (said is not None and _fits(said, main))):
            groups[view] = 0
            continue
        log_scale, support = vote(own)
        if support < LEAST_VOTES and said is not None:
            log_scale, support = said.log_ratio, LEAST_VOTES
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
