"""Seconds of tracing over those of OpenCV's line segment detector, sheet by sheet in one process; and how they grow.

``python -m tests.bench.tracing --level clean --seeds A:B [--family gear]`` tells every sheet's ratio, then the median,
the 95th percentile and the worst. ``--copies`` lays each sheet out two, four and eight times and tells what tracing
costs for each over what it costs for one, per area. Seconds are those of the processor, the least of a few rounds; what
is compared takes turns, so that what else the machine does hits both alike. ``--memory`` lays each sheet out to four
sizes, the largest an E-size one at 400 dpi, traces each in a process of its own and tells the peak of its memory.
"""

import argparse
import math
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from multiprocessing import get_context
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate import calibrate_sheet
from calibrate.sheet import LevelSheet
from digitize.lettering.find import find_lettering
from digitize.strokes.heads.arrows_in_lettering import freed_of_arrows
from digitize.strokes.trace import trace_strokes
from samples.__main__ import make_sheet, seed_range
from samples.compose import FAMILIES

Mask = NDArray[np.bool_]

ROUNDS = 5
LAYOUTS = (1, 1), (1, 2), (2, 2), (2, 4)
"""Copies down and across."""
E_SIZE_PX = 13_600 * 17_600
"""34 x 44 in (ANSI Y14.1) at 400 dpi."""
SHARES = 1 / 16, 1 / 4, 1 / 2, 1
"""Sizes that memory is measured at, over the E-size sheet."""
KIB, MIB = 2**10, 2**20


def least_s(*works: Callable[[], object]) -> list[float]:
    """Least seconds of the processor for each work over a few rounds, in which all of them take their turn."""
    seconds = np.empty((ROUNDS, len(works)))
    for taken in seconds:
        for n, work in enumerate(works):
            start = time.process_time()
            work()
            taken[n] = time.process_time() - start
    return [float(least) for least in seconds.min(axis=0)]


def laid_out(sheet: LevelSheet, mask: Mask, down: int, across: int) -> tuple[LevelSheet, Mask]:
    """A sheet of copies of one sheet side by side, level as it stands."""
    grey, ink = np.tile(sheet.grey, (down, across)), np.tile(sheet.ink, (down, across))
    copies = replace(sheet, grey=grey, ink=ink, working_grey=grey, working_ink=ink, level_from_working=np.eye(3))
    return copies, np.tile(mask, (down, across))


def growth(sheet: LevelSheet, mask: Mask) -> list[float]:
    """Seconds of tracing per area for each layout, over those of the first."""
    each = []
    for down, across in LAYOUTS:
        copies = laid_out(sheet, mask, down, across)
        (seconds,) = least_s(partial(trace_strokes, *copies))
        each.append(seconds / (down * across))
    return [seconds / each[0] for seconds in each]


def peak_bytes(sheet: LevelSheet, mask: Mask, down: int, across: int) -> tuple[int, int]:
    """What this process's memory held before, and held at most while tracing copies of a sheet laid out side by side.

    Each of the sheet's pictures takes its own room, as on a sheet that does not lie level.
    """
    copies, masks = laid_out(sheet, mask, down, across)
    copies = replace(copies, working_grey=copies.grey.copy(), working_ink=copies.ink.copy())
    before = held_bytes("VmRSS")
    trace_strokes(copies, masks)
    return before, held_bytes("VmHWM")


def held_bytes(name: str) -> int:
    """A figure of Linux's own on this process's memory; `getrusage` would tell its parent's where that held more."""
    (line,) = (line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith(f"{name}:"))
    return int(line.split()[1]) * KIB


def memory(sheet: LevelSheet, mask: Mask) -> str:
    """Megapixels, then MiB beside the sheet and in all, for each size."""
    told = []
    for share in SHARES:
        count = max(1, round(share * E_SIZE_PX / sheet.grey.size))
        down = math.isqrt(count)
        across = round(count / down)
        with ProcessPoolExecutor(1, get_context("spawn")) as apart:
            before, peak = apart.submit(peak_bytes, sheet, mask, down, across).result()
        megapixels = sheet.grey.size * down * across / 1e6
        told.append(f"{megapixels:.0f} Mpx {(peak - before) / MIB:.0f}, {peak / MIB:.0f}")
    return "; ".join(told)


def over_detector(sheet: LevelSheet, mask: Mask) -> tuple[float, float]:
    """Seconds of tracing a sheet, and of the detector on it."""
    grey = np.ascontiguousarray(sheet.grey)
    ours, detector = least_s(partial(trace_strokes, sheet, mask), lambda: cv2.createLineSegmentDetector().detect(grey))
    return ours, detector


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="tracing", description=__doc__)
    parser.add_argument("--level", choices=("clean", "aged", "harsh"), default="clean")
    parser.add_argument("--seeds", type=seed_range, required=True, help="first:last, last not included")
    parser.add_argument("--family", choices=tuple(FAMILIES), help="parts of one kind only")
    parser.add_argument("--copies", action="store_true", help="how the seconds grow with copies of a sheet")
    parser.add_argument("--memory", action="store_true", help="the peak of memory by size of sheet")
    options = parser.parse_args(argv)
    cv2.setNumThreads(1)
    ratios = []
    with tempfile.TemporaryDirectory() as folder:
        for seed in options.seeds:
            sheet = calibrate_sheet(make_sheet(options.level, seed, Path(folder), options.family, "mixed"))
            mask = freed_of_arrows(sheet, find_lettering(sheet)).mask
            if options.memory:
                print(seed, memory(sheet, mask), flush=True)
                continue
            trace_strokes(sheet, mask)  # compiled functions are loaded once
            if options.copies:
                print(seed, " ".join(f"{ratio:.2f}" for ratio in growth(sheet, mask)), flush=True)
                continue
            ours, detector = over_detector(sheet, mask)
            ratios.append(ours / detector)
            print(f"{seed} {sheet.grey.size / 1e6:.1f} Mpx: {ours:.2f} s, {ratios[-1]:.2f} of the detector", flush=True)
    if ratios:
        median, most = np.percentile(ratios, [50, 95])
        print(f"{len(ratios)} sheets: median {median:.2f}, 95th percentile {most:.2f}, worst {max(ratios):.2f}")


if __name__ == "__main__":
    main()
