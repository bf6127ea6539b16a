"""Hear all witnesses together: links, scale, chains and gear relations make the dimension table.

The one loop of the problem is closed here: the scale needs dimensions and the dimensions need a scale.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from calibrate.scaling.stretching import STRETCH_PRIOR, stretch_from_circles
from calibrate.sheet import LevelSheet, ResolutionStatus
from digitize.dimensions.confirmed import (
    Added,
    Confirmation,
    added_entries,
    added_text,
    confirm,
    settle_confirmed,
    speakers,
)
from digitize.dimensions.linking.entries import Entry, collect, parse_or_none
from digitize.dimensions.linking.gear_circles import gear_circles
from digitize.dimensions.linking.split_callouts import whole_texts
from digitize.dimensions.linking.tied import attach
from digitize.dimensions.linking.underlined import mark_underlined
from digitize.dimensions.linking.zones import zone_of
from digitize.dimensions.reasons import Reason
from digitize.dimensions.scales.bordered import bordered_notes
from digitize.dimensions.scales.described_scales import describe
from digitize.dimensions.scales.given import given_by_person, of_main_view
from digitize.dimensions.scales.noted_views import noted_ratios
from digitize.dimensions.scales.off_scale import marked_views, off_scale_words
from digitize.dimensions.scales.projection import twins
from digitize.dimensions.scales.scale_bar import find_scale_bar
from digitize.dimensions.scales.scale_lengths import drawn_over_mm
from digitize.dimensions.scales.scale_witnesses import contradictions, scale_witnesses
from digitize.dimensions.scales.stretch import stretch_warning, stretched
from digitize.dimensions.scales.view_scales import scale_views
from digitize.dimensions.states.gear_rows import settle_gear_data
from digitize.dimensions.states.judgement import Judged, judge_all, mostly_tied
from digitize.dimensions.states.lacking import find_excess, find_lacking
from digitize.dimensions.states.one_reading import of_one_reading
from digitize.dimensions.states.standard_sizes import settle_standard_sizes
from digitize.dimensions.table import Dimension, Measured, Point, Reconciled, State, ViewScale
from digitize.dimensions.units import sheet_unit
from digitize.dimensions.witnesses.governed import allowances, under_notes
from digitize.dimensions.witnesses.other_views import seen_elsewhere
from digitize.dimensions.witnesses.run_on import marked_run_on
from digitize.dimensions.witnesses.weighing import Bench
from digitize.lettering.meaning.several_notes import stated_scale
from digitize.lettering.text import Kind, Text, TypedValue, Unit
from digitize.standards import scale_note
from digitize.strokes.primitives import Strokes
from digitize.strokes.roles.strips import laid_on_warning

UNIT_WARNING = "Whether the figures are inches or millimetres is not sure; they are taken for {unit}."
UNIT_WORDS = {Unit.INCH: "inches", Unit.MM: "millimetres"}
STATE_ORDER = (State.DISPUTED, State.UNREAD, State.UNPROVEN, State.AGREED)


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
    parsed = parse_or_none(parse)
    texts = whole_texts(texts, parsed)
    entries = collect(texts, parsed, lambda text: _why_not(text, parse))
    mm_per_px = sheet.paper_mm_per_px
    entries = confirm((*entries, *added_entries(len(texts), added, parsed)), confirmations, parsed)
    said = {(len(texts) + i, 0): (a.by, a.on) for i, a in enumerate(added)} | speakers(entries, confirmations)
    texts = (*texts, *(added_text(each, mm_per_px) for each in added))
    bar = find_scale_bar(strokes, texts, mm_per_px)
    entries = tuple(entry for entry in entries if bar is None or entry.text not in bar.texts)
    entries = mark_underlined(entries, texts, strokes, mm_per_px)
    entries, slots = attach(entries, texts, strokes, mm_per_px)
    entries = marked_run_on(entries, texts)
    fields = _title_block(entries, texts)
    written = _noted_scale(fields)
    trusted = sheet.resolution.status is not ResolutionStatus.UNKNOWN
    noted = written if trusted else None
    found = sheet_unit(entries, drawn_over_mm(entries, mm_per_px) if trusted else None, noted and 1 / noted)
    unit = found.unit
    usual = STRETCH_PRIOR if sheet.proportion is None else sheet.proportion.std
    stretch = stretch_from_circles(strokes.squeeze, strokes.squeeze_std, usual)
    marked = marked_views(entries, texts, strokes, mm_per_px)
    bars = () if bar is None else (of_main_view(bar.length, entries),)
    given = (*given_by_person(sheet, strokes), *bars)
    level_with, bent = twins(strokes, mm_per_px), strokes.strain_std > 0
    ratios = noted_ratios(texts, strokes, fields.get("scale", ""), mm_per_px)
    bordered = () if trusted or written is None else bordered_notes(strokes, written, mm_per_px)
    scaled = scale_views(
        entries, unit, mm_per_px, noted, stretch, level_with, marked, given,
        ratios=ratios, bordered=bordered, bent=bent,
    )  # fmt: skip
    scaled = replace(scaled, crooked=sheet.bend is not None and not sheet.bend.corrected)
    scales = _drawn_views(describe(scaled, mm_per_px), strokes)
    main = scaled.group_of.get(scales[0].view or None) if scales else None
    witnesses = scale_witnesses(sheet, scaled, main, noted, bars)
    elsewhere = seen_elsewhere(entries, strokes, level_with, mm_per_px)
    bench = Bench(slots, scaled, unit, mm_per_px, found.sure, mostly_tied(entries), elsewhere)
    judged = judge_all(entries, bench)
    judged = settle_gear_data(settle_confirmed(judged, said), unit, found.sure, gear_circles(strokes))
    if found.sure:
        judged = settle_standard_sizes(judged, unit)
    judged = settle_confirmed(of_one_reading(judged), said)
    rows = under_notes(_rows(judged, texts, sheet, unit), allowances(entries, texts, unit) if found.sure else {})
    return Reconciled(
        dimensions=rows,
        scales=scales,
        unit=unit,
        title_block=fields,
        warnings=(
            *(() if found.sure or not entries else (UNIT_WARNING.format(unit=UNIT_WORDS[unit]),)),
            *stretch_warning(scaled.fit, stretch, sheet.rectified),
            *off_scale_words(scales),
            *laid_on_warning(strokes),
            *contradictions(witnesses, bool(scales and scales[0].known), noted),
        ),
        witnesses=witnesses,
        stretch=stretched(scaled.fit, stretch),
        lacking=find_lacking(strokes, rows, scales, unit, mm_per_px) if found.sure else (),
        excess=find_excess(rows, unit, mm_per_px),
    )


def _why_not(text: str, parse: Callable[[str], object]) -> str:
    """Why a reading is no dimension, in one sentence."""
    return Reason.NOT_PARSED.say(text=text.replace("\n", " over "), reason=getattr(parse(text), "reason", ""))


def _drawn_views(scales: Sequence[ViewScale], strokes: Strokes) -> tuple[ViewScale, ...]:
    """Leave out tables and the title block, which have no scale."""
    other = {view.id for view in strokes.views if view.kind != "view"}
    return tuple(scale for scale in scales if scale.view not in other)


def _noted_scale(fields: Mapping[str, str]) -> float | None:
    """Part mm per true mm of paper by the title block."""
    note = scale_note(fields["scale"]) if "scale" in fields else None
    return None if note is None else float(1 / note.drawn_over_real)


def _title_block(entries: Sequence[Entry], texts: Sequence[Text]) -> dict[str, str]:
    """Note fields by name, as read; of several scales the first that is one: a scale bar has words of its own."""
    fields: dict[str, str] = {}
    named = [entry for entry in entries if entry.value is not None and entry.value.name == "scale"]
    scales = [stated_scale(texts[entry.text].readings[0].text) for entry in named]
    known = next((text for text in scales if scale_note(text) is not None), None)
    if known is not None:
        fields["scale"] = known
    for entry in entries:
        if entry.value is not None and entry.value.kind is Kind.NOTE and entry.value.name not in (None, "words"):
            fields.setdefault(str(entry.value.name), texts[entry.text].readings[0].text)
        if entry.value is not None and entry.value.name == "required":
            fields.setdefault("quantity", texts[entry.text].readings[0].text)
    return fields


def _rows(judged: Sequence[Judged], texts: Sequence[Text], sheet: LevelSheet, unit: Unit) -> tuple[Dimension, ...]:
    """Table rows in reading order, named by zone."""
    height, width = sheet.grey.shape
    placed = sorted(
        ((zone_of(*texts[item.entry.text].block.centre, width, height), i) for i, item in enumerate(judged)),
        key=lambda pair: (pair[0], texts[judged[pair[1]].entry.text].block.centre[::-1], judged[pair[1]].entry.which),
    )
    numbers: Counter[str] = Counter()
    shared = Counter(item.entry.text for item in judged)
    rows = []
    for zone, i in placed:
        if _is_bare_note(judged[i]):
            continue
        numbers[zone] += 1
        text = texts[judged[i].entry.text]
        callout = f"T{judged[i].entry.text + 1}" if shared[judged[i].entry.text] > 1 else None
        rows.append(_row(judged[i], text, sheet, unit, zone, f"{zone}.{numbers[zone]}", callout))
    return tuple(rows)


def _is_bare_note(item: Judged) -> bool:
    """Words are not dimensions; fields of the title block are kept apart."""
    value = item.entry.value
    if value is not None:
        return value.kind is Kind.NOTE or (value.kind is Kind.GEAR_DATA and value.nominal is None)
    return not item.entry.figures


def _row(
    item: Judged, text: Text, sheet: LevelSheet, unit: Unit, zone: str, name: str, callout: str | None
) -> Dimension:
    value = item.chosen.value if item.chosen is not None else item.entry.value
    own_unit = _own_unit(value, unit)
    read = item.chosen.text if item.chosen else (text.readings[0].text if text.readings else "")
    alternatives = [reading.text for reading in text.readings[:5] if reading.text != read]
    return Dimension(
        id=name,
        zone=zone,
        view=item.entry.view,
        kind=value.kind if value is not None else Kind.LINEAR,
        callout=callout,
        text=read,
        value=value.nominal if value is not None and item.state is not State.UNREAD else None,
        unit=own_unit,
        upper=value.upper if value is not None else None,
        lower=value.lower if value is not None else None,
        measured=item.measured,
        measured_std=item.measured_std,
        state=item.state,
        confidence=item.confidence,
        quad_px=_source_quad(text.block.quad, sheet),
        alternatives=tuple(dict.fromkeys((*alternatives, *item.rivals))),
        evidence=item.reasons,
        name=value.name if value is not None else None,
        style=value.style if value is not None else "",
        geometry=_straight(item.entry),
        typed=value,
        place=(item.entry.text, item.entry.which),
        confirmed_by=item.confirmed_by,
        confirmed_on=item.confirmed_on,
    )


def _straight(entry: Entry) -> Measured | None:
    """What a value measures between two points; an arc's length is no distance between its ends."""
    return None if entry.value is not None and entry.value.name == "arc" else entry.measured


def _own_unit(value: TypedValue | None, unit: Unit) -> Unit:
    if value is None:
        return unit
    return unit if value.unit is Unit.UNMARKED else value.unit


def _source_quad(quad: Sequence[Point], sheet: LevelSheet) -> tuple[Point, Point, Point, Point]:
    corners = [(float(x), float(y)) for x, y in sheet.source_points(np.array(quad, dtype=np.float64))]
    return corners[0], corners[1], corners[2], corners[3]


def by_state(dimensions: Sequence[Dimension]) -> Mapping[State, int]:
    """How many rows stand in each state."""
    counts = Counter(row.state for row in dimensions)
    return {state: counts[state] for state in STATE_ORDER}
