"""A batch that is stopped, killed, run twice, and that has bad sheets in it."""

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from typer.testing import CliRunner

from digitize.batch.command import report_of
from digitize.batch.jobs import Job, find_files, jobs_of, standing
from digitize.batch.likeness import Pair, same_content
from digitize.batch.run import _next, run_here, run_on_cluster
from digitize.cli import app
from tests.digitize.batch import workers

SHEETS = Path(__file__).parents[3] / "samples" / "sheets"


def drawer(folder: Path, count: int, *more: str) -> Path:
    folder.mkdir(parents=True)
    for name in (*(f"sheet-{i:02d}" for i in range(count)), *more):
        grey = np.random.default_rng(sum(name.encode())).integers(0, 255, (12, 10), dtype=np.uint8)
        Image.fromarray(grey).save(folder / f"{name}.png")
    return folder


def jobs(folder: Path) -> list[Job]:
    return list(jobs_of(find_files([str(folder)])))


def left(folder: Path, out: Path) -> list[Job]:
    return [job for job in jobs(folder) if standing(job, out) is None]


def test_every_job_ends_and_a_second_run_has_nothing_to_do(tmp_path: Path) -> None:
    source, out = drawer(tmp_path / "drawer", 5), tmp_path / "out"
    out.mkdir()
    assert len(list(run_here(left(source, out), out, 2, workers.stamp))) == 5
    assert left(source, out) == []


def test_a_changed_file_is_done_anew(tmp_path: Path) -> None:
    source, out = drawer(tmp_path / "drawer", 2), tmp_path / "out"
    out.mkdir()
    list(run_here(left(source, out), out, 1, workers.stamp))
    Image.new("L", (20, 20)).save(source / "sheet-00.png")
    assert [job.folder for job in left(source, out)] == ["sheet-00"]


BATCH = """
import sys
from pathlib import Path
from digitize.batch.run import run_here
from tests.digitize.batch import workers
from tests.digitize.batch.test_run import left
if __name__ == "__main__":
    list(run_here(left(Path(sys.argv[1]), Path(sys.argv[2])), Path(sys.argv[2]), 2, workers.slow))
"""


def test_killed_at_any_moment_it_goes_on_and_redoes_no_finished_sheet(tmp_path: Path) -> None:
    source, out = drawer(tmp_path / "drawer", 12), tmp_path / "out"
    out.mkdir()
    moments = random.Random(5)
    for _ in range(4):
        finished = [job.folder for job in jobs(source) if standing(job, out) is not None]
        worked = _worked(out)
        with subprocess.Popen(
            [sys.executable, "-c", BATCH, str(source), str(out)], start_new_session=True, cwd=SHEETS.parents[1]
        ) as program:
            deadline = time.monotonic() + 30
            while len(_worked(out)) == len(worked) and time.monotonic() < deadline and program.poll() is None:
                time.sleep(0.05)
            time.sleep(moments.uniform(0, 0.3))
            if program.poll() is None:
                os.killpg(program.pid, signal.SIGKILL)
        assert not Counter(_worked(out)[len(worked) :]).keys() & set(finished)
    list(run_here(left(source, out), out, 2, workers.stamp))
    assert left(source, out) == []
    for job in jobs(source):
        assert {path.name for path in (out / job.folder).iterdir() if path.is_file()} == {"sheet.json", "trace.dxf"}


def _worked(out: Path) -> list[str]:
    log = out / "worked.txt"
    return log.read_text().split() if log.exists() else []


def test_a_process_that_dies_costs_its_own_sheet_only(tmp_path: Path) -> None:
    source, out = drawer(tmp_path / "drawer", 3, "bad"), tmp_path / "out"
    out.mkdir()
    outcomes = list(run_here(jobs(source), out, 2, workers.dies_on_bad))
    assert sorted(outcome.job.folder for outcome in outcomes) == ["bad", "sheet-00", "sheet-01", "sheet-02"]
    assert [outcome.job.folder for outcome in outcomes if outcome.sentence] == ["bad"]
    assert "was killed" in next(outcome.sentence for outcome in outcomes if outcome.sentence)


