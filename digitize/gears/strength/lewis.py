"""The Lewis form factor: how a tooth's shape bears a load at its tip.

Glossary
--------
form factor Y
    W = S F m Y: load along the pitch line, stress, face width, module. The load acts at the tip and is not shared.
parabola
    Of all parabolas with their apex where the load crosses the tooth's axis, the one that just touches the root curve:
    a beam of that shape has the same stress everywhere.

References
----------
.. [1] Lewis 1892; table recalled (LEWIS-1892;MH-MEM), interpolated linearly in 1/N.
.. [2] The construction on the generated root is standard beam theory (derived); it differs from the table, which
   ignores undercut at 14 1/2 deg, by up to 12 percent there and 5 percent at 20 deg.
"""

from math import tan

import numpy as np

from digitize.gears.cuts import Cut
from digitize.gears.strength.strength_tables import lewis_table
from digitize.gears.teeth.tooth import GearSpec, half_angle_rad, space_side

ROOT_STEPS = 400
"""Places on the root curve that are tried; the factor is flat there, so more change nothing in the fourth figure."""
FEWEST_TABLED = 12
"""The table starts here."""


def form_factor(cut: Cut, teeth: int) -> tuple[float, str]:
    """Form factor of a cut's tooth and where it is taken from.

    Examples
    --------
    >>> from fractions import Fraction
    >>> from digitize.gears.pitch import make_pitch
    >>> from digitize.gears.cuts import cuts_at
    >>> from digitize.gears.systems import system
    >>> form_factor(cuts_at(system("asa_145_full"), make_pitch("DP", Fraction(8)))[0], 42)[1]
    'Lewis table, 14 1/2 deg'
    """
    column = _column(cut)
    if column is not None and teeth >= FEWEST_TABLED:
        return tabled(column, teeth), _NAMES[column]
    if cut.system.form == "involute":
        return by_construction(GearSpec.from_cut(cut, teeth)), "parabola drawn in the generated tooth"
    return tabled("Y_14_5", max(teeth, FEWEST_TABLED)), "Lewis table, 14 1/2 deg, as the nearest form"


_NAMES = {
    "Y_14_5": "Lewis table, 14 1/2 deg",
    "Y_20_full": "Lewis table, 20 deg full depth",
    "Y_20_stub": "Lewis table, 20 deg stub",
}


def _column(cut: Cut) -> str | None:
    table = {(14.5, "full_depth"): "Y_14_5", (20.0, "full_depth"): "Y_20_full", (20.0, "stub"): "Y_20_stub"}
    return table.get((cut.system.pressure_angle_deg or 0.0, cut.system.kind))


def tabled(column: str, teeth: int) -> float:
    """The table's factor, linear in 1/teeth between its rows."""
    rows = sorted(lewis_table(column))
    return float(np.interp(1 / teeth, [row[0] for row in rows], [row[1] for row in rows]))


def by_construction(gear: GearSpec) -> float:
    """Form factor by the parabola in the tooth as generated, load at the tip.

    Examples
    --------
    >>> round(by_construction(GearSpec(20, 1.0, 20.0, dedendum=1.25, fillet_radius=0.3)), 2)
    0.31
    """
    side = space_side(gear)
    apex = _apex_mm(gear)
    turn = np.exp(1j * np.pi / gear.teeth)
    # In the frame of the tooth on the +y axis: half width across, height along.
    root = np.array([side.root_curve(t) for t in np.linspace(0.0, side.root_end, ROOT_STEPS)]) * turn
    half_width, below = np.abs(root.real), apex - root.imag
    return float((4 * half_width**2 / (6 * below)).min() / gear.module_mm)


def _apex_mm(gear: GearSpec) -> float:
    """Height over the gear's centre at which the load on the tip crosses the tooth's axis.

    The load is tangent to the base circle; at the tooth's axis it stands rb / cos(load angle) from the centre, the
    load angle being the tip's roll less the half angle of the tooth at the base circle.
    """
    base_half = half_angle_rad(gear, gear.base_radius_mm)
    roll = tan(np.arccos(gear.base_radius_mm / gear.tip_radius_mm))
    return float(gear.base_radius_mm / np.cos(roll - base_half))
