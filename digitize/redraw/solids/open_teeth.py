"""What a solid lacks of a gear's teeth, told together with what it would lack if they were the likeliest ones."""

from dataclasses import replace

from digitize.dimensions.table import State
from digitize.gears.identifying.claim import title_of
from digitize.gears.identifying.finding import GearFinding
from digitize.redraw.solids.solid_shape import Missing


def as_if_agreed(gear: GearFinding | None) -> GearFinding | None:
    """An unproven spur gear as it would be with its likeliest teeth agreed; any other as it is."""
    if gear is None or gear.state is not State.UNPROVEN or not gear.candidates:
        return gear
    return replace(gear, state=State.AGREED)


def lacking_teeth(gear: GearFinding | None) -> Missing | None:
    """Why a gear's teeth are not made, and the options that would settle them; None where they are agreed, or where it
    is no spur gear."""
    if gear is None or gear.kind != "spur" or gear.state is State.AGREED:
        return None
    if gear.state is State.DISPUTED:
        return Missing(f"the sizes of the gear's teeth contradict each other: {gear.evidence[0].rstrip('.')}")
    if not gear.candidates:
        return Missing("nothing tells which teeth the gear has", gear.asked)
    return Missing(f"the gear's teeth are unproven, the likeliest being {title_of(gear)}", gear.asked)
