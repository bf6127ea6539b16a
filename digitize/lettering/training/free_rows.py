"""Rows that follow no template: words and sizes in any order and of any figures."""

import string

from digitize.lettering.training.written import (
    CAPITALS,
    TELLING_LETTERS,
    VOCABULARY,
    Form,
    Fraction,
    Pair,
    Part,
    Phrase,
    Rng,
    a_decimal,
    a_fraction,
    joined,
    joined_list,
    some_digits,
    titled,
)

ALONE_LETTERS = TELLING_LETTERS.replace("X", "")  # a lone X reads as a times sign
# How pieces of a free row are joined: a space between two sizes may be one within a mixed number.
BETWEEN_SIZES = (":", " × ", "-", " - ", ", ", " = ", " & ", " ±")
BETWEEN_WORDS = (" ", " ", " ", " ", " ", " ", "-", ": ", ":", ", ", " = ", " - ", " & ")
FREE_LENGTHS = (0.16, 0.36, 0.28, 0.13, 0.07)  # shares of free rows of one to five pieces


def free_row(rng: Rng) -> Phrase:
    """Words and sizes in any order and of any figures, so that nothing tells the reader what must follow."""
    pieces: list[str | list[Part]] = []
    was_size = False
    for _ in range(1 + int(rng.choice(len(FREE_LENGTHS), p=FREE_LENGTHS))):
        is_size = bool(rng.random() < 0.58)
        if pieces:
            joints = BETWEEN_SIZES if is_size and was_size else BETWEEN_WORDS
            pieces.append(str(rng.choice(joints)))
        pieces += _any_size(rng) if is_size else [_any_word(rng)]
        was_size = is_size
    parts = joined(*pieces)
    if rng.random() < 0.15:
        parts = tuple(titled(p) if isinstance(p, str) else p for p in parts)
    return Phrase(parts, "free")


def _any_size(rng: Rng) -> list[str | list[Part]]:
    """A size, now and then with a count after it where no eye could take both for a mixed number."""
    sign = ("", "Ø", "R", "M", "□", "+", "(", "SR")[rng.choice(8, p=(0.7, 0.09, 0.09, 0.03, 0.02, 0.02, 0.03, 0.02))]
    number = _any_number(rng)
    tail = ("", '"', "'", "°")[rng.choice(4, p=(0.64, 0.24, 0.06, 0.06))]
    size = joined_list(sign, number, tail, ")" if sign == "(" else "")
    told = isinstance(number[-1], Fraction) or "." in str(number[-1]) or tail == '"'
    return [size, f" {_any_integer(rng)}"] if told and rng.random() < 0.25 else [size]


def _any_number(rng: Rng) -> list[Part]:
    kind = rng.random()
    if kind < 0.3:
        return [_any_integer(rng)]
    if kind < 0.5:
        return [(_any_integer(rng) if rng.random() < 0.7 else "") + "." + some_digits(rng, int(rng.integers(1, 5)))]
    if kind < 0.55:
        return [
            Pair(_any_integer(rng, 2), _any_integer(rng, 2))
            if rng.random() < 0.3
            else Pair(a_decimal(rng), a_decimal(rng))
        ]
    forms: tuple[Form, ...] = ("bar", "slope", "row")
    form = forms[rng.choice(3, p=(0.6, 0.17, 0.23))]
    fraction = (
        a_fraction(rng, form) if rng.random() < 0.4 else Fraction(_any_integer(rng, 2), _any_integer(rng, 2), form)
    )
    return [fraction] if kind < 0.75 else [_any_integer(rng, 3), fraction]


def _any_integer(rng: Rng, most: int = 4) -> str:
    """Each figure as likely as any other, a leading nought seldom."""
    count = 1 + int(rng.choice(4, p=(0.34, 0.36, 0.18, 0.12))) % most
    return str(rng.integers(0 if rng.random() < 0.1 else 1, 10)) + some_digits(rng, count - 1)


def _any_word(rng: Rng) -> str:
    kind = rng.random()
    if kind < 0.55:
        word = str(rng.choice(CAPITALS if rng.random() < 0.7 else VOCABULARY))
        return word + "." if word.isalpha() and rng.random() < 0.1 else word
    if kind < 0.8:
        return "".join(rng.choice(list(string.ascii_uppercase), int(rng.integers(2, 8))))
    if kind < 0.9:
        return ALONE_LETTERS[rng.integers(len(ALONE_LETTERS))] + ("." if rng.random() < 0.3 else "")
    letter = TELLING_LETTERS[rng.integers(len(TELLING_LETTERS))]  # a mark: letter and figures
    return letter + _any_integer(rng) if rng.random() < 0.6 else letter + "-" + _any_integer(rng)
