"""What a sheet says of its gear: the data block, the words, and the teeth drawn."""

import math
import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from digitize.dimensions.linking.gear_circles import GearCircle, gear_circles, is_as_broad, outside_elsewhere
from digitize.dimensions.table import Dimension, Reconciled, State, ViewScale
from digitize.gears.identifying.drawn_flanks import flank_angle
from digitize.gears.identifying.evidence import Evidence, Known, Quantity, SpanSize, written_length, written_number
from digitize.gears.identifying.few_teeth import few_teeth
from digitize.gears.identifying.finding import GearFinding
from digitize.gears.identifying.identify import identify
from digitize.gears.options import NOTHING_TYPED, DeskInput, typed_words
from digitize.gears.systems import two_number_pairs
from digitize.gears.typed import with_persons_word
from digitize.gears.words import words_on
from digitize.lettering.text import Kind, Text, TypedValue
from digitize.strokes.primitives import Strokes, ToothRing

LENGTH_DATA = (
    "outside_diameter",
    "inside_diameter",
    "root_diameter",
    "pitch_diameter",
    "whole_depth",
    "circular_pitch",
    "module",
    "chordal_thickness",
    "chordal_addendum",
    "centre_distance",
)
NUMBER_DATA = ("diametral_pitch", "pressure_angle", "helix_angle")
MOST_OF_A_READING = 0.97
"""A figure that nothing but its reading vouches for is believed no more than this."""
OF_ANOTHER = 0.25
"""A figure farther than this share from the size that two circles of the face give is of something else. Pens stay in
a hundredth; what lies between may be a misprint, which is to be told as a contradiction."""
TWO_NUMBERS = re.compile(r"(?<![\d/.-])(\d{1,2})[/-](\d{1,2})(?![\d/-])")
YEAR = re.compile(r"\b(1[89]\d\d|20\d\d)\b")


def gear_of_sheet(
    reconciled: Reconciled, strokes: Strokes, texts: Sequence[Text], typed: DeskInput = NOTHING_TYPED
) -> GearFinding | None:
    """Identify the gear of a sheet.

    Parameters
    ----------
    reconciled : Reconciled
    strokes : Strokes
    texts : sequence of Text
        For the words beside the figures.
    typed : DeskInput, optional
        What a person knows of the teeth; his word comes before the print's.

    Returns
    -------
    GearFinding or None
        None where nothing on the sheet speaks of a gear.
    """
    rows = [row for row in reconciled.dimensions if row.kind is Kind.GEAR_DATA and row.typed is not None]
    few = None if strokes.tooth_rings else few_teeth(strokes)
    if not rows and not strokes.tooth_rings and few is None and typed == NOTHING_TYPED:
        return None
    evidence = _drawn(_written(rows, reconciled), strokes, reconciled)
    if few is not None:
        evidence = replace(evidence, tooth_angle=Quantity(few.angle_deg, Known.SCALED, std=few.std_deg))
    evidence = replace(evidence, words=words_on(texts), year=_year(reconciled), unit=reconciled.unit.value)
    finding = identify(with_persons_word(evidence, typed))
    if typed != NOTHING_TYPED:
        said = f"By a person's word: {', '.join(typed_words(typed))}."
        finding = replace(finding, evidence=(said, *finding.evidence), by_word=said)
    ring = _teeth_of(strokes)
    leaning = None if ring is None else flank_angle(ring)
    return finding if leaning is None else replace(finding, evidence=(*finding.evidence, leaning.sentence))


def _year(reconciled: Reconciled) -> int | None:
    found = YEAR.search(reconciled.title_block.get("date", ""))
    return int(found.group()) if found else None


def _written(rows: Sequence[Dimension], reconciled: Reconciled) -> Evidence:
    """Data rows of the drawn gear by name; one that stands twice with two values is left out."""
    drawn = {row.item for row in rows if row.geometry is not None}
    if any(row.item is not None for row in rows):
        rows = [row for row in rows if row.item is None or row.item in drawn]
    evidence = Evidence(spans=_spans(rows, reconciled))
    for name in sorted({row.name for row in rows if row.name and row.name != "span"}):
        named = [row for row in rows if row.name == name]
        read = [row for row in named if row.state is not State.UNREAD] or named
        if len({row.typed.nominal for row in read if row.typed is not None}) == 1 and read[0].typed is not None:
            evidence = _with(evidence, name, read[0], read[0].typed, reconciled)
    return evidence


def _spans(rows: Sequence[Dimension], reconciled: Reconciled) -> tuple[SpanSize, ...]:
    """Sizes over so many teeth, each number of teeth once; one that stands twice with two values is left out."""
    found: dict[int, set[Quantity]] = defaultdict(set)
    for row in rows:
        if (
            row.name == "span"
            and row.typed is not None
            and row.typed.count is not None
            and row.state is not State.UNREAD
        ):
            size = written_length(row.typed, reconciled.unit, row.text, max(row.confidence, 0.5))
            if size is not None:
                found[row.typed.count].add(size)
    return tuple(SpanSize(teeth, sizes.pop()) for teeth, sizes in sorted(found.items()) if len(sizes) == 1)


