"""Sheets found again by words, lengths and gears; a catalogue that is lost, damaged or behind."""

import base64
import io
import json
import os
import re
import shutil
import sqlite3
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image
from typer.testing import CliRunner

from digitize.archive.catalogue import IN_MEMORY, NAME, Catalogue, with_catalogue
from digitize.archive.query import Query, SizeWanted
from digitize.archive.record import length_pm
from digitize.archive.words import folded, phrases
from digitize.cli import app
from tests.digitize.archive.folders import gear, result, value


@pytest.fixture
def cupboard(tmp_path: Path) -> Path:
    home = tmp_path / "drawer"
    title_block = {"title": "BACK GEAR SPINDLE", "drawing_number": "DRG. NO. HM-204", "material": "MATERIAL STEEL"}
    result(
        home / "spindle",
        title_block | {"date": "3 MAY 1911"},
        [value("A1.1", "linear", '14 1/2"', 14.5), value("A2.1", "diameter", "Ø 5.500", 5.5)],
        texts=("TURN AND GRIND", "MILL RACE MUSEUM"),
    )
    result(
        home / "book" / "p002",
        {"title": "FEED WHEEL", "drawing_number": "HM-31"},
        [value("B1.1", "diameter", "139.9", 139.9, "mm", "disputed"), value("B1.2", "linear", "1 1/2", 1.5)],
        gear(42, 3.175, "unproven", (42, 3.175, 0.5), (42, 3.0, 0.3), (42, 3.2, 0.001)),
    )
    result(home / "unread", {}, [value("C1.1", "linear", "", None, status="unread")])
    return home


def found(home: Path, query: Query) -> list[str]:
    hits, _ = with_catalogue(home, lambda catalogue: catalogue.find(query))
    return sorted(hit.folder for hit in hits)


@pytest.mark.parametrize(
    ("words", "folders"),
    [
        ("spindle 14 1/2", ["spindle"]),
        ('SPINDLE 14 1/2"', ["spindle"]),
        ("4 1/2", []),  # part of another number is another number
        ("14", ["spindle"]),
        ("5.5", ["spindle"]),  # 5.500 is the same number
        (".5", []),
        ("HM-204", ["spindle"]),
        ("hm", ["book/p002", "spindle"]),
        ("grin", ["spindle"]),
        ("p002.tif", ["book/p002"]),
        ("1911 steel", ["spindle"]),
        ("steel wheel", []),
    ],
)
def test_words_and_figures_written_anywhere_on_a_sheet(cupboard: Path, words: str, folders: list[str]) -> None:
    assert found(cupboard, Query(words)) == folders


@pytest.mark.parametrize(
    ("fields", "folders"),
    [
        ({"drawing_number": "HM-31"}, ["book/p002"]),
        ({"title": "museum"}, []),
        ({"material": "steel", "date": "1911"}, ["spindle"]),
    ],
)
def test_words_of_one_field(cupboard: Path, fields: dict[str, str], folders: list[str]) -> None:
    assert found(cupboard, Query(fields=fields)) == folders


@pytest.mark.parametrize(
    ("within", "folders"),
    [("0", ["spindle"]), ("0.007", ["spindle"]), ("0.008", ["book/p002", "spindle"])],
)
def test_a_diameter_within_so_much_in_either_unit(cupboard: Path, within: str, folders: list[str]) -> None:
    wanted = SizeWanted("diameter", Fraction(1397, 10), Fraction(within) * Fraction(254, 10))
    assert found(cupboard, Query(sizes=(wanted,))) == folders


def test_both_ends_of_a_tolerance_count(tmp_path: Path) -> None:
    result(tmp_path / "a", rows=[value("A1.1", "diameter", "5.51", 5.51)])
    wanted = SizeWanted("diameter", Fraction("5.5") * Fraction(254, 10), Fraction("0.01") * Fraction(254, 10))
    assert found(tmp_path, Query(sizes=(wanted,))) == ["a"]


