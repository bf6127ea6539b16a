"""What drawn circles say of a stretched scan, calibration alone, against truth.

``python -m tests.bench.circles --level L --seeds A:B [--stretch PERCENT]``

Each sheet is scanned with one axis off by so much, across and up in turn, on top of what its paper shrank.

Terms
-----
true
    Percent by which the middle of the sheet comes out wider than high in the level picture, through the truth.
false
    The sheet is said to be stretched more than paper shrinks, and is not; or what is told is off by more than three of
    its standard errors.
"""

import argparse
import statistics
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from calibrate.errors import InputError
from calibrate.level import calibrate_sheet
from calibrate.scaling.circles import with_circles
from calibrate.scaling.stretching import LARGEST_USUAL
from calibrate.sheet import FloatArray, LevelSheet
from samples.__main__ import seed_range
from samples.aging import EXPOSE
from samples.bends import Camera, Eye
from samples.compose import finished, streams
from samples.pictures import encoded
from samples.truth import project

FAR_STDS, NORMAL_95 = 3.0, 1.96


@dataclass(frozen=True)
class Feed:
    """A scanner whose picture is shorter across and up by these factors; takes the place of a bend of the samples."""

    across: float
    up: float

    def of(self, matrix: FloatArray, paper: tuple[float, float], eye: Eye) -> Camera:
        """What such a scanner sees of a sheet that lies flat."""
        return np.diag([1 / self.across, 1 / self.up, 1.0]) @ matrix


@dataclass(frozen=True)
class Told:
    """Of one sheet with circles: true and said percent wider than high, its standard error, places, whether warned."""

    name: str
    true: float
    said: float
    std: float
    places: int
    warned: bool

    @property
    def false(self) -> bool:
        """Whether what was told is wrong."""
        return abs(self.said - self.true) > FAR_STDS * self.std or (
            self.warned and abs(self.true) <= 100 * LARGEST_USUAL
        )


def truly(sheet: LevelSheet, camera: Camera, paper: tuple[float, float]) -> float:
    """Percent by which a small square at the middle of the sheet comes out wider than high."""
    middle = np.array(paper) / 2
    seen = sheet.flat_points(project(camera, middle + np.array([[0, 0], [1, 0], [0, 1]])))
    width, height = np.abs(seen[1:] - seen[0]).max(axis=0)
    return 100 * float(width / height - 1)


def one(level: str, seed: int, percent: float, folder: Path) -> tuple[Told | None, float]:
    """Draw, scan and calibrate one sheet: what its circles tell, and the seconds that took; InputError as it comes."""
    drawing = finished(level, seed)
    factor = 1 + percent / 100
    feed = Feed(factor, 1.0) if seed % 2 else Feed(1.0, factor)
    scan = EXPOSE[level](drawing, streams(level, seed).exposure, feed if percent else None)
    path = folder / f"{level}-{seed:05d}{scan.suffix}"
    path.write_bytes(encoded(scan))
    sheet = calibrate_sheet(path)
    start = time.process_time()
    seen = with_circles(sheet)
    seconds = time.process_time() - start
    said = seen.circles
    if said is None or not said.agree:
        return None, seconds
    true = truly(sheet, scan.exposure.source_from_paper, drawing.paper_mm)
    stretch = 100 * float(np.expm1(said.stretch))
    warned = len(seen.warnings) > len(sheet.warnings)
    return Told(path.stem, true, stretch, 100 * said.std, said.places, warned), seconds


def report(title: str, told: list[Told], count: int, seconds: list[float]) -> str:
    """The figures of all sheets, in words."""
    error = np.array([each.said - each.true for each in told])
    std = np.array([each.std for each in told])
    beyond = [each for each in told if abs(each.true) > 100 * LARGEST_USUAL + FAR_STDS * each.std]
    lines = [
        f"{title}: {count} sheets, {len(told)} with circles that agree, {sum(each.places > 1 for each in told)} of them"
        f" at two places or more; seconds of the processor: median {statistics.median(seconds):.2f}, most"
        f" {max(seconds):.2f}",
        f"  false {[each for each in told if each.false]}",
        f"  stretched more than paper does: {len(beyond)}, said so of {sum(each.warned for each in beyond)}",
    ]
    if told:
        lines.append(
            f"  error: median {np.median(np.abs(error)):.3f}, worst {np.abs(error).max():.3f} %; stated standard error,"
            f" median {np.median(std):.3f} %; rms of error over it {np.sqrt(np.mean((error / std) ** 2)):.2f}; within"
            f" {NORMAL_95} of it {np.mean(np.abs(error) <= NORMAL_95 * std):.3f}"
        )
    return "\n".join(lines)


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="circles", description=__doc__)
    parser.add_argument("--level", choices=tuple(EXPOSE), required=True)
    parser.add_argument("--seeds", type=seed_range, required=True, help="first:last, last not included")
    parser.add_argument("--stretch", type=float, default=0.0, metavar="PERCENT")
    options = parser.parse_args(argv)
    cv2.setNumThreads(1)
    told, seconds = [], []
    with tempfile.TemporaryDirectory() as folder:
        for seed in options.seeds:
            try:
                found, spent = one(options.level, seed, options.stretch, Path(folder))
            except InputError as error:
                print(f"  {options.level}-{seed:05d}: {error}")
                continue
            seconds.append(spent)
            told += [] if found is None else [found]
    print(report(f"{options.level}, {options.stretch:g} %", told, len(options.seeds), seconds), flush=True)


if __name__ == "__main__":
    main()
