"""What one row is made of: words, numbers, fractions and pairs, and the whole of a row, a phrase."""

import string
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from digitize.lettering.stacks import END, FRACTION, LIMITS, START, canonical

Rng = np.random.Generator
Form = Literal["bar", "slope", "row"]


def lines(name: str) -> tuple[str, ...]:
    """Lines of a list beside this module."""
    return tuple(Path(__file__).with_name(name).read_text(encoding="utf-8").splitlines())


VOCABULARY = tuple(word for line in lines("vocabulary.txt") for word in line.split())
CAPITALS = tuple(word for word in VOCABULARY if word.upper() == word)
# Offices leave out I and O as letters of sections, sheets and parts, since they read as figures (common practice).
TELLING_LETTERS = "".join(letter for letter in string.ascii_uppercase if letter not in "IO")
ALIKE_LETTERS = frozenset("COSUVWXZ")  # small ones are shaped as capitals: words of these alone have no case
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


def some_digits(rng: Rng, count: int) -> str:
    """Digits, each as likely as any other."""
    return "".join(str(d) for d in rng.integers(0, 10, count))


def an_integer(rng: Rng, most: int = 4) -> str:
    """A whole number, half of them under 25, of ``most`` digits at most."""
    if rng.random() < 0.5:
        return str(rng.integers(1, 25))
    count = int(rng.integers(1, most + 1))
    return str(rng.integers(1, 10)) + some_digits(rng, count - 1)


def a_form(rng: Rng) -> Form:
    """How a fraction is lettered."""
    forms: tuple[Form, ...] = ("bar", "slope", "row")
    return forms[rng.choice(3, p=(0.7, 0.18, 0.12))]


def a_fraction(rng: Rng, form: Form | None = None) -> Fraction:
    """A fraction, mostly of halves to sixty-fourths."""
    form = form or a_form(rng)
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


def a_mixed(rng: Rng) -> list[Part]:
    """A length in inches as fraction, mixed number or whole number."""
    kind = rng.random()
    if kind < 0.42:
        return [a_fraction(rng)]
    if kind < 0.88:
        return [an_integer(rng, 2), a_fraction(rng)]
    return [an_integer(rng, 2)]


def a_decimal(rng: Rng) -> str:
    """A decimal of one to four places, without its leading nought in a third of all."""
    places = int(rng.choice((1, 2, 3, 4), p=(0.22, 0.3, 0.34, 0.14)))
    whole = ("", "0", an_integer(rng, 3))[rng.choice(3, p=(0.35, 0.08, 0.57))]
    point = "," if whole and rng.random() < 0.12 else "."
    return whole + point + some_digits(rng, places)


def a_number(rng: Rng) -> list[Part]:
    """A fraction, mixed number, decimal or whole number."""
    kind = rng.random()
    if kind < 0.5:
        return a_mixed(rng)
    return [a_decimal(rng)] if kind < 0.8 else [an_integer(rng)]


def joined(*pieces: str | list[Part]) -> tuple[Part, ...]:
    """Parts in a row, neighbouring strings made one."""
    made: list[Part] = []
    for piece in pieces:
        for part in [piece] if isinstance(piece, str) else piece:
            if isinstance(part, str) and made and isinstance(made[-1], str):
                made[-1] += part
            elif part:
                made.append(part)
    return tuple(made)


def marked(rng: Rng, share: float = 0.6) -> str:
    """An inch mark or none."""
    return '"' if rng.random() < share else ""


def joined_list(*pieces: str | list[Part]) -> list[Part]:
    """The same as a list."""
    return list(joined(*pieces))


def titled(text: str) -> str:
    """Words in lower case; single letters, abbreviations and words that show no case stay."""
    return " ".join(lowered(w) if w.isalpha() and len(w) > 1 else w for w in text.split(" "))


def lowered(word: str) -> str:
    """A word in lower case, where the picture can show it."""
    return word if ALIKE_LETTERS.issuperset(word.upper()) else word.lower()


def a_letter(rng: Rng) -> str:
    """A letter of a section, sheet or part."""
    return TELLING_LETTERS[rng.integers(len(TELLING_LETTERS))]
