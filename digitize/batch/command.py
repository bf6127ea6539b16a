"""The command `digitize batch`."""

import json
import os
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn, TimeRemainingColumn
from rich.table import Table
from rich.text import Text

from calibrate.errors import InputError
from digitize.archive.catalogue import with_catalogue
from digitize.batch.jobs import Job, find_files, jobs_of, notices, standing
from digitize.batch.likeness import Pair, same_bytes, same_content
from digitize.batch.run import run_here, run_on_cluster
from digitize.batch.work import Outcome
from digitize.refusal import one_clear_sentence
from digitize.report.files import staged

REPORT = "batch.json"
FULL = (
    "{out} can't be written ({why}); free room or give another folder with --out, then run it again: finished sheets"
    " are kept."
)
MOST_LINES = 40
"""Lines of the report that are still read in the terminal; the file has all."""


def batch_command(
    sources: Annotated[
        list[str], typer.Argument(metavar="SOURCES...", help="Files, folders, patterns like 'd*/*.tif'.")
    ],
    out: Annotated[Path, typer.Option(help="Folder for the results: one folder a page.")],
    processes: Annotated[int | None, typer.Option(min=1, help="How many at once; default: one a core.")] = None,
    scheduler: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Of a Dask cluster that sees these files.")
    ] = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="Show nothing but errors.")] = False,
) -> None:
    """Digitize a drawer of prints: put it in, come back in the morning.

    Each page gets a folder of its own under --out. A page that can't be used is one line of the report; the others go
    on. Run the same command again after a stop of any kind: what is finished is left alone, the rest is done. Large
    sheets do not all run at once: memory is watched. Told besides: sheets scanned twice, backs whose front shines
    through, and scans that hold several sheets.

    Example: digitize batch drawer-4 "loose/*.pdf" --out drawer-4-digitized
    """
    with one_clear_sentence():
        jobs = list(jobs_of(find_files(sources)))
        try:
            report = _done(jobs, out, processes or os.cpu_count() or 1, scheduler, Console(stderr=True, quiet=quiet))
        except OSError as error:
            raise InputError(FULL.format(out=out, why=error.strerror or error)) from error
        with_catalogue(out, lambda catalogue: None)
        if not quiet:
            Console().print(_shown(report))


def _done(jobs: Sequence[Job], out: Path, processes: int, scheduler: str | None, console: Console) -> dict[str, Any]:
    """Do what is left, and write the report."""
    out.mkdir(parents=True, exist_ok=True)
    twins = list(same_bytes(jobs))
    left_alone = {pair.second for pair in twins}
    todo = [job for job in jobs if job.folder not in left_alone and standing(job, out) is None]
    started = run_on_cluster(todo, out, scheduler) if scheduler else run_here(todo, out, processes)
    with _watched(started, len(todo), console) as outcomes:
        failed = [outcome for outcome in outcomes if outcome.sentence]
    report = report_of(jobs, out, twins, failed)
    with staged(out) as stage:
        text = json.dumps(report, indent=1, ensure_ascii=False) + "\n"
        (stage / REPORT).write_text(text, encoding="utf-8")
    return report


@contextmanager
def _watched(outcomes: Iterable[Outcome], total: int, console: Console) -> Iterator[Iterator[Outcome]]:
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TextColumn("left:"),
    )
    with Progress(*columns, TimeRemainingColumn(), console=console, transient=True) as bar:
        task = bar.add_task("sheets", total=total)

        def counted() -> Iterator[Outcome]:
            for outcome in outcomes:
                bar.update(task, advance=1, description=outcome.job.folder)
                yield outcome

        yield counted()


def report_of(jobs: Sequence[Job], out: Path, twins: Sequence[Pair], failed: Sequence[Outcome]) -> dict[str, Any]:
    """What became of every page, as JSON values; it depends on the results alone, not on the run that made them."""
    errors = {outcome.job.folder: outcome.sentence for outcome in failed if not outcome.expected}
    same = {pair.second: pair for pair in twins}
    pages = [_page(job, out, errors, same) for job in jobs]
    done = [page["folder"] for page in pages if page["state"] == "digitized"]
    alike = [*twins, *same_content(done, out)]
    counts = {
        state: sum(page["state"] == state for page in pages) for state in ("digitized", "refused", "same", "failed")
    }
    return {
        "schema": "batch/1",
        "counts": counts,
        "pages": pages,
        "alike": [{"first": pair.first, "second": pair.second, "why": pair.why} for pair in alike],
    }


def _page(job: Job, out: Path, errors: dict[str, str], same: dict[str, Pair]) -> dict[str, Any]:
    page: dict[str, Any] = {"source": str(job.source), "page": job.page, "folder": job.folder}
    if job.folder in same:
        return page | {"state": "same", "why": f"the same file as {same[job.folder].first}"}
    record = standing(job, out)
    if record is None:
        return page | {"state": "failed", "why": errors.get(job.folder, "not reached")}
    noticed = {"notices": list(notices(job, out))}
    if "why" in record:
        return page | {"state": "refused", "why": record["why"]} | noticed
    return page | {"state": "digitized", "dimensions": record["dimensions"]} | noticed


def _shown(report: dict[str, Any]) -> Table:
    counts = ", ".join(f"{count} {state}" for state, count in report["counts"].items() if count)
    table = Table("page", "state", "why", title=counts or "nothing to do", title_justify="left", box=None)
    lines = list(_lines(report))
    for line in lines[:MOST_LINES]:
        table.add_row(*map(Text, line))
    if len(lines) > MOST_LINES:
        table.add_row("...", "", f"{len(lines) - MOST_LINES} more in {REPORT}")
    return table


def _lines(report: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    """What is not as it should be, then what is worth a look."""
    pages = report["pages"]
    yield from ((page["folder"], page["state"], page["why"]) for page in pages if page["state"] != "digitized")
    yield from ((page["folder"], "notice", line) for page in pages for line in page.get("notices", ()))
    yield from ((pair["second"], "alike", f"{pair['first']}: {pair['why']}") for pair in report["alike"])
