"""A corrected table: what was changed is the person's word, the rest is left alone, nonsense is refused."""

import csv
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest

from calibrate.errors import InputError
from digitize.dimensions.confirmed import Confirmation
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Reconciled
from digitize.lettering.grammar import parse
from digitize.report.corrections import read_corrections
from digitize.report.table import table, write_csv
from tests.digitize.dimensions.drawn import Drawn, draw, level_sheet
from tests.digitize.dimensions.test_reconcile import WIDTHS_IN, drawn

Rows = list[dict[str, str]]
STROKES, TEXTS = draw(
    [*(drawn(value, i) for i, value in enumerate(WIDTHS_IN)), Drawn((200.0, 2700.0), (300.0, 2700.0), ())]
)


def found() -> Reconciled:
    return reconcile(level_sheet(), STROKES, TEXTS, parse)


def corrected(folder: Path, change: Callable[[Rows], None]) -> tuple[Confirmation, ...]:
    before = found()
    path = folder / "dimensions.csv"
    write_csv(path, table(level_sheet(), before, None))
    with path.open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    change(rows)
    with path.open("w", newline="") as stream:
        writer = csv.DictWriter(stream, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)
    return read_corrections(path, before, parse, "A. Reader", "2026-01-02")


def row_at(rows: Rows, text: str) -> dict[str, str]:
    return next(row for row in rows if row["text"] == text)


@pytest.mark.parametrize("change", [{}, {"status": "agreed"}])
def test_a_table_that_changes_nothing_says_what_would(tmp_path: Path, change: dict[str, str]) -> None:
    with pytest.raises(InputError, match=r"changes nothing: correct a row's text, value, limits or kind, or sign"):
        corrected(tmp_path, lambda rows: rows[0].update(change))


def test_a_header_alone_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "table.csv"
    path.write_text("id,text,value,quad_px\n", encoding="utf-8")
    with pytest.raises(InputError, match="has no row under its header"):
        read_corrections(path, found(), parse, "M. Fitter", "2026-11-27")


@pytest.mark.parametrize(
    ("cell", "content", "meant"),
    [
        ("text", '1 5/8"', Fraction(13, 8)),
        ("value", "1.625", Fraction(13, 8)),
        ("value", "1 5/8", Fraction(13, 8)),
        ("value", "41.3 mm", Fraction(413, 10)),
    ],
)
def test_a_changed_cell_is_the_persons_word(tmp_path: Path, cell: str, content: str, meant: Fraction) -> None:
    said = corrected(tmp_path, lambda rows: row_at(rows, '1 1/8"').update({cell: content}))
    assert len(said) == 1
    assert (said[0].by, said[0].on) == ("A. Reader", "2026-01-02")
    after = reconcile(level_sheet(), STROKES, TEXTS, parse, said)
    assert next(row for row in after.dimensions if row.confirmed_by).value == meant


def test_limits_can_be_put_in(tmp_path: Path) -> None:
    said = corrected(tmp_path, lambda rows: row_at(rows, '1 1/8"').update(upper="0.002", lower="-0.001"))
    after = reconcile(level_sheet(), STROKES, TEXTS, parse, said)
    row = next(row for row in after.dimensions if row.confirmed_by)
    assert (row.value, row.upper, row.lower) == (Fraction(9, 8), Fraction(2, 1000), Fraction(-1, 1000))


def test_a_row_that_a_person_signed_before_is_kept(tmp_path: Path) -> None:
    said = corrected(
        tmp_path, lambda rows: row_at(rows, '1 1/8"').update(confirmed_by="B. Clerk", confirmed_on="2025-12-31")
    )
    assert [(each.said, each.by, each.on) for each in said] == [('1 1/8"', "B. Clerk", "2025-12-31")]


def test_a_row_called_a_note_is_struck_out(tmp_path: Path) -> None:
    said = corrected(tmp_path, lambda rows: row_at(rows, '1 1/8"').update(kind="note"))
    assert [each.said for each in said] == [None]


def test_an_unread_figure_can_be_filled_in(tmp_path: Path) -> None:
    def fill(rows: Rows) -> None:
        next(row for row in rows if row["status"] == "unread")["value"] = "2.5"

    said = corrected(tmp_path, fill)
    after = reconcile(level_sheet(), STROKES, TEXTS, parse, said)
    assert next(row for row in after.dimensions if row.confirmed_by).value == Fraction(5, 2)


def test_a_value_whose_cell_was_emptied_is_left_to_the_corrected_text(tmp_path: Path) -> None:
    def change(rows: list[dict[str, str]]) -> None:
        rows[0].update(text='1 5/8"', value="")

    said = corrected(tmp_path, change)
    after = reconcile(level_sheet(), STROKES, TEXTS, parse, said)
    assert next(row for row in after.dimensions if row.confirmed_by).value == Fraction(13, 8)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"text": "a brass knob"}, "no dimension"),
        ({"value": "1.2.3"}, "no dimension"),
        ({"text": '1 5/8"', "value": "7"}, "correct one of them"),
        ({"unit": "furlongs"}, "no unit"),
        ({"quad_px": "1,1 2,1 2,2 1,2"}, "is the table this print's"),
        ({"quad_px": "hole in the paper"}, "is the table this print's"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_its_line(tmp_path: Path, change: dict[str, str], sentence: str) -> None:
    with pytest.raises(InputError, match=sentence) as refused:
        corrected(tmp_path, lambda rows: row_at(rows, '1 1/8"').update(change))
    assert "line 2" in str(refused.value)


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"", b"id,text\n1,2\n"])
def test_a_file_that_is_no_table_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "corrected.csv"
    path.write_bytes(content)
    with pytest.raises(InputError):
        read_corrections(path, found(), parse, "", "")


@pytest.mark.parametrize(("mark", "word"), [(";", "semicolons"), ("\t", "tabs")])
def test_a_table_whose_columns_are_parted_otherwise_says_how_to_save_it(tmp_path: Path, mark: str, word: str) -> None:
    path = tmp_path / "table.csv"
    path.write_text(mark.join(("id", "text", "value", "quad_px")) + "\n", encoding="utf-8")
    with pytest.raises(InputError, match=f"{word} between its columns; save the corrected table with commas"):
        read_corrections(path, found(), parse, "M. Fitter", "2026-11-27")
