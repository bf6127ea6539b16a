"""What is written: figures and words as drawing offices write them, with no arithmetic and little preference.

Half of all numbers are uniform over their digits, so that the reader learns shapes and leaves the judging of values to
geometry.
"""

import string
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np

from digitize.lettering.stacks import END, FRACTION, LIMITS, START, canonical

Rng = np.random.Generator
Form = Literal["bar", "slope", "row"]


def _lines(name: str) -> tuple[str, ...]:
    return tuple(Path(__file__).with_name(name).read_text(encoding="utf-8").splitlines())


VOCABULARY = tuple(word for line in _lines("vocabulary.txt") for word in line.split())
CAPITALS = tuple(word for word in VOCABULARY if word.upper() == word)
# Offices leave out I and O as letters of sections, sheets and parts, since they read as figures (common practice).
TELLING_LETTERS = "".join(letter for letter in string.ascii_uppercase if letter not in "IO")
LEAST_DENOMINATORS = (2, 4, 8, 16, 32, 64)


@dataclass(frozen=True)
class Fraction:
    """A written fraction: over a bar, across a sloping stroke, or along the row.

    ``mark`` is an inch or degree mark lettered before it, high between the whole number and the fraction.
    """

    over: str
    under: str
    form: Form
    mark: str = ""


@dataclass(frozen=True)
class Pair:
    """Two figures stacked with no bar between: limits, or unequal deviations."""

    upper: str
    lower: str


Part = str | Fraction | Pair


@dataclass(frozen=True)
class Phrase:
    """One block's writing; no parts at all means none. ``style`` names the kind of figure for the scores."""

    parts: tuple[Part, ...]
    style: str

    @property
    def stacked(self) -> bool:
        """Whether some part stands over another."""
        return any(isinstance(p, Pair) or (isinstance(p, Fraction) and p.form == "bar") for p in self.parts)

    def spelled(self) -> tuple[str, str]:
        """What the reader's two outputs should spell."""
        upper, lower = "", ""
        for part in self.parts:
            if isinstance(part, Pair):
                upper, lower = upper + LIMITS + part.upper + END, lower + START + part.lower
            elif isinstance(part, Fraction) and part.form == "bar":
                upper, lower = upper + part.mark + FRACTION + part.over + END, lower + START + part.under
            elif isinstance(part, Fraction):
                upper += (part.mark or (" " if upper[-1:].isdigit() else "")) + f"{part.over}/{part.under}"
            else:
                upper += part
        return upper, lower

    @property
    def text(self) -> str:
        """Canonical text."""
        text = canonical(*self.spelled())
        assert text is not None, self
        return text


def phrase(rng: Rng) -> Phrase:
    """Draw a phrase."""
    return _MAKERS[rng.choice(len(_MAKERS), p=_WEIGHTS)](rng)


def _digits(rng: Rng, count: int) -> str:
    return "".join(str(d) for d in rng.integers(0, 10, count))


def _integer(rng: Rng, most: int = 4) -> str:
    if rng.random() < 0.5:
        return str(rng.integers(1, 25))
    count = int(rng.integers(1, most + 1))
    return str(rng.integers(1, 10)) + _digits(rng, count - 1)


def _form(rng: Rng) -> Form:
    forms: tuple[Form, ...] = ("bar", "slope", "row")
    return forms[rng.choice(3, p=(0.7, 0.18, 0.12))]


def _fraction(rng: Rng, form: Form | None = None) -> Fraction:
    form = form or _form(rng)
    kind = rng.random()
    if kind < 0.72:
        under = int(rng.choice(LEAST_DENOMINATORS))
        over = int(rng.integers(1, under))
        if rng.random() < 0.8:
            over |= 1
    elif kind < 0.9:
        under, over = int(rng.integers(2, 100)), int(rng.integers(1, 100))
    else:
        under, over = int(rng.integers(2, 12)), int(rng.integers(1, 12))
    return Fraction(str(over), str(under), form)


def _mixed(rng: Rng) -> list[Part]:
    """A length in inches as fraction, mixed number or whole number."""
    kind = rng.random()
    if kind < 0.42:
        return [_fraction(rng)]
    if kind < 0.88:
        return [_integer(rng, 2), _fraction(rng)]
    return [_integer(rng, 2)]


