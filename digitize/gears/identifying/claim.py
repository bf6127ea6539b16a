"""What may be said of a finding's tooth, and by which of its names.

Two standards may give one tooth to the micron: 4 P of the 20 deg stub system and 4/5 P of the two-number one are cut by
one cutter and differ only in what a maker writes. A claim is of the metal. It names a system by itself only where
nearly all of the tooth's posterior goes by that name; otherwise all its names stand side by side.
"""

from digitize.gears.identifying.finding import GearFinding, ToothName

NAME_SHARE = 0.9
"""Share of a tooth's posterior that one of its names needs before it stands alone: a wrong name cuts no wrong tooth."""
SAME_FILLET_MM = 0.001
"""Racks whose tips differ by less than this leave one root."""


def title_of(finding: GearFinding) -> str:
    """The leading tooth by its name, or by all of them where none stands alone.

    Examples
    --------
    >>> from digitize.gears.identifying.evidence import Evidence, Quantity
    >>> from digitize.gears.identifying.identify import identify
    >>> size = Quantity(139.7, place=0.0254)
    >>> title_of(identify(Evidence(teeth=42, outside_diameter=size)))
    '8 P, 14 1/2 deg full-depth involute (ASA B6.1-1932)'
    """
    leading = finding.candidates[0].title
    others = [] if named_alone(finding) else [name.title for name in finding.names[1:]]
    return f"{leading}, the same tooth as {'; '.join(others)}" if others else leading


def named_alone(finding: GearFinding) -> bool:
    """Whether one name is surely enough the maker's to stand alone."""
    return len(finding.names) < 2 or finding.names[0].share >= NAME_SHARE


def pitch_is_named(finding: GearFinding) -> bool:
    """Whether the names, so far as they count, write the pitch alike: not 4 P or 4/5 P."""
    alike = (name.share for name in finding.names if name.pitch == finding.names[0].pitch)
    return not finding.names or sum(alike) >= NAME_SHARE


def root_rounds_mm(names: tuple[ToothName, ...]) -> tuple[float, float] | None:
    """Least and most tip radius of the names' racks; None where they leave one root."""
    radii = [name.fillet_mm for name in names]
    if not radii or max(radii) - min(radii) < SAME_FILLET_MM:
        return None
    return min(radii), max(radii)
