"""A drawer through `digitize batch`, on one core and on two, against Tesseract alone on the same pages.

    python -m tests.bench.cupboard FOLDER [--rounds 1]

Each run is the command itself, start to end, into an empty folder, held to one core or to two by its affinity: a batch
of one process would else keep part of a second core busy with its report. Tesseract runs as many at once, one thread
each, on one core and on two as well: how far it scales is what the machine itself allows. On a machine busy with
other things wall time says little: processor time is told beside it.
"""

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from calibrate.files.load import page_count
from digitize.batch.jobs import find_files

HOUR_S = 3600
ONE_THREAD = {"OMP_THREAD_LIMIT": "1", "OMP_NUM_THREADS": "1"}


@dataclass(frozen=True)
class Spent:
    """Seconds by the clock and by the processor, all processes together."""

    wall_s: float
    cpu_s: float


@contextmanager
def held_to(cores: int) -> Iterator[None]:
    """What is started within runs on that many cores."""
    all_of_them = os.sched_getaffinity(0)
    os.sched_setaffinity(0, set(sorted(all_of_them)[:cores]))
    try:
        yield
    finally:
        os.sched_setaffinity(0, all_of_them)


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
        spent, alone = {}, {}
        for cores in (1, 2):
            with tempfile.TemporaryDirectory() as folder, held_to(cores):
                spent[cores] = batch(chosen.folder, Path(folder) / "out", cores)
                report = json.loads((Path(folder) / "out" / "batch.json").read_text(encoding="utf-8"))
                alone[cores] = tesseract(files, cores)
        print(json.dumps({
            "pages": pages,
            "states": report["counts"],
            "sheets_per_hour_on_two": round(pages / spent[2].wall_s * HOUR_S),
            "tesseract_per_hour_on_two": round(pages / alone[2].wall_s * HOUR_S),
            "wall_ratio_to_tesseract": round(spent[2].wall_s / alone[2].wall_s, 2),
            "cpu_ratio_to_tesseract": round(spent[2].cpu_s / alone[2].cpu_s, 2),
            "scaling_by_wall": round(spent[1].wall_s / spent[2].wall_s, 2),
            "tesseract_scaling_by_wall": round(alone[1].wall_s / alone[2].wall_s, 2),
            "one": [round(spent[1].wall_s, 1), round(spent[1].cpu_s, 1)],
            "two": [round(spent[2].wall_s, 1), round(spent[2].cpu_s, 1)],
            "load": os.getloadavg()[0],
        }), flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
