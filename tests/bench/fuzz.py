"""Strokes and readings of kept sheets spoiled by chance: may a sheet end in an error, or a wrong value as agreed?

    python -m tests.bench.fuzz out/cache [...] [--trials 3] [--only clean-]

The folders are those of `tests.bench.cache`. In each trial some strokes, arrowheads, views and readings are lost, put
down twice, cut short or moved, as a poor trace does it, by a share and a distance that are drawn by the sheet's name
and the trial's number. What follows must go through, and must not agree what is lettered nowhere there, but where it
does so on the sheet as it was found. Lettering is made unreadable or lost whole, also one row of two: of two limits
the one that is left must not be agreed as a size alone. How many values are agreed on spoiled and on unspoiled sheets
is told.
"""

import argparse
import math
import random
import re
import traceback
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from digitize.lettering.text import Layout, Text
from digitize.strokes.primitives import Arc, Arrowhead, HatchedRegion, Line, Point, Strokes
from tests.bench.cache import Kept, finished, kept
from tests.bench.dimension_score import score_dimensions

T = TypeVar("T")
SHARES = (0.02, 0.1, 0.3)
"""Share of strokes that each kind of damage befalls."""
FARTHEST_PX = (0.5, 3.0, 20.0)
"""Standard deviation of what is moved."""
ROWS, ROW = 2, re.compile(r"[^+±-]*\d[^+±-]*")
"""Limits stand in so many rows; a row of a tolerance has a sign, and is not half as high as what it stands beside."""
LEAST_PX = 0.01
"""A line keeps some length, however it is cut: the trace knows none without."""


@dataclass(frozen=True)
class Damage:
    """How much of a sheet is spoiled, and by how far what is moved."""

    chance: random.Random
    share: float
    far_px: float

    def befalls(self) -> bool:
        """Whether one thing is hit."""
        return self.chance.random() < self.share

    def moved(self, point: Point) -> Point:
        """A place a little off."""
        return point[0] + self.chance.gauss(0, self.far_px), point[1] + self.chance.gauss(0, self.far_px)

    def some(self, things: Sequence[T]) -> list[T]:
        """Some of the things lost, some there twice."""
        kept_ones = [thing for thing in things if not self.befalls()]
        return kept_ones + [thing for thing in kept_ones if self.befalls()]


def spoiled(strokes: Strokes, damage: Damage) -> Strokes:
    """The strokes with some lost, doubled, cut short and moved; what names a lost line names none."""
    order = damage.some(range(len(strokes.lines)))
    place = {old: new for new, old in reversed(list(enumerate(order)))}
    heads = [_head(head, place, damage) for head in damage.some(strokes.arrowheads)]
    return replace(
        strokes,
        lines=tuple(_line(strokes.lines[i], damage) for i in order),
        arcs=tuple(_arc(arc, damage) for arc in damage.some(strokes.arcs)),
        arrowheads=tuple(heads),
        views=tuple(view for view in strokes.views if not damage.befalls()),
        tooth_rings=tuple(ring for ring in strokes.tooth_rings if not damage.befalls()),
        hatched=tuple(_hatched(region, place) for region in strokes.hatched),
    )


def _line(line: Line, damage: Damage) -> Line:
    start, end = line.start, line.end
    if damage.befalls():
        start, end = damage.moved(start), damage.moved(end)
    if damage.befalls():
        part = damage.chance.random()
        end = start[0] + part * (end[0] - start[0]), start[1] + part * (end[1] - start[1])
    if math.dist(start, end) < LEAST_PX:
        end = start[0] + LEAST_PX, start[1]
    return replace(line, start=start, end=end)


def _arc(arc: Arc, damage: Damage) -> Arc:
    if damage.befalls():
        arc = replace(arc, centre=damage.moved(arc.centre), radius_px=arc.radius_px * damage.chance.uniform(0.5, 2.0))
    return replace(arc, sweep_deg=arc.sweep_deg * damage.chance.random()) if damage.befalls() else arc


