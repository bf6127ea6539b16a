"""What is typed at the desk to learn what breaks first on the gear of a print: nothing that the print tells is lost."""

from digitize.dimensions.table import State
from digitize.gears.body import GivenBody
from digitize.gears.cuts import Cut, cut_named
from digitize.gears.identifying.finding import GearFinding
from digitize.standards import INCH_MM

DUTY = "--gear-material MATERIAL --torque TORQUE"
"""What no print tells: the person's own to fill in."""
LENGTH = "LENGTH"
"""Stands where the print does not tell a length."""


def desk_words(gear: GearFinding, body: GivenBody, unit: str) -> str | None:
    """The command, with what it lacks in capitals; None where the gear's teeth are not agreed.

    Parameters
    ----------
    gear : GearFinding
    body : GivenBody
        Of the print.
    unit : str
        "in" or "mm", the print's.
    """
    if gear.state is not State.AGREED or gear.kind != "spur":
        return None
    leading = gear.candidates[0]
    cut = cut_named(leading.system, leading.title)
    if cut is None or cut.system.pressure_angle_deg is None:
        return None
    across = cut.outside_diameter_mm(leading.teeth)
    teeth = [f"--teeth {leading.teeth}", _pitch(cut), f"--pressure-angle {cut.system.pressure_angle_deg:g}"]
    teeth += [f"--outside-diameter {_length(across, unit)}", f"--whole-depth {_length(cut.whole_depth_mm, unit)}"]
    teeth += [f"--tooth-form {cut.system.form}"]
    sized = [f"--face {_length(body.face_mm, unit)}", f"--bore {_length(body.bore_mm, unit)}"]
    return " ".join(("digitize gear", *teeth, *sized, *_key(body, unit), DUTY))


def _pitch(cut: Cut) -> str:
    if cut.pitch.kind == "MODULE":
        return f"--module {cut.module_mm:g}"
    pair = cut.pitch.label.removesuffix(" P")
    return f"--diametral-pitch {pair if cut.pitch.kind == 'PAIR' else format(cut.pitch.diametral_pitch, 'g')}"


def _key(body: GivenBody, unit: str) -> list[str]:
    """The key by its number, or as wide as its keyseat and that as deep as the print has it."""
    if body.key is not None and body.key.half_round is not None:
        return [f'--key "No. {body.key.half_round.number}"']
    if body.keyseat is None:
        return []
    seat = body.keyseat
    return [f"--key {_length(seat.width_mm, unit)}", f"--keyseat side:{_length(seat.depth_at_side_mm, unit)}"]


def _length(size_mm: float | None, unit: str) -> str:
    if size_mm is None:
        return LENGTH
    size, places = (size_mm / float(INCH_MM), 4) if unit == "in" else (size_mm, 3)
    return f"{size:.{places}f}".rstrip("0").rstrip(".") + unit
