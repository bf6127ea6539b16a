"""What was said is kept: undo, redo, a program killed between two words, a file that is something else."""

import os
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibrate.errors import InputError
from digitize.review.journal import NAME, Journal, said_in

SHA = "0" * 64


def said(journal: Journal) -> list[int]:
    return [each.body["n"] for each in journal.live()]


def test_what_is_said_comes_back_in_order_with_its_speaker(tmp_path: Path) -> None:
    journal = Journal(tmp_path / "j", SHA, 1)
    for n in range(3):
        journal.say({"n": n}, "A. Reader", "2026-01-02")
    assert [(each.body, each.by, each.on) for each in journal.live()] == [
        ({"n": n}, "A. Reader", "2026-01-02") for n in range(3)
    ]


@settings(max_examples=40)
@given(st.lists(st.sampled_from(("say", "undo", "redo")), max_size=25))
def test_undo_and_redo_are_those_of_a_list_with_a_cursor(acts: list[str]) -> None:
    journal, kept, cursor = Journal(Path(":memory:"), SHA, 1), [], 0
    for n, act in enumerate(acts):
        if act == "say":
            journal.say({"n": n}, "A", "2026-01-02")
            kept, cursor = [*kept[:cursor], n], cursor + 1
        elif act == "undo":
            assert journal.undo() == (cursor > 0)
            cursor = max(cursor - 1, 0)
        else:
            assert journal.redo() == (cursor < len(kept))
            cursor = min(cursor + 1, len(kept))
        assert said(journal) == kept[:cursor]
        assert journal.undone() == len(kept) - cursor


def test_the_version_grows_with_every_change(tmp_path: Path) -> None:
    journal = Journal(tmp_path / "j", SHA, 1)
    versions = [journal.version()]
    for act in (lambda: journal.say({"n": 1}, "A", "2026-01-02"), journal.undo, journal.redo):
        act()
        versions.append(journal.version())
    assert versions == sorted(set(versions))


WRITER = """
import sys
from pathlib import Path
from digitize.review.journal import NAME, Journal, said_in
journal = Journal(Path(sys.argv[1]), "0" * 64, 1)
n = 0
while True:
    journal.say({"n": n}, "A", "2026-01-02")
    print(n, flush=True)
    n += 1
"""


def test_nothing_said_is_lost_when_the_program_is_killed(tmp_path: Path) -> None:
    command = [sys.executable, "-c", WRITER, str(tmp_path / "j")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as writer:
        assert writer.stdout is not None
        told = [int(writer.stdout.readline()) for _ in range(20)]
        os.kill(writer.pid, signal.SIGKILL)
        told += [int(line) for line in writer.stdout if line.strip()]
    kept = said(Journal(tmp_path / "j", SHA, 1))
    assert kept[: len(told)] == told
    assert kept == list(range(len(kept)))


def test_a_journal_of_another_print_is_refused(tmp_path: Path) -> None:
    Journal(tmp_path / "j", SHA, 1).close()
    with pytest.raises(InputError, match="another print"):
        Journal(tmp_path / "j", "1" * 64, 1)
    with pytest.raises(InputError, match="another print"):
        Journal(tmp_path / "j", SHA, 2)


def test_a_file_that_is_no_journal_is_refused(tmp_path: Path) -> None:
    (tmp_path / "j").write_bytes(b"the minutes of the committee" * 100)
    with pytest.raises(InputError, match="no review journal"):
        Journal(tmp_path / "j", SHA, 1)


def test_it_is_an_sqlite_file_with_a_write_ahead_log(tmp_path: Path) -> None:
    Journal(tmp_path / "j", SHA, 1)
    assert sqlite3.connect(tmp_path / "j").execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_a_journal_that_is_only_looked_at_says_the_same_and_is_not_touched(tmp_path: Path) -> None:
    path = tmp_path / NAME
    journal = Journal(path, "ab", 1)
    journal.say({"what": "strike"}, "A. Reader", "1999-05-03")
    journal.say({"what": "confirm"}, "A. Reader", "1999-05-04")
    journal.undo()
    while_open = said_in(path, "ab", 1)
    live = journal.live()
    journal.close()
    before = path.read_bytes()
    assert while_open == said_in(path, "ab", 1) == live
    assert len(live) == 1
    assert path.read_bytes() == before
    assert [each.name for each in tmp_path.iterdir()] == [NAME]
    with pytest.raises(InputError, match="another print"):
        said_in(path, "cd", 1)
    path.write_text("minutes")
    with pytest.raises(InputError, match="no review journal"):
        said_in(path, "ab", 1)