@given(st.integers(1, 64 * 400), st.integers(0, 6), st.integers(1, 10**7), st.integers(0, 4))
def test_written_lengths_are_kept_exactly(numerator: int, power: int, digits: int, places: int) -> None:
    inch = Fraction(numerator, 2**power)
    assert length_pm(float(inch), "in") == inch * Fraction(254, 10) * 10**9
    decimal = Fraction(digits, 10**places)
    assert length_pm(float(decimal), "in") == decimal * Fraction(254, 10) * 10**9
    assert length_pm(float(decimal), "mm") == decimal * 10**9


@pytest.mark.parametrize(
    ("query", "folders"),
    [
        (Query(teeth=42, module_mm=3.175), ["book/p002"]),
        (Query(teeth=42, module_mm=3.0), ["book/p002"]),  # possible, and shown so
        (Query(teeth=42, module_mm=3.2), []),  # too unlikely to be listed
        (Query(teeth=43), []),
        (Query(teeth=42, module_mm=3.175, state="agreed"), []),
        (Query(state="disputed"), ["book/p002"]),
        (Query(state="unread"), ["unread"]),
        (Query("feed", sizes=(SizeWanted("length", Fraction(381, 10)),)), ["book/p002"]),
        (Query(sizes=(SizeWanted("length", Fraction(381, 10)), SizeWanted("length", Fraction(50)))), []),
    ],
)
def test_gears_states_and_several_conditions_at_once(cupboard: Path, query: Query, folders: list[str]) -> None:
    assert found(cupboard, query) == folders


def test_a_word_in_the_title_comes_first(tmp_path: Path) -> None:
    result(tmp_path / "a", {"title": "LAYSHAFT"}, texts=("FITS THE BUSH", "SEE BUSH DRAWING"))
    result(tmp_path / "b", {"title": "BUSH"}, texts=("FITS THE LAYSHAFT",))
    (first, second), _ = with_catalogue(tmp_path, lambda catalogue: catalogue.find(Query("bush")))
    assert (first.folder, second.folder) == ("b", "a")


def test_so_many_sheets_are_given_as_are_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in "abcde":
        result(tmp_path / name, {"title": "BUSH"}, [value("A1.1", "linear", "5", 5.0)])
    for ranked_most in (1, 100):
        monkeypatch.setattr("digitize.archive.catalogue.RANKED_MOST", ranked_most)
        for query in (Query("bush", most=3), Query(sizes=(SizeWanted("length", Fraction(127)),), most=3)):
            hits, more = with_catalogue(tmp_path, lambda catalogue, query=query: catalogue.find(query))
            assert (len(hits), more) == (3, True)
        hits, more = with_catalogue(tmp_path, lambda catalogue: catalogue.find(Query("bush", most=5)))
        assert (len(hits), more) == (5, False)


def test_what_was_found_is_shown_with_its_state(cupboard: Path) -> None:
    query = Query(teeth=42, module_mm=3.0)
    ((hit,), more) = with_catalogue(cupboard, lambda catalogue: catalogue.find(query))
    assert [each.state for each in hit.gears] == ["possible"]
    assert not more
    wanted = SizeWanted("diameter", Fraction(1399, 10))
    ((hit,), _) = with_catalogue(cupboard, lambda catalogue: catalogue.find(Query(sizes=(wanted,))))
    assert [(each.row, each.state) for each in hit.sizes] == [("B1.1", "disputed")]


def test_of_a_state_alone_nothing_else_is_shown(cupboard: Path) -> None:
    ((hit,), _) = with_catalogue(cupboard, lambda catalogue: catalogue.find(Query(state="disputed")))
    assert {each.state for each in (*hit.sizes, *hit.gears)} == {"disputed"}
    ((hit,), _) = with_catalogue(cupboard, lambda catalogue: catalogue.find(Query(state="unproven")))
    assert {each.state for each in (*hit.sizes, *hit.gears)} == {"unproven"}
    assert hit.gears


