"""One job, in a process of its own: its results or its refusal end up in its folder, whatever happens."""

import json
import os
import resource
import shutil
import time
import traceback
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from calibrate.errors import InputError
from calibrate.files.load import load_page
from digitize.batch.backs import MOST_SIZE_RATIO, look_of, through
from digitize.batch.jobs import BACK, REFUSED, Job
from digitize.batch.memory import page_pixels
from digitize.report.files import STAGING, staged

THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS")
UNEXPECTED = "{name}, page {page}: an error in this program; {error}. The sheet was left out."


@dataclass(frozen=True)
class Outcome:
    """How a job ended: an empty ``sentence`` where it was digitized."""

    job: Job
    seconds: float
    sentence: str = ""
    expected: bool = True
    peak_bytes: int = 0


def one_thread_each() -> None:
    """Keep the libraries of a worker from taking every core for themselves."""
    for name in THREADS:
        os.environ.setdefault(name, "1")
    import cv2

    cv2.setNumThreads(1)


def do(job: Job, out: Path) -> Outcome:
    """Digitize one page.

    Returns
    -------
    Outcome
        A bad input and an error of the program are outcomes too; only a full disk or a lost folder stops a batch.
    """
    from digitize.pipeline import digitize_sheet

    folder, start = out / job.folder, time.perf_counter()
    _clear(folder)
    try:
        if job.refusal:
            raise InputError(job.refusal)
        _note_back(job, folder)
        digitize_sheet(job.source, job.page, folder)
    except InputError as error:
        _refuse(job, folder, str(error))
        return Outcome(job, time.perf_counter() - start, str(error))
    except OSError:
        raise
    except Exception:
        last_line = traceback.format_exc(limit=-1).strip().splitlines()[-1]
        sentence = UNEXPECTED.format(name=job.source.name, page=job.page, error=last_line)
        return Outcome(job, time.perf_counter() - start, sentence, expected=False)
    (folder / REFUSED).unlink(missing_ok=True)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    return Outcome(job, time.perf_counter() - start, peak_bytes=peak)


def _note_back(job: Job, folder: Path) -> None:
    """Keep a note where a page is the back of the one before it, or take back one that no longer holds."""
    seen = None
    if job.before is not None and _of_one_size(job.before, job):
        seen = through(*(look_of(load_page(each.source, each.page).pixels) for each in (job.before, job)))
    if job.before is None or seen is None or not seen.is_back:
        (folder / BACK).unlink(missing_ok=True)
        return
    with staged(folder) as stage:
        _write(stage / BACK, {"schema": "back/1", "back_of": job.before.folder, "height": round(seen.mirrored, 1)})


def _of_one_size(*jobs: Job) -> bool:
    """By their headers: most neighbours in a drawer need not be loaded to know that they are no back."""
    pixels = [page_pixels(job.source, job.page) for job in jobs]
    return max(pixels) <= MOST_SIZE_RATIO**2 * min(pixels)


def _write(path: Path, content: dict[str, Any]) -> None:
    path.write_text(json.dumps(content, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def _clear(folder: Path) -> None:
    """Remove what a run that was stopped half way left there."""
    if folder.is_dir():
        for each in folder.glob(f"{STAGING}*"):
            shutil.rmtree(each, ignore_errors=True)


def _refuse(job: Job, folder: Path, sentence: str) -> None:
    content = {
        "schema": "refused/1",
        "source": job.source.name,
        "sha256": job.sha256,
        "page": job.page,
        "why": sentence,
    }
    with staged(folder) as stage:
        _write(stage / REFUSED, content)
