"""What a batch tells besides its results: backs, and scans that hold several sheets."""

import json
from pathlib import Path

import cv2
import numpy as np
import tifffile
from PIL import Image

from digitize.batch.command import _lines, report_of
from digitize.batch.jobs import BACK, find_files, jobs_of
from digitize.batch.work import do
from tests.calibrate import drawn
from tests.digitize.archive.prints import DPI
from tests.digitize.batch.test_backs import shone_through, side


def test_backs_and_several_sheets_are_lines_of_the_report(tmp_path: Path) -> None:
    drawer, out = tmp_path / "drawer", tmp_path / "out"
    drawer.mkdir()
    front = side(21_450)
    back = shone_through(front, np.full_like(front, 236), 0.2)
    pages = np.stack([cv2.resize(each, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA) for each in (front, back)])
    tifffile.imwrite(drawer / "book.tif", pages, photometric="minisblack", resolution=(DPI, DPI))
    both = np.hstack([drawn.sheet(0.3), drawn.sheet(-0.6)])
    Image.fromarray(both).save(drawer / "pair.png", dpi=(DPI, DPI))
    bed = [np.pad(drawn.sheet(turn), 60, constant_values=30) for turn in (0.3, -0.6)]
    Image.fromarray(np.vstack(bed)).save(drawer / "pair-on-the-glass.png", dpi=(DPI, DPI))
    jobs = list(jobs_of(find_files([str(drawer)])))
    failed = [outcome for outcome in (do(job, out) for job in jobs) if outcome.sentence]
    report = report_of(jobs, out, (), failed)
    pages_of = {page["folder"]: page for page in report["pages"]}
    assert pages_of["book/p002"]["notices"] == [
        "the back of book/p001: its lines shine through the paper in mirror image"
    ]
    (several,) = pages_of["pair"]["notices"]
    assert several.startswith("The picture holds 2 frames side by side, at x ")
    assert pages_of["pair-on-the-glass"]["state"] == "refused"
    assert "shows 2 sheets, at x" in pages_of["pair-on-the-glass"]["why"]
    assert pages_of["book/p001"]["notices"] == []
    told = [line for line in _lines(report) if line[1] == "notice"]
    assert [line[0] for line in told] == ["book/p002", "pair"]
    assert report_of(jobs, out, (), failed) == report  # from the folders alone


def test_a_note_of_a_back_that_no_longer_holds_is_taken_back(tmp_path: Path) -> None:
    Image.fromarray(np.full((300, 400), 250, np.uint8)).save(tmp_path / "blank.png")
    (job,) = jobs_of([tmp_path / "blank.png"])
    (tmp_path / "out" / "blank").mkdir(parents=True)
    (tmp_path / "out" / "blank" / BACK).write_text(json.dumps({"back_of": "gone"}))
    do(job, tmp_path / "out")
    assert not (tmp_path / "out" / "blank" / BACK).exists()