def _head(head: Arrowhead, place: dict[int, int], damage: Damage) -> Arrowhead:
    turned_deg = damage.chance.choice((0.0, 90.0, 180.0)) if damage.befalls() else 0.0
    tip = damage.moved(head.tip) if damage.befalls() else head.tip
    line = None if head.line is None else place.get(head.line)
    return replace(head, tip=tip, direction_deg=(head.direction_deg + turned_deg) % 360.0, line=line)


def _hatched(region: HatchedRegion, place: dict[int, int]) -> HatchedRegion:
    return replace(region, lines=tuple(place[line] for line in region.lines if line in place))


def misread(texts: Sequence[Text], damage: Damage) -> tuple[Text, ...]:
    """The texts with some lost or put down twice, of some a row or all readings lost, or their chances spoiled."""
    rest = damage.some(texts)
    return tuple(_misread(_one_row(text, damage) if damage.befalls() else text, damage) for text in rest)


def _one_row(text: Text, damage: Damage) -> Text:
    """One row of two, where a text has two of one height, as surely read as both were; another text as it is."""
    rows = text.readings[0].text.split("\n") if text.readings else []
    if len(rows) != ROWS or not all(ROW.fullmatch(row) for row in rows):
        return text
    (low, high), which = damage.chance.choice((((0.0, 0.5), 0), ((0.5, 1.0), 1)))
    left_top, right_top, right_foot, left_foot = text.block.quad
    left, right = (_between(left_top, left_foot), _between(right_top, right_foot))
    quad = (left(low), right(low), right(high), left(high))
    block = replace(text.block, quad=quad, layout=Layout.ROW)
    return replace(text, block=block, readings=(replace(text.readings[0], text=rows[which]),))


def _between(start: Point, end: Point) -> Callable[[float], Point]:
    """The point at a part of the way between two."""
    return lambda part: (start[0] + part * (end[0] - start[0]), start[1] + part * (end[1] - start[1]))


def _misread(text: Text, damage: Damage) -> Text:
    readings = () if damage.befalls() else text.readings
    if damage.befalls():
        share = damage.chance.random()
        readings = tuple(replace(reading, probability=reading.probability * share) for reading in readings)
    return replace(text, readings=readings)


def trial(sheet: Kept, number: int, known: Collection[str] = ()) -> tuple[str, int]:
    """What is wrong after one trial beyond what is known, empty where nothing is, and how many values are agreed."""
    chance = random.Random(f"{sheet.name} {number}")
    damage = Damage(chance, chance.choice(SHARES), chance.choice(FARTHEST_PX))
    hit = replace(sheet, strokes=spoiled(sheet.strokes, damage), texts=misread(sheet.texts, damage))
    try:
        score = score_dimensions(finished(hit))
    except Exception:
        return f"{sheet.name} trial {number} raises: {traceback.format_exc(limit=-3)}", 0
    wrong = [each for each in score.wrong if _said(each) not in known]
    words = [f"{sheet.name} trial {number}, {damage.share:.0%} by {damage.far_px:g} px: {each}" for each in wrong]
    return "\n".join(words), score.agreed_all_kinds


def _said(wrong: str) -> str:
    """Text and value of what is counted wrong, whatever its place in the table."""
    return wrong.partition(": ")[2]


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    plain = argparse.RawDescriptionHelpFormatter
    parser = argparse.ArgumentParser(prog="fuzz", description=__doc__, formatter_class=plain)
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--trials", type=int, default=3, help="a sheet")
    parser.add_argument("--only", default="", help="names that hold this text, such as clean-")
    options = parser.parse_args(argv)
    sheets = agreed = sound = bad = 0
    for folder in options.folders:
        for sheet in kept(folder, lambda name: options.only in name):
            sheets += 1
            found = score_dimensions(finished(sheet))
            sound += found.agreed_all_kinds
            known = {_said(each) for each in found.wrong}
            for number in range(options.trials):
                words, count = trial(sheet, number, known)
                agreed, bad = agreed + count, bad + bool(words)
                if words:
                    print(words, flush=True)
    trials = sheets * options.trials
    print(f"{trials} trials of {sheets} sheets: {bad} went wrong; {agreed} agreed, {sound * options.trials} unspoiled")


if __name__ == "__main__":
    main()
