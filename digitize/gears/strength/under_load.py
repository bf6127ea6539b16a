"""What is weighed when a gear is loaded: its body, its key, its mate, and what it carries."""

from dataclasses import dataclass

from digitize.gears.strength.strength_tables import Material, key_rule, material


@dataclass(frozen=True)
class Key:
    """A key, half of whose height bears in the gear; of a half-round one that height is its width, its length fixed.

    ``seat_mm`` is the keyseat's depth in the gear at the side, where it is known; else half the height.
    """

    width_mm: float
    height_mm: float
    length_mm: float
    material: Material
    seat_mm: float | None = None
    half_round: bool = False

    @property
    def shear_mpa(self) -> float:
        """Shear that the key bears: steel's, in proportion to the safe stress (common practice, no source)."""
        return key_rule().shear_mpa * self._strength()

    @property
    def bearing_mpa(self) -> float:
        """Bearing stress that the key bears, in the same proportion."""
        return key_rule().bearing_mpa * self._strength()

    def _strength(self) -> float:
        return self.material.safe_stress_mpa / material(key_rule().reference_material).safe_stress_mpa


@dataclass(frozen=True)
class Body:
    """What the teeth sit on.

    Attributes
    ----------
    face_mm, bore_mm : float
    material : Material
        Of the teeth and rim.
    hub_material : Material
        Of what the key bears against.
    key : Key or None
        None where the gear is held by something else: no figure of the bore is given then.
    hub_mm : float or None
        Outside diameter of the hub; None where the gear is solid to the tooth roots.
    rim_mm : float or None
        From the tooth roots inwards to the web; None where it is solid.
    """

    face_mm: float
    bore_mm: float
    material: Material
    hub_material: Material
    key: Key | None = None
    hub_mm: float | None = None
    rim_mm: float | None = None


@dataclass(frozen=True)
class Mate:
    """The gear it runs with, of the same cut."""

    teeth: int
    material: Material
    face_mm: float


@dataclass(frozen=True)
class Duty:
    """What the gear carries; ``speed_rpm`` 0 where none is given, and then no velocity factor is taken."""

    torque_nm: float
    speed_rpm: float = 0.0
