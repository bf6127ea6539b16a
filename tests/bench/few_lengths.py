"""How few lengths make a scale: simulated sheets of a few figures, and what ends agreed by how strongly a scale stands.

    python -m tests.bench.few_lengths --sheets 20000 [--bold 3] [--least 8] [--untold]

No pixels: values, styles, scales, pens and usual misreadings are drawn by chance (judgement, no source: three figures
of a hundred stand at another line, as many disagree with their own drawing, on one sheet of twenty some figures are off
by one factor). The code of today weighs them as those of one view whose circles came out round, or with ``--untold`` of
one without circles. ``--bold`` makes the reader so many times as often wrong as it says. Counted by the strength of
the scale in nats are figures, agreed ones, those of them that are not what the print says, and those that the print
says and the drawing does not. ``--least`` is the strength from which any are agreed.
"""

import argparse
import math
import random
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from unittest.mock import patch

from calibrate.scaling.stretching import Stretch
from digitize.dimensions.linking.candidates import losses, made_up, substitutions
from digitize.dimensions.linking.entries import Entry, Parser, collect, in_mm, parse_or_none
from digitize.dimensions.scales import scaled
from digitize.dimensions.scales.told import Told
from digitize.dimensions.scales.view_scales import scale_views
from digitize.dimensions.states.judgement import judge_all
from digitize.dimensions.table import Measured, State
from digitize.dimensions.witnesses.weighing import Bench
from digitize.lettering import grammar
from digitize.lettering.text import Callout, Kind, Reading, Text, TextBlock, Unit
from tests.bench.bounds import upper_bound

MM_PER_PX = 25.4 / 300
DRAWN_MM = (4.0, 120.0)
FULL, EXACT, HAND_MM = (1.0, 0.5, 0.25, 2.0), 0.5, (0.08, 0.3)
PRINT_WRONG, OTHER_LINE, FACTOR_SHEETS, FACTOR = 0.03, 0.03, 0.05, (0.003, 0.03)
SURENESS = ((0.85, 0.995, 0.9995), (0.1, 0.8, 0.99), (0.05, 0.35, 0.8))
BAND = 2.5
"""Width of the bands of strength that are counted, in nats."""
parse: Parser = cache(parse_or_none(grammar.parse))


@dataclass(frozen=True)
class Figure:
    """What the print says, whether that is what was drawn, the drawn length in paper mm, and what was read."""

    printed: str
    sound: bool
    drawn_mm: float
    text: Text


def _size(chance: random.Random, style: str, part_mm: float) -> str:
    """A size of a style near so many mm."""
    if style == "fraction":
        parts = max(1, round(part_mm / 25.4 * (denominator := chance.choice((2, 4, 8, 8, 16, 16, 32)))))
        whole, rest = divmod(parts, denominator)
        shared = math.gcd(rest, denominator)
        fraction = f"{rest // shared}/{denominator // shared}" if rest else ""
        return f'{" ".join(filter(None, [str(whole) if whole else "", fraction]))}"'
    if style == "inch":
        return f'{max(round(part_mm / 25.4 * 16) / 16, 1 / 16):.{chance.choice((2, 3, 3))}f}"'
    return f"{max(round(part_mm * 2) / 2, 0.5):g}" if chance.random() < 0.15 else f"{max(round(part_mm), 1)}"


def _confused(chance: random.Random, text: str) -> str:
    """Another size of as many values that a reader may take it for."""
    others = [o for o in (*substitutions(text), *made_up(text), *losses(text)) if _mm(o) not in (None, _mm(text))]
    return chance.choice(others) if others else text


def _mm(text: str) -> float | None:
    callout = parse(text)
    if not isinstance(callout, Callout) or len(callout.values) != 1 or callout.values[0].kind is not Kind.LINEAR:
        return None
    size = in_mm(callout.values[0], Unit.MM)
    return float(size) if size else None


def figures_of(chance: random.Random, bold: float) -> Iterator[Figure]:
    """The figures of one view."""
    style = chance.choice(("fraction", "fraction", "inch", "mm", "mm"))
    per_mm = chance.choice(FULL) * chance.uniform(0.985, 1.015)
    pen = 0.002 if chance.random() < EXACT else chance.uniform(*HAND_MM)
    factor = 1 + chance.uniform(*FACTOR) if chance.random() < FACTOR_SHEETS else 1.0
    for _ in range(chance.randint(3, 6)):
        paper = math.exp(chance.uniform(*map(math.log, DRAWN_MM)))
        true = _size(chance, style, paper / per_mm)
        drawn = (_mm(true) or 1.0) * per_mm * (factor if chance.random() < 0.5 else 1.0)
        if chance.random() < OTHER_LINE:
            drawn = math.exp(chance.uniform(*map(math.log, DRAWN_MM)))
        printed = _confused(chance, true) if chance.random() < PRINT_WRONG else true
        yield Figure(printed, printed == true, abs(chance.gauss(drawn, pen)) + 0.1, _read(chance, printed, bold))


