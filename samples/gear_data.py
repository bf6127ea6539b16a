"""What a sheet says of a gear: its data block, the note in place of one, and whether that settles the tooth system."""

from dataclasses import dataclass
from fractions import Fraction

from samples.gear_design import MODULES, Gear
from samples.notation import Figure, Notation, Value, decimal_text, fraction_text, joined
from samples.parts import Rng, TableRow
from samples.truth import GearTruth


def _row(key: str, label: str, text: str, value: Fraction | None, unit: str, place: Fraction, style: str) -> TableRow:
    return TableRow(key, label, Figure(text, (Value("gear_data", value, unit, style, place, name=key),)))


def _size_row(key: str, label: str, value: Fraction, notation: Notation, places: int) -> TableRow:
    text = decimal_text(value, places, notation.unit == "mm")
    place = Fraction(1, 10**places)
    return _row(key, label, text, Fraction(text), notation.unit, place, f"decimal{places}")


def data_rows(gear: Gear, notation: Notation, rng: Rng) -> tuple[tuple[TableRow, ...], bool]:
    """The gear-data block with entries left out at random, and whether what is left settles the gear."""
    inch = notation.unit == "in"
    style = "integer" if gear.pitch.denominator == 1 or inch else "decimal1"
    places = 3 if inch else 2
    pitch_text = str(1 / gear.pitch) if inch else decimal_text(gear.pitch, 0 if style == "integer" else 1, True)
    pitch_value = 1 / gear.pitch if inch else gear.pitch
    angle_place = Fraction(1, gear.system.angle.denominator)
    depth = (gear.system.addendum + gear.system.dedendum) * gear.pitch
    pitch_key, pitch_label = ("diametral_pitch", "DIAMETRAL PITCH") if inch else ("module", "MODULE")
    rows = [
        _row("teeth", "NUMBER OF TEETH", str(gear.teeth), Fraction(gear.teeth), "count", Fraction(1), "integer"),
        _row(
            pitch_key,
            pitch_label,
            pitch_text,
            pitch_value,
            "none" if inch else "mm",
            Fraction(1) if style == "integer" else Fraction(1, 10),
            style,
        ),
        _row(
            "pressure_angle",
            "PRESSURE ANGLE",
            f"{fraction_text(gear.system.angle)}°",
            gear.system.angle,
            "deg",
            angle_place,
            "angle",
        ),
        _size_row("pitch_diameter", "PITCH DIAMETER", gear.pitch_diameter, notation, places),
        _size_row("outside_diameter", "OUTSIDE DIAMETER", gear.outside, notation, places),
        _size_row("whole_depth", "WHOLE DEPTH", depth, notation, places),
        _row("tooth_form", "TOOTH FORM", gear.system.words, None, "none", Fraction(1), "integer"),
    ]
    chance = {
        "teeth": 0.92,
        pitch_key: 0.9,
        "pressure_angle": 0.85,
        "pitch_diameter": 0.7,
        "outside_diameter": 0.5,
        "whole_depth": 0.6,
        "tooth_form": 0.55,
    }
    kept = tuple(row for row in rows if rng.random() < chance[row.key])
    return kept, decidable({row.key for row in kept}, gear, notation.unit)


@dataclass(frozen=True)
class Heights:
    """A tooth form that a sheet must be told from: angle in degrees, addendum, dedendum, its word."""

    angle: float
    addendum: float
    dedendum: float
    word: str


# The forms of the same unit that a print may hold: ASA B6.1-1932, ANSI B6.1-1968; DIN 867, ISO 53 D, 15 deg modules.
RIVALS = {
    "in": (Heights(14.5, 1, 1.157, "FULL"), Heights(20, 1, 1.157, "FULL"), Heights(20, 1, 1.25, "FULL"),
           Heights(20, 0.8, 1.0, "STUB")),
    "mm": (Heights(20, 1, 1.25, "DIN"), Heights(20, 1, 1.4, "FULL"), Heights(15, 1, 1.167, "FULL")),
}  # fmt: skip
SIZE_TOLERANCE = {"in": 0.0011, "mm": 0.011}  # two units of the last place that the block gives
MOST_TEETH = 160


def decidable(given: set[str], gear: Gear, unit: str) -> bool:
    """Whether only one gear, of all standard pitches and rival forms, has the entries that are given.

    The outside diameter counts as given, since the section shows it; so do teeth that are drawn in full.
    """
    tolerance = SIZE_TOLERANCE[unit]
    pitches = [float(1 / Fraction(p)) for p in range(1, 33)] if unit == "in" else [float(m) for m in MODULES]
    depth = float((gear.system.addendum + gear.system.dedendum) * gear.pitch)
    found = set()
    for form in RIVALS[unit]:
        if "pressure_angle" in given and abs(form.angle - float(gear.system.angle)) > 0.01:
            continue
        if "tooth_form" in given and form.word not in gear.system.words:
            continue
        for m in pitches:
            if given & {"diametral_pitch", "module"} and abs(m - float(gear.pitch)) > 1e-9:
                continue
            if "whole_depth" in given and abs((form.addendum + form.dedendum) * m - depth) > tolerance:
                continue
            teeth = round((float(gear.outside) - 2 * form.addendum * m) / m)
            if abs((teeth + 2 * form.addendum) * m - float(gear.outside)) > tolerance or teeth > MOST_TEETH:
                continue
            if "pitch_diameter" in given and abs(teeth * m - float(gear.pitch_diameter)) > tolerance:
                continue
            if ("teeth" in given or gear.in_full) and teeth != gear.teeth:
                continue
            found.add((form, m, teeth))
    return len(found) == 1


def truth(gear: Gear, notation: Notation, settled: bool) -> GearTruth:
    """The gear as the truth file states it."""
    module = float(gear.pitch) * (25.4 if notation.unit == "in" else 1.0)
    return GearTruth(gear.teeth, gear.system.key, module, 25.4 / module, float(gear.system.angle), settled)


NOTE_SHARE = 0.25  # of sheets with a note in place of a data block
NOTE_WORDS = {"teeth": "TEETH", "diametral_pitch": "D.P.", "module": "MODULE", "pressure_angle": "P.A."}


def data_note(rows: tuple[TableRow, ...]) -> Figure:
    """The same data as a note in a line: teeth, pitch, pressure angle."""
    pieces = [joined(row.figure, NOTE_WORDS[row.key]) for row in rows if row.key in NOTE_WORDS]
    return joined(*pieces)
