"""Standard tables as witnesses: a keyseat against the key table of an agreed bore, a thread against the thread tables.

A table speaks for a pair of values that it ties together: width and depth of a keyseat with the bore or shaft that it
is cut in, diameter and pitch of a thread. It is a witness only where it is tight: no rival reading of either value
would be in the table too. A value that is in no table is not contradicted: old makers had sizes of their own.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from calibrate.scaling.settle import PRINT_WRONG
from digitize.dimensions.linking.candidates import thread_designation
from digitize.dimensions.linking.entries import Entry, in_mm
from digitize.dimensions.reasons import Reason
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.table import State
from digitize.dimensions.witnesses.grounds import LEAST_SINGLE
from digitize.dimensions.witnesses.witness import LEAST_READING, RIVAL_Z
from digitize.lettering.text import Kind, TypedValue, Unit
from digitize.standards import Key, parallel_keys, threads

BORE_NAMES = ("bore", "hole", "ream")
"""Words that say that a diameter is of a hole a shaft goes through."""
RIVAL_SHARE = 1e-5
"""A rival less probable than this beside the best reading does not make a table loose."""


@dataclass(frozen=True)
class Seat:
    """A keyseat's callout: indices of its width and its depth among the judged, and what it is cut in.

    A hub's is called one; what is given as so wide and so deep, in a shaft, is taken for one where the table has it.
    """

    width: int
    depth: int
    in_hub: bool

    @property
    def diameter(self) -> str:
        """What the diameter is called that its table row hangs on."""
        return "bore" if self.in_hub else "shaft"

    def depths(self, row: Key) -> tuple[Fraction, ...]:
        """Depths that offices wrote: half the key, or as tabled; the rectangular key's too."""
        tabled = row.hub_depth if self.in_hub else row.shaft_depth
        halves = [height / 2 for height in (row.height_square, row.height_rectangular) if height is not None]
        return (tabled, *halves) if row.unit == "in" else (tabled,)


SEAT_NAMES = {("key_width", "key_depth"): True, ("width", "depth"): False}
"""What width and depth of a callout are called, and whether that is of a hub."""


def settle_standard_sizes(judged: Sequence[Judged], unit: Unit) -> tuple[Judged, ...]:
    """Let the key tables speak for keyseats whose bore or shaft is agreed, and the thread tables for threads.

    Parameters
    ----------
    judged : sequence of Judged
    unit : Unit
        Of unmarked figures; it must be sure.

    Returns
    -------
    tuple of Judged
        The same rows; those that a table confirms carry its reason, and are agreed where it is tight.
    """
    result = list(judged)
    rows = _key_rows(_agreed_bores(judged, unit))
    for seat in _seats(judged):
        _settle_seat(result, seat, rows, unit)
    for i, item in enumerate(result):
        if item.chosen is not None and item.chosen.value.kind is Kind.THREAD and item.chosen.value.name:
            result[i] = _settle_thread(item)
    return tuple(result)


def _agreed_bores(judged: Sequence[Judged], unit: Unit) -> tuple[Fraction, ...]:
    """Agreed diameters in mm that a shaft may go through: those named so, else every plain one."""
    plain = [
        item
        for item in judged
        if item.state is State.AGREED and item.chosen is not None and item.chosen.value.kind is Kind.DIAMETER
    ]
    named = [item for item in plain if item.chosen is not None and item.chosen.value.name in BORE_NAMES]
    lengths = [in_mm(item.chosen.value, unit) for item in named or plain if item.chosen is not None]
    return tuple(sorted({length for length in lengths if length is not None}))


def _seats(judged: Sequence[Judged]) -> Iterator[Seat]:
    by_name = {
        (item.entry.text, str(item.chosen.value.name)): i for i, item in enumerate(judged) if item.chosen is not None
    }
    for (text, name), i in by_name.items():
        for (width, depth), in_hub in SEAT_NAMES.items():
            if name == width and (text, depth) in by_name:
                yield Seat(i, by_name[text, depth], in_hub)


def _key_rows(bores: Sequence[Fraction]) -> tuple[tuple[Key, Fraction, Fraction], ...]:
    """The rows of the key tables that hold one of the diameters, with that and the row's unit, both in mm."""
    rows = ((row, Fraction(254, 10) if row.unit == "in" else Fraction(1)) for row in parallel_keys())
    held = ((row, [bore for bore in bores if row.shaft_over * mm < bore <= row.shaft_to * mm], mm) for row, mm in rows)
    return tuple((row, inside[0], mm) for row, inside, mm in held if inside)


