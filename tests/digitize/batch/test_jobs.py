"""Which pages a person means, and where their results go."""

from pathlib import Path

import img2pdf
import numpy as np
import pytest
import tifffile
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from calibrate.errors import InputError
from digitize.batch.jobs import find_files, jobs_of, safe_name
from digitize.batch.memory import UNKNOWN_PIXELS, needed_bytes, page_pixels


def picture(path: Path, size: tuple[int, int] = (40, 30)) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    Image.new("L", size, 200).save(path)
    return path


def test_folders_patterns_and_files_are_found_once_each_in_order(tmp_path: Path) -> None:
    a, b = picture(tmp_path / "drawer" / "a.png"), picture(tmp_path / "drawer" / "deep" / "b.JPG")
    (tmp_path / "drawer" / "notes.txt").write_text("minutes")
    found = find_files([str(tmp_path / "drawer"), str(a), str(tmp_path / "drawer" / "*" / "*.JPG")])
    assert found == (a, b)


@pytest.mark.parametrize("source", ["nowhere", "drawer/*.tif"])
def test_a_source_that_names_nothing_is_told(tmp_path: Path, source: str) -> None:
    with pytest.raises(InputError, match="names no"):
        find_files([str(tmp_path / source)])


def test_every_page_is_a_job_with_a_folder_of_its_own(tmp_path: Path) -> None:
    tifffile.imwrite(tmp_path / "book.tif", np.zeros((3, 40, 30), np.uint8), photometric="minisblack")
    jobs = list(jobs_of([tmp_path / "book.tif", picture(tmp_path / "lone.png")]))
    assert [(job.page, job.folder) for job in jobs] == [
        (1, "book/p001"), (2, "book/p002"), (3, "book/p003"), (1, "lone"),
    ]  # fmt: skip


def test_files_of_one_name_in_two_folders_do_not_share_a_folder(tmp_path: Path) -> None:
    files = [picture(tmp_path / name / "sheet.png", (40, size)) for name, size in (("a", 30), ("b", 31), ("c", 31))]
    folders = [job.folder for job in jobs_of(files)]
    assert len({folder.lower() for folder in folders}) == 3


def test_a_file_that_can_not_be_opened_is_a_job_with_its_refusal(tmp_path: Path) -> None:
    (tmp_path / "empty.png").write_bytes(b"")
    (job,) = jobs_of([tmp_path / "empty.png"])
    assert "zero bytes" in job.refusal


@given(st.text(max_size=120))
def test_a_folder_name_stays_inside_its_place(stem: str) -> None:
    name = safe_name(stem)
    assert name not in ("", ".", "..")
    assert not set(name) & set('/\\:*?"<>|\0\n')
    assert not name.startswith((".", "-"))
    assert (Path("home") / name).parent == Path("home")


def test_the_size_of_a_page_is_read_from_its_header(tmp_path: Path) -> None:
    lone = picture(tmp_path / "lone.png", (400, 300))
    tifffile.imwrite(tmp_path / "book.tif", np.zeros((2, 400, 300), np.uint8), photometric="minisblack")
    (tmp_path / "scan.pdf").write_bytes(img2pdf.convert(str(lone)))
    assert page_pixels(lone, 1) == page_pixels(tmp_path / "book.tif", 2) == 120_000
    assert page_pixels(tmp_path / "scan.pdf", 1) > 120_000
    (tmp_path / "torn.tif").write_bytes(b"II*\0torn")
    assert page_pixels(tmp_path / "torn.tif", 1) == UNKNOWN_PIXELS
    assert needed_bytes(lone, 1) < needed_bytes(tmp_path / "torn.tif", 1)