def _with(evidence: Evidence, name: str, row: Dimension, value: TypedValue, reconciled: Reconciled) -> Evidence:
    # What is unread for its weak reading still speaks, as weakly as it was read.
    probability = row.confidence if row.state is State.UNREAD else max(row.confidence, 0.5)
    if name == "teeth" and value.nominal is not None and value.nominal.denominator == 1:
        return replace(evidence, teeth=int(value.nominal), teeth_reading=probability)
    if name == "cutter_number" and value.nominal is not None:
        return replace(evidence, cutter_number=value.nominal)
    if name == "diametral_pitch" and value.style == "two_numbers":
        written = {f"{match[1]}/{match[2]}" for match in TWO_NUMBERS.finditer(row.text)}
        known = [pair.pair for pair in two_number_pairs() if pair.pair in written]
        return replace(evidence, pair=known[0]) if len(known) == 1 else evidence
    if name == "mate_teeth" and value.nominal is not None and value.nominal.denominator == 1:
        return replace(evidence, mate_teeth=int(value.nominal))
    if name in LENGTH_DATA:
        return _set(evidence, name, written_length(value, reconciled.unit, row.text, probability))
    if name in NUMBER_DATA:
        return _set(evidence, name, written_number(value, row.text, probability))
    return evidence


def _set(evidence: Evidence, name: str, quantity: Quantity | None) -> Evidence:
    field: dict[str, Any] = {name: quantity}
    return replace(evidence, **field)


def _teeth_of(strokes: Strokes) -> ToothRing | None:
    return max(strokes.tooth_rings, key=lambda r: (r.teeth, r.tip_radius_px), default=None)


def _drawn(evidence: Evidence, strokes: Strokes, reconciled: Reconciled) -> Evidence:
    """Add what the drawing shows: the teeth counted, and the outside and pitch circles."""
    ring = _teeth_of(strokes)
    if ring is not None:
        evidence = replace(evidence, teeth_counted=ring.teeth)
    circles = gear_circles(strokes)
    for name, circle in circles.items():
        if getattr(evidence, name) is None:
            scale = _scale_of(circle.view, reconciled)
            scaled = None if scale is None else _scaled_diameter(circle, scale)
            figure = _figure_of(circle, scaled, reconciled)
            if figure is None and scaled is None and name == "outside_diameter":
                figure = _figure_elsewhere(circle, strokes, reconciled)
            if figure is not None and _is_of_another(figure, circle, circles.get("pitch_diameter"), evidence):
                figure = None
            evidence = _set(evidence, name, figure or scaled)
    return _weighing_as_one(evidence, tuple(circles))


def _weighing_as_one(evidence: Evidence, names: Sequence[str]) -> Evidence:
    """Diameters of one scale share its error: together they are to weigh no more than one of them."""
    sizes = {name: size for name in names if (size := getattr(evidence, name)) and size.known is Known.SCALED}
    for name, size in sizes.items():
        evidence = _set(evidence, name, replace(size, std=math.sqrt(len(sizes)) * (size.std or 0.0)))
    return evidence


def _is_of_another(figure: Quantity, circle: GearCircle, pitch: GearCircle | None, evidence: Evidence) -> bool:
    """Whether a figure is so far from a circle, by the pitch circle and the diameter written for that, that it must
    belong to something else: no misprint, but a figure tied to the wrong line."""
    if pitch is None or evidence.pitch_diameter is None or pitch.view != circle.view:
        return False
    drawn = evidence.pitch_diameter.value * circle.radius_px / pitch.radius_px
    return abs(figure.value - drawn) > OF_ANOTHER * drawn


def _figure_of(circle: GearCircle, scaled: Quantity | None, reconciled: Reconciled) -> Quantity | None:
    """The written figure of a drawn circle, where one is found: it is known better than the drawing.

    An agreed diameter that lies within the error of the scaled one, else the one diameter that was measured on a line
    as long as the circle is broad, whether the scale is known or not.
    """
    if scaled is not None:
        slack = 4 * (scaled.std or 0.0)
        for row in _diameters(reconciled):
            found = _as_written(row, reconciled) if row.state is State.AGREED else None
            if found is not None and abs(found.value - scaled.value) < slack:
                return found
    as_broad = [row for row in _diameters(reconciled) if row.geometry is not None and is_as_broad(row.geometry, circle)]
    if len({row.value for row in as_broad}) != 1:
        return None
    found = _as_written(as_broad[0], reconciled)
    fits = found is not None and (scaled is None or abs(found.value - scaled.value) < 4 * (scaled.std or 0.0))
    return found if fits else None


def _figure_elsewhere(circle: GearCircle, strokes: Strokes, reconciled: Reconciled) -> Quantity | None:
    """The figure of the outside circle in another view, drawn at another size than the face."""
    rows = [(row, row.geometry.size) for row in _diameters(reconciled) if row.geometry is not None]
    found = outside_elsewhere(circle, strokes.arcs, [(row.view, size_px) for row, size_px in rows])
    return None if found is None else _as_written(rows[found][0], reconciled)


def _diameters(reconciled: Reconciled) -> list[Dimension]:
    usable = (State.AGREED, State.UNPROVEN)
    return [row for row in reconciled.dimensions if row.kind is Kind.DIAMETER and row.state in usable]


def _as_written(row: Dimension, reconciled: Reconciled) -> Quantity | None:
    """The row's value; of one that is not agreed its reading alone speaks, and not for sure."""
    if row.typed is None:
        return None
    sure = row.confidence if row.state is State.AGREED else min(row.confidence, MOST_OF_A_READING)
    return written_length(row.typed, reconciled.unit, row.text, sure)


def _scale_of(view: str | None, reconciled: Reconciled) -> ViewScale | None:
    """The scale of a view, where its own dimensions make it known: another view may keep another scale."""
    return next((scale for scale in reconciled.scales if scale.known and scale.view == view), None)


def _scaled_diameter(circle: GearCircle, scale: ViewScale) -> Quantity:
    mean = (scale.x_mm_per_px + scale.y_mm_per_px) / 2
    errors = (
        2 * circle.radius_px * scale.x_std,
        2 * circle.radius_std_px * mean,
        scale.pen_std_mm * scale.part_per_paper,
    )
    return Quantity(2 * circle.radius_px * mean, Known.SCALED, 0.0, math.hypot(*errors))
