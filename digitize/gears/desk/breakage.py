"""What breaks first, from what is typed at the desk to a ranked answer."""

from dataclasses import dataclass, fields

from calibrate.errors import InputError
from digitize.dimensions.table import State
from digitize.gears.body import GivenBody
from digitize.gears.cuts import Cut, cut_named
from digitize.gears.desk.quantities import (
    parse_power_w,
    parse_speed_rpm,
    parse_torque_nm,
    torque_of_power_nm,
    torque_text,
)
from digitize.gears.identifying.claim import title_of
from digitize.gears.identifying.finding import Candidate, GearFinding
from digitize.gears.lengths import parse_length
from digitize.gears.options import DutyInput
from digitize.gears.strength.sacrifice import Verdict, verdict
from digitize.gears.strength.strength import TOOTH, WeakPoint, weak_points
from digitize.gears.strength.strength_tables import material
from digitize.gears.strength.under_load import Body, Duty, Key, Mate

LEAST_WEIGHED = 0.02
"""Candidates less probable than this do not widen the tooth's range."""
SAME_TORQUE = 1.02
"""Torques nearer than this are one."""
CAUTION = (
    "An estimate for comparing the parts of this gear with each other, no rating: no shock, wear, fatigue, heat or "
    "moisture is counted, and guards, load holding and local codes come first."
)


@dataclass(frozen=True)
class Breakage:
    """What breaks first.

    Attributes
    ----------
    tooth_title : str
        The tooth that was reckoned with.
    duty : Duty
    ranked : tuple of WeakPoint
        Weakest first.
    verdict : Verdict
    notes : tuple of str
        What was assumed.
    """

    tooth_title: str
    duty: Duty
    ranked: tuple[WeakPoint, ...]
    verdict: Verdict
    notes: tuple[str, ...]


def breakage(typed: DutyInput, given: GivenBody, finding: GearFinding, mate: int | None, unit: str) -> Breakage | None:
    """Rank what breaks on the leading candidate's gear; None where nothing of a duty was typed.

    Raises
    ------
    InputError
        Where something is missing, or no tooth is known to reckon with.
    """
    if all(getattr(typed, each.name) is None for each in fields(typed)):
        return None
    duty, body = duty_from(typed), _body(typed, given)
    if not finding.candidates or finding.none_probability > 0.5:
        raise InputError(
            "No tooth system fits these sizes, so nothing can be said of what breaks; mend the sizes first."
        )
    leading = finding.candidates[0]
    cut = _cut(leading)
    other = _mate(typed, body, mate)
    ranked = weak_points(cut, leading.teeth, body, duty.speed_rpm, other)
    notes = (*_of_the_tooth(finding, leading, body, duty, unit), *_of_the_duty(duty), *_of_the_body(body))
    judged = _judged(finding, leading, body, duty, other, unit)
    return Breakage(title_of(finding), duty, tuple(ranked), judged, notes)


def _judged(finding: GearFinding, leading: Candidate, body: Body, duty: Duty, mate: Mate | None, unit: str) -> Verdict:
    """The verdict on the leading candidate, or, where it is not that of every system left, that it depends."""

    def of(each: Candidate) -> Verdict:
        cut = _cut(each)
        return verdict(weak_points(cut, each.teeth, body, duty.speed_rpm, mate), cut, each.teeth, body, unit)

    mine = of(leading)
    others = [] if finding.state is State.AGREED else [each for each in _weighed(finding) if each is not leading]
    other = next((each for each in others if of(each).sure is not mine.sure), None)
    if other is None:
        return mine
    said = f"Whether the teeth go first depends on the system, which is {finding.state.value}."
    return Verdict(None, f"{said} {mine.sentence} As {other.title}: {of(other).sentence}", mine.changes)


def _weighed(finding: GearFinding) -> list[Candidate]:
    """Candidates that count, the leading one first."""
    leading, *others = finding.candidates
    return [leading, *(each for each in others if each.probability >= LEAST_WEIGHED)]