def test_unchanged_sheets_are_not_read_again(cupboard: Path) -> None:
    refresh = lambda: with_catalogue(cupboard, lambda catalogue: catalogue.refresh(cupboard))  # noqa: E731
    with_catalogue(cupboard, lambda catalogue: None)
    result(cupboard / "spindle", {"title": "NEW SPINDLE"})
    os.utime(cupboard / "unread" / "sheet.json")  # the same bytes at a new time
    catalogue = Catalogue(cupboard / NAME)
    state = catalogue.refresh(cupboard)
    catalogue.close()
    assert (state.read, state.left, state.gone) == (1, 2, 0)
    assert found(cupboard, Query("steel")) == []
    shutil.rmtree(cupboard / "book")
    assert found(cupboard, Query("feed")) == []
    assert refresh().gone == 0


def test_a_half_written_sheet_is_left_out(cupboard: Path) -> None:
    (cupboard / "spindle" / "dimensions.json").write_text('{"sheet": {')
    other = json.loads((cupboard / "unread" / "sheet.json").read_text()) | {"sha256": "cd" * 32}
    (cupboard / "unread" / "sheet.json").write_text(json.dumps(other))
    assert found(cupboard, Query("tif")) == ["book/p002"]


@pytest.mark.parametrize("harm", ["lost", "empty", "text", "torn", "zeros", "version"])
def test_a_lost_or_damaged_catalogue_is_made_anew(cupboard: Path, harm: str) -> None:
    before = found(cupboard, Query("hm"))
    path = cupboard / NAME
    content = path.read_bytes()
    if harm == "lost":
        path.unlink()
    elif harm == "version":
        connection = sqlite3.connect(path)
        connection.execute("PRAGMA user_version = 99")
        connection.close()
    else:
        half = len(content) // 2
        harmed = {"empty": b"", "text": b"minutes of the meeting", "torn": content[:half]}
        path.write_bytes(harmed.get(harm, content[:4096] + bytes(len(content) - 4096)))
    assert found(cupboard, Query("hm")) == before == ["book/p002", "spindle"]


def test_where_nothing_may_be_written_it_still_finds(cupboard: Path) -> None:
    (cupboard / NAME).mkdir()  # SQLite can't open it, as in a folder that is read-only
    assert found(cupboard, Query("spindle")) == ["spindle"]
    assert not any((cupboard / NAME).iterdir())


@given(st.text(max_size=60))
def test_no_query_upsets_the_search(text: str) -> None:
    catalogue = Catalogue(IN_MEMORY)
    try:
        assert catalogue.find(Query(text, {"title": text})) == ((), False)
    finally:
        catalogue.close()


@given(st.text(max_size=60))
def test_folding_a_folded_text_changes_nothing(text: str) -> None:
    assert folded(folded(text)) == folded(text)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_a_damaged_record_is_left_out_and_upsets_nothing(tmp_path: Path, data: st.DataObject) -> None:
    rows = [value("A1.1", "linear", "5", 5.0)]
    result(tmp_path / "a", {"title": "BUSH"}, rows, gear(42, 3.0, "agreed", (42, 3.2, 0.4)), ("TURN",))
    path = tmp_path / "a" / data.draw(st.sampled_from(["dimensions.json", "sheet.json", "found.json"]))
    content = json.loads(path.read_text())
    parent, key = None, None
    inner = content
    while isinstance(inner, dict | list) and inner and (parent is None or data.draw(st.booleans())):
        parent = inner
        key = data.draw(st.sampled_from(sorted(inner) if isinstance(inner, dict) else range(len(inner))))
        inner = parent[key]
    parent[key] = data.draw(JSON)
    path.write_text(json.dumps(content))
    catalogue = Catalogue(IN_MEMORY)
    try:
        refreshed = catalogue.refresh(tmp_path)
        hits, _ = catalogue.find(Query("tif"))
        assert len(hits) <= refreshed.read <= 1
    finally:
        catalogue.close()


def test_a_folder_whose_name_is_no_text_is_found(tmp_path: Path) -> None:
    result(Path(os.fsdecode(os.fsencode(tmp_path) + b"/\xff")), {"title": "BUSH"})
    assert found(tmp_path, Query("bush")) == ["\\udcff"]


