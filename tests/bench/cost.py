"""What a sheet costs, as a ratio to general libraries on the same sheet in the same run.

``python -m tests.bench.cost PICTURE``: lays the picture on an A3 sheet at 300 dpi, digitizes it after a
warm-up, and times one full-page Tesseract pass and one pass of OpenCV's line segment detector over the same picture.
Medians of three; peak memory is that of a process that digitizes once.
"""

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytesseract
from PIL import Image

from digitize.pipeline import digitize_sheet

A3_AT_300_DPI = (4961, 3508)
REPEATS = 3
TRACING = "trace strokes"
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


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="cost", description=__doc__)
    parser.add_argument("picture", type=Path)
    options = parser.parse_args(argv)
    with tempfile.TemporaryDirectory() as folder:
        sheet = a3_sheet(options.picture, Path(folder) / "sheet.png")
        out = Path(folder) / "out"
        grey = np.asarray(Image.open(sheet))
        digitize_sheet(sheet, out=out)
        runs = [digitize_sheet(sheet, out=out).timings_s for _ in range(REPEATS)]
        ours = statistics.median(sum(run.values()) for run in runs)
        tracing = statistics.median(run[TRACING] for run in runs)
        tesseract = median_s(lambda: pytesseract.image_to_data(Image.fromarray(grey)))
        segments = median_s(lambda: cv2.createLineSegmentDetector().detect(grey))
        peak = subprocess.run([sys.executable, "-c", PEAK, sheet, out], check=True, capture_output=True, text=True)
    print(f"digitize {ours:.1f} s; Tesseract {tesseract:.1f} s, ratio {ours / tesseract:.2f};")
    print(f"line segment detector {segments:.1f} s, ratio {ours / segments:.2f};")
    print(f"tracing alone {tracing:.2f} s, {tracing / segments:.2f} of the line segment detector")
    print(f"peak memory {int(peak.stdout.split()[-1]) / 1024:.0f} MB")


if __name__ == "__main__":
    main()
