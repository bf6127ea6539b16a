"""A disk that fills while a batch writes, a target that takes nothing, names that would lead elsewhere."""

import multiprocessing
import resource
from collections.abc import Iterator, Sequence
from multiprocessing.connection import Connection
from pathlib import Path

import pytest
from PIL import Image
from typer.testing import CliRunner

from digitize.batch import command
from digitize.batch.jobs import Job, find_files, jobs_of
from digitize.batch.work import Outcome, do
from digitize.cli import app
from tests.calibrate.mutants import drawn

PROCESSES = multiprocessing.get_context("forkserver")
PROCESSES.set_forkserver_preload(["digitize.cli", "digitize.pipeline"])


def drawer(folder: Path, *names: str) -> Path:
    folder.mkdir(parents=True)
    for number, name in enumerate(names):
        grey = drawn()
        grey[30 : 40 + 4 * number, 30:32] = 20
        Image.fromarray(grey).save(folder / name, "PNG", dpi=(75, 75))
    return folder


def one_by_one(jobs: Sequence[Job], out: Path, processes: int) -> Iterator[Outcome]:
    """In this process, whose room is bounded."""
    return (do(job, out) for job in jobs)


def with_little_room(words: list[str], most_bytes: int, pipe: Connection) -> None:
    command.run_here = one_by_one  # type: ignore[assignment]
    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))
    answer = CliRunner().invoke(app, words)
    pipe.send((answer.exit_code, answer.stderr))


@pytest.mark.parametrize("most_bytes", [300, 20_000])
def test_a_disk_that_fills_is_told_and_leaves_no_half_result(tmp_path: Path, most_bytes: int) -> None:
    source, out = drawer(tmp_path / "drawer", "plate.png"), tmp_path / "out"
    here, there = PROCESSES.Pipe()
    words = ["batch", str(source), "--out", str(out), "--quiet"]
    child = PROCESSES.Process(target=with_little_room, args=(words, most_bytes, there))
    child.start()
    code, told = here.recv()
    child.join()
    assert code == 2
    assert "can't be written" in told
    assert "finished sheets are kept" in told
    assert told.count("\n") == 1
    assert [path for path in out.rglob("*") if path.is_file()] == []


def test_a_target_that_takes_nothing_is_told(tmp_path: Path) -> None:
    source = drawer(tmp_path / "drawer", "plate.png")
    answer = CliRunner().invoke(app, ["batch", str(source), "--out", "/proc/batch", "--quiet"])
    assert answer.exit_code == 2
    assert "can't be written" in answer.stderr
    assert answer.stderr.count("\n") == 1


def test_no_name_leads_out_of_the_results(tmp_path: Path) -> None:
    source = drawer(tmp_path / "drawer", "... .png", "..-..-x.png", "a\nb.png", "-rf.png", "x" * 200 + ".png", "~.png")
    (source / "link.png").symlink_to(source / "~.png")
    (source / "gone.png").symlink_to(tmp_path / "nowhere.png")
    (source / "round").symlink_to(source)
    jobs = list(jobs_of(find_files([str(source)])))
    assert len(jobs) == len({job.sha256 for job in jobs}) == 6
    for job in jobs:
        folder = tmp_path / "out" / job.folder
        assert folder.resolve().parent == (tmp_path / "out").resolve()
        assert not job.folder.startswith((".", "-"))
