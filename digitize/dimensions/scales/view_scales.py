"""Scale of each view: which views share one."""

import math
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from calibrate.scaling.nominal import Length, vote
from calibrate.scaling.scale import fit_scale
from calibrate.scaling.stretching import Stretch
from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.scales.given import GivenLength
from digitize.dimensions.scales.scale_lengths import LEAST_VOTES, NOTE_VIEW, figure_lengths, given_length, note_length
from digitize.dimensions.scales.scaled import BORDER_NOTE, SCALE_NOTE, Scaled
from digitize.dimensions.scales.stretch import UNDECIDED
from digitize.lettering.text import Unit

SHARE_WITH_MAIN = 0.5
"""A view joins the main scale when at least this share of its lengths fits it."""
FITS_MAIN = 0.012
"""... within this relative error, or three pen errors: paper shrinks by up to 1.2 %."""
PEN_SLACK_MM = 0.45
SLACK_Z = 3.0
"""... and as many of its own standard errors, which are large on a sheet that bows."""
HANGS_ON_NONE = 0.5
"""An unusual stretch stands where it is at least this probable without any one of the lengths."""
FOUND_BY = 3
"""A view is found to be not to scale by so many lengths that fit no scale."""


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
    bordered: Sequence[float] = (),
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
    bordered : sequence of float
        As ``note``, for each standard frame that the drawn one may be, where the resolution is not trusted.
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
    length_of, lengths = figure_lengths(entries, number, unit, mm_per_px, bent)
    lengths += [given_length(each, number[each.view or ""], mm_per_px) for each in given]
    own_note = BORDER_NOTE if note is None else SCALE_NOTE
    note = _fitting(bordered, lengths) if note is None else note
    noted = note is not None
    if note is not None:
        lengths.append(note_length(note, max(len(bordered), 1)))
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
    named = [each.source for each in given] + [own_note] * noted
    others = {place[i]: name for i, name in enumerate(named, len(length_of)) if i in place}
    return _doubting(
        Scaled(
            regrouped, own, group_of, tuple(starts), fit, noted, known, marked, scaleless - {""}, others,
            ratio_of={views[view]: ratio for view, ratio in ratio_of.items()},
        )
    )  # fmt: skip


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
    return off < FITS_MAIN or off * length.measured_mm < slack_mm


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