def test_large_sheets_wait_for_memory_and_one_that_is_too_large_runs_alone() -> None:
    large, middle, small = (Job(Path(name), 1, name, name) for name in ("large", "middle", "small"))
    needs = {large: 9, middle: 5, small: 1}
    assert list(_next([large, middle, small], [], needs, 10, 4)) == [large, small]
    assert list(_next([middle, small], [9, 1], needs, 10, 4)) == []
    assert list(_next([large], [], needs, 4, 4)) == [large]
    assert list(_next([middle, small], [1], needs, 10, 2)) == [middle]


def test_real_sheets_and_bad_ones_in_one_command(tmp_path: Path) -> None:
    source = tmp_path / "drawer"
    source.mkdir()
    good = sorted(SHEETS.glob("*.png"))[1]
    shutil.copy(good, source / "good.png")
    shutil.copy(good, source / "good-again.png")
    (source / "torn.tif").write_bytes(b"II*\0 torn off")
    Image.new("L", (600, 800), 250).save(source / "blank.png")
    out = tmp_path / "out"
    command = ["batch", str(source), "--out", str(out), "--processes", "1"]
    outcome = CliRunner().invoke(app, command)
    assert outcome.exit_code == 0, outcome.output
    report = json.loads((out / "batch.json").read_text(encoding="utf-8"))
    states = {Path(page["source"]).name: page["state"] for page in report["pages"]}
    assert states == {"good-again.png": "digitized", "good.png": "same", "torn.tif": "refused", "blank.png": "refused"}
    before = {path: path.stat().st_mtime_ns for path in out.rglob("*") if path.name != "batch.json"}
    text = (out / "batch.json").read_bytes()
    assert CliRunner().invoke(app, command).exit_code == 0
    after = {path: path.stat().st_mtime_ns for path in out.rglob("*") if path.name != "batch.json"}
    assert {path: t for path, t in after.items() if path.is_file()} == {
        path: t for path, t in before.items() if path.is_file()
    }
    assert (out / "batch.json").read_bytes() == text
    assert (out / "catalogue.sqlite") in before
    found = CliRunner().invoke(app, ["find", "--in", str(out), "--state", "agreed", "--json"])
    assert [sheet["folder"] for sheet in json.loads(found.stdout)["sheets"]] == ["good-again"]


def test_a_sheet_scanned_twice_is_noticed_by_what_is_written_on_it(tmp_path: Path) -> None:
    values = [{"kind": "linear", "text": f"{n} 1/2", "value": n + 0.5} for n in range(8)]
    others = [{"kind": "linear", "text": f"{n} 3/4", "value": n + 0.75} for n in range(8)]
    for name, rows in (("one", values), ("two", values[:7]), ("three", others), ("four", [])):
        (tmp_path / name).mkdir()
        (tmp_path / name / "dimensions.json").write_text(json.dumps({"dimensions": rows}))
    assert list(same_content(["one", "two", "three", "four"], tmp_path)) == [
        Pair("one", "two", "7 of 8 values are alike")
    ]


def test_the_report_does_not_depend_on_the_run_that_made_the_results(tmp_path: Path) -> None:
    source, out = drawer(tmp_path / "drawer", 3), tmp_path / "out"
    out.mkdir()
    list(run_here(left(source, out), out, 1, workers.stamp))
    assert report_of(jobs(source), out, [], [])["counts"] == {"digitized": 3, "refused": 0, "same": 0, "failed": 0}


@pytest.mark.filterwarnings("ignore")
def test_on_a_cluster_one_of_whose_workers_is_killed_nothing_is_lost(tmp_path: Path) -> None:
    """A real Dask scheduler and two workers on this machine; one is killed while it works."""
    from distributed import LocalCluster

    source, out, here = drawer(tmp_path / "drawer", 10), tmp_path / "out", tmp_path / "here"
    out.mkdir()
    here.mkdir()
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50) as cluster:
        victim = next(iter(cluster.workers.values())).process.process.pid
        outcomes = []
        for outcome in run_on_cluster(jobs(source), out, cluster.scheduler_address, workers.slow):
            outcomes.append(outcome)
            if len(outcomes) == 2:
                os.kill(victim, signal.SIGKILL)
    assert {outcome.job.folder for outcome in outcomes} == {job.folder for job in jobs(source)}
    assert not [outcome.sentence for outcome in outcomes if outcome.sentence]
    list(run_here(jobs(source), here, 1, workers.stamp))
    for job in jobs(source):
        for name in ("sheet.json", "trace.dxf"):
            assert (out / job.folder / name).read_bytes() == (here / job.folder / name).read_bytes()
