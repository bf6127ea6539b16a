"""What is written: figures and words as drawing offices write them, with no arithmetic and little preference.

Half of all numbers are uniform over their digits, so that the reader learns shapes and leaves the judging of values to
geometry.
"""

import re
import string
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from digitize.lettering.training.free_rows import free_row
from digitize.lettering.training.written import (
    CAPITALS,
    VOCABULARY,
    Fraction,
    Pair,
    Part,
    Phrase,
    Rng,
    a_decimal,
    a_fraction,
    a_letter,
    a_mixed,
    a_number,
    an_integer,
    joined,
    joined_list,
    lines,
    lowered,
    marked,
    some_digits,
    titled,
)


def phrase(rng: Rng) -> Phrase:
    """Draw a phrase."""
    return _MAKERS[rng.choice(len(_MAKERS), p=_WEIGHTS)](rng)


def _plain_fraction(rng: Rng) -> Phrase:
    parts = a_mixed(rng)
    if len(parts) == 2 and isinstance(parts[1], Fraction) and parts[1].form != "row" and rng.random() < 0.16:
        high = replace(parts[1], mark='"' if rng.random() < 0.93 else "°")
        return Phrase((parts[0], high), "fraction_stacked" if high.form == "bar" else "fraction_sloped")
    form = next((p.form for p in parts if isinstance(p, Fraction)), None)
    style = "integer" if form is None else "fraction_stacked" if form == "bar" else "fraction_sloped"
    return Phrase(joined(parts, marked(rng)), style)


def _plain_integer(rng: Rng) -> Phrase:
    tail = marked(rng, 0.3) if rng.random() < 0.94 else " MM" if rng.random() < 0.5 else "mm"
    return Phrase((an_integer(rng) + tail,), "integer")


def _plain_decimal(rng: Rng) -> Phrase:
    tail = ("", '"', f" ±{_small(rng)}", " DIA", " R")[rng.choice(5, p=(0.66, 0.08, 0.18, 0.05, 0.03))]
    return Phrase((a_decimal(rng) + tail,), "decimal")


def _small(rng: Rng) -> str:
    lead = "0" if rng.random() < 0.3 else ""
    zeros = "0" * int(rng.integers(0, 3))
    return f"{lead}.{zeros}{some_digits(rng, int(rng.integers(1, 3)))}"


def _limits(rng: Rng) -> Phrase:
    places = int(rng.integers(1, 5))
    whole = "" if rng.random() < 0.3 else an_integer(rng, 3)
    first = whole + "." + some_digits(rng, places)
    keep = int(rng.integers(0, places + 1)) if rng.random() < 0.75 else 0
    second = (
        first[: len(first) - places + keep] + some_digits(rng, places - keep)
        if keep
        else whole + "." + some_digits(rng, places)
    )
    prefix = ("", "Ø", "R")[rng.choice(3, p=(0.78, 0.17, 0.05))]
    if prefix and rng.random() < 0.5:  # the sign is lettered before both figures
        prefix, first, second = "", prefix + first, prefix + second
    tail = ("", '"', " DIA", " BORE", " REAM")[rng.choice(5, p=(0.8, 0.05, 0.05, 0.05, 0.05))]
    if rng.random() < 0.2:  # as a fraction without its bar would be
        a, b = an_integer(rng, 3), an_integer(rng, 3)
        return Phrase(joined(prefix, [Pair(a, b)], tail), "limits")
    return Phrase(joined(prefix, [Pair(first, second)], tail), "limits")


def _deviation(rng: Rng) -> Phrase:
    nominal = joined("Ø" if rng.random() < 0.15 else "", a_number(rng), marked(rng, 0.12))
    zero = "0" if rng.random() < 0.3 else "+0"
    signs = (("+", "-"), ("+", "+"), ("-", "-"))[rng.choice(3, p=(0.84, 0.08, 0.08))]
    pair = Pair(signs[0] + _small(rng), signs[1] + _small(rng))
    if rng.random() < 0.15:
        pair = Pair(pair.upper, zero.replace("+", "-")) if rng.random() < 0.5 else Pair(zero, "-" + _small(rng))
    return Phrase((*nominal, pair), "deviation")


def _feet(rng: Rng) -> Phrase:
    feet = str(rng.integers(0, 20)) if rng.random() < 0.8 else an_integer(rng, 3)
    joint = "-" if rng.random() < 0.85 else ""
    inches: list[Part] = [str(rng.integers(0, 12))]
    if rng.random() < 0.5:
        inches.append(a_fraction(rng))
    if rng.random() < 0.1:
        return Phrase((feet + "'",), "feet")
    return Phrase(joined(feet + "'" + joint, inches, marked(rng, 0.9)), "feet")


def _angle(rng: Rng) -> Phrase:
    kind = rng.random()
    degrees = str(rng.integers(0, 91)) if rng.random() < 0.8 else an_integer(rng, 3)
    if kind < 0.4:
        return Phrase((degrees + "°",), "angle")
    if kind < 0.5:
        return Phrase((f"{degrees}.{some_digits(rng, int(rng.integers(1, 3)))}°",), "angle")
    if kind < 0.6:
        return Phrase(joined(degrees, [a_fraction(rng)], "°"), "angle")
    minutes = f"{rng.integers(0, 60):02d}" if rng.random() < 0.5 else str(rng.integers(0, 60))
    seconds = f'{rng.integers(0, 60)}"' if rng.random() < 0.15 else ""
    tail = f" ±{_small(rng)}°" if rng.random() < 0.05 else ""
    return Phrase((f"{degrees}°{minutes}'{seconds}{tail}",), "angle")


