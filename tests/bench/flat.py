"""Memory over a drawer of many pages: one PDF, and one TIFF, of small pages, through `digitize batch` on one process.

    python -m tests.bench.flat --pages 500 [--kind pdf|tif] [--calibrate]

Prints the memory of the main process and of its workers by pages done. With --calibrate each page is loaded and
calibrated only, in one process that is never replaced, which is cheap enough to be run at every size.
"""

import argparse
import json
import resource
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import img2pdf
import numpy as np
import tifffile

from calibrate.files.load import page_count
from calibrate.level import calibrate_sheet
from calibrate.sheet import GreyImage
from digitize.batch.jobs import Job, find_files, jobs_of
from digitize.batch.run import run_here
from digitize.batch.work import Outcome
from tests.calibrate.mutants import drawn

MARKS = (10, 50, 100, 250, 500)
DPI = 75


def book(path: Path, pages: int) -> Path:
    """One file of many small pages, no two alike."""
    with tempfile.TemporaryDirectory() as folder:
        tiff = path if path.suffix == ".tif" else Path(folder) / "book.tif"
        with tifffile.TiffWriter(tiff) as writer:
            for number in range(pages):
                writer.write(_page(number), photometric="minisblack", compression="deflate", resolution=(DPI, DPI))
        if path.suffix == ".pdf":
            with path.open("wb") as stream:
                img2pdf.convert(str(tiff), outputstream=stream, rotation=img2pdf.Rotation.ifvalid)
    return path


def _page(number: int) -> GreyImage:
    grey = drawn()
    grey[20:24, 20 : 20 + number % 400] = 20
    return np.ascontiguousarray(grey)


def resident_mb(process: str = "self") -> float:
    """Memory of a process now."""
    pages = int(Path(f"/proc/{process}/statm").read_text().split()[1])
    return pages * resource.getpagesize() / 1e6


def calibrated(path: Path) -> Iterator[int]:
    """Load and calibrate page by page."""
    for page in range(1, page_count(path) + 1):
        calibrate_sheet(path, page)
        yield page


def digitized(path: Path, out: Path) -> Iterator[tuple[int, Outcome]]:
    """The whole batch, as the command runs it."""
    out.mkdir()
    jobs: list[Job] = list(jobs_of(find_files([str(path)])))
    yield from enumerate(run_here(jobs, out, 1), start=1)


def main() -> None:
    """Run, print a line at each mark."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--pages", type=int, default=500)
    options.add_argument("--kind", choices=("pdf", "tif"), default="pdf")
    options.add_argument("--calibrate", action="store_true")
    chosen = options.parse_args()
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        path = book(Path(folder) / f"book.{chosen.kind}", chosen.pages)
        told = {"kind": chosen.kind, "megabytes": round(path.stat().st_size / 1e6, 1)}
        if chosen.calibrate:
            for page in calibrated(path):
                if page in MARKS:
                    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
                    print(json.dumps({**told, "page": page, "peak_mb": round(peak), "now_mb": round(resident_mb()),
                                      "seconds": round(time.perf_counter() - start)}), flush=True)  # fmt: skip
            return
        workers: list[int] = []
        for number, outcome in digitized(path, Path(folder) / "out"):
            workers.append(outcome.peak_bytes)
            if number in MARKS:
                last = [each for each in workers[-10:] if each]
                print(json.dumps({**told, "done": number, "main_mb": round(resident_mb()),
                                  "worker_peak_mb": round(max(last, default=0) / 1e6),
                                  "seconds": round(time.perf_counter() - start)}), flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
