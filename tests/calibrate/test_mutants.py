"""A few damaged files of every kind; `python -m tests.bench.mutants` tries a thousand of each."""

from pathlib import Path

import pytest

from tests.calibrate.mutants import KINDS, judged

FEW = 6


@pytest.mark.parametrize("kind", KINDS)
def test_a_damaged_file_is_read_or_told_and_nothing_is_half_written(tmp_path: Path, kind: str) -> None:
    verdicts = list(judged(kind, range(21_000, 21_000 + FEW), tmp_path))
    assert len(verdicts) == FEW
    assert [each for each in verdicts if each.what not in ("read", "told")] == []
