"""What was found comes back as it was."""

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest

from calibrate.errors import InputError
from digitize.dimensions.reconcile import reconcile
from digitize.found import Found, load, save
from digitize.gears.options import NOTHING_TYPED, DeskInput
from digitize.lettering.grammar import parse
from digitize.lettering.text import Reading
from digitize.strokes.primitives import Spline, Strokes
from tests.digitize.dimensions.drawn import Drawn, draw, level_sheet


def found() -> Found:
    readings = Reading('1 3/8"', 0.9), Reading('1 5/8"', 0.1)
    strokes, texts = draw([Drawn((200.0, 200.0), (900.0 + 1 / 3, 200.0), readings)])
    curve = Spline(((10.0, 1 / 3), (20.0, 5.0), (30.0, 5.0), (40.0, 0.1)), (0.0,) * 4 + (1.0,) * 4, 3.0)
    return Found(level_sheet(), replace(strokes, splines=(curve,)), texts)


def test_strokes_texts_and_calibration_come_back_to_the_last_bit(tmp_path: Path) -> None:
    before = found()
    save(tmp_path / "found.json", before)
    after = load(tmp_path / "found.json")
    assert after.strokes == before.strokes
    assert after.texts == before.texts
    assert (after.sheet.level_from_source == before.sheet.level_from_source).all()
    assert after.sheet.grey.shape == before.sheet.grey.shape
    table = [reconcile(each.sheet, each.strokes, each.texts, parse) for each in (before, after)]
    assert table[0] == table[1]


def test_a_record_from_before_there_were_splines_has_none(tmp_path: Path) -> None:
    path = tmp_path / "found.json"
    save(path, found())
    old = json.loads(path.read_text())
    del old["strokes"]["splines"]
    path.write_text(json.dumps(old))
    assert load(path).strokes.splines == ()


def test_what_a_person_knows_of_the_teeth_is_kept(tmp_path: Path) -> None:
    """A record from before anyone could say holds nothing of it."""
    path, teeth = tmp_path / "found.json", DeskInput(teeth=42, tooth_form="involute", span=("5:1.735in",))
    save(path, replace(found(), teeth=teeth))
    assert load(path).teeth == teeth
    old = json.loads(path.read_text())
    del old["teeth"]
    path.write_text(json.dumps(old))
    assert load(path).teeth == NOTHING_TYPED


def test_a_sheet_without_circles_keeps_its_endless_uncertainty(tmp_path: Path) -> None:
    save(tmp_path / "found.json", Found(level_sheet(), Strokes(), ()))
    assert math.isinf(load(tmp_path / "found.json").strokes.squeeze_std)
    assert "NaN" not in (tmp_path / "found.json").read_text()


@pytest.mark.parametrize("damage", ["", "{", "[]", '{"schema": "found/1"}', '{"schema": "found/1", "sheet": 3}'])
def test_a_damaged_record_is_said_to_be_one(tmp_path: Path, damage: str) -> None:
    path = tmp_path / "found.json"
    path.write_text(damage)
    with pytest.raises(InputError, match="digitize the print again"):
        load(path)


def test_a_record_of_another_version_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "found.json"
    save(path, found())
    path.write_text(json.dumps(json.loads(path.read_text()) | {"schema": "found/2"}))
    with pytest.raises(InputError, match="another version"):
        load(path)
