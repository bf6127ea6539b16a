"""What breaks first on a gear with bore and key: every part that carries the torque, the weakest first.

Each part's figure is the torque at which it reaches the stress that period practice allowed it. The figures compare
the parts of one gear with each other; they are no rating of any.

Glossary
--------
key force F
    2 T / D: the torque at the bore's edge, D the bore.
keyseat corner
    Where the keyseat's side meets its top: the point of the keyseat nearest the outside.
hub wall
    From the keyseat corner to the outside of the hub, or to the tooth roots where the gear has no hub of its own.
sacrificial gear
    One that is meant to break before anything dearer does: its teeth, not its key, since a stripped keyway is not seen
    and lets the shaft turn free.

References
----------
.. [1] ``strength.toml`` names the source of every rule and stress.
"""

from dataclasses import dataclass
from math import hypot, log, pi

from calibrate.errors import InputError
from digitize.gears.bore import Keyseat, chordal_height_mm
from digitize.gears.cuts import Cut
from digitize.gears.strength.lewis import form_factor
from digitize.gears.strength.strength_tables import (
    Material,
    key_rule,
    nonmetallic_keyway_mpa,
    rim_rule,
    velocity_factor,
)
from digitize.gears.strength.under_load import Body, Key, Mate

MM_PER_M = 1000.0
TOOTH, RIM, MATE_TOOTH = "tooth", "rim under the teeth", "mate's tooth"
KEY_SHEAR, KEY_BEARING = "key in shear", "key in bearing"
KEYWAY, WALL = "keyway side in the gear", "hub wall over the keyseat"


@dataclass(frozen=True)
class WeakPoint:
    """One part: its name, the torque on the gear at which it reaches its stress, and how that was found."""

    name: str
    torque_nm: float
    basis: str


def weak_points(cut: Cut, teeth: int, body: Body, speed_rpm: float = 0.0, mate: Mate | None = None) -> list[WeakPoint]:
    """Every part that carries the torque, the weakest first.

    Raises
    ------
    InputError
        Where bore, keyseat, hub and teeth do not fit into each other.
    """
    _check(cut, teeth, body)
    tooth = _tooth(cut, teeth, body, speed_rpm)
    found = [tooth, *_rim(cut, teeth, body, tooth)]
    if mate is not None:
        found.append(_mate_tooth(cut, teeth, mate, speed_rpm))
    if body.key is not None:
        found += _bore_parts(cut, teeth, body, body.key)
    return sorted(found, key=lambda point: point.torque_nm)


def pitch_line_mm_s(cut: Cut, teeth: int, speed_rpm: float) -> float:
    """Speed along the pitch circle: pi D n."""
    return pi * teeth * cut.module_mm * speed_rpm / 60


def keyseat_of(body: Body) -> Keyseat:
    """The keyseat in the gear, half the key's height deep at the side unless its depth is known.

    Raises
    ------
    InputError
        Where the gear has no key.
    """
    if body.key is None:
        raise InputError("Without a key there is no keyseat; give the key.")
    key = body.key
    return Keyseat(key.width_mm, key.height_mm / 2 if key.seat_mm is None else key.seat_mm)


def hub_wall_mm(cut: Cut, teeth: int, body: Body) -> float:
    """The hub wall: from the keyseat corner to the outside of the hub or the tooth roots."""
    seat = keyseat_of(body)
    top = body.bore_mm / 2 - chordal_height_mm(body.bore_mm, seat.width_mm) + seat.depth_at_side_mm
    outside = cut.root_diameter_mm(teeth) if body.hub_mm is None else body.hub_mm
    return outside / 2 - hypot(seat.width_mm / 2, top)


def _check(cut: Cut, teeth: int, body: Body) -> None:
    root = cut.root_diameter_mm(teeth)
    if not 0 < body.bore_mm < root:
        raise InputError("The bore does not fit inside the tooth roots; check bore, teeth and their units.")
    if body.hub_mm is not None and not body.bore_mm < body.hub_mm:
        raise InputError("The hub is no larger than the bore; check both, and their units.")
    if body.key is not None and hub_wall_mm(cut, teeth, body) <= 0:
        raise InputError("The keyseat cuts through the hub or into the teeth; check key, bore and hub diameter.")


