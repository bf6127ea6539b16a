"""What a sheet says of its gear: the data block, the words, and the teeth drawn."""

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from digitize.dimensions.gear_circles import GearCircle, gear_circles
from digitize.dimensions.table import Dimension, Reconciled, State, ViewScale
from digitize.gears.evidence import Evidence, Known, Quantity, written_length, written_number
from digitize.gears.finding import GearFinding
from digitize.gears.identify import identify
from digitize.lettering.text import Kind, Text, TypedValue
from digitize.strokes.primitives import Strokes

LENGTH_DATA = (
    "outside_diameter",
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
LEAST_WORD_PROBABILITY = 0.5
"""Words less surely read than this say nothing of a gear."""
YEAR = re.compile(r"\b(1[89]\d\d|20\d\d)\b")


def gear_of_sheet(reconciled: Reconciled, strokes: Strokes, texts: Sequence[Text]) -> GearFinding | None:
    """Identify the gear of a sheet.

    Parameters
    ----------
    reconciled : Reconciled
    strokes : Strokes
    texts : sequence of Text
        For the words beside the figures.

    Returns
    -------
    GearFinding or None
        None where nothing on the sheet speaks of a gear.
    """
    rows = [row for row in reconciled.dimensions if row.kind is Kind.GEAR_DATA and row.state is not State.UNREAD]
    if not rows and not strokes.tooth_rings:
        return None
    evidence = _drawn(_written(rows, reconciled), strokes, reconciled)
    words = tuple(t.readings[0].text for t in texts if t.readings and _speaks(t))
    return identify(replace(evidence, words=words, year=_year(reconciled), unit=reconciled.unit.value))


def _speaks(text: Text) -> bool:
    """A row with words in it, read well enough."""
    reading = text.readings[0]
    return reading.probability >= LEAST_WORD_PROBABILITY and re.search(r"[A-Za-z]{3}", reading.text) is not None


def _year(reconciled: Reconciled) -> int | None:
    found = YEAR.search(reconciled.title_block.get("date", ""))
    return int(found.group()) if found else None


def _written(rows: Sequence[Dimension], reconciled: Reconciled) -> Evidence:
    """Data rows by name; one that stands twice with two values is left out."""
    evidence = Evidence()
    for name in sorted({row.name for row in rows if row.name}):
        named = [row for row in rows if row.name == name]
        if len({row.value for row in named}) == 1 and named[0].typed is not None:
            evidence = _with(evidence, name, named[0], named[0].typed, reconciled)
    return evidence


def _with(evidence: Evidence, name: str, row: Dimension, value: TypedValue, reconciled: Reconciled) -> Evidence:
    probability = max(row.confidence, 0.5)
    if name == "teeth" and value.nominal is not None and value.nominal.denominator == 1:
        return replace(evidence, teeth=int(value.nominal))
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


def _drawn(evidence: Evidence, strokes: Strokes, reconciled: Reconciled) -> Evidence:
    """Add what the drawing shows: the teeth counted, and the outside and pitch circles."""
    ring = max(strokes.tooth_rings, key=lambda r: (r.teeth, r.tip_radius_px), default=None)
    if ring is not None:
        evidence = replace(evidence, teeth_counted=ring.teeth)
    for name, circle in gear_circles(strokes).items():
        scale = _scale_of(circle.view, reconciled)
        if scale is not None and getattr(evidence, name) is None:
            scaled = _scaled_diameter(circle, scale)
            evidence = _set(evidence, name, _figure_of(scaled, reconciled) or scaled)
    return evidence


def _figure_of(scaled: Quantity, reconciled: Reconciled) -> Quantity | None:
    """The agreed figure that gives a drawn diameter, where one does: it is known better than the drawing."""
    slack = 4 * (scaled.std or 0.0)
    for row in reconciled.dimensions:
        if row.kind is not Kind.DIAMETER or row.state is not State.AGREED or row.typed is None:
            continue
        found = written_length(row.typed, reconciled.unit, row.text, row.confidence)
        if found is not None and abs(found.value - scaled.value) < slack:
            return found
    return None


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