def _decimal(rng: Rng) -> str:
    places = int(rng.choice((1, 2, 3, 4), p=(0.22, 0.3, 0.34, 0.14)))
    whole = ("", "0", _integer(rng, 3))[rng.choice(3, p=(0.35, 0.08, 0.57))]
    point = "," if whole and rng.random() < 0.12 else "."
    return whole + point + _digits(rng, places)


def _number(rng: Rng) -> list[Part]:
    kind = rng.random()
    if kind < 0.5:
        return _mixed(rng)
    return [_decimal(rng)] if kind < 0.8 else [_integer(rng)]


def _joined(*pieces: str | list[Part]) -> tuple[Part, ...]:
    """Parts in a row, neighbouring strings made one."""
    made: list[Part] = []
    for piece in pieces:
        for part in [piece] if isinstance(piece, str) else piece:
            if isinstance(part, str) and made and isinstance(made[-1], str):
                made[-1] += part
            elif part:
                made.append(part)
    return tuple(made)


def _marked(rng: Rng, share: float = 0.6) -> str:
    return '"' if rng.random() < share else ""


def _plain_fraction(rng: Rng) -> Phrase:
    parts = _mixed(rng)
    if len(parts) == 2 and isinstance(parts[1], Fraction) and parts[1].form != "row" and rng.random() < 0.16:
        marked = replace(parts[1], mark='"' if rng.random() < 0.93 else "°")
        return Phrase((parts[0], marked), "fraction_stacked" if marked.form == "bar" else "fraction_sloped")
    form = next((p.form for p in parts if isinstance(p, Fraction)), None)
    style = "integer" if form is None else "fraction_stacked" if form == "bar" else "fraction_sloped"
    return Phrase(_joined(parts, _marked(rng)), style)


def _plain_integer(rng: Rng) -> Phrase:
    tail = _marked(rng, 0.3) if rng.random() < 0.94 else " MM" if rng.random() < 0.5 else "mm"
    return Phrase((_integer(rng) + tail,), "integer")


def _plain_decimal(rng: Rng) -> Phrase:
    tail = ("", '"', f" ±{_small(rng)}", " DIA", " R")[rng.choice(5, p=(0.66, 0.08, 0.18, 0.05, 0.03))]
    return Phrase((_decimal(rng) + tail,), "decimal")


def _small(rng: Rng) -> str:
    lead = "0" if rng.random() < 0.3 else ""
    zeros = "0" * int(rng.integers(0, 3))
    return f"{lead}.{zeros}{_digits(rng, int(rng.integers(1, 3)))}"


def _limits(rng: Rng) -> Phrase:
    places = int(rng.integers(1, 5))
    whole = "" if rng.random() < 0.3 else _integer(rng, 3)
    first = whole + "." + _digits(rng, places)
    keep = int(rng.integers(0, places + 1)) if rng.random() < 0.75 else 0
    second = (
        first[: len(first) - places + keep] + _digits(rng, places - keep)
        if keep
        else whole + "." + _digits(rng, places)
    )
    prefix = ("", "Ø", "R")[rng.choice(3, p=(0.78, 0.17, 0.05))]
    if prefix and rng.random() < 0.5:  # the sign is lettered before both figures
        prefix, first, second = "", prefix + first, prefix + second
    tail = ("", '"', " DIA", " BORE", " REAM")[rng.choice(5, p=(0.8, 0.05, 0.05, 0.05, 0.05))]
    if rng.random() < 0.08:
        a, b = _integer(rng, 3), _integer(rng, 3)
        return Phrase(_joined(prefix, [Pair(a, b)], tail), "limits")
    return Phrase(_joined(prefix, [Pair(first, second)], tail), "limits")


def _deviation(rng: Rng) -> Phrase:
    nominal = _joined("Ø" if rng.random() < 0.15 else "", _number(rng), _marked(rng, 0.12))
    zero = "0" if rng.random() < 0.3 else "+0"
    signs = (("+", "-"), ("+", "+"), ("-", "-"))[rng.choice(3, p=(0.84, 0.08, 0.08))]
    pair = Pair(signs[0] + _small(rng), signs[1] + _small(rng))
    if rng.random() < 0.15:
        pair = Pair(pair.upper, zero.replace("+", "-")) if rng.random() < 0.5 else Pair(zero, "-" + _small(rng))
    return Phrase((*nominal, pair), "deviation")


