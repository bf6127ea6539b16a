"""What a person says of a figure: a reading confirmed or corrected, a block that is no dimension, one added by hand.

A person's word is a witness of its own. It stands in for the reader's, it is never read anew, and a value that carries
it is agreed; where the drawing measures otherwise the row says so, and the profile follows the number.

Glossary
--------
place
    Which value of which piece of lettering, ``(text, which)``: indices into the sheet's texts and the callout's values.
    It stays the same however the states change; row ids need not.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from digitize.dimensions.linking.candidates import Candidate, Parser
from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.reasons import Reason
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.table import Measured, State
from digitize.lettering.text import Callout, Kind, Layout, Reading, Text, TextBlock, TypedValue, Unit
from digitize.strokes.primitives import Point

PERSON = "person"
"""Reader's name of lettering that a person added."""
NO_DIMENSION = TypedValue(Kind.NOTE, None, Unit.NONE, name="words")
"""What a block means that a person has struck out."""
CONFIRMED_CONFIDENCE = 0.999
"""People misread too (common practice, no source)."""
ADDED_HEIGHT_MM = 3.5
"""Height given to the figure of an added dimension, in mm of paper: ISO 3098's usual size."""

Place = tuple[int, int]


@dataclass(frozen=True)
class Confirmation:
    """One statement by one person.

    Attributes
    ----------
    place : Place
    said : str or None
        Canonical text as the person reads it; None where the block is no dimension.
    by, on : str
        Who, and the ISO date.
    whole : bool
        Does ``said`` stand for the whole callout, or for the one value of ``place``?
    """

    place: Place
    said: str | None
    by: str
    on: str
    whole: bool = True


@dataclass(frozen=True)
class Added:
    """A dimension that a person put in: two ends in level pixels, and what the print says of it."""

    first: Point
    second: Point
    said: str
    by: str
    on: str


def added_text(added: Added, mm_per_px: float) -> Text:
    """The lettering of an added dimension: a block at the middle of its length."""
    x, y = (added.first[0] + added.second[0]) / 2, (added.first[1] + added.second[1]) / 2
    height = ADDED_HEIGHT_MM / mm_per_px
    half = height * max(len(added.said), 1) / 3, height / 2
    left, top, right, bottom = x - half[0], y - half[1], x + half[0], y + half[1]
    quad = (left, top), (right, top), (right, bottom), (left, bottom)
    return Text(TextBlock(quad, 0.0, height, Layout.ROW), (Reading(added.said, 1.0),), PERSON)


def confirm(entries: Sequence[Entry], confirmations: Sequence[Confirmation], parse: Parser) -> tuple[Entry, ...]:
    """Put what people said in the place of what was read.

    Parameters
    ----------
    entries : sequence of Entry
        Not yet linked.
    confirmations : sequence of Confirmation
        The last one of a place holds. Each ``said`` must parse.
    parse : callable
        Canonical text to Callout or None.

    Returns
    -------
    tuple of Entry
        In the order of their texts.
    """
    by_text: dict[int, list[Entry]] = {}
    for entry in entries:
        by_text.setdefault(entry.text, []).append(entry)
    for confirmation in confirmations:
        text = confirmation.place[0]
        if text in by_text:
            by_text[text] = _apply(by_text[text], confirmation, parse)
    return tuple(entry for text in sorted(by_text) for entry in by_text[text])


def _apply(group: Sequence[Entry], confirmation: Confirmation, parse: Parser) -> list[Entry]:
    if confirmation.said is None:
        first = group[0]
        return [replace(first, which=0, value=NO_DIMENSION, options=(), reading=1.0, why_not="", figures=False)]
    callout = parse(confirmation.said)
    if callout is None:
        return list(group)
    which = confirmation.place[1]
    if not confirmation.whole and len(callout.values) == 1 and which < len(group):
        value = _like(callout.values[0], group[which].value)
        return [_said(each, value, callout.text) if each.which == which else each for each in group]
    return _whole(group, callout)


def _whole(group: Sequence[Entry], callout: Callout) -> list[Entry]:
    """A callout that was read or typed whole; a lone value keeps what the print says that it is of."""
    if len(callout.values) == 1 and len(group) == 1:
        return [_said(group[0], _like(callout.values[0], group[0].value), callout.text)]
    return [_said(replace(group[0], which=which), value, callout.text) for which, value in enumerate(callout.values)]


def _like(value: TypedValue, old: TypedValue | None) -> TypedValue:
    """A bare length that is typed for a diameter or a radius is one."""
    if old is None or value.kind is not Kind.LINEAR or value.name is not None or old.kind in (Kind.NOTE, Kind.COUNT):
        return value
    return replace(value, kind=old.kind, name=old.name, count=value.count or old.count)


def _said(entry: Entry, value: TypedValue, text: str) -> Entry:
    return replace(entry, value=value, options=(Candidate(text, value, 1.0),), reading=1.0, why_not="", figures=True)


def added_entries(first_text: int, added: Sequence[Added], parse: Parser) -> tuple[Entry, ...]:
    """Entries of the dimensions that a person put in, already tied to the length they measure."""
    entries = []
    for number, each in enumerate(added):
        callout = parse(each.said)
        if callout is None:
            continue
        value = callout.values[0]
        entries.append(_measured_by_hand(first_text + number, value, callout.text, each))
    return tuple(entries)


HAND_STD_PX = 1.0
"""Standard error of a length between two points that a person set on the enlarged picture, in level pixels."""


def _measured_by_hand(text: int, value: TypedValue, said: str, added: Added) -> Entry:
    (x0, y0), (x1, y1) = added.first, added.second
    size = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    kind = value.kind if value.kind in (Kind.DIAMETER, Kind.RADIUS) else Kind.LINEAR
    at = (x0 + x1) / 2, (y0 + y1) / 2
    measured = Measured(kind, added.first, added.second, size, HAND_STD_PX, at)
    return Entry(text, 0, value, (Candidate(said, value, 1.0),), measured, reading=1.0)


def speakers(entries: Sequence[Entry], confirmations: Sequence[Confirmation]) -> dict[Place, tuple[str, str]]:
    """Who spoke for each value, and when."""
    found: dict[Place, tuple[str, str]] = {}
    for each in confirmations:
        text, which = each.place
        for entry in entries:
            if entry.text == text and (each.whole or entry.which == which):
                found[entry.text, entry.which] = each.by, each.on
    return found


def settle_confirmed(judged: Sequence[Judged], said: Mapping[Place, tuple[str, str]]) -> tuple[Judged, ...]:
    """Make every confirmed value agreed, and say who said so.

    Parameters
    ----------
    judged : sequence of Judged
    said : mapping of place to (by, on)

    Returns
    -------
    tuple of Judged
        What contradicts a confirmed value stays among its reasons, and marks it as contradicted.
    """
    return tuple(
        _confirmed(item, *said[place]) if (place := (item.entry.text, item.entry.which)) in said else item
        for item in judged
    )


def _confirmed(item: Judged, by: str, on: str) -> Judged:
    if not item.entry.options:
        return item
    words = Reason.CONFIRMED.say(by=by, on=on)
    alone = {Reason.NOT_MEASURED.say(), Reason.NO_SCALE.say(), words}
    return replace(
        item,
        chosen=item.entry.options[0],
        state=State.AGREED,
        confidence=CONFIRMED_CONFIDENCE,
        reasons=(*(reason for reason in item.reasons if reason not in alone), words),
        rivals=(),
        confirmed_by=by,
        confirmed_on=on,
        contradicted=item.contradicted or item.state is State.DISPUTED,
    )
