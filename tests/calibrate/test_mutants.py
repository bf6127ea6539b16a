"""A few damaged files of every kind; `python -m tests.bench.mutants` tries a thousand of each."""

from pathlib import Path

import pytest

from tests.calibrate.mutants import KINDS, judged

FEW = 6
ONCE_HUNG = {"pages.tif": 21_307, "tiled.tif": 21_225, "scan.pdf": 21_118}
"""A chain of pages that comes back on itself; a sheet two of whose edges are parallel."""


@pytest.mark.parametrize("kind", KINDS)
def test_a_damaged_file_is_read_or_told_and_nothing_is_half_written(tmp_path: Path, kind: str) -> None:
    verdicts = list(judged(kind, range(21_000, 21_000 + FEW), tmp_path))
    assert len(verdicts) == FEW
    assert [each for each in verdicts if each.what not in ("read", "told")] == []


@pytest.mark.parametrize("kind", ONCE_HUNG)
def test_files_that_once_hung_are_told(tmp_path: Path, kind: str) -> None:
    (verdict,) = judged(kind, [ONCE_HUNG[kind]], tmp_path)
    assert verdict.what in ("read", "told")
