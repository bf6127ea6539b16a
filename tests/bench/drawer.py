"""What a person waits for on the page of a drawer: opened the first time, opened again, asked, a small picture.

    python -m tests.bench.drawer --sheets 4000

Each in milliseconds as the program answers it, without the browser.
"""

import argparse
import json
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np

from digitize.archive.page import PICTURE
from digitize.review.drawer import Drawer, key_of
from tests.bench.catalogue import timed_ms
from tests.digitize.archive.folders import result, value

ROWS = 20
PICTURE_SHAPE = 2400, 3400
"""Of a check print of an A3 sheet."""


def fill(home: Path, sheets: int) -> None:
    """Sheets that are made: twenty values each."""
    for number in range(sheets):
        rows = [
            value(f"A{row}.1", "linear", f"{number % 97 + row} 1/2", number % 97 + row + 0.5) for row in range(ROWS)
        ]
        result(home / f"{number:05d}", {"title": f"BUSH {number % 211}", "drawing_number": f"HM-{number}"}, rows)


def once_ms(work: Callable[[], object]) -> float:
    """Time of one run."""
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1e3


def main() -> None:
    """Fill, ask, print."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--sheets", type=int, default=4000)
    sheets = options.parse_args().sheets
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        fill(home, sheets)
        cv2.imwrite(str(home / "00000" / PICTURE), np.random.default_rng(0).integers(200, 255, PICTURE_SHAPE, np.uint8))
        drawer = Drawer(home)
        figures = {
            "first_opening": once_ms(drawer.content),
            "opening": timed_ms(drawer.content),
            "all": timed_ms(lambda: drawer.find({})),
            "the_last_of_all": timed_ms(lambda: drawer.find({"skip": str(sheets - 10)})),
            "words": timed_ms(lambda: drawer.find({"words": "bush 12 1/2"})),
            "a_length": timed_ms(lambda: drawer.find({"length": "14.5in", "within": "0.01in"})),
            "a_small_picture": once_ms(lambda: drawer.picture(key_of("00000"))),
            "the_picture_again": once_ms(lambda: drawer.picture(key_of("00000"))),
        }
        print(json.dumps({"sheets": sheets, **{name: round(ms, 1) for name, ms in figures.items()}}))


if __name__ == "__main__":
    main()