def _settle_seat(result: list[Judged], seat: Seat, rows: Sequence[tuple[Key, Fraction, Fraction]], unit: Unit) -> None:
    width, depth = result[seat.width], result[seat.depth]
    if width.chosen is None or depth.chosen is None:
        return
    found = _key_row(seat, width.chosen.value, depth.chosen.value, rows, unit)
    if found is None:
        return
    row, bore = found
    words = Reason.KEY_TABLE.say(standard=row.standard, diameter=seat.diameter, size=_shown(bore, unit))
    tight = not any(
        _key_row(seat, w, d, rows, unit) is not None
        for w, d in (
            *((rival, depth.chosen.value) for rival in _rivals(width.entry)),
            *((width.chosen.value, rival) for rival in _rivals(depth.entry)),
        )
    )
    for i in (seat.width, seat.depth):
        result[i] = _confirmed(result[i], words, tight)


def _key_row(
    seat: Seat, width: TypedValue, depth: TypedValue, rows: Sequence[tuple[Key, Fraction, Fraction]], unit: Unit
) -> tuple[Key, Fraction] | None:
    """The first of some table rows that has this width and this depth, and the diameter that it holds."""
    for row, bore, mm in rows:
        if _same(width, row.width * mm, unit) and any(_same(depth, d * mm, unit) for d in seat.depths(row)):
            return row, bore
    return None


def _same(value: TypedValue, length_mm: Fraction, unit: Unit) -> bool:
    """Is this the length as written, to half of its last place? Fractions exactly."""
    written = in_mm(value, unit)
    if written is None:
        return False
    own = unit if value.unit is Unit.UNMARKED else value.unit
    half = value.place / 2 * (Fraction(254, 10) if own is Unit.INCH else 1)
    return abs(written - length_mm) <= (half if value.style.startswith("decimal") else 0)


def _rivals(entry: Entry) -> tuple[TypedValue, ...]:
    """What the value may say else, however improbable, down to a share of the best.

    A reading that is this one rounded, .187 for .1875, says nothing else.
    """
    best, *others = entry.options
    floor = RIVAL_SHARE * best.probability
    return tuple(o.value for o in others if o.probability >= floor and not _is_rounded(o.value, best.value))


def _is_rounded(value: TypedValue, exact: TypedValue) -> bool:
    if value.nominal is None or exact.nominal is None or value.unit is not exact.unit:
        return False
    return value.style.startswith("decimal") and abs(value.nominal - exact.nominal) <= value.place / 2


def _shown(length_mm: Fraction, unit: Unit) -> str:
    return f"{float(length_mm) / 25.4:.4g} in" if unit is Unit.INCH else f"{float(length_mm):.4g} mm"


def _settle_thread(item: Judged) -> Judged:
    assert item.chosen is not None
    assert item.chosen.value.name is not None
    own = thread_designation(item.chosen.value.name)
    found = threads(own)
    if not found:
        return item
    others = {thread_designation(rival.name) for rival in _rivals(item.entry) if rival.name} - {own}
    tight = not any(threads(other) for other in others)
    return _confirmed(item, Reason.THREAD_TABLE.say(series=found[0].series), tight)


def _confirmed(item: Judged, words: str, tight: bool) -> Judged:
    """Add a table's word; agreed where the table is tight, the reading likely, and nothing contradicts it."""
    told = replace(item, reasons=(*item.reasons, words))
    likely = item.entry.reading >= LEAST_SINGLE and item.entry.options[0].probability >= LEAST_READING
    if item.state is not State.UNPROVEN or not tight or not likely or item.rivals or _contradicted(item):
        return told
    alone = Reason.NOT_MEASURED.say()
    reasons = tuple(reason for reason in told.reasons if reason != alone)
    return replace(told, reasons=reasons, state=State.AGREED, confidence=max(item.confidence, 1 - PRINT_WRONG))


def _contradicted(item: Judged) -> bool:
    """Is what was measured, if anything, another length?"""
    if item.measured is None or item.measured_std is None or item.chosen is None:
        return False
    return abs(item.measured - float(item.chosen.value.nominal or 0)) > RIVAL_Z * item.measured_std