def test_a_query_of_signs_alone_is_no_query() -> None:
    assert phrases('" ( * -') == ""


def run(*words: str | Path) -> tuple[int, str, str]:
    answer = CliRunner().invoke(app, ["find", *map(str, words)])
    return answer.exit_code, answer.stdout, answer.stderr


def test_the_command_prints_json_and_a_table(cupboard: Path) -> None:
    code, text, _ = run("--in", cupboard, "--diameter", "5.5in", "--within", "0.01in", "--json")
    sheets = json.loads(text)["sheets"]
    assert code == 0
    assert {sheet["folder"] for sheet in sheets} == {"book/p002", "spindle"}
    assert [each["mm"] for sheet in sheets for each in sheet["values"] if sheet["folder"] == "spindle"] == [139.7]
    _, text, _ = run("--in", cupboard, "--teeth", "42", "--pitch", "8")
    assert "book/p002" in text
    assert "8 pitch" in text
    assert "unproven" in text
    assert run("nothing", "--in", cupboard)[:2] == (0, "no such sheet\n")


def test_a_gear_by_module_is_not_told_by_a_pitch_that_nobody_meant(cupboard: Path) -> None:
    _, text, _ = run("--in", cupboard, "--teeth", "42", "--module", "3")
    assert "module 3," in text
    assert "8.4667" not in text


def test_columns_that_say_nothing_are_left_out(cupboard: Path) -> None:
    _, text, _ = run("spindle", "--in", cupboard)
    assert "folder" in text
    assert "found on it" not in text


def test_words_need_no_quotes(cupboard: Path) -> None:
    plain, quoted = run("spindle", "14", "--in", cupboard, "--json"), run("spindle 14", "--in", cupboard, "--json")
    assert plain == quoted
    assert '"folder"' in plain[1]


def test_a_folder_given_as_a_word_is_told_how_to_be_searched(cupboard: Path) -> None:
    for words in ([cupboard, "spindle"], ["spindle", cupboard]):
        code, _, said = run(*words)
        assert code == 2
        assert f"digitize find spindle --in {cupboard}" in " ".join(said.split())
    assert "is a folder" in run(cupboard)[2]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ([], "Say what to look for"),
        (["--within", "1mm", "x"], "goes with a diameter"),
        (["--pitch", "8", "--module", "3"], "not both"),
        (["--pitch", "eight"], "no number"),
        (["--diameter", "5.5"], "has no unit"),
        (["x", "--in", "nowhere"], "is no folder"),
    ],
)
def test_bad_questions_get_one_sentence(words: list[str], sentence: str) -> None:
    code, _, error = run(*words)
    assert code == 2
    assert sentence in error
    assert error.count("\n") == 1


def test_a_page_with_small_pictures_that_needs_nothing_else(cupboard: Path, tmp_path: Path) -> None:
    Image.fromarray(np.full((600, 900, 3), 200, np.uint8)).save(cupboard / "spindle" / "check-print.png")
    (cupboard / "spindle" / "check-print.html").write_text("print")
    result(cupboard / "<b>odd & new", {"title": "<script>alert(1)</script> SPINDLE"})
    page = tmp_path / "found.html"
    assert run("spindle", "--in", cupboard, "--page", page)[0] == 0
    text = page.read_text(encoding="utf-8")
    assert "<h1>2 sheets</h1>" in text
    assert "<script" not in text
    assert "<b>" not in text
    (link,) = re.findall(r'<h2><a href="([^"]*)"', text)
    assert (page.parent / link).read_text() == "print"
    (source,) = re.findall(r'<img src="data:image/jpeg;base64,([^"]*)"', text)
    picture = Image.open(io.BytesIO(base64.b64decode(source)))
    assert picture.width / picture.height == pytest.approx(1.5, abs=0.02)
    assert picture.width < 500
    assert "http" not in text.replace("http-equiv", "")


def test_a_page_that_can_not_be_written_is_told(cupboard: Path) -> None:
    code, _, error = run("spindle", "--in", cupboard, "--page", cupboard / "nowhere" / "found.html")
    assert code == 2
    assert error.count("\n") == 1
