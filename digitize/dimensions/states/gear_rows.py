"""Gear data that their own formulas vouch for: rows of a data block, and the figure of the drawn outside circle."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from digitize.dimensions.linking.entries import MM_PER_INCH, Entry, in_mm, is_length
from digitize.dimensions.linking.gear_circles import GearCircle, gear_circles, is_as_broad, outside_elsewhere
from digitize.dimensions.reasons import Reason
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.table import State
from digitize.dimensions.witnesses.grounds import LEAST_SINGLE
from digitize.dimensions.witnesses.relations import SPUR, Check, Datum, check_relations
from digitize.lettering.text import Kind, TypedValue, Unit
from digitize.strokes.primitives import Strokes

OUTSIDE = "outside_diameter"
RELATION_CONFIDENCE = 0.99
"""A row that a formula vouches for is believed so far: its own reading may still share the fault of another's."""
BEYOND_MEASURE = 5.0
"""An outside diameter that is agreed by what it measures, and as many standard errors of that off its formula, is no
slip of a figure: the teeth are no standard ones, or their pitch or number is wrong."""
UNITLESS = (Unit.NONE, Unit.COUNT, Unit.DEGREE)


def settle_gear_data(
    judged: Sequence[Judged], unit: Unit, unit_sure: bool, strokes: Strokes, kind: str = SPUR
) -> tuple[Judged, ...]:
    """Let gear relations witness the data that they tie together.

    Parameters
    ----------
    judged : sequence of Judged
    unit : Unit
        Of unmarked lengths.
    unit_sure : bool
        While it is not, a formula that fails contradicts nothing but the unit.
    strokes : Strokes
        Where no row states the outside diameter, the figure that measures the drawn outside circle stands for it, in
        this view or another. A formula that this figure fails contradicts nothing: pinions may be enlarged.
    kind : str
        Of the gear: "spur", or one of ``words.toml``.

    Returns
    -------
    tuple of Judged
    """
    gears = sorted({item.entry.item for item in judged if item.entry.item is not None})
    for gear in gears:
        judged = _settle_gear(judged, gear_data(judged, gear), unit, unit_sure, kind, None)
    where = {} if gears else gear_data(judged)
    circle = None if gears or OUTSIDE in where else gear_circles(strokes).get(OUTSIDE)
    drawn = None if circle is None else _figure_of(circle, judged, strokes)
    return _settle_gear(judged, where, unit, unit_sure, kind, drawn)


def _settle_gear(
    judged: Sequence[Judged], rows: Mapping[str, int], unit: Unit, unit_sure: bool, kind: str, drawn: int | None
) -> tuple[Judged, ...]:
    """The same for the rows of one gear; ``drawn`` is the figure of its outside circle where that stands for a row."""
    where = {**rows} if drawn is None else {**rows, OUTSIDE: drawn}
    data = {name: _datum(judged[i], unit) for name, i in where.items()}
    checks = check_relations({name: datum for name, datum in data.items() if datum is not None}, kind)
    result = list(judged)
    for name, i in where.items():
        own = [check for check in checks if name in check.relation.names]
        telling = [
            c for c in own if c.closes or (unit_sure and not (drawn is not None and OUTSIDE in c.relation.names))
        ]
        if telling:
            result[i] = _settle(judged[i], name, telling, unit)
    return tuple(result)


def gear_data(judged: Sequence[Judged], gear: int | None = None) -> dict[str, int]:
    """Index of the one entry that states each datum of a gear; a datum stated twice differently is left out."""
    found: dict[str, list[int]] = {}
    for i, item in enumerate(judged):
        if item.chosen is None or item.state is State.UNREAD or item.entry.item != gear:
            continue
        if item.chosen.value.kind is Kind.GEAR_DATA and item.chosen.value.name:
            found.setdefault(item.chosen.value.name, []).append(i)
    single = {}
    for name, indices in found.items():
        values = {judged[i].chosen.value.nominal for i in indices}  # type: ignore[union-attr]
        if len(values) == 1:
            single[name] = indices[0]
    return single


def _figure_of(circle: GearCircle, judged: Sequence[Judged], strokes: Strokes) -> int | None:
    """The one figure tied to a line as long as a circle is broad, whatever it reads, or drawn at another size."""
    plain = [i for i, item in enumerate(judged) if item.chosen is not None and is_length(item.chosen.value)]
    lengths = [(i, judged[i].entry.measured) for i in plain]
    as_broad = [i for i, measured in lengths if measured is not None and is_as_broad(measured, circle)]
    values = {judged[i].chosen.value.nominal for i in as_broad}  # type: ignore[union-attr]
    if as_broad:
        found = as_broad[0] if len(values) == 1 else None
    else:
        across = [(i, m.size) for i, m in lengths if m is not None and _is_diameter(judged[i].entry)]
        which = outside_elsewhere(circle, strokes.arcs, [(judged[i].entry.view, size_px) for i, size_px in across])
        found = None if which is None else across[which][0]
    usable = found is not None and judged[found].state in (State.AGREED, State.UNPROVEN)
    return found if usable else None


def _is_diameter(entry: Entry) -> bool:
    return entry.value is not None and entry.value.kind is Kind.DIAMETER


def _datum(item: Judged, unit: Unit) -> Datum | None:
    if item.chosen is None:
        return None
    value = _number(item.chosen.value, unit)
    if value is None:
        return None
    numbers = [_number(option.value, unit) for option in item.entry.options]
    rivals = tuple(number for number in numbers if number is not None and number != value)
    nominal = item.chosen.value.nominal
    place = float(item.chosen.value.place) * (value / float(nominal) if nominal else 1.0)
    return Datum(value, place, rivals)


def _number(value: TypedValue, unit: Unit) -> float | None:
    """A length in mm, a number as it is."""
    if value.unit in UNITLESS:
        return None if value.nominal is None else float(value.nominal)
    length_mm = in_mm(value, unit)
    return None if length_mm is None else float(length_mm)


def _settle(item: Judged, name: str, checks: Sequence[Check], unit: Unit) -> Judged:
    closing = [check for check in checks if check.closes]
    broken = [check for check in checks if not check.closes]
    words = [Reason.GEAR_RELATION.say(relation=check.relation.words) for check in closing]
    words += [
        Reason.GEAR_RELATION_BROKEN.say(relation=check.relation.words, gap=f"{abs(check.gap):.4g} mm")
        for check in broken
    ]
    if broken and name == OUTSIDE and _is_no_slip(item, broken, unit):
        state = item.state
        words.append(Reason.NO_STANDARD_TEETH.say())
    elif broken:
        state = State.UNPROVEN if closing else State.DISPUTED
    else:
        tight = any(name in check.tight for check in closing) and item.entry.reading >= LEAST_SINGLE
        state = State.AGREED if tight else item.state
    confidence = max(item.confidence, RELATION_CONFIDENCE) if state is State.AGREED else item.confidence
    alone = (Reason.NOT_MEASURED.say(), Reason.NO_SCALE.say())
    before = [reason for reason in item.reasons if state is not State.AGREED or reason not in alone]
    return replace(item, state=state, confidence=confidence, reasons=(*before, *words))


def _is_no_slip(item: Judged, broken: Sequence[Check], unit: Unit) -> bool:
    """Does the drawing show an outside diameter as it is written, surely not as the formula has it?"""
    if item.state is not State.AGREED or item.measured_std is None:
        return False
    std_mm = item.measured_std * float(MM_PER_INCH if unit is Unit.INCH else 1)
    return all(abs(check.gap) > BEYOND_MEASURE * std_mm for check in broken)
