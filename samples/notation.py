"""How a drawing office writes its figures: exact values to canonical text and back to what they mean."""

from dataclasses import dataclass, replace
from fractions import Fraction

MM_PER_INCH = Fraction(254, 10)


@dataclass(frozen=True)
class Value:
    """One value of a figure, in ``unit`` ("in", "mm", "deg", "count", "none"), right to half of ``place``."""

    kind: str
    value: Fraction | None
    unit: str
    style: str
    place: Fraction
    upper: Fraction | None = None
    lower: Fraction | None = None
    name: str | None = None
    count: int | None = None


@dataclass(frozen=True)
class Figure:
    """Lettering with what it means: canonical text and its values in reading order."""

    text: str
    values: tuple[Value, ...]

    def __add__(self, tail: str) -> "Figure":
        return replace(self, text=self.text + tail)


@dataclass(frozen=True)
class Fit:
    """How far a mating size may lie above (below: negative) the general one, and the places that its limits have."""

    upper: Fraction
    lower: Fraction
    places: int


@dataclass(frozen=True)
class Notation:
    """A sheet's habits.

    Attributes
    ----------
    unit : str
        "in" or "mm".
    decimal : bool
        Inch sizes as decimals rather than fractions.
    inch_marks : bool
        ``"`` after every length.
    diameter : str
        "Ø" (before), "DIA", "DIA." or "D." (after).
    radius : str
        "R" after, "R" before ("R."), or "RAD".
    grain_or_none : Fraction or None
        The grain of general sizes, in the sheet's unit, where it is not the usual one.
    fewest : int or None
        Fewest decimal places of a size, where they are not the usual ones.
    fit : Fit or None
        What the two limits of every mating diameter are, where they all bear them.
    angled : bool
        Corners and holes lie at angles of their own.
    """

    unit: str
    decimal: bool = False
    inch_marks: bool = False
    diameter: str = "DIA"
    radius: str = "R"
    grain_or_none: Fraction | None = None
    fewest: int | None = None
    fit: Fit | None = None
    angled: bool = False

    @property
    def grain(self) -> Fraction:
        """The grain of general sizes, in the sheet's unit."""
        return self.grain_or_none or self.coarse

    @property
    def coarse(self) -> Fraction:
        """Steps that are seen on paper, in the sheet's unit."""
        return Fraction(1) if self.unit == "mm" else Fraction(1, 8)

    @property
    def half_grain(self) -> Fraction:
        """Half of the grain, where an office would write that."""
        return self.grain_or_none or self.coarse / 2

    @property
    def fewest_places(self) -> int:
        """Fewest decimal places of a size."""
        return (0 if self.unit == "mm" else 2) if self.fewest is None else self.fewest


def decimal_text(value: Fraction, places: int, leading_zero: bool = False) -> str:
    """Write a decimal with a fixed number of places; inch practice drops the zero before the point."""
    text = f"{float(value):.{places}f}"
    return text if leading_zero or not text.startswith("0.") else text[1:]


def fraction_text(value: Fraction) -> str:
    """Write a mixed number.

    Examples
    --------
    >>> fraction_text(Fraction(11, 8))
    '1 3/8'
    >>> fraction_text(Fraction(3, 8)), fraction_text(Fraction(3))
    ('3/8', '3')
    """
    whole, rest = divmod(value, 1)
    if rest == 0:
        return str(whole)
    part = f"{rest.numerator}/{rest.denominator}"
    return f"{whole} {part}" if whole else part


def is_binary(value: Fraction, finest: int = 64) -> bool:
    """Whether a value can be written with a denominator of 2, 4, 8 ... ``finest``."""
    return finest % value.denominator == 0


def _number(notation: Notation, value: Fraction, places: int | None) -> tuple[str, str, Fraction]:
    """Text, style and last written place of a plain number."""
    if places is None and notation.unit == "in" and not notation.decimal and is_binary(value):
        style = "integer" if value.denominator == 1 else "fraction"
        return fraction_text(value), style, Fraction(1, value.denominator)
    if places is None:
        places = _places(value, notation.fewest_places)
    places = max(places, notation.fewest or 0)
    if places == 0:
        return str(round(value)), "integer", Fraction(1)
    text = decimal_text(value, places, leading_zero=notation.unit == "mm")
    return text, f"decimal{places}", Fraction(1, 10**places)


def _places(value: Fraction, fewest: int) -> int:
    """Fewest decimal places, from ``fewest`` to 4, that write a value exactly (3 if none does)."""
    for places in range(fewest, 5):
        if (value * 10**places).denominator == 1:
            return places
    return 3