def duty_from(typed: DutyInput) -> Duty:
    """Torque and speed from what was typed.

    Raises
    ------
    InputError
        Where neither a torque nor power and speed are given, or both.
    """
    speed = 0.0 if typed.speed is None else parse_speed_rpm(typed.speed)
    if (typed.torque is None) == (typed.power is None):
        raise InputError("What breaks first needs either --torque, or --power with --speed.")
    if typed.torque is not None:
        return Duty(parse_torque_nm(typed.torque), speed)
    if typed.power is None or not speed:
        raise InputError("A power needs --speed to give a torque.")
    return Duty(torque_of_power_nm(parse_power_w(typed.power), speed), speed)


def _body(typed: DutyInput, given: GivenBody) -> Body:
    if given.face_mm is None or given.bore_mm is None or typed.gear_material is None:
        raise InputError("What breaks first needs --face, --bore and --gear-material.")
    made_of = material(typed.gear_material)
    hub = made_of if typed.hub_material is None else material(typed.hub_material)
    if hub != made_of and given.hub_mm is None:
        raise InputError("A hub of another material than the gear needs --hub-diameter.")
    key = _key(typed, given, given.face_mm)
    return Body(given.face_mm, given.bore_mm, made_of, hub, key, given.hub_mm, given.rim_mm)


def _key(typed: DutyInput, given: GivenBody, face_mm: float) -> Key | None:
    """The key with the length that bears: as given, else all of the gear's width that it fills."""
    if given.key is None:
        return None
    length_mm = face_mm if given.key_length_mm is None else given.key_length_mm
    if given.key.length_mm is not None:
        length_mm = min(face_mm, given.key.length_mm)
    made_of = material("steel" if typed.key_material is None else typed.key_material)
    seat_mm = None if given.keyseat is None else given.keyseat.depth_at_side_mm
    return Key(given.key.width_mm, given.key.height_mm, length_mm, made_of, seat_mm, given.key.half_round is not None)


def _mate(typed: DutyInput, body: Body, teeth: int | None) -> Mate | None:
    if typed.mate_material is None:
        return None
    if teeth is None:
        raise InputError("To compare the mate's teeth, give --mate-teeth.")
    face = body.face_mm if typed.mate_face is None else float(parse_length(typed.mate_face, "mate's face").value_mm)
    return Mate(teeth, material(typed.mate_material), face)


def _cut(candidate: Candidate) -> Cut:
    cut = cut_named(candidate.system, candidate.title)
    assert cut is not None, f"{candidate.title} was ranked but is no standard cut"
    return cut


def _of_the_tooth(finding: GearFinding, leading: Candidate, body: Body, duty: Duty, unit: str) -> tuple[str, ...]:
    """Whether the tooth is agreed, and what it bears by the other systems that are left."""
    if finding.state is State.AGREED:
        return ()
    torques = []
    for each in _weighed(finding):
        points = weak_points(_cut(each), each.teeth, body, duty.speed_rpm)
        torques.append(next(point.torque_nm for point in points if point.name == TOOTH))
    low, high = min(torques), max(torques)
    said = f"The tooth is {finding.state.value}: reckoned with {leading.title} ({leading.probability:.2f})"
    if high <= SAME_TORQUE * low:
        return (f"{said}; the other systems that are left bear the same.",)
    return (
        f"{said}; by the systems that are left the teeth bear {torque_text(low, unit)} to {torque_text(high, unit)}.",
    )


def _of_the_duty(duty: Duty) -> tuple[str, ...]:
    if duty.speed_rpm:
        return ()
    return ("No speed is given: the teeth are reckoned at rest, and bear less when they run.",)


def _of_the_body(body: Body) -> tuple[str, ...]:
    found = []
    if body.key is None:
        found.append("No key is given: what holds the gear on its shaft is not looked at.")
    if body.hub_material != body.material:
        found.append("What joins the hub to the gear is not looked at.")
    return tuple(found)
