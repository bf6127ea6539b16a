"""What a sheet costs, as a ratio to general libraries on the same sheet in the same run.

``python -m tests.bench.cost PICTURE``: lays the picture on an A3 sheet at 300 dpi, digitizes it after a
warm-up, and times one full-page Tesseract pass and one pass of OpenCV's line segment detector over the same picture.
Medians of three; peak memory is that of a process that digitizes once.

``python -m tests.bench.cost --level aged --seeds A:B``: draws samples and sets everything before the strokes, from the
file to the level sheet, against one pass of the detector over the same picture's grey, in seconds of the processor,
each the best of three that take turns. With ``--lettering`` it sets finding and reading lettering against one full-page
Tesseract pass over the level sheet, in seconds of the processor too, each the best of two.
"""

import argparse
import math
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import cv2
import numpy as np
import pytesseract
from PIL import Image

from calibrate.files.load import load_page
from calibrate.level import calibrate_sheet
from calibrate.sheet import LevelSheet
from digitize.lettering.grammar import parse
from digitize.pipeline import Stopwatch, digitize_sheet, find_on
from samples.__main__ import make_sheet, seed_range
from samples.aging import EXPOSE
from samples.compose import finished, streams
from samples.pictures import encoded

A3_AT_300_DPI = (4961, 3508)
REPEATS, LETTERING_REPEATS = 3, 2
TRACING = "trace strokes"
LETTERING = ("find lettering", "read lettering")
PEAK = (
    "import resource, sys; from digitize.pipeline import digitize_sheet; digitize_sheet(sys.argv[1], out=sys.argv[2]);"
    "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
)


def median_s(work: Callable[[], object]) -> float:
    """Median seconds of a few runs."""
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def a3_sheet(source: Path, target: Path) -> Path:
    """The picture laid on an A3 sheet at 300 dpi, enlarged where it is smaller."""
    image = Image.open(source).convert("L")
    scale = min(A3_AT_300_DPI[0] / image.width, A3_AT_300_DPI[1] / image.height)
    size = round(image.width * scale), round(image.height * scale)
    sheet = Image.new("L", A3_AT_300_DPI, 250)
    sheet.paste(image.resize(size, Image.Resampling.BICUBIC), (0, 0))
    sheet.save(target, dpi=(300, 300))
    return target


def before_strokes(level: str, seed: int, folder: Path) -> tuple[float, str]:
    """Seconds before the strokes over the detector's, and one sheet in words."""
    drawn = EXPOSE[level](finished(level, seed, None, "mixed"), streams(level, seed).exposure)
    path = folder / f"{level}-{seed:05d}{drawn.suffix}"
    path.write_bytes(encoded(drawn))
    pixels = load_page(path).pixels
    grey = pixels if pixels.ndim == 2 else cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    own, detector = math.inf, math.inf
    for _ in range(REPEATS):
        start = time.process_time()
        calibrate_sheet(path)
        middle = time.process_time()
        cv2.createLineSegmentDetector().detect(grey)
        own, detector = min(own, middle - start), min(detector, time.process_time() - middle)
    path.unlink()
    kind = "colour" if pixels.ndim == 3 else "grey"
    told = f"{path.name}, {grey.size / 1e6:.1f} Mpx, {kind}: {own:.2f} s, detector {detector:.2f} s"
    return own / detector, f"{told}, ratio {own / detector:.2f}"


def print_ratios(what: str, of: Callable[[str, int, Path], tuple[float, str]], level: str, seeds: range) -> None:
    """Print each sheet's ratio, and the median, the worst and how many are above 1."""
    cv2.setNumThreads(1)
    ratios = []
    with tempfile.TemporaryDirectory() as folder:
        for seed in seeds:
            ratio, words = of(level, seed, Path(folder))
            ratios.append(ratio)
            print(f"  {words}", flush=True)
    above = sum(ratio > 1 for ratio in ratios)
    print(f"{level}, {what}: median {statistics.median(ratios):.2f}, worst {max(ratios):.2f}; ", end="")
    print(f"above 1.0 on {above} of {len(ratios)} sheets")


