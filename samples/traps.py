"""Sheets that contradict themselves: one figure is lettered wrong, and nothing else is changed.

Kinds of trap
-------------
figure
    A figure that disagrees with what is drawn.
chain
    A figure of a chain, or its sum, so that the chain no longer closes.
view
    A figure that another view gives differently.
gear
    A figure of the gear-data block that no gear with the other entries can have.
"""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from samples.notation import Figure, Value, decimal_text, fraction_text
from samples.parts import Rng, pick
from samples.truth import DimensionMark, Drawing

Wrong = dict[str, tuple[Figure, str]]

KINDS = ("figure", "chain", "view", "gear")
KIND_SHARES = (0.15, 0.25, 0.35, 0.25)  # which is tried first: every sheet can hold the first kind, few the third
SHARE = 1 / 6  # of mixed sheets
PLAIN_MM = 2.5  # a wrong length lies at least this far off on the paper: not to be taken for the pen's error
PLAIN_SHARE = 0.03  # and at least this share of the right value
PLAIN_DEG = 10.0  # a wrong angle is at least so far off: short legs are drawn two degrees off by an erring pen
ANGLES_ENOUGH = 3  # figures at an arc: fewer sheets are spent on them
MEASURED = ("linear", "diameter", "radius")
MM_PER_INCH = 25.4


def _written(value: Value, amount: Fraction) -> str:
    """An amount, written in the style of a value."""
    if value.style in ("fraction", "integer", "angle"):
        return fraction_text(amount)
    places = len(str(value.place.denominator)) - 1
    return decimal_text(amount, places, leading_zero=value.unit == "mm")


def rewritten(figure: Figure, delta: Fraction) -> Figure | None:
    """The figure with its first value shifted, or None where its text does not show that value plainly.

    Examples
    --------
    >>> from samples.notation import Notation, length
    >>> rewritten(length(Notation("in"), Fraction(11, 8)), Fraction(1, 4)).text
    '1 5/8'
    """
    value = figure.values[0]
    assert value.value is not None
    amounts = [value.value]
    if value.style == "limits" and value.lower is not None:
        amounts.append(value.value + value.lower)
    text = figure.text
    for amount in amounts:
        old, new = _written(value, amount), _written(value, amount + delta)
        if amount + delta <= 0 or text.count(old) != 1:
            return None
        text = text.replace(old, new)
    return Figure(text, (replace(value, value=value.value + delta), *figure.values[1:]))


def _steps(value: Value) -> list[Fraction]:
    """Slips a person makes: an inch, a quarter, an eighth; ten, five, two or one; a wrong digit."""
    if value.style == "angle":
        sizes = [Fraction(10), Fraction(20), Fraction(30)]
    elif value.style == "fraction" or (value.style == "integer" and value.unit == "in"):
        sizes = [Fraction(1), Fraction(1, 2), Fraction(1, 4), Fraction(1, 8)]
    elif value.unit == "mm":
        sizes = [Fraction(10), Fraction(5), Fraction(4), Fraction(3), Fraction(2)]
    else:
        sizes = [Fraction(1), Fraction(1, 2), Fraction(1, 5), Fraction(1, 10)]
    return [sign * size for size in sizes for sign in (1, -1)]


def _plain(mark: DimensionMark, delta: Fraction, drawing: Drawing) -> bool:
    """Whether a slip is too large to be the pen's."""
    if mark.kind == "angle":
        return abs(float(delta)) >= PLAIN_DEG
    scale = next((v.scale for v in drawing.views if v.id == mark.view), 1.0)
    unit_mm = MM_PER_INCH if mark.unit == "in" else 1.0
    on_paper = abs(float(delta)) * unit_mm / scale
    assert mark.value is not None
    return on_paper >= PLAIN_MM + 4 * drawing.pen_error_mm and abs(float(delta)) >= PLAIN_SHARE * mark.value


def _slip(mark: DimensionMark, right: Figure, drawing: Drawing, rng: Rng) -> Figure | None:
    value = right.values[0]
    fitting = [d for d in _steps(value) if _plain(mark, d, drawing) and abs(d) < 0.6 * (value.value or 0)]
    figures = [f for d in fitting if (f := rewritten(right, d)) is not None]
    return pick(rng, figures) if figures else None


def _eligible(drawing: Drawing, kind: str) -> list[DimensionMark]:
    off_scale = {v.id for v in drawing.views if v.not_to_scale}
    marks = [d for d in drawing.dimensions if d.kind in MEASURED and d.first and d.callout is None]
    marks = [d for d in marks if d.view not in off_scale]
    if kind == "chain":
        chains = {d.chain.removesuffix(":sum") for d in marks if d.chain and d.chain.endswith(":sum")}
        return [d for d in marks if d.chain and d.chain.removesuffix(":sum") in chains]
    if kind == "view":
        tags = [d.shared for d in marks if d.shared]
        return [d for d in marks if d.shared and tags.count(d.shared) > 1]
    angles = [d for d in drawing.dimensions if d.kind == "angle" and d.first]
    return [*marks, *angles] if len(angles) >= ANGLES_ENOUGH else marks


def _drawn(drawing: Drawing, right: dict[str, Figure], rng: Rng, kind: str) -> Wrong | None:
    marks = _eligible(drawing, kind)
    for index in rng.permutation(len(marks)):
        wrong = _slip(marks[index], right[marks[index].id], drawing, rng)
        if wrong is not None:
            return {marks[index].id: (wrong, kind)}
    return None


def _geared(drawing: Drawing, right: dict[str, Figure], rng: Rng, kind: str) -> Wrong | None:
    """A diameter of the block that does not follow from teeth and pitch, where both are given."""
    keys = set(right)
    if not ({"G.teeth"} <= keys and keys & {"G.diametral_pitch", "G.module"}):
        return None
    choices = sorted(keys & {"G.pitch_diameter", "G.outside_diameter"})
    if not choices or drawing.gear is None:
        return None
    key = pick(rng, choices)
    value = right[key].values[0]
    module = Fraction(drawing.gear.module_mm).limit_denominator(1000) / (Fraction(254, 10) if value.unit == "in" else 1)
    wrong = rewritten(right[key], round(module * pick(rng, (1, -1)) / value.place) * value.place)
    return None if wrong is None else {key: (wrong, kind)}


MAKERS: dict[str, Callable[[Drawing, dict[str, Figure], Rng, str], Wrong | None]] = {
    "figure": _drawn,
    "chain": _drawn,
    "view": _drawn,
    "gear": _geared,
}


def choose(drawing: Drawing, right: dict[str, Figure], rng: Rng, mode: str) -> Wrong:
    """Decide what to letter wrong on a sheet; empty for a sound sheet.

    Parameters
    ----------
    drawing : Drawing
        The sheet, drawn soundly.
    right : dict
        Its figures by key.
    rng : numpy.random.Generator
    mode : str
        "all", "none", or "mixed" (one sheet in six).
    """
    draw = rng.random()
    if mode == "none" or (mode == "mixed" and draw >= SHARE):
        return {}
    for index in rng.choice(len(KINDS), len(KINDS), replace=False, p=KIND_SHARES):
        wrong = MAKERS[KINDS[index]](drawing, right, rng, KINDS[index])
        if wrong:
            return wrong
    return {}
