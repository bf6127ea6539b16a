"""Lettering against truth on whole sheets: what is found, found whole, and read.

``python -m tests.bench.finder --level clean --seeds 2000:2030 --out DIR``

A text is *found* where a block overlaps it as `tests.bench.dimension_score` says; blocks that no text is paired with
are false. It is found *whole* where the block holds all of the text and nothing of another: a figure cut short reads
surely and wrongly. Texts and false blocks that fail are shown in ``DIR/LEVEL.png``, each with its cause. With
``--read`` the blocks are read too, and exact strings are counted.
"""

import argparse
import json
import time
from dataclasses import dataclass, field
from pathlib import Path

import cv2
import numpy as np
from scipy.optimize import linear_sum_assignment
from shapely import Polygon

from calibrate.level import calibrate_sheet
from calibrate.sheet import LevelSheet, apply_homography
from digitize.lettering.crops import cut
from digitize.lettering.find import find_lettering
from digitize.lettering.read import default_reader, read_blocks
from digitize.lettering.text import Lettering, TextBlock
from digitize.pipeline import laid_upright
from samples.__main__ import make_sheet, seed_range
from tests.bench.dimension_score import overlap
from tests.bench.records import FloatArray, Record

LEVELS = ("clean", "aged", "harsh")
INK_EDGE = 0.2
"""A block may end this far inside its text's drawn box, in letter heights: the reader's crop has a wider margin."""
WHOLE_SHARE = 0.995
FOREIGN_SHARE = 0.12
"""Of another text's box; boxes of neighbours touch."""
LOOK_HEIGHTS = 1.5
TILE_PX = (360, 150)
TILES_ACROSS = 5


@dataclass
class Tally:
    """Counts of one level, of all sheets and by what a text is."""

    texts: int = 0
    found: int = 0
    whole: int = 0
    blocks: int = 0
    false: int = 0
    read: int = 0
    texts_read: int = 0
    false_read: int = 0
    seconds: float = 0.0
    reading_s: float = 0.0
    kinds: dict[str, list[int]] = field(default_factory=dict)


@dataclass(frozen=True)
class Failure:
    """A text or block that failed, and its picture."""

    sheet: str
    cause: str
    text: str
    picture: np.ndarray


def level_quad(sheet: LevelSheet, quad_px: list[list[float]]) -> FloatArray:
    """A quad of source pixels in level pixels, ndarray, shape (4, 2)."""
    return np.asarray(apply_homography(sheet.level_from_working @ sheet.working_from_source, np.array(quad_px)))


def text_height(quad: FloatArray, text: str) -> float:
    """Height of the letters, from the box of a row or of a stack, in pixels."""
    across = (np.hypot(*(quad[3] - quad[0])) + np.hypot(*(quad[2] - quad[1]))) / 2
    return float(across / 2) if "/" in text or "\n" in text else float(across)


def pairs_of(texts: list[FloatArray], blocks: list[FloatArray]) -> list[tuple[int, int]]:
    """Which block is each text's."""
    score = np.array([[overlap(text, block) for block in blocks] for text in texts]).reshape(len(texts), len(blocks))
    rows, columns = linear_sum_assignment(-score)
    return [(int(i), int(j)) for i, j in zip(rows, columns, strict=True) if score[i, j] > 0]


def flaw(block: FloatArray, own: int, texts: list[FloatArray], words: list[str]) -> str | None:
    """Why a block is not its text whole: "cut" or "merged"; None where nothing is wrong."""
    area = Polygon(block).convex_hull
    for index, other in enumerate(texts):
        theirs = Polygon(other).convex_hull
        if index != own and area.intersection(theirs).area > FOREIGN_SHARE * theirs.area:
            return f"merged with {words[index]!r}"
    reach = INK_EDGE * text_height(texts[own], words[own])
    mine = Polygon(texts[own]).convex_hull
    held = area.buffer(reach, join_style="mitre").intersection(mine).area
    return None if held >= WHOLE_SHARE * mine.area else "cut"


def place_of(quad: FloatArray) -> str:
    """Where a quad lies, in level pixels."""
    x, y = quad.mean(axis=0)
    return f"at {x:.0f} {y:.0f}"


def picture_of(sheet: LevelSheet, quad: FloatArray, blocks: list[FloatArray]) -> np.ndarray:
    """The sheet round a quad, blocks outlined."""
    height = float(min(np.hypot(*(quad[3] - quad[0])), np.hypot(*(quad[1] - quad[0]))))
    low, high = quad.min(axis=0) - LOOK_HEIGHTS * height, quad.max(axis=0) + LOOK_HEIGHTS * height
    (left, top), (right, bottom) = np.maximum(low, 0).astype(int), np.ceil(high).astype(int)
    window = cv2.cvtColor(sheet.grey[top:bottom, left:right], cv2.COLOR_GRAY2BGR)
    for outline, colour in [*((block, (0, 0, 255)) for block in blocks), (quad, (0, 160, 0))]:
        cv2.polylines(window, [np.rint(outline - (left, top)).astype(np.int32)], True, colour, 2)
    scale = min(TILE_PX[0] / window.shape[1], (TILE_PX[1] - 30) / window.shape[0])
    return cv2.resize(window, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)


def score_sheet(picture: Path, tally: Tally, read: bool) -> list[Failure]:
    """Add one sheet to the tally; returns what failed."""
    truth = json.loads(picture.with_name(f"{picture.stem}.truth.json").read_text(encoding="utf-8"))
    sheet = laid_upright(lambda turn: calibrate_sheet(picture, orientation_deg=turn))
    start = time.perf_counter()
    found = find_lettering(sheet)
    tally.seconds += time.perf_counter() - start
    blocks = list(found.blocks)
    texts = [level_quad(sheet, text["quad_px"]) for text in truth["texts"]]
    failures = _score_places(sheet, truth, texts, blocks, tally)
    return failures + (_score_readings(sheet, truth, texts, found, tally) if read else [])


