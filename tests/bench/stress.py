"""One reading of a sheet changed, the reader as sure of it as of the right one: does the wrong value end agreed?

    python -m tests.bench.stress out/cache [...] [--changes 6] [--only clean-]

The folders are those of `tests.bench.cache`. Of each sheet some agreed lengths and angles are taken, and each is read
as one of its own rivals or with a figure changed, lost or made up, drawn by the sheet's name; half of them, where there
are such, as one that lies near. Where the new value lies further from what is measured than a rival may, the drawing
tells it apart, and it must not be agreed; where nearer, only the reader's certainty, a chain or another view can.
"""

import argparse
import random
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from digitize.dimensions.linking.candidates import losses, made_up, substitutions
from digitize.dimensions.linking.entries import parse_or_none
from digitize.dimensions.linking.split_callouts import whole_texts
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Dimension, State
from digitize.dimensions.witnesses.witness import RIVAL_Z
from digitize.lettering import grammar
from digitize.lettering.text import Callout, Reading, Text
from tests.bench.cache import Kept, kept
from tests.bench.dimension_score import GEOMETRIC

NEAR_SHARE = 0.5
"""Share of the changes that are to values which the drawing can't tell apart, where there are any."""
parse = cache(grammar.parse)


@dataclass(frozen=True)
class Change:
    """A figure that was changed: its style, whether the drawing tells it apart, and the state that it ends in."""

    name: str
    style: str
    told_apart: bool
    state: State


def changes_of(sheet: Kept, most: int) -> Iterator[Change]:
    """Change some agreed figures of a sheet, one after the other."""
    texts = whole_texts(sheet.texts, parse_or_none(parse))
    sound = [row for row in _rows(sheet, texts) if row.state is State.AGREED and row.kind in GEOMETRIC]
    chance = random.Random(sheet.name)
    for row in chance.sample(sound, min(most, len(sound))):
        if row.measured is None or not row.measured_std:
            continue
        others = _others(texts[row.place[0]], row)
        near = [(other, off) for other, off in others if off <= RIVAL_Z]
        if not others:
            continue
        other, apart = chance.choice(near if near and chance.random() < NEAR_SHARE else others)
        changed = list(texts)
        text = changed[row.place[0]]
        changed[row.place[0]] = replace(text, readings=(Reading(other, text.readings[0].probability),))
        now = next((each for each in _rows(sheet, changed) if each.place == row.place), None)
        name = f"{sheet.name} {row.id}: {row.text!r} as {other!r}, {apart:.1f} standard errors off"
        yield Change(name, row.style, apart > RIVAL_Z, now.state if now else State.UNREAD)


def _rows(sheet: Kept, texts: Sequence[Text]) -> tuple[Dimension, ...]:
    return reconcile(sheet.sheet, sheet.strokes, texts, parse).dimensions


def _others(text: Text, row: Dimension) -> list[tuple[str, float]]:
    """Strings of the same shape that say another value in one place, and its distance in standard errors."""
    best = text.readings[0].text
    whole = parse(best)
    if not isinstance(whole, Callout) or row.place[1] >= len(whole.values):
        return []
    strings = [reading.text for reading in text.readings[1:]]
    strings += [*substitutions(best), *made_up(best), *losses(best)]
    found: dict[float, str] = {}
    for string in strings:
        callout = parse(string)
        if not isinstance(callout, Callout) or len(callout.values) != len(whole.values):
            continue
        value = callout.values[row.place[1]]
        if value.nominal and value.nominal != row.value and value.kind == row.kind:
            found.setdefault(float(value.nominal), string)
    measured, std = row.measured or 0.0, row.measured_std or 1.0
    return [(string, abs(value - measured) / std) for value, string in found.items()]


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    plain = argparse.RawDescriptionHelpFormatter
    parser = argparse.ArgumentParser(prog="stress", description=__doc__, formatter_class=plain)
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--changes", type=int, default=6, help="figures changed a sheet, at most")
    parser.add_argument("--only", default="", help="names that hold this text, such as clean-")
    options = parser.parse_args(argv)
    made = [
        change
        for folder in options.folders
        for sheet in kept(folder, lambda name: options.only in name)
        for change in changes_of(sheet, options.changes)
    ]
    for change in made:
        if change.state is State.AGREED:
            print("told apart" if change.told_apart else "not told apart", change.style, change.name)
    _print_table(made)


def _print_table(made: Sequence[Change]) -> None:
    """Changes and those that end agreed, by style, told apart by the drawing or not."""
    of = Counter((change.style, change.told_apart) for change in made)
    agreed = Counter((change.style, change.told_apart) for change in made if change.state is State.AGREED)
    print(f"{'style':12} {'told apart':>16} {'not told apart':>16}   agreed of changed")
    for style in sorted({change.style for change in made}):
        cells = (f"{agreed[style, apart]} of {of[style, apart]}" for apart in (True, False))
        print(f"{style:12} " + " ".join(f"{cell:>16}" for cell in cells))
    sums = (f"{sum(n for (_, told), n in c.items() if told is apart)}" for apart in (True, False) for c in (agreed, of))
    told, of_told, hidden, of_hidden = sums
    print(f"{'all':12} {f'{told} of {of_told}':>16} {f'{hidden} of {of_hidden}':>16}")


if __name__ == "__main__":
    main()
