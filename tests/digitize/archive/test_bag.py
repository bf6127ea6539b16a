"""Bags: complete, valid, untouched masters, text where it was read, nothing lost by a fault."""

import hashlib
import json
import multiprocessing
import os
import random
import re
import resource
import shutil
import signal
import subprocess
import time
from collections.abc import Iterator
from dataclasses import replace
from multiprocessing.connection import Connection
from pathlib import Path

import bagit
import numpy as np
import pikepdf
import pypdfium2
import pytest
import tifffile
from pdf_oxide import PdfDocument
from typer.testing import CliRunner

from calibrate.level import calibrate_sheet
from digitize.archive.bag import archive_bag, tidy
from digitize.archive.plan import bag_name, master_name, plans_of
from digitize.archive.searchable import with_confirmed, write_searchable
from digitize.archive.verify import verify_bag
from digitize.cli import app
from digitize.found import load
from digitize.lettering.text import Reading
from digitize.review.journal import Journal
from tests.digitize.archive import iso19005
from tests.digitize.archive.prints import DPI, HEIGHT_PX, TEXTS, WIDTH_PX, digitized, write_print
from tests.digitize.archive.rfc8493 import broken_rules

POINTS = 72 / DPI
KILLS = 10
NOT_LOOKED_AT = "WARN-007"
"""By this the foreign checker says what it has no means to look at."""
PROCESSES = multiprocessing.get_context("forkserver")
PROCESSES.set_forkserver_preload(["digitize.cli"])


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drawer with one print of one page and one of two, digitized and archived."""
    home = tmp_path_factory.mktemp("cupboard")
    plate = write_print(home / "prints" / "plate.png")
    book = write_print(home / "prints" / "book.tif", pages=2)
    digitized(plate, home / "drawer" / "plate")
    for page in (1, 2):
        digitized(book, home / "drawer" / "book" / f"p{page:03d}", page)
    journal = Journal(home / "drawer" / "plate" / "review.sqlite", hashlib.sha256(plate.read_bytes()).hexdigest(), 1)
    journal.say({"what": "confirm", "text": "Ø 1.250"}, "A. Reader", "1999-05-03")
    journal.close()
    code, _, error = run(home / "drawer")
    assert (code, error) == (0, "")
    return home


@pytest.fixture
def cupboard(made: Path, tmp_path: Path) -> Path:
    """A copy to harm; its bags stand where the results do not."""
    return Path(shutil.copytree(made, tmp_path / "cupboard"))


def run(*words: str | Path) -> tuple[int, str, str]:
    answer = CliRunner().invoke(app, ["archive", "--quiet", *map(str, words)])
    return answer.exit_code, answer.stdout, answer.stderr


def snapshot(folder: Path) -> dict[str, tuple[bytes, int]]:
    return {
        path.relative_to(folder).as_posix(): (path.read_bytes(), path.stat().st_mtime_ns)
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_each_print_is_a_complete_and_valid_bag(made: Path) -> None:
    archive = made / "drawer-archive"
    bags = sorted(path for path in archive.iterdir() if path.is_dir())
    assert [bag.name for bag in bags] == ["book", "plate"]
    for bag in bags:
        assert bagit.Bag(str(bag)).validate()
        assert broken_rules(bag) == []
        assert list(verify_bag(bag)) == []
    assert run(made / "drawer", "--verify") == (0, "", "")
    assert run(archive, "--verify") == (0, "", "")


def test_the_second_check_can_fail(cupboard: Path) -> None:
    bag = cupboard / "drawer-archive" / "plate"
    (bag / "data" / "more.txt").write_text("more")
    (bag / "data" / "part.dxf").unlink()
    (bag / "bagit.txt").write_text("BagIt-Version: 0.97\nTag-File-Character-Encoding: UTF-8\n")
    assert {rule.split(":")[0] for rule in broken_rules(bag)} == {"2.1.1", "2.2.2", "3"}


def test_the_print_is_untouched_and_the_results_lie_beside_it(made: Path) -> None:
    data = made / "drawer-archive" / "plate" / "data"
    assert (data / "master" / "plate.png").read_bytes() == (made / "prints" / "plate.png").read_bytes()
    for name in ("trace.dxf", "dimensions.json", "dimensions.xlsx", "check-print.html", "sheet.json", "found.json"):
        assert (data / name).read_bytes() == (made / "drawer" / "plate" / name).read_bytes()
    book = made / "drawer-archive" / "book" / "data"
    assert [path.name for path in (book / "master").iterdir()] == ["book.tif"]
    assert {"level.tif", "searchable.pdf"} <= {path.name for path in (book / "p002").iterdir()}


def test_the_level_picture_has_its_true_resolution(made: Path) -> None:
    with tifffile.TiffFile(made / "drawer-archive" / "plate" / "data" / "level.tif") as tiff:
        tags = tiff.pages[0].tags
        assert tags["XResolution"].value[0] / tags["XResolution"].value[1] == pytest.approx(DPI, rel=1e-3)
        assert tags["ResolutionUnit"].value == 2  # inch, TIFF 6.0


def test_events_name_every_file_with_its_hash_and_who_said_what(made: Path) -> None:
    data = made / "drawer-archive" / "plate" / "data"
    record = json.loads((data / "events.json").read_text())
    listed = {each["name"]: each for each in record["objects"]}
    present = {path.relative_to(data).as_posix() for path in data.rglob("*") if path.is_file()}
    assert set(listed) == present - {"events.json"}
    for name, each in listed.items():
        assert each["sha512"] == hashlib.sha512((data / name).read_bytes()).hexdigest()
    assert [name for name, each in listed.items() if each["role"] == "master"] == ["master/plate.png"]
    (review,) = (each for each in record["events"] if each["type"] == "modification")
    assert (review["agent"], review["when"], review["statement"]["text"]) == ("A. Reader", "1999-05-03", "Ø 1.250")
    (creation,) = (each for each in record["events"] if each["type"] == "creation")
    assert creation["versions"] == {"tracecloth": "0.1.0"}


def pdf(made: Path) -> Path:
    return made / "drawer-archive" / "plate" / "data" / "searchable.pdf"


@pytest.mark.parametrize("written", TEXTS)
def test_text_is_found_again_where_it_was_read_by_pdfium(made: Path, written: str) -> None:
    document = pypdfium2.PdfDocument(pdf(made))
    page = document[0]
    textpage = page.get_textpage()
    searcher = textpage.search(written)
    start, count = searcher.get_next()
    boxes = np.array([textpage.get_charbox(start + i) for i in range(count) if written[i] != " "])
    left, low, right, high = boxes[:, 0].min(), boxes[:, 1].min(), boxes[:, 2].max(), boxes[:, 3].max()
    height_pt = page.get_height()
    (x, y), angle = TEXTS[written]
    along, up = WIDTH_PX * POINTS, HEIGHT_PX * POINTS
    foot = np.array([(x + 0.5) * POINTS, height_pt - (y + 0.5) * POINTS])
    size = (along, up) if angle == 0 else (-up, along)
    expected = np.sort(np.array([foot, foot + size]), axis=0)
    slack = 0.2 * up  # ascenders and the tail of a glyph beyond its capital height
    assert np.abs(np.array([[left, low], [right, high]]) - expected).max() < slack + 0.03 * along
    for each in (searcher, textpage, page, document):
        each.close()


def test_what_a_person_confirmed_is_what_the_page_says(made: Path) -> None:
    found = load(made / "drawer" / "plate" / "found.json")
    row = {"confirmed_by": "A. Reader", "text": "Ø 1.260", "quad_px": found.texts[2].block.quad}  # source = level here
    texts = with_confirmed(found.sheet, found.texts, [row, row | {"confirmed_by": None, "text": "no one's word"}])
    assert [text.readings[0].text for text in texts] == ["SPINDLE", '14 1/2"', "Ø 1.260"]


def test_the_page_has_the_size_of_the_paper(made: Path) -> None:
    document = pypdfium2.PdfDocument(pdf(made))
    width, height = document.get_page_size(0)
    document.close()
    assert (width, height) == (pytest.approx(900 * POINTS, rel=0.01), pytest.approx(600 * POINTS, rel=0.01))


def test_the_text_is_there_and_is_not_seen(made: Path) -> None:
    document = pypdfium2.PdfDocument(pdf(made))
    picture = np.asarray(document[0].render(scale=DPI / 72).to_numpy())
    document.close()
    for (x, y), angle in TEXTS.values():
        if angle == 0:
            assert picture[int(y - HEIGHT_PX) : int(y), int(x) : int(x + WIDTH_PX)].min() > 200  # bare paper there


def test_poppler_opens_it_and_finds_the_text(made: Path) -> None:
    words = subprocess.run(["pdftotext", "-layout", pdf(made), "-"], capture_output=True, text=True, check=True)
    assert words.stderr == ""
    for written in TEXTS:
        assert written in words.stdout


def test_it_keeps_the_rules_of_the_archival_profile(made: Path) -> None:
    """ISO 19005-2, level B: by our own list of its clauses, and by a foreign checker that knows others."""
    assert iso19005.broken_rules(pdf(made)) == []
    told = PdfDocument(str(pdf(made))).validate_pdf_a("2b")
    assert told["valid"]
    assert [line for line in (*told["errors"], *told["warnings"]) if NOT_LOOKED_AT not in line] == []


def test_signs_that_the_font_lacks_do_not_break_the_profile(made: Path, tmp_path: Path) -> None:
    found = load(made / "drawer" / "plate" / "found.json")
    odd = replace(found.texts[0], readings=(Reading("⌀ 5″ ☃ 漢 \x07\u202e", 1.0),))
    sheet = calibrate_sheet(made / "prints" / "plate.png", 1)
    write_searchable(tmp_path / "odd.pdf", sheet, (odd,))
    assert iso19005.broken_rules(tmp_path / "odd.pdf") == []


def _with_part(pdf: pikepdf.Pdf) -> None:
    with pdf.open_metadata(set_pikepdf_as_editor=False) as metadata:
        metadata["pdfaid:part"] = "1"


HARMS = {
    "6.2.3": lambda pdf: pdf.Root.__delitem__("/OutputIntents"),
    "6.6.2.1": lambda pdf: pdf.Root.__delitem__("/Metadata"),
    "6.6.4": _with_part,
    "6.5.1": lambda pdf: pdf.Root.__setitem__("/OpenAction", pikepdf.Dictionary(S=pikepdf.Name.JavaScript)),
    "6.2.11.4.1": lambda pdf: _only(pdf, "/Font").FontDescriptor.__delitem__("/FontFile2"),
    "6.2.11.5": lambda pdf: _only(pdf, "/Font").__setitem__("/Widths", pikepdf.Array([1] * 256)),
    "6.2.11.6": lambda pdf: _only(pdf, "/Font").__setitem__("/Encoding", pikepdf.Name.WinAnsiEncoding),
    "6.2.10": lambda pdf: pdf.pages[0].Resources.__setitem__("/ExtGState", {"/G": pikepdf.Dictionary(ca=0.5)}),
    "6.2.8.1": lambda pdf: _only(pdf, "/XObject").__setitem__("/Interpolate", True),
    "6.2.4": lambda pdf: _only(pdf, "/XObject").__setitem__("/ColorSpace", pikepdf.Name.DeviceCMYK),
    "6.1.5": lambda pdf: pdf.docinfo.__setitem__("/Title", "another"),
}


def _only(pdf: pikepdf.Pdf, kind: str) -> pikepdf.Object:
    (only,) = pdf.pages[0].Resources[kind].values()
    return only


@pytest.mark.parametrize("clause", HARMS)
def test_our_list_of_clauses_can_fail(made: Path, tmp_path: Path, clause: str) -> None:
    with pikepdf.open(pdf(made)) as harmed:
        HARMS[clause](harmed)
        harmed.save(tmp_path / "harmed.pdf", deterministic_id=True)
    assert {rule.split(":")[0] for rule in iso19005.broken_rules(tmp_path / "harmed.pdf")} == {clause}


def test_the_same_sheet_gives_the_same_bytes(made: Path, tmp_path: Path) -> None:
    sheet, found = calibrate_sheet(made / "prints" / "plate.png", 1), load(made / "drawer" / "plate" / "found.json")
    write_searchable(tmp_path / "plate.pdf", sheet, with_confirmed(sheet, found.texts, ()))
    assert (tmp_path / "plate.pdf").read_bytes() == pdf(made).read_bytes()


def test_running_it_twice_changes_nothing(cupboard: Path) -> None:
    before = snapshot(cupboard / "drawer-archive")
    assert run(cupboard / "drawer")[0] == 0
    assert snapshot(cupboard / "drawer-archive") == before


def test_only_what_changed_is_written_anew(cupboard: Path) -> None:
    (cupboard / "drawer" / "plate" / "part.dxf").write_text("corrected")
    before = snapshot(cupboard / "drawer-archive" / "book")
    assert run(cupboard / "drawer")[0] == 0
    assert snapshot(cupboard / "drawer-archive" / "book") == before
    assert (cupboard / "drawer-archive" / "plate" / "data" / "part.dxf").read_text() == "corrected"
    assert not [path for path in (cupboard / "drawer-archive").iterdir() if path.name.startswith(".")]


def test_the_catalogue_is_made_from_the_bags_alone(cupboard: Path) -> None:
    archive = cupboard / "drawer-archive"
    for each in ("drawer", "prints"):
        shutil.rmtree(cupboard / each)
    (archive / "catalogue.sqlite").unlink()
    answer = CliRunner().invoke(app, ["find", "--in", str(archive), "--json", "spindle 14 1/2"])
    folders = [sheet["folder"] for sheet in json.loads(answer.stdout)["sheets"]]
    assert sorted(folders) == ["book/data/p001", "book/data/p002", "plate/data"]


def sentences(archive: Path) -> list[str]:
    code, _, error = run(archive, "--verify")
    assert code == (2 if error else 0)
    return error.splitlines()


def test_any_flipped_byte_is_found_and_its_file_named(cupboard: Path) -> None:
    archive, rng = cupboard / "drawer-archive", random.Random(8)
    for path in sorted(path for path in (archive / "plate").rglob("*") if path.is_file()):
        content = path.read_bytes()
        at = rng.randrange(len(content))
        path.write_bytes(content[:at] + bytes([content[at] ^ 1 << rng.randrange(8)]) + content[at + 1 :])
        found = sentences(archive)
        assert found, f"{path.name} at {at}"
        if not path.name.startswith(("manifest", "tagmanifest")):
            name = path.relative_to(archive / "plate").as_posix()
            assert found == [f"plate: {name} has changed since it was archived."]
        path.write_bytes(content)
    assert sentences(archive) == []


def test_any_missing_and_any_extra_file_is_found_and_named(cupboard: Path) -> None:
    archive = cupboard / "drawer-archive"
    for path in sorted(path for path in (archive / "plate").rglob("*") if path.is_file()):
        away = path.rename(cupboard / "away")
        name = path.relative_to(archive / "plate").as_posix()
        assert f"plate: {name} is missing." in sentences(archive)
        away.rename(path)
    for name in ("more.txt", "data/more.txt", "data/master/.hidden", "tagmanifest-md5.txt"):
        (archive / "plate" / name).write_text("more")
        assert sentences(archive) == [f"plate: {name} was added after it was archived."]
        (archive / "plate" / name).unlink()
    assert sentences(archive) == []


def test_a_link_or_a_path_out_of_the_bag_is_found(cupboard: Path) -> None:
    archive = cupboard / "drawer-archive"
    part = archive / "plate" / "data" / "part.dxf"
    part.rename(cupboard / "part.dxf")
    part.symlink_to(cupboard / "part.dxf")
    assert sentences(archive) == ["plate: data/part.dxf is a link and not the file itself."]
    part.unlink()
    (cupboard / "part.dxf").rename(part)
    manifest = archive / "plate" / "manifest-sha512.txt"
    manifest.write_text(manifest.read_text() + f"{'0' * 128}  ../../../part.dxf\n")
    assert any("names no file of this bag" in sentence for sentence in sentences(archive))


@pytest.mark.parametrize(
    "file", ["../../../etc/evil.png", "..", "/plate.tif", "a\nb.png", ".hidden", "x" * 300 + ".tif"]
)
def test_no_name_leads_out_of_the_bag(file: str) -> None:
    name = master_name(file)
    assert Path(name).name == name
    assert re.fullmatch(r"[\w-][\w.-]{0,99}", name)


def test_names_of_bags_are_safe_and_differ_where_the_folders_do(tmp_path: Path) -> None:
    folders = ["a/b", "a--b", "a-b", "a b", "a  b", "A b", "né", "a\nb"]
    names = [bag_name(tmp_path, tmp_path / folder) for folder in folders]
    assert len({name.lower() for name in names}) == len(names)
    assert all(re.fullmatch(r"[\w-][\w.-]*", name) for name in names)


def test_a_print_named_with_dots_is_archived_by_its_bytes(cupboard: Path) -> None:
    for name in ("sheet.json", "dimensions.json"):
        path = cupboard / "drawer" / "plate" / name
        path.write_text(path.read_text().replace('"plate.png"', '"../../plate.png"'))
    assert run(cupboard / "drawer") == (0, "", "")
    assert (cupboard / "drawer-archive" / "plate" / "data" / "master" / "plate.png").is_file()
    assert not (cupboard / "plate.png").exists()


def test_a_result_that_is_a_link_is_refused_and_the_others_go_on(cupboard: Path) -> None:
    secret = cupboard / "secret"
    secret.write_text("not for the archive")
    (cupboard / "drawer" / "plate" / "part.dxf").unlink()
    (cupboard / "drawer" / "plate" / "part.dxf").symlink_to(secret)
    shutil.rmtree(cupboard / "drawer-archive")
    code, _, error = run(cupboard / "drawer")
    assert code == 2
    assert "is no plain file" in error
    assert error.count("\n") == 1
    assert [path.name for path in (cupboard / "drawer-archive").iterdir() if path.is_dir()] == ["book"]


@pytest.mark.parametrize("harm", ["gone", "changed"])
def test_a_print_that_is_gone_or_changed_is_told_and_found_elsewhere(cupboard: Path, harm: str) -> None:
    plate = cupboard / "prints" / "plate.png"
    (cupboard / "moved").mkdir()
    shutil.copy(plate, cupboard / "moved")
    plate.unlink() if harm == "gone" else plate.write_bytes(plate.read_bytes() + b"!")
    shutil.rmtree(cupboard / "drawer-archive" / "plate")
    code, _, error = run(cupboard / "drawer")
    assert code == 2
    assert "say where with --prints" in error
    assert not (cupboard / "drawer-archive" / "plate").exists()
    assert run(cupboard / "drawer", "--prints", cupboard / "moved") == (0, "", "")


def test_a_folder_of_someone_else_is_left_alone(cupboard: Path) -> None:
    plate = cupboard / "drawer-archive" / "plate"
    shutil.rmtree(plate)
    plate.mkdir()
    (plate / "letters.txt").write_text("mine")
    code, _, error = run(cupboard / "drawer")
    assert code == 2
    assert "is no bag of this program" in error
    assert [path.name for path in plate.iterdir()] == ["letters.txt"]


def test_a_damaged_result_is_one_line(cupboard: Path) -> None:
    (cupboard / "drawer" / "book" / "p002" / "sheet.json").write_text("{")
    code, _, error = run(cupboard / "drawer")
    assert code == 2
    assert error.count("\n") == 1
    assert "is damaged" in error


def test_a_target_that_is_read_only_is_told(cupboard: Path) -> None:
    code, _, error = run(cupboard / "drawer", "--out", "/proc/archive")
    assert code == 2
    assert "can't be written" in error
    assert error.count("\n") == 1


def with_little_room(words: list[str], most_bytes: int, pipe: Connection) -> None:
    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))
    pipe.send(run(*words))


@pytest.mark.parametrize("most_bytes", [2_000, 20_000])
def test_a_full_disk_leaves_the_old_bag(cupboard: Path, most_bytes: int) -> None:
    (cupboard / "drawer" / "plate" / "part.dxf").write_text("corrected")
    before = snapshot(cupboard / "drawer-archive")
    here, there = PROCESSES.Pipe()
    child = PROCESSES.Process(target=with_little_room, args=([str(cupboard / "drawer")], most_bytes, there))
    child.start()
    code, _, error = here.recv()
    child.join()
    assert code == 2
    assert "can't be written" in error
    assert error.count("\n") == 1
    assert snapshot(cupboard / "drawer-archive") == before


def bag_it(home: Path) -> None:
    plans, _ = plans_of(home / "drawer")
    (home / "drawer-archive").mkdir(exist_ok=True)
    (home / "started").touch()
    for plan in plans:
        archive_bag(plan, home / "drawer-archive")
    (home / "ended").touch()


def started(home: Path) -> Iterator[multiprocessing.process.BaseProcess]:
    for name in ("started", "ended"):
        (home / name).unlink(missing_ok=True)
    child = PROCESSES.Process(target=bag_it, args=(home,))
    child.start()
    while not (home / "started").exists():
        time.sleep(0.002)
    yield child


def test_killed_at_any_moment_there_is_the_old_bag_or_the_new_one(cupboard: Path) -> None:
    archive, rng = cupboard / "drawer-archive", random.Random(3)
    shutil.rmtree(cupboard / "drawer" / "book")
    part, archived = cupboard / "drawer" / "plate" / "part.dxf", archive / "plate" / "data" / "part.dxf"
    part.write_text("first")
    for child in started(cupboard):
        start = time.perf_counter()
        child.join()
        whole_s = time.perf_counter() - start
    assert archived.read_text() == "first"
    finished = 0
    for number in range(KILLS):
        old = archived.read_text()
        part.write_text(f"number {number}")
        for child in started(cupboard):
            child.join(rng.uniform(0, whole_s))
            if child.pid is not None and child.is_alive():
                os.kill(child.pid, signal.SIGKILL)
            child.join()
        finished += (cupboard / "ended").exists()
        tidy(archive)
        assert archived.read_text() in (old, f"number {number}")
        assert broken_rules(archive / "plate") == []
        assert not [path for path in archive.iterdir() if path.name.startswith(".")]
    assert finished < KILLS  # some were killed half way