def _feet(rng: Rng) -> Phrase:
    feet = str(rng.integers(0, 20)) if rng.random() < 0.8 else _integer(rng, 3)
    joint = ("-", " ", "")[rng.choice(3, p=(0.85, 0.1, 0.05))]
    inches: list[Part] = [str(rng.integers(0, 12))]
    if rng.random() < 0.5:
        inches.append(_fraction(rng))
    if rng.random() < 0.1:
        return Phrase((feet + "'",), "feet")
    return Phrase(_joined(feet + "'" + joint, inches, _marked(rng, 0.9)), "feet")


def _angle(rng: Rng) -> Phrase:
    kind = rng.random()
    degrees = str(rng.integers(0, 91)) if rng.random() < 0.8 else _integer(rng, 3)
    if kind < 0.4:
        return Phrase((degrees + "°",), "angle")
    if kind < 0.5:
        return Phrase((f"{degrees}.{_digits(rng, int(rng.integers(1, 3)))}°",), "angle")
    if kind < 0.6:
        return Phrase(_joined(degrees, [_fraction(rng)], "°"), "angle")
    minutes = f"{rng.integers(0, 60):02d}" if rng.random() < 0.5 else str(rng.integers(0, 60))
    seconds = f'{rng.integers(0, 60)}"' if rng.random() < 0.15 else ""
    tail = f" ±{_small(rng)}°" if rng.random() < 0.05 else ""
    return Phrase((f"{degrees}°{minutes}'{seconds}{tail}",), "angle")


def _round(rng: Rng) -> Phrase:
    sign = ("Ø", "R", "□", "SR", "D")[rng.choice(5, p=(0.5, 0.38, 0.04, 0.04, 0.04))]
    if rng.random() < 0.3:
        tail = (" R", " R", " DIA", " DIAM", " D", " RAD", " Dia.", " Rad.", " DIA.", " D.", " SQ", " HEX")[
            rng.integers(12)
        ]
        return Phrase(_joined(_number(rng), _marked(rng, 0.35), tail), "round")
    return Phrase(_joined(sign, _number(rng), _marked(rng, 0.1)), "round")


def _thread(rng: Rng) -> Phrase:
    series = ("UNC", "UNF", "NC", "NF", "U.S.S.", "S.A.E.", "BSW", "WHIT.", "THD", "NC-2", "UNC-2A", "UNF-2B", "N-2")[
        rng.integers(13)
    ]
    kind = rng.random()
    if kind < 0.3:
        pitch = f"×{rng.choice(('0.5', '0.75', '1', '1.25', '1.5', '1.75', '2', '3'))}" if rng.random() < 0.6 else ""
        return Phrase((f"M{rng.integers(2, 100)}{pitch}",), "thread")
    count = str(rng.integers(4, 81))
    if kind < 0.7:
        return Phrase(_joined(_mixed(rng), f"-{count} {series}"), "thread")
    if kind < 0.8:
        return Phrase((f"{rng.integers(0, 13)}-{count} {series}",), "thread")
    return Phrase((f"{count} THDS PER INCH" if rng.random() < 0.5 else f"{count} T.P.I.",), "thread")


def _callout(rng: Rng) -> Phrase:
    template = _CALLOUTS[rng.integers(len(_CALLOUTS))]
    pieces: list[str | list[Part]] = []
    for token in template.split("|"):  # "#" is any number, "n" a count
        if token == "#":
            pieces.append(_joined_list(_number(rng), _marked(rng, 0.25)))
        elif token == "n":
            pieces.append(str(rng.integers(1, 25)))
        else:
            pieces.append(token)
    parts = _joined(*pieces)
    if rng.random() < 0.15:
        parts = tuple(_titled(p) if isinstance(p, str) else p for p in parts)
    return Phrase(parts, "callout")


def _joined_list(*pieces: str | list[Part]) -> list[Part]:
    return list(_joined(*pieces))


def _titled(text: str) -> str:
    return " ".join(w.lower() if w.isalpha() and len(w) > 1 else w for w in text.split(" "))


