"""A finished sheet to review: one kept sample, digitized once for all tests of this folder."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from digitize.pipeline import digitize_sheet
from digitize.review.reviewed import ReviewedSheet

SHEET = Path(__file__).parents[3] / "samples" / "sheets" / "hm-08-drive-shaft-trap.png"


@pytest.fixture(scope="session")
def digitized(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder that holds a print and, in ``result``, what was made of it."""
    home = tmp_path_factory.mktemp("drawer")
    shutil.copy(SHEET, home / "print.png")
    digitize_sheet(home / "print.png", out=home / "result")
    return home


@pytest.fixture
def home(digitized: Path, tmp_path: Path) -> Path:
    """A copy that a test may spoil."""
    return Path(shutil.copytree(digitized, tmp_path / "drawer"))


@pytest.fixture
def reviewed(home: Path) -> Iterator[ReviewedSheet]:
    """The sheet, opened for review."""
    sheet = ReviewedSheet(home / "result")
    yield sheet
    sheet.journal.close()
