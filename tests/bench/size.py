"""Memory and time of calibration by size of sheet: ``python -m tests.bench.size --out DIR``.

An A4 sheet of the museum at 400 dpi is compared with an E-size one (34 x 44 in, ANSI Y14.1) at the same resolution,
laid out of copies of the A4 one: the same ink on every square centimetre. The two take turns, each in a process of its
own, so that what else the machine does falls on both; ratios are those of each turn, and their median is told.
OpenCV's line segment detector runs on the A4 sheet in the same process, for a measure of the machine.
"""

import argparse
import json
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import tifffile
from numpy.typing import NDArray

DPI = 400
E_SIZE_PX = (13_600, 17_600)
PAPER = 245
TILE_PX = 256
KIB = 1024
MOST_GB = 3.0
MOST_TIME_RATIO = 1.3
A4_ROUNDS = 3


def a4_sheet(level: str, seed: int) -> NDArray[np.uint8]:
    """Grey of a sample drawn on A4 at `DPI`: the first seed from ``seed`` on whose sheet is that large."""
    from samples.aging import EXPOSE
    from samples.compose import finished, streams

    for number in range(seed, seed + 1000):
        drawing = finished(level, number, None, "mixed")
        if not np.allclose(sorted(drawing.paper_mm), (210, 297)):
            continue
        scan = EXPOSE[level](drawing, streams(level, number).exposure)
        if scan.exposure.dpi_true == DPI:
            return scan.picture if scan.picture.ndim == 2 else scan.picture[..., 1]
    raise LookupError(f"no A4 sheet at {DPI} dpi among seeds {seed} to {seed + 999}")


def e_sheet(a4: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """An E-size sheet laid out of copies of a smaller one, paper round them."""
    copies = [whole // part for whole, part in zip(E_SIZE_PX, a4.shape, strict=True)]
    laid = np.tile(a4, copies)
    sheet = np.full(E_SIZE_PX, PAPER, np.uint8)
    top, left = ((whole - part) // 2 for whole, part in zip(E_SIZE_PX, laid.shape, strict=True))
    sheet[top : top + laid.shape[0], left : left + laid.shape[1]] = laid
    return sheet


def save(path: Path, grey: NDArray[np.uint8]) -> Path:
    """Write a tiled TIFF."""
    tifffile.imwrite(
        path, grey, tile=(TILE_PX, TILE_PX), compression="deflate", resolution=(DPI, DPI), resolutionunit="INCH"
    )
    return path


def measure(path: Path, rounds: int, *, with_detector: bool) -> dict[str, float]:
    """Calibrate in this process: best seconds of all rounds, peak memory, and the detector's seconds."""
    import cv2

    from calibrate.level import calibrate_sheet
    from calibrate.record import write_calibration

    cv2.setNumThreads(1)
    seconds, processor, sheet = [], [], None
    for _ in range(rounds):
        sheet = None
        start, busy = time.perf_counter(), time.process_time()
        sheet = calibrate_sheet(path)
        seconds.append(time.perf_counter() - start)
        processor.append(time.process_time() - busy)
    assert sheet is not None
    peak_kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start = time.perf_counter()
    write_calibration(sheet, path.with_suffix(""))
    writing = time.perf_counter() - start
    figures = {
        "megapixels": sheet.grey.size / 1e6,
        "seconds": min(seconds),
        "processor_seconds": min(processor),
        "peak_kib": float(peak_kib),
        "peak_with_writing_kib": float(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss),
        "writing_seconds": writing,
        "skew_deg": sheet.skew_deg,
    }
    if with_detector:
        source = tifffile.imread(path)
        busy = time.process_time()
        cv2.createLineSegmentDetector().detect(source)
        figures["detector_seconds"] = time.process_time() - busy
    return figures


def _apart(path: Path, *options: str) -> dict[str, float]:
    command = [sys.executable, "-m", "tests.bench.size", "--one", str(path), *options]
    return dict(json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout))


def report(turns: list[tuple[dict[str, float], dict[str, float]]]) -> str:
    """The figures of all turns against their limits, in words."""
    lines = []
    for a4, e in turns:
        for name, figures in (("A4", a4), ("E", e)):
            lines.append(
                f"{name} {figures['megapixels']:.1f} Mpx: {figures['seconds']:.2f} s on the clock,"
                f" {figures['processor_seconds']:.2f} s of the processor; peak"
                f" {figures['peak_kib'] * KIB / 1e9:.2f} GB, with writing"
                f" {figures['peak_with_writing_kib'] * KIB / 1e9:.2f} GB and"
                f" {figures['writing_seconds']:.1f} s; skew {figures['skew_deg']:.4f} deg"
            )
    for key in ("seconds", "processor_seconds"):
        ratios = [(e[key] / e["megapixels"]) / (a4[key] / a4["megapixels"]) for a4, e in turns]
        lines.append(f"{key.replace('_', ' ')} per megapixel, E over A4: {_told(ratios)} (limit {MOST_TIME_RATIO})")
    peak = max(e["peak_with_writing_kib"] for _, e in turns)
    lines.append(f"peak on E: {peak * KIB / 1e9:.2f} GB (limit {MOST_GB})")
    detector = [a4["processor_seconds"] / a4["detector_seconds"] for a4, _ in turns]
    lines.append(f"A4 over OpenCV's line segment detector, of the processor: {_told(detector)} (limit 1.0)")
    return "\n".join(lines)


def _told(ratios: list[float]) -> str:
    """Median and every ratio."""
    return f"{statistics.median(ratios):.2f} [{', '.join(f'{ratio:.2f}' for ratio in ratios)}]"


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="size", description=__doc__)
    parser.add_argument("--level", choices=("clean", "aged", "harsh"), default="clean")
    parser.add_argument("--seed", type=int, default=2500)
    parser.add_argument("--out", type=Path)
    parser.add_argument("--turns", type=int, default=3)
    parser.add_argument("--one", type=Path, help="measure this file alone, in this process")
    parser.add_argument("--rounds", type=int, default=1)
    parser.add_argument("--with-detector", action="store_true")
    options = parser.parse_args(argv)
    if options.one is not None:
        print(json.dumps(measure(options.one, options.rounds, with_detector=options.with_detector)))
        return
    options.out.mkdir(parents=True, exist_ok=True)
    grey = a4_sheet(options.level, options.seed)
    files = [save(options.out / "a4.tif", grey), save(options.out / "e.tif", e_sheet(grey))]
    turns = [
        (_apart(files[0], "--rounds", str(A4_ROUNDS), "--with-detector"), _apart(files[1]))
        for _ in range(options.turns)
    ]
    print(report(turns))


if __name__ == "__main__":
    main()
