"""Stand-ins for the work on a sheet, for tests of what surrounds it; a worker must be importable in a new process."""

import json
import os
import signal
import time
from pathlib import Path

from digitize.batch.jobs import Job
from digitize.batch.work import Outcome, do
from digitize.report.files import staged

__all__ = ["dies_on_bad", "do", "slow", "stamp"]


def _write(job: Job, out: Path) -> Outcome:
    with staged(out / job.folder) as stage:
        record = {"sha256": job.sha256, "page": job.page, "dimensions": {}}
        (stage / "sheet.json").write_text(json.dumps(record))
        (stage / "trace.dxf").write_text("lines")
    return Outcome(job, 0.0)


def stamp(job: Job, out: Path) -> Outcome:
    """Write a result at once, and note that it was worked on."""
    with (out / "worked.txt").open("a") as log:
        log.write(f"{job.folder}\n")
    return _write(job, out)


def slow(job: Job, out: Path) -> Outcome:
    """Take a while over it."""
    time.sleep(0.15)
    return stamp(job, out)


def dies_on_bad(job: Job, out: Path) -> Outcome:
    """Die like a process that the system kills, on the one file of that name."""
    if job.source.stem == "bad":
        os.kill(os.getpid(), signal.SIGKILL)
    return slow(job, out)