def _score_places(
    sheet: LevelSheet, truth: Record, texts: list[FloatArray], blocks: list[TextBlock], tally: Tally
) -> list[Failure]:
    words = [text["text"] for text in truth["texts"]]
    quads = [np.array(block.quad) for block in blocks]
    paired = dict(pairs_of(texts, quads))
    failures = []
    for index, quad in enumerate(texts):
        cause = flaw(quads[paired[index]], index, texts, words) if index in paired else "missed"
        counts = tally.kinds.setdefault(kind_of(truth["texts"][index]), [0, 0, 0, 0])
        for place, happened in enumerate((True, index in paired, cause is None)):
            counts[place] += happened
        if cause is not None:
            failures.append(Failure(truth["name"], cause, words[index], picture_of(sheet, quad, quads)))
    used = set(paired.values())
    false = [quad for index, quad in enumerate(quads) if index not in used]
    failures += [Failure(truth["name"], "false", place_of(quad), picture_of(sheet, quad, quads)) for quad in false]
    tally.texts += len(texts)
    tally.found += len(paired)
    tally.whole += len(texts) - sum(failure.cause != "false" for failure in failures)
    tally.blocks += len(blocks)
    tally.false += len(false)
    return failures


def _score_readings(
    sheet: LevelSheet, truth: Record, texts: list[FloatArray], found: Lettering, tally: Tally
) -> list[Failure]:
    start = time.process_time()
    done = read_blocks(sheet, found.blocks, default_reader(), found.rivals)
    tally.reading_s += time.process_time() - start
    paired = dict(pairs_of(texts, [np.array(text.block.quad) for text in done]))
    tally.texts_read += len(done)
    tally.false_read += len(done) - len(paired)
    failures = []
    for index, row in enumerate(truth["texts"]):
        best = done[paired[index]].readings if index in paired else ()
        right = bool(best) and best[0].text == row["text"]
        tally.read += right
        tally.kinds[kind_of(row)][3] += right
        if not right and index in paired:
            said = f"{best[0].text!r} {best[0].probability:.3f}" if best else "nothing"
            crop = cv2.cvtColor(cut(sheet, done[paired[index]].block), cv2.COLOR_GRAY2BGR)
            scale = min(TILE_PX[0] / crop.shape[1], (TILE_PX[1] - 30) / crop.shape[0])
            small = cv2.resize(crop, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
            failures.append(Failure(truth["name"], f"read {said}", row["text"], small))
    return failures


def kind_of(text: Record) -> str:
    """What a text is, and how its figures stack."""
    stack = "limits" if "\n" in text["text"] else "fraction" if "/" in text["text"] else "row"
    return f"{text['what']} {stack}"


def contact_sheet(failures: list[Failure]) -> np.ndarray:
    """All failures side by side."""
    rows = max(-(-len(failures) // TILES_ACROSS), 1)
    page = np.full((rows * TILE_PX[1], TILES_ACROSS * TILE_PX[0], 3), 255, np.uint8)
    for index, failure in enumerate(failures):
        top, left = index // TILES_ACROSS * TILE_PX[1], index % TILES_ACROSS * TILE_PX[0]
        label = f"{index} {failure.sheet[-5:]} {failure.cause} {failure.text}"
        plain = label.encode("ascii", "replace").decode().replace("\n", "|")
        cv2.putText(page, plain[:56], (left + 2, top + 14), cv2.FONT_HERSHEY_SIMPLEX, 0.38, (160, 0, 0), 1, cv2.LINE_AA)
        height, width = failure.picture.shape[:2]
        page[top + 20 : top + 20 + height, left : left + width] = failure.picture
    return page


def report(level: str, tally: Tally, failures: list[Failure]) -> str:
    """The figures of one level, in words."""
    lines = [
        f"{level}: {tally.texts} texts, found {tally.found / max(tally.texts, 1):.4f},"
        f" whole {tally.whole / max(tally.texts, 1):.4f};"
        f" {tally.blocks} blocks, precision {1 - tally.false / max(tally.blocks, 1):.4f}; {tally.seconds:.1f} s"
    ]
    if tally.texts_read:
        share = 1 - tally.false_read / tally.texts_read
        lines.append(f"  {tally.texts_read} blocks after reading, precision {share:.4f}; {tally.reading_s:.1f} s")
    for kind, (texts, found, whole, read) in sorted(tally.kinds.items()):
        lines.append(f"  {kind}: {texts} texts, found {found}, whole {whole}, read exactly {read}")
    lines += [
        f"    {index} {failure.sheet} {failure.cause}: {failure.text!r}" for index, failure in enumerate(failures)
    ]
    return "\n".join(lines)


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="finder", description=__doc__)
    parser.add_argument("--level", choices=LEVELS, default="clean")
    parser.add_argument("--seeds", type=seed_range, required=True, help="first:last, last not included")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--read", action="store_true", help="read the blocks too")
    options = parser.parse_args(argv)
    options.out.mkdir(parents=True, exist_ok=True)
    tally, failures = Tally(), []
    for seed in options.seeds:
        name = f"{options.level}-{seed:05d}"
        there = [path for path in options.out.glob(f"{name}.*") if path.suffix != ".json"]
        picture = there[0] if there else make_sheet(options.level, seed, options.out)
        failures += score_sheet(picture, tally, options.read)
    cv2.imwrite(str(options.out / f"failures-{options.level}.png"), contact_sheet(failures))
    print(report(options.level, tally, failures))


if __name__ == "__main__":
    main()