class ProcessorWatch(Stopwatch):
    """Keeps the seconds of the processor that stages took, the least of all their runs."""

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        """Time one stage."""
        start = time.process_time()
        yield
        self.timings_s[name] = min(self.timings_s.get(name, math.inf), time.process_time() - start)


def tesseract_s(sheet: LevelSheet) -> float:
    """Seconds of the processor that one pass over a level sheet takes."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    pytesseract.image_to_data(Image.fromarray(sheet.grey))
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def of_lettering(level: str, seed: int, folder: Path) -> tuple[float, str]:
    """Seconds of finding and reading lettering over Tesseract's, and one sheet in words."""
    path = make_sheet(level, seed, folder)
    sheet = calibrate_sheet(path)
    clock, general = ProcessorWatch(lambda stage: None), math.inf
    for _ in range(LETTERING_REPEATS):
        parse.cache_clear()  # what a text means is remembered, which no first sheet gains by
        found = find_on(sheet, None, clock)
        general = min(general, tesseract_s(sheet))
    finding, reading = (clock.timings_s[stage] for stage in LETTERING)
    told = f"{path.name}, {sheet.grey.size / 1e6:.1f} Mpx, {len(found.texts)} texts: found in {finding:.2f} s"
    ratio = (finding + reading) / general
    return ratio, f"{told}, read in {reading:.2f} s, Tesseract {general:.2f} s, ratio {ratio:.2f}"


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="cost", description=__doc__)
    parser.add_argument("picture", type=Path, nargs="?")
    parser.add_argument("--level", choices=tuple(EXPOSE), default="aged")
    parser.add_argument(
        "--seeds", type=seed_range, help="first:last, last not included; only what comes before strokes"
    )
    parser.add_argument(
        "--lettering", action="store_true", help="with --seeds: lettering, not what comes before strokes"
    )
    options = parser.parse_args(argv)
    if options.seeds is not None and options.lettering:
        print_ratios("lettering", of_lettering, options.level, options.seeds)
    elif options.seeds is not None:
        print_ratios("before the strokes", before_strokes, options.level, options.seeds)
    elif options.picture is not None:
        print_whole(options.picture)
    else:
        parser.error("give a picture, or --seeds")


def print_whole(picture: Path) -> None:
    """Print what digitizing one picture costs."""
    with tempfile.TemporaryDirectory() as folder:
        sheet = a3_sheet(picture, Path(folder) / "sheet.png")
        out = Path(folder) / "out"
        grey = np.asarray(Image.open(sheet))
        digitize_sheet(sheet, out=out)
        runs = [digitize_sheet(sheet, out=out).timings_s for _ in range(REPEATS)]
        ours = statistics.median(sum(run.values()) for run in runs)
        tracing = statistics.median(run[TRACING] for run in runs)
        lettering = statistics.median(sum(run[stage] for stage in LETTERING) for run in runs)
        tesseract = median_s(lambda: pytesseract.image_to_data(Image.fromarray(grey)))
        segments = median_s(lambda: cv2.createLineSegmentDetector().detect(grey))
        peak = subprocess.run([sys.executable, "-c", PEAK, sheet, out], check=True, capture_output=True, text=True)
    print(f"digitize {ours:.1f} s; Tesseract {tesseract:.1f} s, ratio {ours / tesseract:.2f};")
    print(f"lettering, found and read, {lettering:.2f} s, {lettering / tesseract:.2f} of the Tesseract pass;")
    print(f"line segment detector {segments:.1f} s, ratio {ours / segments:.2f};")
    print(f"tracing alone {tracing:.2f} s, {tracing / segments:.2f} of the line segment detector")
    print(f"peak memory {int(peak.stdout.split()[-1]) / 1024:.0f} MB")


if __name__ == "__main__":
    main()
