"""Figures of real plates, read with their places given and with their places found.

``python -m tests.bench.plate_figures FOLDER --out DIR``: FOLDER holds pictures and a ``truth.json`` as
`tests.bench.plates` wants it; its sizes are read, and notes left out. Its truth gives the middle of each figure and no
box or direction. *Given* is that middle with the extent that its text takes in the plate's usual figure height, in a
few sizes and directions, and whatever blocks or rivals of the finder fill about that extent; the fullest reading of
those that read well counts. *Found* is what the whole program reads there. Right is the exact string, but for blanks
that tell nothing and how marks are spelled.
Misreadings of places given are shown in ``DIR/misread.png``: the truth, what was read, and the crop.
"""

import argparse
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import median

import cv2
import numpy as np
from shapely import Polygon

from calibrate.level import calibrate_sheet
from calibrate.sheet import LevelSheet, apply_homography
from digitize.lettering.crops import cut, turned
from digitize.lettering.find import find_lettering
from digitize.lettering.finding.high_marks import with_high_marks
from digitize.lettering.meaning.spelling import one_spelling, without_idle_spaces
from digitize.lettering.read import default_reader
from digitize.lettering.reading.bars import with_bars_as_seen
from digitize.lettering.reading.once import Reader
from digitize.lettering.reading.worth import worth
from digitize.lettering.text import Layout, Text, TextBlock
from digitize.pipeline import Stopwatch, find_on, laid_upright
from tests.bench.finder import Failure, contact_sheet
from tests.bench.plates import GEOMETRIC, NEAR_PX
from tests.bench.records import Record

LETTER, FIGURE, MARK, BLANK = 0.8, 0.75, 0.6, 0.3
"""Breadths of letters, of figures, of marks and points, and of blanks, in figure heights."""
FRACTION_DEPTH = 2.2
SIZES = 0.8, 1.0, 1.25, 1.5, 2.0
DIRECTIONS_DEG, SLANTING_SIZES = (-75, -60, -45, -30, -15, 15, 30, 45, 60, 75), (1.0, 1.25)
"""Figures along slanting lines: every 15 degrees, as a reader bears half of it, and in the likeliest sizes."""
NEAR_HEIGHTS = 4.0
"""Blocks whose middle is further from a given one, in figure heights, are not of its figure."""
MUCH_ALIKE = 0.4
"""A found block is of a given place where they share so much of what both cover."""
UNIT_MARKS = "'\"°"
AS_WELL = 0.5
"""Of readings about as good, to this share, the fullest counts: a part of a figure reads surely too."""
FRACTION = re.compile(r"(\d+)/(\d+)")


@dataclass
class Score:
    """Of the figures of one plate: how many there are, and are read exactly with their places given and found."""

    figures: int = 0
    given: int = 0
    found: int = 0


def extent_of(text: str) -> tuple[float, float]:
    """Breadth and depth of a text in figure heights, its fractions stacked.

    >>> extent_of('3"'), extent_of("5/16")
    ((1.35, 1.0), (1.5, 2.2))
    """
    flat = FRACTION.sub(lambda match: max(match.groups(), key=len), text)
    breadths = (FIGURE if c.isdigit() else LETTER if c.isalpha() else BLANK if c == " " else MARK for c in flat)
    return round(sum(breadths), 3), 1.0 if flat == text else FRACTION_DEPTH


def boxes_at(middle: tuple[float, float], text: str, height_px: float) -> Iterator[TextBlock]:
    """Boxes round a given middle in a few sizes, read from the bottom, from the right and along slanting lines."""
    breadth, depth = extent_of(text)
    layout = Layout.ROW if depth == 1.0 else Layout.STACK
    for size in sorted(SIZES, key=lambda size: abs(size - 1.0)):
        height = size * height_px
        for upright in (False, True):
            half = breadth * height / 2, depth * height / 2
            x, y = half[::-1] if upright else half
            quad = tuple((middle[0] + sx * x, middle[1] + sy * y) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1)))
            block = TextBlock((quad[0], quad[1], quad[2], quad[3]), 0.0, height, layout)
            yield replace(turned(block, 1), height_px=height) if upright else block
            if not upright and size in SLANTING_SIZES:
                yield from (slanting(block, angle) for angle in DIRECTIONS_DEG)


def slanting(block: TextBlock, angle_deg: float) -> TextBlock:
    """A level block turned about its middle, counter-clockwise.

    >>> block = TextBlock(((-2.0, -1.0), (2.0, -1.0), (2.0, 1.0), (-2.0, 1.0)), 0.0, 2.0)
    >>> [round(value, 3) for value in slanting(block, 90.0).quad[0]]
    [-1.0, 2.0]
    """
    cos, sin = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    around = np.subtract(block.quad, block.centre) @ np.array([[cos, -sin], [sin, cos]]) + block.centre
    first, second, third, fourth = ((float(x), float(y)) for x, y in around)
    return replace(block, quad=(first, second, third, fourth), angle_deg=angle_deg % 360.0)


