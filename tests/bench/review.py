"""How long the review page lets a person wait: ``python -m tests.bench.review FOLDER``.

Each figure is set against a general library doing comparable work in the same run: Pillow decoding the same print and
halving it until it fits a screen.
"""

import argparse
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image

from digitize.review.pictures import TILE_PX, Pyramid, pyramid
from digitize.review.reviewed import ReviewedSheet

LARGE_PX = (13_600, 17_600)  # E size at 400 dpi: 239 megapixels
TILES = 40
WORDS = 5
SCREEN_PX = 1500


def seconds(work: Callable[[], object]) -> float:
    """Wall time of one call."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def library(path: Path) -> float:
    """Decode a print and shrink it to a screen with Pillow."""
    Image.MAX_IMAGE_PIXELS = None

    def shrink() -> None:
        with Image.open(path) as image:
            image.convert("L").thumbnail((SCREEN_PX, SCREEN_PX))

    return seconds(shrink)


def tiles(levels: Pyramid) -> list[float]:
    """Seconds of single tiles all over a picture, at its full size."""
    width, height = levels.size_px
    rng = np.random.default_rng(1)
    places = zip(rng.integers(0, width // TILE_PX, TILES), rng.integers(0, height // TILE_PX, TILES), strict=True)
    return [seconds(lambda x=x, y=y: levels.tile(0, int(x), int(y))) for x, y in places]  # type: ignore[misc]


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="review", description=__doc__)
    parser.add_argument("folder", type=Path, help="a result of digitize sheet, which is not changed")
    folder = parser.parse_args(argv).folder
    reviewed: list[ReviewedSheet] = []
    opening = seconds(lambda: reviewed.append(ReviewedSheet(folder)))
    sheet = reviewed[0]
    first = seconds(lambda: sheet.pictures.tile(len(sheet.pictures.levels) - 1, 0, 0))
    sheet.conclude()
    word = {"kind": "confirm", "place": sheet.content()["rows"][0]["place"], "said": "1 3/8"}
    words = []
    for _ in range(WORDS):
        words.append(seconds(lambda: (sheet.say(word, "bench", "2000-01-01"), sheet.content())))
        sheet.undo()
    against = library(sheet.source)
    grey = np.random.default_rng(0).integers(200, 255, LARGE_PX, dtype=np.uint8)
    built: list[Pyramid] = []
    large = seconds(lambda: built.append(pyramid(grey)))
    waits = tiles(built[0])
    print(f"opening {opening:.2f} s, first picture {first:.2f} s more; Pillow to a screen {against:.2f} s")
    print(f"ratio of first picture to Pillow {(opening + first) / against:.2f}")
    print(f"a word and all that follows: median {statistics.median(words):.2f} s, worst {max(words):.2f} s")
    print(f"239 megapixels: laid in tiles in {large:.2f} s; a tile in {1e3 * statistics.median(waits):.0f} ms, "
          f"worst {1e3 * max(waits):.0f} ms")  # fmt: skip


if __name__ == "__main__":
    main()
