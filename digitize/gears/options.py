"""What may be typed at ``digitize gear``: every option once, as a field of one of four groups.

A field's name is the option's name unless ``flag`` says otherwise; all lengths are text with a unit.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any


def option(words: str, shape: str | None = None, flag: str | None = None, empty: Any = None) -> Any:
    """A field that is an option: its help, the shape of its value, and its flag where that is not the name."""
    return field(default=empty, metadata={"help": words, "metavar": shape, "flag": flag})


def flag_of(field_name: str, metadata: Mapping[str, Any]) -> str:
    """What is typed for a field."""
    return str(metadata["flag"] or f"--{field_name.replace('_', '-')}")


@dataclass(frozen=True)
class DeskInput:
    """What is known of the teeth, each length as text; None where nothing is."""

    teeth: int | None = option("Number of teeth.")
    teeth_counted: int | None = option("Teeth counted on a drawing; may be out by one.")
    outside_diameter: str | None = option("Over the tips.", "LENGTH")
    root_diameter: str | None = option("At the bottom of the spaces.", "LENGTH")
    pitch_diameter: str | None = option("As a print states it.", "LENGTH")
    whole_depth: str | None = option("From tip to bottom.", "LENGTH")
    circular_pitch: str | None = option("Tooth to tooth.", "LENGTH")
    tooth_angle: str | None = option("From one tooth to the next, where only a few are drawn.", "DEG")
    diametral_pitch: str | None = option("8, or two numbers: 8/10.", "P")
    module: str | None = option("In millimetres.", "M")
    pressure_angle: str | None = option("14.5 or 14 1/2.", "DEG")
    tooth_form: str | None = option(
        "As hobbed, or by form cutters No. 1 to 8, whose flanks end in cycloids.", "involute|composite"
    )
    chordal_thickness: str | None = option("Chordal, at the pitch circle.", "LENGTH", "--tooth-thickness")
    chordal_addendum: str | None = option("From the tip to that chord.", "LENGTH")
    span: tuple[str, ...] = option("Over K teeth; may be repeated.", "K:LENGTH", empty=())
    pins: tuple[str, ...] = option("Over two pins of diameter D; may be repeated.", "D:LENGTH", empty=())
    centre_distance: str | None = option("To the mate; with --mate-teeth.", "LENGTH")
    mate_teeth: int | None = option("Teeth of the gear it runs with.")
    helix_angle: str | None = option("Of slanted teeth.", "DEG")
    cutter: str | None = option("Number of the form cutter.", "NO")
    words: tuple[str, ...] = option("What is written: STUB, DIN 867 ...; may be repeated.", empty=())
    year: int | None = option("Of the drawing, roughly.")
    source: str | None = option("Where the sizes come from.", "print|part", "--from")


@dataclass(frozen=True)
class BodyInput:
    """What the teeth sit on."""

    face: str | None = option("Width of the teeth along the axis.", "LENGTH")
    bore: str | None = option("Diameter of the bore.", "LENGTH")
    key: str | None = option("3/16in, 3/16inx1/8in; ANSI, BS or DIN by the bore; No. 404 (half round); none.", "KEY")
    key_length: str | None = option("Default: the face width.", "LENGTH")
    keyseat: str | None = option("Depth of the keyseat in the hub: side:, centre: or over: and a length.", "WAY:LENGTH")
    hub_diameter: str | None = option("Outside of the hub; default: solid to the tooth roots.", "LENGTH")
    rim_thickness: str | None = option("From the tooth roots in to the web.", "LENGTH")
    holes: str | None = option("Holes in the web: how many, their size, the circle they stand on.", "N:SIZE:CIRCLE")
    set_screw: str | None = option("Thread of a set-screw through the hub: 1/4-20 UNC, M6.", "THREAD")


@dataclass(frozen=True)
class DutyInput:
    """What the gear carries and is made of."""

    torque: str | None = option("On this gear: 20lbf.ft, 240lbf.in or 27Nm.", "TORQUE")
    power: str | None = option("Instead of the torque: 1hp or 0.75kW; with --speed.", "POWER")
    speed: str | None = option("Of this gear, in turns a minute: 300rpm.", "SPEED")
    gear_material: str | None = option("fibre, phenolic, plastic, cast iron, bronze, steel ...", "MATERIAL")
    hub_material: str | None = option("What the key bears on; default: the gear's.", "MATERIAL")
    key_material: str | None = option("Default: steel.", "MATERIAL")
    mate_material: str | None = option("Compares the mate's teeth too; with --mate-teeth.", "MATERIAL")
    mate_face: str | None = option("Default: this gear's.", "LENGTH")


@dataclass(frozen=True)
class BenchInput:
    """How the gear is made, and what is written for the bench."""

    process: str | None = option("For the usual allowance.", "cut|moulded|printed")
    backlash: str | None = option("Of the pair at the pitch circle; half is taken off this gear.", "LENGTH")
    profile_shift: str | None = option("Of the rack outwards, in modules.", "X")
    tip_chamfer: str | None = option("Broken off the corners of the tips.", "LENGTH")
    sheet: str | None = option("Write the inspection sheet: a name ending in .pdf or .html.", "FILE")
    paper: str | None = option("Of the sheet; default: letter for inches, else A4.", "A4|letter")
    dxf: str | None = option("Draw the gear, and its mate in mesh where one is given.", "FILE")


OF_A_PRINT = (
    "teeth",
    "diametral_pitch",
    "module",
    "pressure_angle",
    "tooth_form",
    "outside_diameter",
    "root_diameter",
    "whole_depth",
    "span",
)
"""Fields of `DeskInput` that ``digitize sheet`` takes too, for what its print leaves open."""
NOTHING_TYPED = DeskInput()


def typed_words(typed: DeskInput) -> tuple[str, ...]:
    """What was typed, field by field.

    Examples
    --------
    >>> typed_words(DeskInput(teeth=42, tooth_form="involute"))
    ('teeth 42', 'tooth form involute')
    """
    values = ((each.name, getattr(typed, each.name), each.default) for each in fields(typed))
    return tuple(
        f"{name.replace('_', ' ')} {' and '.join(value) if isinstance(value, tuple) else value}"
        for name, value, empty in values
        if value != empty
    )


def typed_over(before: DeskInput, after: DeskInput) -> DeskInput:
    """What was typed before, and over it what is typed now."""
    new = {each.name: getattr(after, each.name) for each in fields(after) if getattr(after, each.name) != each.default}
    return replace(before, **new)


def option_words(name: str) -> str:
    """A field of `DeskInput` as it is typed.

    Examples
    --------
    >>> option_words("tooth_form"), option_words("teeth")
    ('--tooth-form involute|composite', '--teeth N')
    """
    metadata = DeskInput.__dataclass_fields__[name].metadata
    return f"{flag_of(name, metadata)} {metadata['metavar'] or 'N'}"


GROUPS: tuple[tuple[str, type], ...] = (
    ("The teeth", DeskInput),
    ("Bore, hub and web", BodyInput),
    ("What breaks first", DutyInput),
    ("For the bench", BenchInput),
)
"""Groups of options in the order of the help."""