def _read(chance: random.Random, printed: str, bold: float) -> Text:
    """A reading, as sure as it says or ``bold`` times as often wrong; the other is what it saw next."""
    _, least, most = chance.choices(SURENESS, [share for share, _, _ in SURENESS])[0]
    sure = chance.uniform(least, most)
    other = _confused(chance, printed)
    first, second = (other, printed) if chance.random() < bold * (1 - sure) else (printed, other)
    if chance.random() < 0.5:
        second = _confused(chance, first)
    block = TextBlock(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)), 0.0, 1.0)
    return Text(block, (Reading(first, sure), Reading(second, (1 - sure) * 0.8)))


def _tied(figures: list[Figure]) -> tuple[Entry, ...]:
    entries = collect([figure.text for figure in figures], parse, lambda text: "")
    return tuple(
        Entry(**{**entry.__dict__, "measured": _measured(i, figures[i].drawn_mm), "view": "A"})
        for i, entry in enumerate(entries)
    )


def _measured(i: int, drawn_mm: float) -> Measured:
    size = drawn_mm / MM_PER_PX
    ends = ((0.0, 500.0 * i), (size, 500.0 * i)) if i % 2 else ((500.0 * i, 0.0), (500.0 * i, size))
    return Measured(Kind.LINEAR, *ends, size, 0.03, (size / 2, 500.0 * i))


def count(job: tuple[int, float, float, bool]) -> Counter[tuple[int, str]]:
    """Figures of one sheet by band of strength: all, agreed, and the two kinds of wrong ones."""
    seed, bold, least, untold = job
    chance = random.Random(seed)
    figures = list(figures_of(chance, bold))
    entries = _tied(figures)
    told = Told(stretch=Stretch() if untold else Stretch(0.0, scaled.WELL_TOLD / 3, told=True))
    counted: Counter[tuple[int, str]] = Counter()
    with patch.object(scaled, "STRENGTH", least):
        fit = scale_views(entries, Unit.MM, MM_PER_PX, told)
        group = fit.group_of.get("A")
        if group is None:
            return counted
        band = int(fit.strength(group) / BAND)
        for judged in judge_all(entries, Bench((), fit, Unit.MM, MM_PER_PX)):
            counted[band, "all"] += 1
            if judged.state is State.AGREED and judged.chosen is not None:
                figure = figures[judged.entry.text]
                right = _mm(judged.chosen.text) == _mm(figure.printed)
                counted[band, "agreed"] += 1
                counted[band, "wrong"] += not right
                counted[band, "trap"] += right and not figure.sound
    return counted


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    plain = argparse.RawDescriptionHelpFormatter
    parser = argparse.ArgumentParser(prog="few_lengths", description=__doc__, formatter_class=plain)
    parser.add_argument("--sheets", type=int, default=20000)
    parser.add_argument("--bold", type=float, default=1.0)
    parser.add_argument("--least", type=float, default=8.0)
    parser.add_argument("--untold", action="store_true")
    options = parser.parse_args(argv)
    with ProcessPoolExecutor() as pool:
        jobs = ((seed, options.bold, options.least, options.untold) for seed in range(options.sheets))
        found = sum(pool.map(count, jobs, chunksize=50), Counter[tuple[int, str]]())
    print(f"{'nats':>12} {'figures':>8} {'agreed':>8} {'wrong':>6} {'traps':>6}  % wrong, 95 % bound")
    for band in sorted({band for band, _ in found}):
        n, agreed, wrong, traps = (found[band, name] for name in ("all", "agreed", "wrong", "trap"))
        rates = f"{100 * wrong / agreed:.3f}, {100 * upper_bound(wrong, agreed):.3f}" if agreed else ""
        print(f"{BAND * band:5.1f} - {BAND * (band + 1):4.1f} {n:8} {agreed:8} {wrong:6} {traps:6}  {rates}")


if __name__ == "__main__":
    main()
