"""What a print says of its gear's body: bore, keyseat, face, half-round key and set-screw.

Sizes are taken where they are agreed. A key's number and a set-screw may be taken from their reading alone; then they
are named as unproven, and nothing is reckoned with them.
"""

import math
import re
from collections.abc import Sequence
from fractions import Fraction

from calibrate.errors import InputError
from digitize.dimensions.linking.candidates import thread_designation
from digitize.dimensions.linking.gear_circles import CONCENTRIC, gear_circles
from digitize.dimensions.table import Dimension, Reconciled, State
from digitize.gears.body import GivenBody, Screw, screw_of
from digitize.gears.bore import Keyseat, check_bore, keyseat_of_standard
from digitize.gears.keys import GivenKey, half_round_key, keyseat_from
from digitize.lettering.text import Kind, Text, Unit
from digitize.standards import INCH_MM
from digitize.strokes.primitives import Role, Strokes

HALF_ROUND = re.compile(r"W(?:OO)?DR(?:U)?FF", re.IGNORECASE)
NUMBER = re.compile(r"(?<!\d)\d{3,4}(?!\d)")
SET_SCREW = re.compile(r"SET[ -]?SCREW", re.IGNORECASE)
MOST_OF_A_BORE_DEG = 240.0
"""A keyseat takes some of the bore's circle away."""
LEAST_READING = 0.5
"""A note less surely read than this names nothing."""
BORE, KEY, SCREW = "bore", "key", "set-screw"
"""What of the body may be unproven."""


def body_of_sheet(reconciled: Reconciled, texts: Sequence[Text], strokes: Strokes) -> GivenBody:
    """The body as far as the print tells it.

    Parameters
    ----------
    reconciled : Reconciled
    texts : sequence of Text
        For the number of a half-round key, which stands in words.
    strokes : Strokes
        For the bore, where its figure does not say that it is one.
    """
    bore_mm, bore_sure = bore_of_sheet(reconciled, strokes)
    screw, screw_sure = set_screw(reconciled)
    key = _half_round(texts)
    seat = None if bore_mm is None else _keyseat(reconciled, bore_mm, key)
    sure = {BORE: bore_sure, KEY: key is None, SCREW: screw_sure}
    return GivenBody(
        face_mm=agreed_size_mm(reconciled, "face_width"),
        bore_mm=bore_mm,
        key=None if bore_mm is None else key,
        keyseat=seat,
        screw=screw,
        unproven=tuple(name for name, is_sure in sure.items() if not is_sure),
    )


def agreed_size_mm(reconciled: Reconciled, name: str) -> float | None:
    """The one agreed size of a name in mm; None where there is none, or more than one."""
    agreed = [row for row in reconciled.dimensions if row.name == name and row.state is State.AGREED]
    sizes = _sizes_mm(agreed, reconciled)
    return sizes.pop() if len(sizes) == 1 else None


def bore_of_sheet(reconciled: Reconciled, strokes: Strokes) -> tuple[float | None, bool]:
    """The bore in mm, and whether it is agreed: by its name, else the innermost circle of the gear's face.

    One that is only read is taken as such; where two sizes are told, none is.
    """
    named = [row for row in reconciled.dimensions if row.name == "bore"]
    rows = named or _of_innermost_circle(reconciled, strokes)
    for state in (State.AGREED, State.UNPROVEN):
        sizes = _sizes_mm([row for row in rows if row.state is state], reconciled)
        if sizes:
            return (sizes.pop(), state is State.AGREED) if len(sizes) == 1 else (None, True)
    return None, True


def _of_innermost_circle(reconciled: Reconciled, strokes: Strokes) -> list[Dimension]:
    """Diameters that were measured on the innermost visible circle about the gear's centre."""
    circles = gear_circles(strokes)
    about = circles.get("outside_diameter")
    if about is None:
        return []
    within = [
        (arc.radius_px, index)
        for index, arc in enumerate(strokes.arcs)
        if arc.view == about.view
        and arc.role is Role.VISIBLE
        and arc.sweep_deg >= MOST_OF_A_BORE_DEG
        and math.dist(arc.centre, about.centre) < CONCENTRIC * about.radius_px
    ]
    bore = min(within, default=(0.0, -1))[1]
    diameters = (row for row in reconciled.dimensions if row.kind is Kind.DIAMETER and row.geometry is not None)
    return [row for row in diameters if row.geometry is not None and bore in row.geometry.arcs]


def _sizes_mm(rows: Sequence[Dimension], reconciled: Reconciled) -> set[float]:
    found = set()
    for row in rows:
        unit = reconciled.unit if row.unit is Unit.UNMARKED else row.unit
        if row.value is not None and unit in (Unit.INCH, Unit.MM):
            found.add(float(row.value * (INCH_MM if unit is Unit.INCH else 1)))
    return found


def _half_round(texts: Sequence[Text]) -> GivenKey | None:
    """The half-round key that the notes name; None where they name none of the table, or several."""
    notes = {text.readings[0].text for text in texts if text.readings and text.readings[0].probability >= LEAST_READING}
    numbers = {each for note in notes if HALF_ROUND.search(note) for each in NUMBER.findall(note)}
    if len(numbers) != 1:
        return None
    try:
        return half_round_key(numbers.pop())
    except InputError:
        return None


def _keyseat(reconciled: Reconciled, bore_mm: float, key: GivenKey | None) -> Keyseat | None:
    """The keyseat: the half-round key's, or agreed sizes that a standard has for that bore, which says how they go."""
    if key is not None:
        seat = keyseat_from(None, None, Fraction(bore_mm), key)
        try:
            check_bore(bore_mm, seat)
        except InputError:
            return None
        return seat
    width, depth = agreed_size_mm(reconciled, "key_width"), agreed_size_mm(reconciled, "key_depth")
    return None if width is None or depth is None else keyseat_of_standard(bore_mm, width, depth)


def set_screw(reconciled: Reconciled) -> tuple[Screw | None, bool]:
    """The set-screw that the print names, and whether its thread is agreed; None where it names none, or several."""
    told = (State.AGREED, State.UNPROVEN)
    rows = [row for row in reconciled.dimensions if row.kind is Kind.THREAD and row.state in told and row.name]
    rows = [row for row in rows if SET_SCREW.search(row.text)]
    found = {screw_of(thread_designation(row.name or "")) for row in rows}
    if len(found) != 1:
        return None, True
    return found.pop(), all(row.state is State.AGREED for row in rows)
