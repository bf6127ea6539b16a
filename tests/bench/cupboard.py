"""A drawer through `digitize batch`, on one core and on two, against Tesseract alone on the same pages.

    python -m tests.bench.cupboard FOLDER [--rounds 1]

Each run is the command itself, start to end, into an empty folder. Tesseract runs as many at once, one thread each. On
a machine that is busy with other things wall time says little: processor time is told beside it, and the time that the
main process alone was at work, which no second core shortens.
"""

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from calibrate.load import page_count
from digitize.batch.jobs import find_files

HOUR_S = 3600
ONE_THREAD = {"OMP_THREAD_LIMIT": "1", "OMP_NUM_THREADS": "1"}


@dataclass(frozen=True)
class Spent:
    """Seconds by the clock and by the processor, all processes together."""

    wall_s: float
    cpu_s: float


def children_cpu_s() -> float:
    """Processor seconds of all processes that have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def batch(folder: Path, out: Path, processes: int) -> Spent:
    """Run the command."""
    words = ["batch", str(folder), "--out", str(out), "--processes", str(processes), "--quiet"]
    start, before = time.perf_counter(), children_cpu_s()
    subprocess.run([sys.executable, "-m", "digitize", *words], check=True, env=os.environ | ONE_THREAD)
    return Spent(time.perf_counter() - start, children_cpu_s() - before)


def tesseract(files: tuple[Path, ...], processes: int) -> Spent:
    """Read every page, automatic page layout, nothing kept."""

    def read(path: Path) -> None:
        command = ["tesseract", str(path), "-", "--psm", "3"]
        subprocess.run(command, check=True, capture_output=True, env=os.environ | ONE_THREAD)

    start, before = time.perf_counter(), children_cpu_s()
    with ThreadPoolExecutor(processes) as pool:
        list(pool.map(read, files))
    return Spent(time.perf_counter() - start, children_cpu_s() - before)


def main() -> None:
    """Run both, print one line a round."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("folder", type=Path)
    options.add_argument("--rounds", type=int, default=1)
    chosen = options.parse_args()
    files = find_files([str(chosen.folder)])
    pages = sum(map(page_count, files))
    for _ in range(chosen.rounds):
        spent = {}
        for processes in (1, 2):
            with tempfile.TemporaryDirectory() as folder:
                spent[processes] = batch(chosen.folder, Path(folder) / "out", processes)
                report = json.loads((Path(folder) / "out" / "batch.json").read_text(encoding="utf-8"))
        alone = tesseract(files, 2)
        print(json.dumps({
            "pages": pages,
            "states": report["counts"],
            "sheets_per_hour_on_two": round(pages / spent[2].wall_s * HOUR_S),
            "tesseract_per_hour_on_two": round(pages / alone.wall_s * HOUR_S),
            "wall_ratio_to_tesseract": round(spent[2].wall_s / alone.wall_s, 2),
            "cpu_ratio_to_tesseract": round(spent[2].cpu_s / alone.cpu_s, 2),
            "scaling_by_wall": round(spent[1].wall_s / spent[2].wall_s, 2),
            "one": [round(spent[1].wall_s, 1), round(spent[1].cpu_s, 1)],
            "two": [round(spent[2].wall_s, 1), round(spent[2].cpu_s, 1)],
            "load": os.getloadavg()[0],
        }), flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
