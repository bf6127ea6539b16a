"""What a person can say on the review page, checked before it is kept."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, ClassVar

from calibrate.errors import InputError
from calibrate.lengths import parse_length
from digitize.dimensions.confirmed import Place
from digitize.lettering.grammar import parse
from digitize.lettering.text import Callout, Kind
from digitize.strokes.primitives import Point

LONGEST = 200
"""Characters of a typed value: no figure on a print is longer."""


@dataclass(frozen=True)
class Confirm:
    """A figure reads ``said``; ``whole`` as in `digitize.dimensions.confirmed.Confirmation`."""

    kind: ClassVar[str] = "confirm"
    place: Place
    said: str
    whole: bool = True


@dataclass(frozen=True)
class Strike:
    """A block is no dimension."""

    kind: ClassVar[str] = "strike"
    place: Place


@dataclass(frozen=True)
class Add:
    """A dimension between two points, in source pixels."""

    kind: ClassVar[str] = "add"
    first: Point
    second: Point
    said: str


@dataclass(frozen=True)
class Known:
    """A length of the part that was measured by hand, between two points in source pixels."""

    kind: ClassVar[str] = "known"
    first: Point
    second: Point
    said: str


Statement = Confirm | Strike | Add | Known


def statement(content: Mapping[str, Any]) -> Statement:
    """Check what came from the page or from the journal.

    Raises
    ------
    InputError
        It can't be meant; the message is for the person.
    """
    try:
        match content["kind"]:
            case "confirm":
                said = dimension_text(content["said"])
                return Confirm(_place(content["place"]), said, bool(content.get("whole", True)))
            case "strike":
                return Strike(_place(content["place"]))
            case "add":
                return Add(*_ends(content), dimension_text(content["said"]))
            case "known":
                parse_length(_text(content["said"]), "known length")
                return Known(*_ends(content), _text(content["said"]))
    except (KeyError, TypeError, ValueError, IndexError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError("The page sent something that is no statement; reload it.") from error
    raise InputError("The page sent something that is no statement; reload it.")


def to_json(said: Statement) -> dict[str, Any]:
    """A statement as JSON values."""
    return {"kind": said.kind, **asdict(said)}


def dimension_text(said: Any) -> str:
    """A typed value, where it is one.

    Examples
    --------
    >>> dimension_text(" 1 3/8 "), dimension_text("34.9 mm")
    ('1 3/8', '34.9 mm')
    """
    text = _text(said)
    callout = parse(text)
    if not isinstance(callout, Callout) or all(value.kind is Kind.NOTE for value in callout.values):
        raise InputError(f'"{text}" is no size; write it as on a print: 1 3/8, 1.375, 34.9 mm, Ø12, R6, 45°.')
    return text


def _text(said: Any) -> str:
    if not isinstance(said, str) or not said.strip() or len(said) > LONGEST:
        raise InputError("Nothing was typed; write the value as on a print.")
    return said.strip()


def _place(place: Any) -> Place:
    text, which = place
    return int(text), int(which)


def _ends(content: Mapping[str, Any]) -> tuple[Point, Point]:
    first, second = (tuple(float(value) for value in content[name]) for name in ("first", "second"))
    if len(first) != 2 or len(second) != 2 or first == second:
        raise InputError("The two ends are one point; set them apart.")
    return (first[0], first[1]), (second[0], second[1])
