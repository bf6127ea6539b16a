"""A bag after RFC 8493: written under a temporary name, settled on the disk, then put in its place."""

import json
import logging
import os
import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path

import bagit
import cv2
import numpy as np

from calibrate.errors import InputError
from calibrate.files.load import load_page
from calibrate.level import calibrate_sheet
from calibrate.record import LEVEL_NAME, RECORD_NAME, write_calibration
from digitize.archive import events
from digitize.archive.plan import Page, Plan, find_master, fingerprint, master_name, result_files, statements
from digitize.archive.record import TABLE
from digitize.archive.searchable import with_confirmed, write_searchable
from digitize.batch.jobs import file_sha256
from digitize.found import NAME as FOUND
from digitize.found import Found, kept_in, load
from digitize.report.files import STAGING
from digitize.review.journal import Said
from digitize.review.pictures import level_picture

REPLACED = ".replaced-"
"""How the name of an old bag begins while the new one takes its place."""
SEARCHABLE, CALIBRATION = "searchable.pdf", "calibration.json"
DECLARATION = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
"""RFC 8493, section 2.1.1; the library writes the number of the draft before it."""
ALGORITHM = "sha512"
_OPEN_FOLDER = os.O_RDONLY | getattr(os, "O_DIRECTORY", 0)
logging.getLogger("bagit").setLevel(logging.CRITICAL + 1)  # what it finds is told in sentences


def archive_bag(plan: Plan, archive: Path, prints: Path | None = None) -> bool:
    """Write one bag, unless the one that is there was made from the same files.

    Parameters
    ----------
    plan : Plan
    archive : Path
        Exists.
    prints : Path, optional
        Where to look for the print file, if it was moved.

    Returns
    -------
    bool
        True where a bag was written.

    Raises
    ------
    InputError
        The print file is gone, a file is missing, or the result is of another version.
    OSError
        The disk is full or read-only; the bag that was there is as it was.
    """
    target = archive / plan.name
    if target.is_symlink():
        raise InputError(f"{target} is a link; the archive takes real folders alone: move it away.")
    if target.exists() and not (target / "data" / events.NAME).exists():
        raise InputError(f"{target} is there and is no bag of this program; move it away or give another --out.")
    said = [statements(page, plan.sha256) for page in plan.pages]
    made_from = fingerprint(plan, said)
    if _stands(target, made_from):
        return False
    master = find_master(plan, prints)
    stage = Path(tempfile.mkdtemp(prefix=STAGING, dir=archive))
    try:
        bag = stage / "bag"
        bag.mkdir()
        _fill(bag, plan, master, said, made_from)
        _declare(bag, plan)
        settle(bag)
        _put(bag, target)
    finally:
        shutil.rmtree(stage, ignore_errors=True)
    return True


def _stands(target: Path, made_from: str) -> bool:
    """Is a bag there that was made from these very files, and has all its own?"""
    try:
        record = json.loads((target / "data" / events.NAME).read_text(encoding="utf-8"))
        return bool(record["made_from"] == made_from and bagit.Bag(str(target)).is_valid(fast=True))
    except (OSError, ValueError, KeyError, TypeError, bagit.BagError):
        return False


def _fill(payload: Path, plan: Plan, master: Path, said: Sequence[tuple[Said, ...]], made_from: str) -> None:
    copy = payload / events.MASTER / master_name(plan.file)
    copy.parent.mkdir()
    shutil.copyfile(master, copy)
    if file_sha256(copy) != plan.sha256:
        raise InputError(f"{master.name} changed while it was copied; try again when nothing writes to it.")
    for page in plan.pages:
        _add_page(payload / page.place, page, copy)
    content = events.events(payload, plan, said, made_from)
    text = json.dumps(content, indent=1, ensure_ascii=False) + "\n"
    (payload / events.NAME).write_text(text, encoding="utf-8")


def _add_page(folder: Path, page: Page, master: Path) -> None:
    folder.mkdir(exist_ok=True)
    for path in result_files(page):
        shutil.copyfile(path, folder / path.name)
    laid = load(folder / FOUND).sheet
    sheet = calibrate_sheet(master, page.number, orientation_deg=laid.orientation_deg, over=laid.turned_over)
    found = kept_in(folder, sheet) or _laid_straight(folder, page, master)
    calibrated = folder / "calibrated"
    write_calibration(found.sheet, calibrated)
    (calibrated / LEVEL_NAME).replace(folder / LEVEL_NAME)
    (calibrated / RECORD_NAME).replace(folder / CALIBRATION)
    calibrated.rmdir()
    rows = json.loads((folder / TABLE).read_text(encoding="utf-8"))["dimensions"]
    write_searchable(folder / SEARCHABLE, found.sheet, with_confirmed(found.sheet, found.texts, rows))


def _laid_straight(folder: Path, page: Page, master: Path) -> Found:
    """What another version found, with the print as it was scanned, laid straight the way that version laid it."""
    found = load(folder / FOUND)
    sheet = found.sheet
    picture = level_picture(load_page(master, page.number).pixels, sheet.level_from_source, sheet.grey.shape)
    grey = picture if picture.ndim == 2 else cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    return replace(found, sheet=replace(sheet, grey=np.asarray(grey, dtype=np.uint8)))


def _declare(bag: Path, plan: Plan) -> None:
    """Make a bag of a folder of files."""
    info = {
        "External-Identifier": plan.name,
        "External-Description": f"Engineering print {plan.file}, with what was read from it",
        "Bag-Software-Agent": f"tracecloth {version('tracecloth')}, bagit {version('bagit')}",
    }
    bagit.make_bag(str(bag), info, checksums=[ALGORITHM])
    (bag / "bagit.txt").write_text(DECLARATION, encoding="utf-8")
    bagit.Bag(str(bag)).save()


def settle(folder: Path) -> None:
    """Have the disk take a folder's files before its name is changed: a power cut then finds all of it or none."""
    for path in [*folder.rglob("*"), folder]:
        handle = os.open(path, _OPEN_FOLDER if path.is_dir() else os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _put(bag: Path, target: Path) -> None:
    aside = target.with_name(f"{REPLACED}{target.name}")
    if target.exists():
        target.rename(aside)
    bag.rename(target)
    shutil.rmtree(aside, ignore_errors=True)


def tidy(archive: Path) -> None:
    """Undo what a run that was killed left half done: an old bag goes back where the new one had not arrived."""
    for aside in archive.glob(f"{REPLACED}*"):
        target = archive / aside.name.removeprefix(REPLACED)
        if target.exists():
            shutil.rmtree(aside)
        else:
            aside.rename(target)
    for stage in archive.glob(f"{STAGING}*"):
        shutil.rmtree(stage)
