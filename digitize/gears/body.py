"""Bore, key, hub and holes as a person gives them at the desk."""

from dataclasses import dataclass
from fractions import Fraction

from calibrate.errors import InputError
from digitize.gears.bore import Keyseat, check_bore
from digitize.gears.keys import GivenKey, key_from, keyseat_from
from digitize.gears.lengths import parse_length
from digitize.gears.options import BodyInput
from digitize.standards import threads

FEWEST_HOLES, MOST_HOLES = 2, 24
"""Holes in a web (common practice, no source)."""


@dataclass(frozen=True)
class Holes:
    """Equal holes, evenly spaced on a circle about the axis, the first on the +x axis."""

    count: int
    diameter_mm: float
    circle_mm: float


@dataclass(frozen=True)
class Screw:
    """A set-screw: its thread as written, the outside of the thread, and the series that have it."""

    thread: str
    major_mm: float
    series: str


@dataclass(frozen=True)
class GivenBody:
    """What is given of the gear's body; None where nothing is. ``unproven`` names what rests on one reading alone."""

    face_mm: float | None = None
    bore_mm: float | None = None
    key: GivenKey | None = None
    key_length_mm: float | None = None
    keyseat: Keyseat | None = None
    hub_mm: float | None = None
    rim_mm: float | None = None
    holes: Holes | None = None
    screw: Screw | None = None
    unproven: tuple[str, ...] = ()


def body_from(typed: BodyInput) -> GivenBody:
    """Read what was typed of the body.

    Raises
    ------
    InputError
        With one sentence, for whatever can't be meant.

    Examples
    --------
    >>> body_from(BodyInput(bore="1in", key="ANSI")).key.width_mm
    6.35
    """
    bore = _size(typed.bore, "bore")
    if bore is None and any((typed.key, typed.keyseat, typed.set_screw)):
        raise InputError("A key, a keyseat or a set-screw needs the bore; give it.")
    key = None if bore is None else key_from(typed.key, bore)
    if key is not None and key.half_round is not None and typed.key_length is not None:
        raise InputError("A half-round key's length follows from its number; leave --key-length out.")
    seat = None if bore is None else keyseat_from(typed.keyseat, typed.key, bore, key)
    if bore is not None:
        check_bore(float(bore), seat)
    return GivenBody(
        _mm(typed.face, "face"),
        None if bore is None else float(bore),
        key,
        _mm(typed.key_length, "key length"),
        seat,
        _mm(typed.hub_diameter, "hub diameter"),
        _mm(typed.rim_thickness, "rim thickness"),
        _holes(typed.holes),
        _screw(typed.set_screw),
    )


def _size(text: str | None, name: str) -> Fraction | None:
    return None if text is None else parse_length(text, name).value_mm


def _mm(text: str | None, name: str) -> float | None:
    size = _size(text, name)
    return None if size is None else float(size)


def _holes(text: str | None) -> Holes | None:
    if text is None:
        return None
    count, _, rest = text.partition(":")
    size, _, circle = rest.partition(":")
    if not count.isdigit() or not circle:
        raise InputError(f'The holes "{text}" can\'t be read; write how many, their size and circle: 4:1/2in:3in.')
    if not FEWEST_HOLES <= int(count) <= MOST_HOLES:
        raise InputError(f"{count} holes can't be meant; give {FEWEST_HOLES} to {MOST_HOLES}.")
    diameter, across = (float(parse_length(part, "holes").value_mm) for part in (size, circle))
    return Holes(int(count), diameter, across)


def _screw(text: str | None) -> Screw | None:
    if text is None:
        return None
    found = screw_of(text)
    if found is None:
        raise InputError(f'The set-screw "{text}" names no single thread of the tables; write 1/4-20 or M6.')
    return found


def screw_of(text: str) -> Screw | None:
    """The set-screw of a thread as written; None where no table has it, or as threads of several pitches.

    Examples
    --------
    >>> screw_of("1/4-20")
    Screw(thread='1/4-20', major_mm=6.35, series='UNC, USS or BSW')
    """
    found = threads(text)
    if len({(row.major_mm, row.pitch_mm) for row in found}) != 1:
        return None
    *others, last = dict.fromkeys(row.series for row in found)
    return Screw(text.strip(), float(found[0].major_mm), f"{', '.join(others)} or {last}" if others else last)