def _bending_nm(cut: Cut, teeth: int, made_of: Material, face_mm: float, speed_mm_s: float) -> tuple[float, str]:
    """Torque on a gear of these teeth at which they reach the safe stress: W = S F m Y, at the pitch radius."""
    shape, basis = form_factor(cut, teeth)
    stress = made_of.safe_stress_mpa * velocity_factor(made_of.family, speed_mm_s)
    load_n = stress * face_mm * cut.module_mm * shape
    return load_n * teeth * cut.module_mm / 2 / MM_PER_M, f"{made_of.name}, form factor {shape:.3f}, {basis}"


def _tooth(cut: Cut, teeth: int, body: Body, speed_rpm: float) -> WeakPoint:
    speed = pitch_line_mm_s(cut, teeth, speed_rpm)
    torque, basis = _bending_nm(cut, teeth, body.material, body.face_mm, speed)
    return WeakPoint(TOOTH, torque, basis)


def _mate_tooth(cut: Cut, teeth: int, mate: Mate, speed_rpm: float) -> WeakPoint:
    speed = pitch_line_mm_s(cut, teeth, speed_rpm)
    torque, basis = _bending_nm(cut, mate.teeth, mate.material, mate.face_mm, speed)
    return WeakPoint(MATE_TOOTH, torque * teeth / mate.teeth, basis)


def _rim(cut: Cut, teeth: int, body: Body, tooth: WeakPoint) -> list[WeakPoint]:
    """The rim, where it is thin enough to raise the stress at the root over the tooth's own."""
    backing = [size for size in (body.rim_mm, _solid_backing_mm(cut, teeth, body)) if size is not None]
    if not backing:
        return []
    rule, share = rim_rule(), min(backing) / cut.whole_depth_mm
    if share >= rule.enough:
        return []
    basis = f"rim of {share:.2f} whole depths"
    if share < rule.least:
        basis += ", thinner than the rule goes: it may break right through"
    return [WeakPoint(RIM, tooth.torque_nm / (rule.factor * log(rule.offset / max(share, 1e-3))), basis)]


def _solid_backing_mm(cut: Cut, teeth: int, body: Body) -> float | None:
    """Metal between the tooth roots and the bore or keyseat of a gear that is solid."""
    if body.rim_mm is not None or body.hub_mm is not None:
        return None
    if body.key is not None:
        return hub_wall_mm(cut, teeth, body)
    return (cut.root_diameter_mm(teeth) - body.bore_mm) / 2


def counted_length_mm(body: Body, key: Key) -> float:
    """Length of the key that counts: no more than two bores of it."""
    return min(key.length_mm, key_rule().most_length_bores * body.bore_mm)


def _bore_parts(cut: Cut, teeth: int, body: Body, key: Key) -> list[WeakPoint]:
    length = counted_length_mm(body, key)
    side_mm2 = length * key.height_mm / 2
    keyway_mpa = keyway_bearing_mpa(body.hub_material)
    forces = (
        (KEY_SHEAR, key.shear_mpa * key.width_mm * length, f"{key.material.name} key, sheared along the bore"),
        (KEY_BEARING, key.bearing_mpa * side_mm2, f"{key.material.name} key, half its height bears"),
        (KEYWAY, keyway_mpa * side_mm2, f"{body.hub_material.name}, half the key's height bears"),
        (WALL, _wall_force_n(cut, teeth, body, length), f"{body.hub_material.name}, {_wall_words(cut, teeth, body)}"),
    )
    return [WeakPoint(name, force * body.bore_mm / 2 / MM_PER_M, basis) for name, force, basis in forces]


def _wall_words(cut: Cut, teeth: int, body: Body) -> str:
    wall = hub_wall_mm(cut, teeth, body)
    return f"wall of {wall / cut.whole_depth_mm:.2f} whole depths, stretched and bent"


def keyway_bearing_mpa(made_of: Material) -> float:
    """Bearing stress that the side of a keyway stands."""
    if made_of.family == "nonmetallic":
        return nonmetallic_keyway_mpa()
    return min(made_of.safe_stress_mpa, key_rule().bearing_mpa)


def _wall_force_n(cut: Cut, teeth: int, body: Body, length_mm: float) -> float:
    """Key force at which the wall reaches the safe stress: S w L / (1 + 3 (w + d) / w)."""
    wall, depth = hub_wall_mm(cut, teeth, body), keyseat_of(body).depth_at_side_mm
    return wall_force_n(wall, depth, length_mm, body.hub_material)


def wall_force_n(wall_mm: float, depth_mm: float, length_mm: float, made_of: Material) -> float:
    """The key force that a wall of any thickness bears."""
    return made_of.safe_stress_mpa * wall_mm * length_mm / (1 + 3 * (wall_mm + depth_mm) / wall_mm)
