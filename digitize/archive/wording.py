"""What was found, in words: the same in the terminal and on the page."""

from calibrate.lengths import INCH_MM
from digitize.archive.catalogue import Hit
from digitize.archive.record import PM_PER_MM, GearFound, Size
from digitize.report.numbers import significant

KIND_WORDS = {"linear": "length", "gear_data": "gear table", "count": "number"}
"""Kinds of the table whose own name is no word of the trade."""
PITCH_DIGITS = 5
PITCH_STEPS = 4
"""Diametral pitches go by quarters (2 1/4, 2 1/2; common practice, no source): others are no pitch that was meant."""


def heading(hits: tuple[Hit, ...], more: bool) -> str:
    """How many sheets there are."""
    if more:
        return f"the first {len(hits)} sheets; there are more, --most shows them"
    if not hits:
        return "no such sheet"
    return "1 sheet" if len(hits) == 1 else f"{len(hits)} sheets"


def title_block(hit: Hit) -> list[str]:
    """What the title block says, each line once."""
    lines = [str(hit.fields[name]) for name in ("title", "drawing_number", "material", "date")]
    return [line for line in dict.fromkeys(lines) if line]


def found_on(hit: Hit) -> list[str]:
    """The values and gears that were asked for, each with its state."""
    return [*map(_size_words, hit.sizes), *map(_gear_words, hit.gears)]


def _size_words(size: Size) -> str:
    text = size.text.replace("\n", " / ")
    exact = "" if size.length_pm is None else f" = {size.length_pm / PM_PER_MM:g} mm"
    kind = KIND_WORDS.get(size.kind, size.kind)
    return f"{size.row} {kind} {text}{exact}, {size.state}"


def _gear_words(gear: GearFound) -> str:
    teeth = "?" if gear.teeth is None else str(gear.teeth)
    if gear.module_mm is None:
        return f"gear of {teeth} teeth, {gear.state}"
    pitch = significant(float(INCH_MM) / gear.module_mm, PITCH_DIGITS)
    size = f"module {gear.module_mm:g}"
    if (pitch * PITCH_STEPS).is_integer():
        size = f"{pitch:g} pitch, {size}"
    return f"gear of {teeth} teeth, {size}, {gear.state}"
