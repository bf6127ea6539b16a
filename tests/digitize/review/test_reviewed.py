"""A sheet under review: a word changes what follows from it, and what can't be meant changes nothing."""

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from calibrate.errors import InputError
from digitize.review.reviewed import ReviewedSheet

DAY = "2026-01-02"


def row(reviewed: ReviewedSheet, **wanted: Any) -> dict[str, Any]:
    return next(each for each in reviewed.content()["rows"] if all(each[name] == wanted[name] for name in wanted))


def confirm(reviewed: ReviewedSheet, place: list[int], said: str, **more: Any) -> list[str]:
    return reviewed.say({"kind": "confirm", "place": place, "said": said, **more}, "A. Reader", DAY)


def test_the_doubtful_come_first(reviewed: ReviewedSheet) -> None:
    order = [each["status"] for each in reviewed.content()["rows"]]
    rank = {"disputed": 0, "unread": 1, "unproven": 2, "agreed": 3}
    assert order[0] == "disputed"
    assert [rank[each] for each in order] == sorted(rank[each] for each in order)


def test_a_confirmed_value_is_agreed_and_what_changed_is_told(reviewed: ReviewedSheet) -> None:
    false = row(reviewed, status="disputed")
    told = confirm(reviewed, false["place"], "2 7/16")
    now = row(reviewed, place=false["place"])
    assert (now["status"], now["value"], now["confirmed_by"], now["confirmed_on"]) == (
        "agreed", 2.4375, "A. Reader", DAY,
    )  # fmt: skip
    assert any("2 7/16" in each and "A. Reader" in each for each in told)


def test_taking_back_restores_the_sheet_and_saying_again_repeats_it(reviewed: ReviewedSheet) -> None:
    before = reviewed.content()
    confirm(reviewed, row(reviewed, status="disputed")["place"], "2 7/16")
    after = reviewed.content()
    reviewed.undo()
    assert reviewed.content()["rows"] == before["rows"]
    reviewed.redo()
    assert reviewed.content()["rows"] == after["rows"]


def test_a_struck_out_block_is_gone_and_can_not_be_spoken_of(reviewed: ReviewedSheet) -> None:
    false = row(reviewed, status="disputed")
    reviewed.say({"kind": "strike", "place": false["place"]}, "A. Reader", DAY)
    assert all(each["place"] != false["place"] for each in reviewed.content()["rows"])
    with pytest.raises(InputError, match="struck it out"):
        confirm(reviewed, false["place"], "2 7/16")


def test_a_dimension_is_put_in_between_two_points(reviewed: ReviewedSheet) -> None:
    agreed = row(reviewed, text="5/8", status="agreed")
    back = reviewed.content()["sheet"]["source_from_level"]
    ends = [_mapped(back, point) for point in agreed["ends"]]
    reviewed.say({"kind": "add", "first": ends[0], "second": ends[1], "said": "5/8"}, "A. Reader", DAY)
    added = max(reviewed.content()["rows"], key=lambda each: each["place"][0])
    assert (added["status"], added["value"]) == ("agreed", 0.625)
    assert added["measured"] == pytest.approx(0.625, abs=0.02)
    reviewed.say({"kind": "strike", "place": added["place"]}, "A. Reader", DAY)
    assert all(each["place"] != added["place"] for each in reviewed.content()["rows"])


def _mapped(matrix: list[list[float]], point: list[float]) -> list[float]:
    x, y, w = (row[0] * point[0] + row[1] * point[1] + row[2] for row in matrix)
    return [x / w, y / w]


@pytest.mark.parametrize(
    "content",
    [
        {"kind": "confirm", "place": [0, 0], "said": ""},
        {"kind": "confirm", "place": [0, 0], "said": "a brass knob"},
        {"kind": "confirm", "place": [0, 0], "said": "1" * 500},
        {"kind": "confirm", "place": "first", "said": "1"},
        {"kind": "confirm", "said": "1"},
        {"kind": "add", "first": [1, 1], "second": [1, 1], "said": "1"},
        {"kind": "add", "first": [1], "second": [2, 1], "said": "1"},
        {"kind": "known", "first": [1, 1], "second": [900, 1], "said": "a span"},
        {"kind": "known", "first": [1, 1], "second": [2, 1], "said": "7.5in"},
        {"kind": "dance"},
        {},
    ],
)
def test_what_can_not_be_meant_is_refused_and_not_kept(reviewed: ReviewedSheet, content: dict[str, Any]) -> None:
    with pytest.raises(InputError):
        reviewed.say(content, "A. Reader", DAY)
    assert reviewed.journal.live() == ()


def test_a_word_on_a_figure_that_another_spoke_of_meanwhile_is_refused(reviewed: ReviewedSheet) -> None:
    place = row(reviewed, status="disputed")["place"]
    seen = reviewed.content()["version"]
    confirm(reviewed, place, "2 7/16")
    with pytest.raises(InputError, match=r"A\. Reader spoke of this figure"):
        reviewed.say({"kind": "confirm", "place": place, "said": "2 1/2"}, "B. Clerk", DAY, seen)


def test_written_files_hold_what_was_said_and_who_said_it(reviewed: ReviewedSheet, home: Path) -> None:
    place = row(reviewed, status="disputed")["place"]
    found = (home / "result" / "found.json").read_bytes()
    confirm(reviewed, place, "2 7/16")
    reviewed.export()
    with (home / "result" / "dimensions.csv").open(newline="", encoding="utf-8") as stream:
        confirmed = [each for each in csv.DictReader(stream) if each["confirmed_by"]]
    assert [(each["text"], each["status"], each["confirmed_by"], each["confirmed_on"]) for each in confirmed] == [
        ("2 7/16", "agreed", "A. Reader", DAY)
    ]
    record = json.loads((home / "result" / "sheet.json").read_text(encoding="utf-8"))
    assert record["review"][0]["by"] == "A. Reader"
    assert (home / "result" / "found.json").read_bytes() == found


def test_what_was_said_is_there_after_a_new_start(reviewed: ReviewedSheet, home: Path) -> None:
    confirm(reviewed, row(reviewed, status="disputed")["place"], "2 7/16")
    again = ReviewedSheet(home / "result")
    assert again.content()["rows"] == reviewed.content()["rows"]
    again.journal.close()


def test_a_print_that_changed_is_refused(home: Path) -> None:
    with (home / "print.png").open("ab") as stream:
        stream.write(b"\0")
    with pytest.raises(InputError, match="has changed since"):
        ReviewedSheet(home / "result")


def test_a_print_that_was_moved_can_be_named(home: Path) -> None:
    moved = (home / "print.png").rename(home / "elsewhere.png")
    with pytest.raises(InputError, match="--print"):
        ReviewedSheet(home / "result")
    ReviewedSheet(home / "result", moved).journal.close()


def test_ten_thousand_figures_are_more_than_a_sheet_and_refused(home: Path) -> None:
    record = home / "result" / "found.json"
    content = json.loads(record.read_text(encoding="utf-8"))
    content["texts"] = content["texts"][:1] * 10_000
    record.write_text(json.dumps(content), encoding="utf-8")
    with pytest.raises(InputError, match="10000 pieces of lettering"):
        ReviewedSheet(home / "result")


def test_a_half_deleted_folder_is_told(home: Path) -> None:
    (home / "result" / "found.json").unlink()
    with pytest.raises(InputError, match=r"holds no found\.json"):
        ReviewedSheet(home / "result")
