"""Hear all witnesses together: links, scale, chains and gear relations make the dimension table.

The one loop of the problem is closed here: the scale needs dimensions and the dimensions need a scale. Four steps, each
a function with what it leaves to the next:

    readings, words of people --_tied-->      entries, one a value, each at what it measures
                              --_as_drawn-->  the sheet's unit and the scale of every view
                              --_judged-->    a state for each value, and why
                              --rows_of-->    the table
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from calibrate.scaling.stretching import STRETCH_PRIOR, Stretch, stretch_from_circles
from calibrate.sheet import LevelSheet, ResolutionStatus, ScaleWitness
from digitize.dimensions.confirmed import (
    Added,
    Confirmation,
    Place,
    added_entries,
    added_text,
    confirm,
    settle_confirmed,
    speakers,
)
from digitize.dimensions.linking.decimal_commas import with_decimal_commas
from digitize.dimensions.linking.entries import Entry, collect, is_length, parse_or_none
from digitize.dimensions.linking.item_marks import item_marks
from digitize.dimensions.linking.link import Slot
from digitize.dimensions.linking.split_callouts import whole_texts
from digitize.dimensions.linking.tabulated import refer_to_table
from digitize.dimensions.linking.tied import attach
from digitize.dimensions.linking.title_fields import noted_scale, title_fields
from digitize.dimensions.linking.underlined import mark_underlined
from digitize.dimensions.reasons import Reason, quoted
from digitize.dimensions.scales.bordered import bordered_notes
from digitize.dimensions.scales.described_scales import describe, of_drawn_views
from digitize.dimensions.scales.given import given_by_person, of_main_view
from digitize.dimensions.scales.noted_views import noted_ratios
from digitize.dimensions.scales.off_scale import marked_views, off_scale_words
from digitize.dimensions.scales.projection import of_one_scale, twins
from digitize.dimensions.scales.scale_bar import ScaleBar, find_scale_bar
from digitize.dimensions.scales.scale_lengths import drawn_over_mm
from digitize.dimensions.scales.scale_witnesses import contradictions, scale_witnesses
from digitize.dimensions.scales.scaled import Scaled
from digitize.dimensions.scales.stretch import stretch_warning, stretched
from digitize.dimensions.scales.told import Told
from digitize.dimensions.scales.view_scales import scale_views
from digitize.dimensions.states.bare_lines import bare_lines, not_scaled
from digitize.dimensions.states.broken_views import of_broken_views
from digitize.dimensions.states.excess import find_excess
from digitize.dimensions.states.gear_rows import settle_gear_data
from digitize.dimensions.states.held_back import held_back
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.states.judgement import judge_all
from digitize.dimensions.states.lacking import find_lacking
from digitize.dimensions.states.one_reading import of_one_reading
from digitize.dimensions.states.rows import rows_of
from digitize.dimensions.states.single_witness import mostly_tied
from digitize.dimensions.states.standard_sizes import settle_standard_sizes
from digitize.dimensions.states.too_large import longest_mm
from digitize.dimensions.table import Dimension, Reconciled, State, ViewScale
from digitize.dimensions.units import SheetUnit, sheet_unit
from digitize.dimensions.witnesses.amended import marked_amended
from digitize.dimensions.witnesses.governed import allowances, under_notes
from digitize.dimensions.witnesses.other_views import seen_elsewhere
from digitize.dimensions.witnesses.relations import SPUR
from digitize.dimensions.witnesses.run_on import marked_run_on
from digitize.dimensions.witnesses.weighing import Bench
from digitize.gears.words import other_kind, words_on
from digitize.lettering.meaning.withdrawn import withdrawn_warnings
from digitize.lettering.text import Text, Unit
from digitize.strokes.primitives import Strokes
from digitize.strokes.roles.strips import laid_on_warning

UNIT_WARNING = "Whether the figures are inches or millimetres is not sure; they are taken for {unit}."
UNIT_WORDS = {Unit.INCH: "inches", Unit.MM: "millimetres"}
STATE_ORDER = (State.DISPUTED, State.UNREAD, State.UNPROVEN, State.AGREED)


@dataclass(frozen=True)
class _Tied:
    """Each value at what it measures, before any scale is known.

    ``texts`` holds a person's additions last; ``said`` who spoke for which value, and when; ``slots`` all that figures
    may measure; ``fields`` the title block's.
    """

    texts: Sequence[Text]
    entries: tuple[Entry, ...]
    said: Mapping[Place, tuple[str, str]]
    slots: Sequence[Slot]
    bar: ScaleBar | None
    fields: dict[str, str]


@dataclass(frozen=True)
class _AsDrawn:
    """The unit of bare figures and the scales: as fitted, as told view by view, and who speaks for the main one.

    ``noted`` is part mm per paper mm by the scale note, where the resolution is known; ``level_with`` the views that
    each is projected from.
    """

    unit: SheetUnit
    scaled: Scaled
    stretch: Stretch
    views: tuple[ViewScale, ...]
    witnesses: tuple[ScaleWitness, ...]
    noted: float | None
    level_with: Mapping[str, Sequence[str]]


def reconcile(
    sheet: LevelSheet,
    strokes: Strokes,
    texts: Sequence[Text],
    parse: Callable[[str], object],
    confirmations: Sequence[Confirmation] = (),
    added: Sequence[Added] = (),
) -> Reconciled:
    """Tie figures to geometry, fit the scale and give every value its state.

    Parameters
    ----------
    sheet : LevelSheet
    strokes : Strokes
        Level pixels.
    texts : sequence of Text
    parse : callable
        The grammar: canonical text to Callout, or a falsy value with its reason.
    confirmations : sequence of Confirmation
        What people said of figures; their places are those of a table made without any.
    added : sequence of Added
        Dimensions that people put in; their texts follow all others.

    Returns
    -------
    Reconciled
    """
    mm_per_px, parse = sheet.paper_mm_per_px, with_decimal_commas(texts, parse)
    tied = _tied(strokes, texts, parse, confirmations, added, mm_per_px)
    entries, inks = marked_amended(tied.entries, tied.texts, sheet.other_ink)
    tied = replace(tied, entries=entries)
    drawn = _as_drawn(tied, sheet, strokes)
    judged = _judged(tied, drawn, strokes, sheet)
    unit, sure = drawn.unit.unit, drawn.unit.sure
    rows = rows_of(judged, tied.texts, sheet, unit)
    rows = under_notes(rows, allowances(tied.entries, tied.texts, unit) if sure else {})
    bare = bare_lines(tied.slots, tied.entries, tied.texts, sheet.grey.shape, mm_per_px)
    lacking = find_lacking(strokes, rows, bare, drawn.views, unit, mm_per_px) if sure else ()
    return Reconciled(
        dimensions=rows,
        scales=drawn.views,
        unit=unit,
        title_block=tied.fields,
        warnings=(*inks, *_warnings(tied, drawn, sheet, strokes), *not_scaled(bare, lacking)),
        witnesses=drawn.witnesses,
        stretch=stretched(drawn.scaled.fit, drawn.stretch),
        lacking=lacking,
        bare=bare,
        excess=find_excess(rows, unit, mm_per_px),
    )


def _tied(
    strokes: Strokes,
    texts: Sequence[Text],
    parse: Callable[[str], object],
    confirmations: Sequence[Confirmation],
    added: Sequence[Added],
    mm_per_px: float,
) -> _Tied:
    """One entry a value, a person's word in the reader's place, each tied to what it measures."""
    parsed = parse_or_none(parse)
    texts = whole_texts(texts, parsed)
    entries = collect(texts, parsed, lambda text: _why_not(text, parse))
    entries = refer_to_table(entries, texts, parsed)
    entries = confirm((*entries, *added_entries(len(texts), added, parsed)), confirmations, parsed)
    said = {(len(texts) + i, 0): (a.by, a.on) for i, a in enumerate(added)} | speakers(entries, confirmations)
    texts = (*texts, *(added_text(each, mm_per_px) for each in added))
    bar = find_scale_bar(strokes, texts, mm_per_px)
    of_no_size = item_marks(texts, strokes) | frozenset(() if bar is None else bar.texts)
    entries = tuple(entry for entry in entries if entry.text not in of_no_size)
    entries = mark_underlined(entries, texts, strokes, mm_per_px)
    entries, slots = attach(entries, texts, strokes, mm_per_px)
    entries = marked_run_on(entries, texts)
    return _Tied(texts, entries, said, slots, bar, title_fields(entries, texts))


def _why_not(text: str, parse: Callable[[str], object]) -> str:
    """Why a reading is no dimension, in one sentence."""
    return Reason.NOT_PARSED.say(text=quoted(text), reason=getattr(parse(text), "reason", ""))


def _as_drawn(tied: _Tied, sheet: LevelSheet, strokes: Strokes) -> _AsDrawn:
    """The unit that the sheet speaks in, and how large each view is drawn."""
    mm_per_px, entries = sheet.paper_mm_per_px, tied.entries
    written = noted_scale(tied.fields)
    trusted = sheet.resolution.status is not ResolutionStatus.UNKNOWN
    noted = written if trusted else None
    unit = sheet_unit(entries, drawn_over_mm(entries, mm_per_px) if trusted else None, noted and 1 / noted)
    usual = STRETCH_PRIOR if sheet.proportion is None else sheet.proportion.std
    bars = () if tied.bar is None else (of_main_view(tied.bar.length, entries),)
    level_with = twins(strokes, mm_per_px)
    told = Told(
        note=noted,
        bordered=() if trusted or written is None else bordered_notes(strokes, written, mm_per_px),
        stretch=stretch_from_circles(strokes.squeeze, strokes.squeeze_std, usual),
        level_with=level_with,
        marked=marked_views(entries, tied.texts, strokes, mm_per_px),
        given=(*given_by_person(sheet, strokes), *bars),
        ratios=noted_ratios(tied.texts, strokes, tied.fields.get("scale", ""), mm_per_px, level_with),
        bent=strokes.strain_std > 0,
    )
    scaled = scale_views(entries, unit.unit, mm_per_px, told)
    scaled = replace(scaled, crooked=sheet.bend is not None and not sheet.bend.corrected)
    views = of_drawn_views(describe(scaled, mm_per_px), told.marked, strokes, mm_per_px)
    main = scaled.group_of.get(views[0].view or None) if views else None
    witnesses = scale_witnesses(sheet, scaled, main, noted, bars)
    return _AsDrawn(unit, scaled, told.stretch, views, witnesses, noted, of_one_scale(level_with, views))


def _judged(tied: _Tied, drawn: _AsDrawn, strokes: Strokes, sheet: LevelSheet) -> tuple[Judged, ...]:
    """A state for each value: by geometry, then by gear formulas and tables; a person's word is last and holds."""
    unit, sure, mm_per_px = drawn.unit.unit, drawn.unit.sure, sheet.paper_mm_per_px
    elsewhere = seen_elsewhere(tied.entries, strokes, drawn.level_with, mm_per_px)
    unplaced = [
        (tied.texts[entry.text].block.centre, entry.value)
        for entry in tied.entries
        if entry.slot is None and entry.value is not None and is_length(entry.value)
    ]
    bench = Bench(tied.slots, drawn.scaled, unit, mm_per_px, sure, mostly_tied(tied.entries), elsewhere, unplaced)
    bench = replace(bench, room_mm=longest_mm(drawn.views, sheet.grey.shape))
    judged = settle_confirmed(judge_all(tied.entries, bench), tied.said)
    judged = settle_gear_data(judged, unit, sure, strokes, other_kind(words_on(tied.texts)) or SPUR)
    if sure:
        judged = settle_standard_sizes(judged, unit)
    return settle_confirmed(held_back(of_one_reading(of_broken_views(judged, strokes, mm_per_px))), tied.said)


def _warnings(tied: _Tied, drawn: _AsDrawn, sheet: LevelSheet, strokes: Strokes) -> tuple[str, ...]:
    """What a person should know of the sheet as a whole, in one sentence each."""
    unit_told = drawn.unit.sure or not tied.entries
    return (
        *withdrawn_warnings(tied.texts),
        *(() if unit_told else (UNIT_WARNING.format(unit=UNIT_WORDS[drawn.unit.unit]),)),
        *stretch_warning(drawn.scaled.fit, drawn.stretch, sheet.rectified),
        *off_scale_words(drawn.views),
        *laid_on_warning(strokes),
        *contradictions(drawn.witnesses, bool(drawn.views and drawn.views[0].known), drawn.noted),
    )


def by_state(dimensions: Sequence[Dimension]) -> Mapping[State, int]:
    """How many rows stand in each state."""
    counts = Counter(row.state for row in dimensions)
    return {state: counts[state] for state in STATE_ORDER}
