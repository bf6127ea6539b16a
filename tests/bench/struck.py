"""What becomes of figures that are struck out: ``python -m tests.bench.struck --level clean --seeds A:B --out DIR``.

On each sheet about every second figure is crossed out by a pen stroke of its own, as an office does that changes a
size and leaves the drawing: level, rising, falling, twice, or as a cross. The drawing bears out every one of them. Told
is how the table then stands to them ("no row": the finder took nothing there for lettering), and beside it how many
figures that were left alone are said to be crossed. With ``--colour`` the strokes are of a coloured pencil, and sheets
that are no colour pictures become some.
"""

import argparse
import json
from collections import Counter
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from calibrate.sheet import FloatArray
from digitize.dimensions.reasons import Reason
from digitize.dimensions.table import State
from digitize.pipeline import digitize_sheet
from samples.__main__ import make_sheet, seed_range
from tests.bench.dimension_score import overlap

SHARE = 0.5
"""Of the figures of a sheet, so many are struck out."""
PEN_HEIGHTS = 0.07, 0.14
BEYOND_HEIGHTS = 0.1, 0.6
"""A stroke is so thick, and goes so far beyond the figure, in figure heights."""
BOW_HEIGHTS = 0.06
RISE = 0.2, 0.55
"""How far its ends lie above and under the middle, in depths of the figure."""
SAME = 0.3
"""Least part of a figure's box that a row of the table must share to be of that figure."""
BEST_FIRST = State.AGREED, State.DISPUTED, State.UNPROVEN, State.UNREAD
MANNERS = "level", "rising", "falling", "twice", "cross"
PENCILS = {"red": (178, 44, 42), "blue": (52, 78, 160), "green": (50, 120, 70), "violet": (112, 64, 138)}
"""Colours (red, green, blue) on white paper; they are laid over a sheet as a glaze is."""
DENSITY = 0.8, 1.0
QUALITY = 88


def ends_of(manner: str, rise: float) -> list[tuple[float, float]]:
    """Where the strokes begin and end, under the figure's middle, in its depths."""
    rising, falling = (rise, -rise), (-rise, rise)
    level = (0.2 * rise, -0.1 * rise)
    return {
        "level": [level],
        "rising": [rising],
        "falling": [falling],
        "twice": [(-0.12, -0.12), (0.12, 0.12)],
        "cross": [rising, falling],
    }[manner]


def strike(
    picture: NDArray[np.uint8], quad: FloatArray, lines: int, manner: str, rng: np.random.Generator, ink: float
) -> None:
    """Draw strokes over a figure of so many lines, in place."""
    across, down = quad[1] - quad[0], quad[3] - quad[0]
    depth = float(np.hypot(*down))
    height = min(depth / lines, float(np.hypot(*across)))
    way, under = across / np.hypot(*across), down / depth
    beyond = rng.uniform(*BEYOND_HEIGHTS) * height
    thick = max(1, round(height * rng.uniform(*PEN_HEIGHTS)))
    for left, right in ends_of(manner, float(rng.uniform(*RISE))):
        start = (quad[0] + quad[3]) / 2 - way * beyond + under * left * depth
        end = (quad[1] + quad[2]) / 2 + way * beyond + under * right * depth
        share = np.linspace(0.0, 1.0, 12)[:, None]
        bow = rng.uniform(-BOW_HEIGHTS, BOW_HEIGHTS) * height * 4 * share * (1 - share)
        path = np.rint(16 * (start + (end - start) * share + under * bow)).astype(np.int32)
        colour = (ink,) * (picture.shape[2] if picture.ndim == 3 else 1)
        cv2.polylines(picture, [path], False, colour, thick, cv2.LINE_AA, 4)


def glazed(
    picture: NDArray[np.uint8], mask: NDArray[np.uint8], colour: str, light: bool, rng: np.random.Generator
) -> NDArray[np.uint8]:
    """A pencil's strokes laid over a picture (BGR); on a dark ground (no ``light``) they cover it."""
    wanted = np.array(PENCILS[colour][::-1], np.float64)
    cover = (mask / 255.0 * rng.uniform(*DENSITY))[..., None]
    under = picture.astype(np.float64)
    over = under * wanted / 255.0 if light else np.broadcast_to(wanted + 60.0, under.shape)
    return np.clip(under * (1 - cover) + over * cover, 0, 255).astype(np.uint8)


def struck_sheet(
    level: str, seed: int, out: Path, colour: str | None = None
) -> tuple[Path, list[FloatArray], list[FloatArray]] | None:
    """A sheet with figures struck out: its picture, and the boxes of those struck and of those left alone.

    None where the picture is of a kind that is not drawn on here (PDF).
    """
    path = make_sheet(level, seed, out, trap_mode="none")
    picture = cv2.imread(str(path), cv2.IMREAD_UNCHANGED)
    if picture is None:
        return None
    dots = Image.open(path).info.get("dpi", (300, 300))
    truth = json.loads((out / f"{path.stem}.truth.json").read_text(encoding="utf-8"))
    rng = np.random.default_rng(seed)
    light = picture if picture.ndim == 2 else picture.mean(axis=2)
    dark_on_light = np.median(light) > 128
    ink = float(np.percentile(light, 0.5 if dark_on_light else 99.5))
    mask = np.zeros(light.shape, np.uint8)
    boxes = {tuple(map(tuple, each["quad_px"])): each["text"] for each in truth["dimensions"]}
    struck, alone = [], []
    for box, text in boxes.items():
        quad = np.array(box, np.float64)
        if rng.random() < SHARE:
            manner = str(rng.choice(MANNERS))
            on, tone = (picture, ink) if colour is None else (mask, 255.0)
            strike(on, quad, 1 + text.count("\n"), manner, rng, tone)
            struck.append(quad)
        else:
            alone.append(quad)
    if colour is not None:
        whole = picture if picture.ndim == 3 else np.asarray(cv2.cvtColor(picture, cv2.COLOR_GRAY2BGR), np.uint8)
        whole, path = glazed(whole, mask, colour, bool(dark_on_light), rng), path.with_suffix(".jpg")
        Image.fromarray(whole[..., ::-1]).save(path, dpi=dots, quality=QUALITY)
    else:
        cv2.imwrite(str(path), picture)
    return path, struck, alone


def main() -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="struck", description=__doc__.splitlines()[0])
    parser.add_argument("--level", default="clean")
    parser.add_argument("--seeds", type=seed_range, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--colour", choices=tuple(PENCILS), default=None, help="struck out with a coloured pencil")
    options = parser.parse_args()
    told: Counter[str] = Counter()
    left_alone = doubted = 0
    for seed in options.seeds:
        made = struck_sheet(options.level, seed, options.out, options.colour)
        if made is None:
            continue
        path, struck, alone = made
        rows = digitize_sheet(path).reconciled.dimensions
        for quad in struck:
            own = [row for row in rows if overlap(quad.tolist(), row.quad_px) > SAME]
            states = {row.state for row in own}
            told[next((str(state) for state in BEST_FIRST if state in states), "no row")] += 1
        why = Reason.STRUCK_OUT.say(), Reason.OTHER_INK.say()
        crossed = [row for row in rows if any(each in row.evidence for each in why)]
        left_alone += len(alone)
        doubted += sum(any(overlap(quad.tolist(), row.quad_px) > SAME for row in crossed) for quad in alone)
        print(f"{path.name}: {dict(told)}", flush=True)
    print(f"{told.total()} struck out: {dict(told)}; {doubted} of {left_alone} left alone said to be crossed")


if __name__ == "__main__":
    main()