def _gear(rng: Rng) -> Phrase:
    row = _GEAR_ROWS[rng.integers(len(_GEAR_ROWS))]
    gap = (" ", ": ", " - ", " = ")[rng.choice(4, p=(0.75, 0.1, 0.08, 0.07))]
    value: str | list[Part] = _number(rng)
    if "ANGLE" in row:
        value = (f"{rng.integers(10, 31)}°", "14 1/2°", "20°", f"{rng.integers(0, 91)}°{rng.integers(0, 60):02d}'")[
            rng.integers(4)
        ]
    elif "NO" in row or "TEETH" in row:
        value = str(rng.integers(6, 200))
    return Phrase(_joined(row + gap, value, _marked(rng, 0.15) if isinstance(value, list) else ""), "gear")


def _words(rng: Rng) -> Phrase:
    count = int(rng.integers(1, 5))
    pool = CAPITALS if rng.random() < 0.7 else VOCABULARY
    words = [str(rng.choice(pool)) if rng.random() < 0.7 else _pseudo(rng) for _ in range(count)]
    if rng.random() < 0.3:
        words.insert(int(rng.integers(0, count + 1)), _integer(rng) if rng.random() < 0.6 else _decimal(rng))
    if rng.random() < 0.1:
        words = [w.lower() for w in words]
    if rng.random() < 0.12:
        words[-1] += (".", ":", ",", ";")[rng.integers(4)]
    if rng.random() < 0.06:
        words = [f"({' '.join(words)})"]
    return Phrase((" ".join(words),), "words")


def _pseudo(rng: Rng) -> str:
    pool = string.ascii_uppercase
    if rng.random() < 0.08:
        pool = string.ascii_uppercase + ".-+/&#%=@;:'"
    letters = "".join(rng.choice(list(pool), int(rng.integers(1, 9))))
    return letters.capitalize() if rng.random() < 0.1 else letters


def _short(rng: Rng) -> Phrase:
    """Reference dimensions, section letters, counts, part numbers."""
    kind = rng.random()
    if kind < 0.15:
        number = f"{_letter(rng)}-{_integer(rng)}"
        return Phrase((f"{rng.choice(('DRG. NO. ', 'DWG NO. ', 'NO. ', 'PART ', '', ''))}{number}",), "words")
    if kind < 0.22:
        month = str(rng.choice(("JAN", "FEB", "MAR", "APR", "MAY", "JUNE", "JULY", "AUG", "SEPT", "OCT", "NOV", "DEC")))
        return Phrase((f"{rng.integers(1, 32)} {month} {rng.integers(1870, 1970)}",), "words")
    if kind < 0.35:
        return Phrase(_joined("(", _number(rng), ")"), "callout")
    if kind < 0.5:
        return Phrase((f"{rng.integers(1, 30)} REQ'D",), "callout")
    if kind < 0.7:
        letter = _letter(rng)
        return Phrase((letter if rng.random() < 0.4 else f"{letter}-{letter}",), "words")
    return Phrase(
        (f"{_integer(rng, 3)}-{_integer(rng, 4)}" if rng.random() < 0.5 else f"{_integer(rng, 2)}:{_integer(rng, 2)}",),
        "words",
    )


def _letter(rng: Rng) -> str:
    return TELLING_LETTERS[rng.integers(len(TELLING_LETTERS))]


def _nothing(rng: Rng) -> Phrase:
    return Phrase((), "none")


_CALLOUTS = _lines("callouts.txt")
_GEAR_ROWS = _lines("gear_rows.txt")

_TABLE: tuple[tuple[Callable[[Rng], Phrase], float], ...] = (
    (_plain_fraction, 0.28),
    (_plain_integer, 0.07),
    (_plain_decimal, 0.12),
    (_limits, 0.07),
    (_deviation, 0.06),
    (_feet, 0.05),
    (_angle, 0.06),
    (_round, 0.07),
    (_thread, 0.03),
    (_callout, 0.06),
    (_gear, 0.03),
    (_words, 0.07),
    (_short, 0.03),
    (_nothing, 0.035),
)
_MAKERS = tuple(maker for maker, _ in _TABLE)
_WEIGHTS = np.array([weight for _, weight in _TABLE]) / sum(weight for _, weight in _TABLE)
