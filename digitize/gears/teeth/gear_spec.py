"""What an external spur gear needs to be cut, and the circles that follow from it."""

from dataclasses import dataclass
from math import cos, pi, radians, tan

from calibrate.errors import InputError
from digitize.gears.cuts import Cut

FEWEST_TEETH = 5
"""Fewer teeth than this no system of the tables cuts to a usable tooth."""


@dataclass(frozen=True)
class GearSpec:
    """What an external spur gear needs to be cut. Heights and radii in modules.

    Attributes
    ----------
    teeth : int
    module_mm : float
    pressure_angle_deg : float
    addendum, dedendum : float
        Of the unshifted tooth.
    fillet_radius : float
        Tip radius of the generating rack; more than fits on the tip is cut down to what fits.
    profile_shift : float
        Shift of the rack outwards; the tip circle moves with it.
    thinning_mm : float
        Taken off the tooth's thickness at the pitch circle, for backlash.
    tip_chamfer_mm : float
        Broken off the corners of the tip: so much along the flank's radius, and so much along the tip circle.
    rolling_radius : float
        Of the circle whose cycloids end a composite tooth's flanks; 0 for a tooth that is all involute.
    """

    teeth: int
    module_mm: float
    pressure_angle_deg: float
    addendum: float = 1.0
    dedendum: float = 1.25
    fillet_radius: float = 0.38
    profile_shift: float = 0.0
    thinning_mm: float = 0.0
    tip_chamfer_mm: float = 0.0
    rolling_radius: float = 0.0

    def __post_init__(self) -> None:
        if self.teeth < FEWEST_TEETH:
            raise InputError(f"A gear of {self.teeth} teeth can't be drawn; give {FEWEST_TEETH} teeth or more.")
        if not self.module_mm > 0 or not 5 <= self.pressure_angle_deg <= 35:
            raise InputError("A gear needs a module above zero and a pressure angle between 5 and 35 degrees.")
        if self.root_radius_mm <= 0 or self.addendum <= 0:
            raise InputError("The tooth is deeper than the gear is large; check teeth, pitch and depth.")
        if not 0 <= self.tip_chamfer_mm < self.addendum * self.module_mm or self.thinning_mm < 0:
            raise InputError("Chamfer and thinning can't be negative, and a chamfer must stay above the pitch line.")

    @classmethod
    def from_cut(cls, cut: Cut, teeth: int, profile_shift: float = 0.0, thinning_mm: float = 0.0) -> "GearSpec":
        """The gear of a standard cut; raises `InputError` for forms that are no involute."""
        angle = cut.system.pressure_angle_deg
        if cut.system.form == "cast" or angle is None:
            raise InputError(f"{cut.system.name}: its flank is not known as a curve, so no outline is drawn from it.")
        m = cut.module_mm
        heights = cut.addendum_mm / m, cut.dedendum_mm / m, cut.fillet_mm / m
        return cls(
            teeth, m, angle, *heights, profile_shift, thinning_mm, rolling_radius=float(cut.system.rolling_radius)
        )

    @property
    def pitch_radius_mm(self) -> float:
        """N m / 2."""
        return self.teeth * self.module_mm / 2

    @property
    def base_radius_mm(self) -> float:
        """Pitch radius times cos a."""
        return self.pitch_radius_mm * cos(self.pressure_angle_rad)

    @property
    def tip_radius_mm(self) -> float:
        """Half the outside diameter."""
        return self.pitch_radius_mm + (self.addendum + self.profile_shift) * self.module_mm

    @property
    def flank_tip_radius_mm(self) -> float:
        """Where the involute ends: at the tip circle, or below it where the corner is chamfered."""
        return self.tip_radius_mm - self.tip_chamfer_mm

    @property
    def root_radius_mm(self) -> float:
        """Half the root diameter."""
        return self.pitch_radius_mm - (self.dedendum - self.profile_shift) * self.module_mm

    @property
    def rolling_mm(self) -> float:
        """Radius of the composite tooth's rolling circle."""
        return self.rolling_radius * self.module_mm

    @property
    def pressure_angle_rad(self) -> float:
        """Pressure angle at the pitch circle."""
        return radians(self.pressure_angle_deg)

    @property
    def thickness_mm(self) -> float:
        """Circular thickness at the pitch circle: m (pi/2 + 2 x tan a) less the thinning."""
        shift = 2 * self.profile_shift * tan(self.pressure_angle_rad)
        return self.module_mm * (pi / 2 + shift) - self.thinning_mm