def alike(one: TextBlock, other: TextBlock) -> float:
    """Share of what two blocks cover together that both cover."""
    first, second = Polygon(one.quad).convex_hull, Polygon(other.quad).convex_hull
    return float(first.intersection(second).area / first.union(second).area)


def best_at(sheet: LevelSheet, blocks: Sequence[TextBlock], reader: Reader) -> Text:
    """The block that reads most characters, of those that read about as well as any; nonsense goes behind."""
    readings = reader.read([cut(sheet, block) for block in blocks], [block.layout for block in blocks])
    raw = [Text(block, best, reader.name) for block, best in zip(blocks, readings, strict=True)]
    texts = [with_bars_as_seen(sheet, with_high_marks(sheet, text)) for text in raw]
    least = AS_WELL * max(map(worth, texts))
    return max((text for text in texts if worth(text) >= least), key=lambda text: (_characters(text), worth(text)))


def _characters(text: Text) -> int:
    """Figures, letters and their unit marks in the best reading."""
    return sum(char.isalnum() or char in UNIT_MARKS for char in text.readings[0].text) if text.readings else 0


def plain(text: str) -> str:
    """A text as it is compared."""
    return without_idle_spaces(one_spelling(text)).replace("''", '"')


def is_right(text: Text | None, said: str) -> bool:
    """Is the best reading the true one?"""
    return text is not None and bool(text.readings) and plain(text.readings[0].text) == plain(said)


def score_plate(plate: Record, folder: Path, reader: Reader) -> tuple[Score, list[Failure]]:
    """Read the legible figures of one plate both ways."""
    path = folder / plate["file"]
    sheet = laid_upright(lambda turn: calibrate_sheet(path, orientation_deg=turn), reader)
    texts = find_on(sheet, reader, Stopwatch(lambda stage: None)).texts
    lettering = find_lettering(sheet)
    blocks = (*lettering.blocks, *lettering.rivals, *(text.block for text in texts))
    height_px = median(block.height_px for block in blocks) if blocks else sheet.px(2.5)
    level_from_source = sheet.level_from_working @ sheet.working_from_source
    near_px = NEAR_PX * float(np.sqrt(abs(np.linalg.det(level_from_source[:2, :2]))))
    score, failures = Score(), []
    for truth in plate["dimensions"]:
        if not truth["legible"] or truth["kind"] not in GEOMETRIC:
            continue
        x, y = apply_homography(level_from_source, np.array([[truth["x"], truth["y"]]]))[0].tolist()
        boxes = list(boxes_at((x, y), truth["text"], height_px))
        near = [b for b in dict.fromkeys(blocks) if _apart(b, (x, y)) < NEAR_HEIGHTS * height_px]
        close = [block for block in near if max(alike(block, box) for box in boxes) > MUCH_ALIKE]
        given = best_at(sheet, [*boxes, *close], reader)
        there = [text for text in texts if text.block.holds((x, y)) or _apart(text.block, (x, y)) < near_px]
        score.figures += 1
        score.given += is_right(given, truth["text"])
        score.found += any(is_right(text, truth["text"]) for text in there)
        if not is_right(given, truth["text"]):
            said = f"{given.readings[0].text!r} {given.readings[0].probability:.2f}" if given.readings else "nothing"
            picture = cv2.cvtColor(cut(sheet, given.block), cv2.COLOR_GRAY2BGR)
            scale = min(350 / picture.shape[1], 120 / picture.shape[0])
            picture = cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
            failures.append(Failure(path.stem, f"{truth['text']} read", said, picture))
    return score, failures


def _apart(block: TextBlock, point: tuple[float, float]) -> float:
    return float(np.hypot(*np.subtract(block.centre, point)))


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="plate_figures", description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--only", nargs="*", default=[], help="names of plates; all by default")
    options = parser.parse_args(argv)
    plates = json.loads((options.folder / "truth.json").read_text(encoding="utf-8"))
    options.out.mkdir(parents=True, exist_ok=True)
    reader, total, failures = default_reader(), Score(), list[Failure]()
    for plate in plates:
        name = Path(plate["file"]).stem
        if not plate["dimensions"] or (options.only and name not in options.only):
            continue
        score, failed = score_plate(plate, options.folder, reader)
        print(
            f"{name}: {score.figures} legible, exact with places given {score.given}, found {score.found}", flush=True
        )
        for failure in failed:
            print(f"    {failure.cause} {failure.text}")
        failures += failed
        total = Score(*(getattr(total, key) + getattr(score, key) for key in ("figures", "given", "found")))
    share = max(total.figures, 1)
    print(f"all: {total.figures} legible, given {total.given / share:.3f}, found {total.found / share:.3f}")
    cv2.imwrite(str(options.out / "misread.png"), contact_sheet(failures))


if __name__ == "__main__":
    main()