def _dressed(notation: Notation, number: str, kind: str) -> str:
    mark = '"' if notation.inch_marks and notation.unit == "in" else ""
    if kind == "diameter":
        return f"Ø{number}{mark}" if notation.diameter == "Ø" else f"{number}{mark} {notation.diameter}"
    if kind == "radius":
        return f"R{number}{mark}" if notation.radius == "R." else f"{number}{mark} {notation.radius}"
    return number + mark


def length(
    notation: Notation,
    value: Fraction,
    kind: str = "linear",
    places: int | None = None,
    count: int | None = None,
) -> Figure:
    """Write a plain length, diameter or radius in the sheet's habit."""
    number, style, place = _number(notation, value, places)
    exact = value if style in ("fraction", "integer") else Fraction(number)
    written = Value(kind, exact, notation.unit, style, place, count=count)
    return Figure(_dressed(notation, number, kind), (written,))


def limits(notation: Notation, nominal: Fraction, lower: Fraction, upper: Fraction, places: int, kind: str) -> Figure:
    """Write a size by its two limits, the larger above; its value is the larger limit."""
    places = max(places, _places(nominal, 0))
    high, low = nominal + upper, nominal + lower
    zero = notation.unit == "mm"
    top, bottom = decimal_text(high, places, zero), decimal_text(low, places, zero)
    text = f"{top}\n{bottom}"
    if kind == "diameter" and notation.diameter == "Ø":
        text = f"Ø{top}\nØ{bottom}"
    elif kind == "diameter" and notation.diameter in ("DIA", "DIA."):
        text = f"{text} {notation.diameter}"
    value = Value(kind, high, notation.unit, "limits", Fraction(1, 10**places), Fraction(0), low - high)
    return Figure(text, (value,))


def fitted(notation: Notation, value: Fraction, kind: str = "diameter") -> Figure:
    """Write a size that mates with another: by its limits where all of the sheet's do."""
    if notation.fit is None:
        return length(notation, value, kind)
    return limits(notation, value, notation.fit.lower, notation.fit.upper, notation.fit.places, kind)


def cut_size(figure: Figure) -> Fraction:
    """The size that a maker cuts to: what is written, of two limits the middle."""
    value = figure.values[0]
    assert value.value is not None
    return value.value + (value.lower or Fraction(0)) / 2 if value.style == "limits" else value.value


def plus_minus(notation: Notation, nominal: Fraction, tolerance: Fraction, places: int, kind: str) -> Figure:
    """Write a size with a symmetric tolerance on one line."""
    places = max(places, _places(nominal, 0))
    zero = notation.unit == "mm"
    number = f"{decimal_text(nominal, places, zero)} ±{decimal_text(tolerance, places, zero)}"
    text = _dressed(replace(notation, inch_marks=False), number, kind)
    style = f"decimal{places}"
    value = Value(kind, nominal, notation.unit, style, Fraction(1, 10**places), tolerance, -tolerance)
    return Figure(text, (value,))


def deviations(
    notation: Notation, nominal: Fraction, upper: Fraction, lower: Fraction, places: int, kind: str
) -> Figure:
    """Write a size with unequal deviations stacked behind it."""
    places = max(places, _places(nominal, 0))
    zero = notation.unit == "mm"
    signs = [
        f"{'-' if v < 0 or (v == 0 and v is lower) else '+'}{decimal_text(abs(v), places, zero)}"
        for v in (upper, lower)
    ]
    prefix = "Ø" if kind == "diameter" and notation.diameter == "Ø" else ""
    text = f"{prefix}{decimal_text(nominal, places, zero)} {signs[0]}\n{signs[1]}"
    value = Value(kind, nominal, notation.unit, f"decimal{places}", Fraction(1, 10**places), upper, lower)
    return Figure(text, (value,))


def angle(value: Fraction, decimal: bool = False) -> Figure:
    """Write an angle in degrees, with a fraction where it has one, or with one place."""
    whole = value.denominator == 1
    place = Fraction(1, 10) if decimal and not whole else Fraction(1, value.denominator)
    text = decimal_text(value, 1) if decimal and not whole else fraction_text(value)
    return Figure(f"{text}°", (Value("angle", value, "deg", "angle", place),))


def words(text: str) -> Figure:
    """A note that holds no value."""
    return Figure(text, ())


def joined(*pieces: Figure | str) -> Figure:
    """Join figures and plain words, with a space between, into one callout."""
    figures = [words(p) if isinstance(p, str) else p for p in pieces]
    return Figure(" ".join(f.text for f in figures), tuple(v for f in figures for v in f.values))