def _round(rng: Rng) -> Phrase:
    sign = ("Ø", "R", "□", "SR", "D")[rng.choice(5, p=(0.5, 0.38, 0.04, 0.04, 0.04))]
    if rng.random() < 0.3:
        tail = _ROUND_TAILS[rng.integers(len(_ROUND_TAILS))]
        return Phrase(joined(a_number(rng), marked(rng, 0.35), tail), "round")
    return Phrase(joined(sign, a_number(rng), marked(rng, 0.1)), "round")


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
        return Phrase(joined(a_mixed(rng), f"-{count} {series}"), "thread")
    if kind < 0.8:
        return Phrase((f"{rng.integers(0, 13)}-{count} {series}",), "thread")
    return Phrase((f"{count} THDS PER INCH" if rng.random() < 0.5 else f"{count} T.P.I.",), "thread")


def _callout(rng: Rng) -> Phrase:
    template = _CALLOUTS[rng.integers(len(_CALLOUTS))]
    pieces: list[str | list[Part]] = []
    for token in template.split("|"):  # "#" is any number, "n" a count
        if token == "#":
            pieces.append(joined_list(a_number(rng), marked(rng, 0.25)))
        elif token == "n":
            pieces.append(str(rng.integers(1, 25)))
        else:
            pieces.append(token)
    parts = joined(*pieces)
    if rng.random() < 0.15:
        parts = tuple(titled(p) if isinstance(p, str) else p for p in parts)
    return Phrase(parts, "callout")


def _gear(rng: Rng) -> Phrase:
    row = _GEAR_ROWS[rng.integers(len(_GEAR_ROWS))]
    gap = (" ", ": ", " - ", " = ")[rng.choice(4, p=(0.75, 0.1, 0.08, 0.07))]
    value: str | list[Part] = a_number(rng)
    if "ANGLE" in row:
        value = (f"{rng.integers(10, 31)}°", "14 1/2°", "20°", f"{rng.integers(0, 91)}°{rng.integers(0, 60):02d}'")[
            rng.integers(4)
        ]
    elif "NO" in row or "TEETH" in row:
        value = str(rng.integers(6, 200))
    return Phrase(joined(row + gap, value, marked(rng, 0.15) if isinstance(value, list) else ""), "gear")


def _words(rng: Rng) -> Phrase:
    count = int(rng.integers(1, 5))
    pool = CAPITALS if rng.random() < 0.7 else VOCABULARY
    words = [str(rng.choice(pool)) if rng.random() < 0.7 else _pseudo(rng) for _ in range(count)]
    if rng.random() < 0.3:
        words.insert(int(rng.integers(0, count + 1)), an_integer(rng) if rng.random() < 0.6 else a_decimal(rng))
    if rng.random() < 0.1:
        words = [lowered(w) for w in words]
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
    letters = _ALONE.sub(lambda _: a_letter(rng), letters)
    return letters[0] + lowered(letters[1:]) if rng.random() < 0.1 and letters[0] != "I" else letters


def _short(rng: Rng) -> Phrase:
    """Reference dimensions, section letters, counts, part numbers."""
    kind = rng.random()
    if kind < 0.15:
        number = f"{a_letter(rng)}-{an_integer(rng)}"
        return Phrase((f"{rng.choice(('DRG. NO. ', 'DWG NO. ', 'NO. ', 'PART ', '', ''))}{number}",), "words")
    if kind < 0.22:
        month = str(rng.choice(("JAN", "FEB", "MAR", "APR", "MAY", "JUNE", "JULY", "AUG", "SEPT", "OCT", "NOV", "DEC")))
        return Phrase((f"{rng.integers(1, 32)} {month} {rng.integers(1870, 1970)}",), "words")
    if kind < 0.35:
        return Phrase(joined("(", a_number(rng), ")"), "callout")
    if kind < 0.5:
        return Phrase((f"{rng.integers(1, 30)} REQ'D",), "callout")
    if kind < 0.7:
        letter = a_letter(rng)
        if rng.random() < 0.4:
            return Phrase((letter,), "words")
        title = f"{'SECTION ' if rng.random() < 0.3 else ''}{letter}-{letter}{' N.T.S.' if rng.random() < 0.2 else ''}"
        return Phrase((title,), "words")
    return Phrase(
        (
            f"{an_integer(rng, 3)}-{an_integer(rng, 4)}"
            if rng.random() < 0.5
            else f"{an_integer(rng, 2)}:{an_integer(rng, 2)}",
        ),
        "words",
    )


def _nothing(rng: Rng) -> Phrase:
    return Phrase((), "none")


_ALONE = re.compile("(?<![A-Z])[IO](?![A-Z])")  # by themselves no eye can tell these letters from figures
_ROUND_TAILS = (
    " R", " R", " DIA", " DIAM", " D", " RAD", " Dia.", " Rad.", " DIA.", " D.", " SQ", " HEX", " Rad.", " Rad.",
    " rad.", " Diam.", " diam.", " dia.", " dia'", " dia", " bore",
)  # fmt: skip
_CALLOUTS = lines("callouts.txt")
_GEAR_ROWS = lines("gear_rows.txt")

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
    (free_row, 0.42),
    (_nothing, 0.055),
)
_MAKERS = tuple(maker for maker, _ in _TABLE)
_WEIGHTS = np.array([weight for _, weight in _TABLE]) / sum(weight for _, weight in _TABLE)
