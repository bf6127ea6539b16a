"""Run jobs side by side, as many as cores and memory allow, on this machine or on a Dask cluster."""

import multiprocessing
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

from digitize.batch.jobs import Job
from digitize.batch.memory import needed_bytes, usable_bytes
from digitize.batch.work import Outcome, do, one_thread_each

SHEETS_A_PROCESS = 60
"""A worker is replaced after so many sheets, so that memory which a library keeps does not add up."""
DIED = "{name}, page {page}: the process that worked on it was killed, likely for want of memory; try it alone."

Worker = Callable[[Job, Path], Outcome]


def run_here(jobs: Sequence[Job], out: Path, processes: int, worker: Worker = do) -> Iterator[Outcome]:
    """Run jobs on this machine, large sheets first, and give their outcomes as they end.

    Parameters
    ----------
    jobs : sequence of Job
    out : Path
    processes : int
    worker : callable
        What is done to each; it must be importable.

    Notes
    -----
    A sheet starts when the memory that all running ones may need, and its own, is there; one that needs more than the
    machine has runs alone.
    """
    needs = {job: 0 if job.refusal else needed_bytes(job.source, job.page) for job in jobs}
    waiting = sorted(jobs, key=lambda job: -needs[job])
    budget = usable_bytes()
    while waiting:
        died: list[Job] = []
        with _pool(processes) as pool:
            running: dict[Future[Outcome], Job] = {}
            while waiting or running:
                for job in _next(waiting, [needs[each] for each in running.values()], needs, budget, processes):
                    waiting.remove(job)
                    running[pool.submit(worker, job, out)] = job
                done, _ = wait(running, return_when=FIRST_COMPLETED)
                for future in done:
                    job = running.pop(future)
                    try:
                        yield future.result()
                    except BrokenProcessPool:
                        died.append(job)
                if died:
                    died += running.values()
                    break
        yield from _one_by_one(died, out, worker)


def _pool(processes: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(
        processes,
        multiprocessing.get_context("spawn"),
        one_thread_each,
        max_tasks_per_child=SHEETS_A_PROCESS,
    )


def _next(
    waiting: Sequence[Job], taken: Sequence[int], needs: dict[Job, int], budget: int, processes: int
) -> Iterator[Job]:
    """The jobs that may start now: the largest that fits, and so on."""
    running, used = len(taken), sum(taken)
    for job in waiting:
        if running >= processes:
            return
        if used + needs[job] <= budget or running == 0:
            running, used = running + 1, used + needs[job]
            yield job


def _one_by_one(jobs: Sequence[Job], out: Path, worker: Worker) -> Iterator[Outcome]:
    """Try again, each alone, what was running when a process died: only the one that is at fault dies again."""
    for job in jobs:
        with _pool(1) as pool:
            try:
                yield pool.submit(worker, job, out).result()
            except BrokenProcessPool:
                sentence = DIED.format(name=job.source.name, page=job.page)
                yield Outcome(job, 0.0, sentence, expected=False)


def run_on_cluster(jobs: Sequence[Job], out: Path, address: str, worker: Worker = do) -> Iterator[Outcome]:
    """Run jobs on a Dask cluster whose workers see the same files.

    Parameters
    ----------
    jobs : sequence of Job
    out : Path
        A folder that every worker can write.
    address : str
        Of the scheduler.
    worker : callable

    Notes
    -----
    A job whose worker is lost is given to another; results are the same whoever makes them.
    """
    from distributed import Client, as_completed

    with Client(address) as client:  # type: ignore[no-untyped-call]
        futures = {client.submit(worker, job, out.resolve(), pure=False, retries=2): job for job in jobs}
        for future in as_completed(list(futures)):  # type: ignore[no-untyped-call]
            job = futures.pop(future)
            error = future.exception()
            if error is None:
                yield future.result()
            else:
                yield Outcome(job, 0.0, f"{job.source.name}, page {job.page}: {error}", expected=False)
