"""The words of a DIMENSION: the print's own where its measurement does not read the same, with what is doubtful named.

Glossary
--------
callout
    One piece of lettering that holds several sizes, such as a keyseat's width and depth. One DIMENSION shows it.
carrier
    That DIMENSION: of the callout's sizes the first that holds.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ezdxf.render.dim_base import format_text

from digitize.dimensions.table import Dimension, State
from digitize.lettering.text import Kind, Unit
from digitize.redraw import dxf
from digitize.redraw.solving.figures import LENGTHS, LIMITS
from digitize.redraw.solving.profile import ScaledLength
from digitize.redraw.writing.layers import APPLIED, NOT_APPLIED, SCALED, UNPROVEN
from digitize.report.wording import INTERVAL_95, plain

DECIMALS = {Unit.INCH: 4, Unit.MM: 3}
MOST_LISTED = 8  # lengths scaled from the print that a sentence names: more are no list to work from
NO_TRAILING_ZEROS = 8  # DIMZIN
MEASURED = "<>"  # stands for what a DIMENSION measures
_NEEDS_ESCAPE = str.maketrans({"\\": "\\\\", "{": "\\{", "}": "\\}", "\n": "\\P"})  # MTEXT
_LIMIT = re.compile(r"(\D*?)(\.?\d[\d .,/]*?)(\D*)")  # what stands before a number, the number, and what follows
NOT_HOLDING = {NOT_APPLIED: "NOT APPLIED", UNPROVEN: "UNPROVEN"}


@dataclass(frozen=True)
class Words:
    """``override`` is what the entity keeps, ``shown`` what a reader of the drawing sees."""

    override: str
    shown: str


def words_of(dimension: Dimension, layer: str, size: float, unit: Unit, sheet_unit: Unit, doubts: str = "") -> Words:
    """Words of a DIMENSION: ``<>`` where its own measurement reads as the print does.

    Parameters
    ----------
    dimension : Dimension
    layer : str
        That says how it stands.
    size : float
        What the entity measures, in mm, or degrees for an angle.
    unit : Unit
        The file's.
    sheet_unit : Unit
        Of figures without a unit of their own.
    doubts : str
        What is to be said of the other sizes of its callout.
    """
    prefix = {Kind.DIAMETER: "Ø", Kind.RADIUS: "R"}.get(dimension.kind, "")
    measured = prefix + format_text(size * dxf.per_mm(unit), dimdec=DECIMALS[unit], dimzin=NO_TRAILING_ZEROS)
    printed = _printed(dimension)
    own = sheet_unit if dimension.unit is Unit.UNMARKED else dimension.unit
    if not printed:
        return Words(f"{MEASURED} SCALED", f"{measured} SCALED")
    if layer in NOT_HOLDING:
        printed = f"{printed} {NOT_HOLDING[layer]}"
    elif own in (Unit.INCH, Unit.MM) and own is not unit:
        printed = f"{printed} [{own.value}]"
    elif printed == measured and dimension.kind is not Kind.ANGLE and not doubts:
        return Words(MEASURED, measured)
    printed = f"{printed} {doubts}".rstrip()
    return Words(printed.translate(_NEEDS_ESCAPE), printed)


def _printed(dimension: Dimension) -> str:
    """The print's words, none where no reading of them is good enough.

    Stacked limits stand on one line, the lower one first with a dash between (ASME Y14.5), and what stands before or
    behind either of them once.
    """
    if dimension.state is State.UNREAD:
        return ""
    rows = [_LIMIT.fullmatch(row) for row in dimension.text.split("\n")]
    upper, lower = rows if len(rows) == 2 else (None, None)
    if dimension.style != LIMITS or upper is None or lower is None:
        return dimension.text
    before, behind = (max(upper[part], lower[part], key=len) for part in (1, 3))
    return f"{before}{lower[2]}-{upper[2]}{behind}"


def carriers(figures: Sequence[tuple[Dimension, str]], others: Sequence[Dimension]) -> Iterator[tuple[int, str]]:
    """Which figures are shown, by number, and what each is to say of the other sizes of its callout.

    Parameters
    ----------
    figures : sequence of (Dimension, str)
        Figures that can be drawn, and the layer of each.
    others : sequence of Dimension
        All figures of the sheet: a callout may hold a size that can't be drawn.
    """
    groups: dict[object, list[int]] = {}
    for number, (dimension, _) in enumerate(figures):
        alone = number if not dimension.text else (dimension.text, dimension.quad_px)
        groups.setdefault(alone, []).append(number)
    for key, group in groups.items():
        carrier = min(group, key=lambda number: (figures[number][1] != APPLIED, number))
        shown, layer = figures[carrier]
        layers = {id(figures[number][0]): figures[number][1] for number in group}
        rest = [each for each in others if (each.text, each.quad_px) == key and each is not shown]
        yield carrier, " ".join(filter(None, (_doubt(each, layers.get(id(each)), layer) for each in rest)))


def _doubt(dimension: Dimension, layer: str | None, said: str) -> str:
    """Why a size of a callout is not to be relied on; empty where it is, or where the carrier's words say so too."""
    if dimension.kind not in (*LENGTHS, Kind.ANGLE) or dimension.value is None:
        return ""
    if dimension.state is State.DISPUTED:
        return f"({plain(dimension.value)} DISPUTED)"
    why = NOT_HOLDING.get(layer or (UNPROVEN if dimension.state is State.UNPROVEN else ""))
    return f"({plain(dimension.value)} {why})" if why and said == APPLIED else ""


def layer_of(dimension: Dimension, applied: bool) -> str | None:
    """The layer that says how a figure stands; None for a disputed one, which is only listed."""
    if dimension.state is State.AGREED:
        return APPLIED if applied else NOT_APPLIED
    if dimension.state is State.UNPROVEN and dimension.text:
        return UNPROVEN
    return None if dimension.state is State.DISPUTED else SCALED


def scaled_words(length: ScaledLength, unit: Unit) -> str:
    """A length that no figure gives, where it lies and its error, in a file's unit and coordinates.

    Examples
    --------
    >>> scaled_words(ScaledLength("height", 6.35, (100.0, 106.35), 0.05), Unit.MM)
    'height 6.350 ± 0.098 mm from y 100.00 to 106.35'
    """
    factor, decimals = dxf.per_mm(unit), DECIMALS[unit]
    size, off = (f"{value * factor:.{decimals}f}" for value in (length.size_mm, INTERVAL_95 * length.std_mm))
    first, second = (f"{value * factor:.{decimals - 1}f}" for value in length.at)
    axis = "x" if length.what in ("width", "middle across") else "y"
    whole = length.what in ("diameter", "slant across", "slant up")
    place = f"about {first}, {second}" if whole else f"from {axis} {first} to {second}"
    return f"{length.what} {size} ± {off} {unit.value} {place}"
