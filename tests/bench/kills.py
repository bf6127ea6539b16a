"""kill -9 at random moments of a batch: nothing half written, nothing finished done twice, the same bytes in the end.

    python -m tests.bench.kills --kills 100 --seed 21000

The work is the real one, on small pictures, in a process that has its libraries loaded already: the moments fall within
the work and its writing, not within the start of Python.
"""

import argparse
import json
import multiprocessing
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from pathlib import Path

from PIL import Image

from digitize.batch.jobs import Job, find_files, jobs_of, standing
from digitize.batch.work import do
from digitize.report.files import STAGING
from tests.calibrate.mutants import drawn

SHEETS = 5
FOREVER_S = 600.0
VARYING = frozenset({"sheet.json", "found.json"})
"""They state times; all else is the same byte for byte."""
PROCESSES = multiprocessing.get_context("forkserver")
PROCESSES.set_forkserver_preload(["digitize.pipeline", "digitize.batch.work"])
Snapshot = dict[str, dict[str, bytes]]


def drawer(folder: Path) -> list[Job]:
    """Small prints, no two alike."""
    folder.mkdir()
    for number in range(SHEETS):
        grey = drawn()
        grey[30 : 30 + 4 * number, 30:32] = 20
        Image.fromarray(grey).save(folder / f"plate-{number}.png", dpi=(75, 75))
    return list(jobs_of(find_files([str(folder)])))


def work(jobs: list[Job], out: Path) -> None:
    """What is left of the drawer."""
    (out / "started").touch()
    for job in jobs:
        if standing(job, out) is None:
            do(job, out)


def killed(jobs: list[Job], out: Path, after_s: float) -> bool:
    """Let it work for a while, then kill it; False where it had ended before."""
    (out / "started").unlink(missing_ok=True)
    child = PROCESSES.Process(target=work, args=(jobs, out))
    child.start()
    while not (out / "started").exists():
        time.sleep(0.001)
    child.join(after_s)
    alive = child.is_alive() and child.pid is not None
    if alive:
        os.kill(child.pid, signal.SIGKILL)
    child.join()
    return alive


def finished(jobs: list[Job], out: Path) -> Snapshot:
    """Files of every sheet that counts as done."""
    return {
        job.folder: {path.name: path.read_bytes() for path in (out / job.folder).iterdir() if path.is_file()}
        for job in jobs
        if standing(job, out) is not None
    }


def compared(snapshot: Snapshot) -> dict[str, dict[str, bytes | None]]:
    """Without what states times."""
    return {
        folder: {name: None if name in VARYING else content for name, content in files.items()}
        for folder, files in snapshot.items()
    }


def main() -> None:
    """Kill, look, go on, print the sums after each round; code 1 where anything was lost, torn or done twice."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--kills", type=int, default=100)
    options.add_argument("--seed", type=int, default=21_000)
    chosen = options.parse_args()
    rng, kills, writing, torn, redone, rounds = random.Random(chosen.seed), 0, 0, 0, 0, 0
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        jobs, whole, out = drawer(home / "drawer"), home / "whole", home / "out"
        whole.mkdir()
        work(jobs, whole)
        out.mkdir()
        killed(jobs[:1], out, FOREVER_S)  # starts the server that the others are forked from
        start = time.perf_counter()
        killed(jobs[1:2], out, FOREVER_S)
        a_sheet_s = time.perf_counter() - start  # in a new process, as each of those that are killed
        expected = compared(finished(jobs, whole))
        while kills < chosen.kills:
            shutil.rmtree(out, ignore_errors=True)
            out.mkdir()
            rounds += 1
            before: Snapshot = {}
            while len(before) < len(jobs) and kills < chosen.kills:
                kills += killed(jobs, out, rng.uniform(0, 2 * a_sheet_s))
                writing += any(out.rglob(f"{STAGING}*"))
                now = finished(jobs, out)
                torn += sum(files != expected[name] for name, files in compared(now).items())
                redone += sum(now.get(name) != files for name, files in before.items())
                before = now
            figures = {
                "kills": kills,
                "while_writing": writing,
                "rounds": rounds,
                "torn": torn,
                "redone_or_lost": redone,
            }
            print(json.dumps(figures | {"a_sheet_s": round(a_sheet_s, 2)}), flush=True)
    sys.exit(1 if torn or redone else 0)


if __name__ == "__main__":
    main()
