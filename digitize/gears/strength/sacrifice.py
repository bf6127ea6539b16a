"""Whether a gear would break at its teeth before anything else, by how much, and what would change it."""

from collections.abc import Iterator
from dataclasses import dataclass

from scipy.optimize import brentq

from digitize.gears.cuts import Cut
from digitize.gears.sentences import length
from digitize.gears.strength.strength import (
    KEY_BEARING,
    KEY_SHEAR,
    KEYWAY,
    MATE_TOOTH,
    RIM,
    TOOTH,
    WALL,
    WeakPoint,
    counted_length_mm,
    hub_wall_mm,
    keyseat_of,
    wall_force_n,
)
from digitize.gears.strength.strength_tables import key_rule, rim_rule, usual_face_modules, wall_rule
from digitize.gears.strength.under_load import Body, Key

SURE_MARGIN = 1.5
"""The teeth must be so much weaker than the next part before they are said to go first: the allowed stresses of teeth
and of keys carry different safeties (common practice, no source)."""


@dataclass(frozen=True)
class Verdict:
    """Whether the teeth go first: ``sure`` True, False, or None where the margin is too small to say."""

    sure: bool | None
    sentence: str
    changes: tuple[str, ...]


def verdict(ranked: list[WeakPoint], cut: Cut, teeth: int, body: Body, unit: str) -> Verdict:
    """Judge a gear that is meant to be sacrificed.

    Parameters
    ----------
    ranked : list of WeakPoint
        Weakest first.
    unit : str
        "in" or "mm", of the sentences.
    """
    tooth = next(point for point in ranked if point.name == TOOTH)
    others = [point for point in ranked if point is not tooth]
    weak = [point for point in others if point.torque_nm < SURE_MARGIN * tooth.torque_nm]
    changes = tuple(_changes(weak, tooth, cut, teeth, body, unit))
    if not others:
        return Verdict(None, "Only the teeth were looked at: give bore and key to compare them.", ())
    return Verdict(*_judged(tooth, others), (*changes, *cautions_of_size(cut, teeth, body, unit)))


def _judged(tooth: WeakPoint, others: list[WeakPoint]) -> tuple[bool | None, str]:
    """Whether the tooth goes first, as a flag and a sentence."""
    nearest = others[0]
    margin = nearest.torque_nm / tooth.torque_nm
    if margin >= SURE_MARGIN:
        return True, f"The teeth would go first; the next, the {nearest.name}, bears {margin:.2f} times as much."
    if margin >= 1:
        return None, (
            f"Teeth and {nearest.name} lie too near to say which goes first: the margin is {margin:.2f}, "
            f"and {SURE_MARGIN:g} is wanted."
        )
    return False, (
        f"The {nearest.name} would go before the teeth, at {margin:.2f} of what they bear: as it is, this gear can't "
        "be the sacrificial one."
    )


def _changes(weak: list[WeakPoint], tooth: WeakPoint, cut: Cut, teeth: int, body: Body, unit: str) -> Iterator[str]:
    """What would put each of the weak parts behind the teeth."""
    wanted = SURE_MARGIN * tooth.torque_nm
    by_length = [point for point in weak if point.name in (KEY_SHEAR, KEY_BEARING, KEYWAY)]
    if by_length and body.key is not None:
        yield _longer_key(by_length, wanted, body, body.key, unit)
    for point in weak:
        if point.name == WALL:
            yield _thicker_wall(point, wanted, cut, teeth, body, unit)
        if point.name == RIM:
            needed = rim_rule().enough * cut.whole_depth_mm
            yield f"A rim of {length(needed, unit)} or more is as strong as the teeth."
        if point.name == MATE_TOOTH:
            yield "Make this gear of weaker stuff than the mate, or the mate wider."
    if any(point.name != RIM for point in weak):
        share = min(point.torque_nm for point in weak if point.name != RIM) / wanted
        yield (
            f"A face of {length(share * body.face_mm, unit)} instead of {length(body.face_mm, unit)}, key and hub "
            "kept, would let the teeth go first; they then bear that much less."
        )


def _longer_key(points: list[WeakPoint], wanted_nm: float, body: Body, key: Key, unit: str) -> str:
    counted, most = counted_length_mm(body, key), key_rule().most_length_bores * body.bore_mm
    needed = counted * wanted_nm / min(point.torque_nm for point in points)
    names = " and ".join(point.name for point in points)
    if needed <= most:
        kind = "parallel key" if key.half_round else "key"
        return f"A {kind} and hub {length(needed, unit)} long would put {names} behind the teeth."
    instead = "a metal hub" if body.hub_material.family == "nonmetallic" else "two keys"
    return (
        f"To put {names} behind the teeth would take {length(needed, unit)} of key, more than the two bores "
        f"({length(most, unit)}) that count; take {instead}."
    )


def _thicker_wall(point: WeakPoint, wanted_nm: float, cut: Cut, teeth: int, body: Body, unit: str) -> str:
    wall, depth = hub_wall_mm(cut, teeth, body), keyseat_of(body).depth_at_side_mm
    wanted = wanted_nm / point.torque_nm

    def short(thickness: float) -> float:
        now, then = (wall_force_n(w, depth, 1.0, body.hub_material) for w in (wall, thickness))
        return then / now - wanted

    room = (cut.root_diameter_mm(teeth) - (body.hub_mm or cut.root_diameter_mm(teeth))) / 2 + wall
    if short(room) < 0:
        return (
            f"Even solid to the tooth roots, {length(room, unit)} of wall, the hub would not stand behind the teeth; "
            "take a longer key and hub, or a metal hub."
        )
    needed = float(brentq(short, wall, room))
    return f"{length(needed, unit)} of wall over the keyseat instead of {length(wall, unit)} would put it behind."


def cautions_of_size(cut: Cut, teeth: int, body: Body, unit: str) -> tuple[str, ...]:
    """Sizes that practice warns about whatever the torque."""
    return (*_wall_caution(cut, teeth, body, unit), *_face_caution(cut, body, unit), *_key_caution(body, unit))


def _wall_caution(cut: Cut, teeth: int, body: Body, unit: str) -> tuple[str, ...]:
    if body.key is None:
        return ()
    wall, rule, depth = hub_wall_mm(cut, teeth, body), wall_rule(), cut.whole_depth_mm
    if wall < rule.absolute * depth:
        return (f"Warning: the wall over the keyseat, {length(wall, unit)}, is under half the tooth's whole depth.",)
    if wall < rule.wanted * depth:
        return (
            f"The wall over the keyseat, {length(wall, unit)}, should be at least the whole depth, "
            f"{length(depth, unit)}.",
        )
    return ()


def _face_caution(cut: Cut, body: Body, unit: str) -> tuple[str, ...]:
    least, most = (share * cut.module_mm for share in usual_face_modules())
    if least <= body.face_mm <= most:
        return ()
    return (f"The face is usually {length(least, unit)} to {length(most, unit)} wide for this pitch.",)


def _key_caution(body: Body, unit: str) -> tuple[str, ...]:
    if body.key is None or counted_length_mm(body, body.key) == body.key.length_mm:
        return ()
    return (f"Only {length(counted_length_mm(body, body.key), unit)} of the key is counted: two bores.",)
