"""The command `digitize gear`: what may be typed, what comes back, and the one sentence on bad input."""

import json
from fractions import Fraction

import pytest
import typer
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from calibrate.errors import InputError
from digitize.dimensions.table import State
from digitize.gears.command import register
from digitize.gears.desk import DeskInput, gear_desk
from digitize.gears.evidence import Known
from digitize.gears.lengths import parse_length
from digitize.gears.systems import mixed
from digitize.report.cautions import CAUTIONS


@pytest.fixture
def run():
    app = typer.Typer()
    app.callback()(lambda: None)
    register(app)
    return lambda *words: CliRunner().invoke(app, ["gear", *words], env={"COLUMNS": "160"})


@pytest.mark.parametrize(
    ("text", "value_mm", "unit"),
    [
        ("5.5in", "139.7", "in"),
        ("5 1/2in", "139.7", "in"),
        ('5 1/2"', "139.7", "in"),
        ("5-1/2 in", "139.7", "in"),
        ("139.7mm", "139.7", "mm"),
        ("139,7 mm", "139.7", "mm"),
        (".270in", "6.858", "in"),
        ("3/8in", "9.525", "in"),
    ],
)
def test_lengths_are_exact(text, value_mm, unit):
    found = parse_length(text, "size")
    assert (found.value_mm, found.unit, found.tolerance_mm) == (Fraction(value_mm), unit, None)


@pytest.mark.parametrize("text", ["5.5in+-0.01in", "5.5in±.01in", "5.5 +/- 0.01 in", "5.5in±0.254mm"])
def test_tolerances(text):
    found = parse_length(text, "size")
    assert found.value_mm == Fraction("139.7")
    assert found.tolerance_mm == Fraction("0.254")
    assert found.quantity(Known.UNSAID).std == float(found.tolerance_mm) / 2


@pytest.mark.parametrize(
    "text", ["", "5.5", "abc", "-5in", "0in", "5in+-", "5 in in", "1/0in", "5.5.5in", "in", "±3in"]
)
def test_bad_lengths_are_refused_in_one_sentence(text):
    with pytest.raises(InputError) as error:
        parse_length(text, "outside diameter")
    assert str(error.value).count("\n") == 0
    assert str(error.value).endswith(".")


@given(st.integers(0, 40), st.integers(1, 63), st.sampled_from(["in", '"', " in"]))
def test_mixed_numbers_come_back_exactly(whole, sixty_fourths, mark):
    value = whole + Fraction(sixty_fourths, 64)
    assert parse_length(f"{mixed(value)}{mark}", "size").value_mm == value * Fraction(254, 10)


@given(st.text(alphabet='0123456789 ./,-+±inm"x', max_size=12))
def test_whatever_is_typed_is_a_length_or_a_clear_error(text):
    try:
        value = parse_length(text, "size").value_mm
    except InputError:
        return
    assert value > 0


def test_the_example_of_the_help(run):
    result = run("--teeth", "42", "--outside-diameter", "5.5in")
    assert result.exit_code == 0
    assert "UNPROVEN: spur gear, 42 teeth" in result.output
    assert "8 P" in result.output
    assert "Next: Measure over 4 and over 5 teeth" in result.output
    assert CAUTIONS[0][:40] in result.output


def test_inches_and_millimetres_are_one_length():
    in_inches = gear_desk(DeskInput(teeth=42, outside_diameter="5.5in"))
    in_mm = gear_desk(DeskInput(teeth=42, outside_diameter="139.7mm"))
    assert in_inches.finding.candidates[0].module_mm == in_mm.finding.candidates[0].module_mm == 3.175
    assert (in_inches.unit, in_mm.unit) == ("in", "mm")


def test_json(run):
    result = run("--teeth", "42", "--outside-diameter", "5 1/2in", "--json")
    stated = json.loads(result.output)
    assert stated["status"] == "unproven"
    assert stated["diametral_pitch"] == pytest.approx(8)
    assert stated["cautions"] == list(CAUTIONS)


def test_an_agreed_gear_comes_with_its_inspection_sizes(run):
    words = ["--teeth", "42", "--outside-diameter", "5.500in", "--diametral-pitch", "8", "--from", "print"]
    words += ["--pressure-angle", "14.5", "--whole-depth", ".270in"]
    result = run(*words, "--words", "full depth involute")
    assert "AGREED" in result.output
    # Over 4 teeth at 14 1/2 deg and 8 P: 10.871 in / 8 by the span formula (SPAN-FORM, seen).
    assert "1.3589 in" in result.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--teeth", "-3", "--outside-diameter", "5.5in"], "-3 teeth"),
        (["--teeth", "4", "--outside-diameter", "5.5in"], "4 teeth"),
        (["--teeth", "42", "--outside-diameter", "5.5"], "no unit"),
        (["--teeth", "42", "--outside-diameter", "five"], "no length"),
        (["--teeth", "42", "--outside-diameter", "5.5in", "--root-diameter", "6in"], "root diameter"),
        (["--teeth", "42", "--outside-diameter", "5.5in", "--whole-depth", "3in"], "whole depth"),
        (["--teeth", "42", "--span", "1.7in"], "5:1.735in"),
        (["--teeth", "42", "--span", "1:1.7in"], "can't be taken"),
        (["--teeth", "8", "--span", "9:1.7in"], "can't be taken"),
        (["--teeth", "42", "--pins", ".2in"], ".216in:5.716in"),
        (["--teeth", "42", "--centre-distance", "4in"], "mate"),
        (["--teeth", "42", "--diametral-pitch", "8/9"], "two-number"),
        (["--teeth", "42", "--diametral-pitch", "0"], "larger than zero"),
        (["--teeth", "42", "--module", "x"], "no number"),
        (["--teeth", "42", "--outside-diameter", "5.5in", "--from", "hearsay"], "print or part"),
    ],
)
def test_bad_input_is_one_sentence_and_code_2(run, words, said):
    result = run(*words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert result.stderr.count("\n") == 1
    assert result.stdout == ""


def test_a_slip_of_the_unit_is_hinted_at():
    answer = gear_desk(DeskInput(teeth=42, outside_diameter="5.5mm"))
    assert answer.hints == ("If the outside diameter is meant in inches, 8 P fits it.",)


def test_nothing_typed_says_what_to_give(run):
    result = run()
    assert result.exit_code == 0
    assert "Count the teeth" in result.output


def test_a_part_measured_off_by_some_thousandths_still_ranks_its_pitch_first():
    answer = gear_desk(DeskInput(teeth=42, outside_diameter="5.494in", source="part"))
    assert answer.finding.candidates[0].diametral_pitch == pytest.approx(8)
    assert answer.finding.state is State.UNPROVEN


def test_centre_distance_and_mate():
    answer = gear_desk(DeskInput(teeth=42, centre_distance="4.5in", mate_teeth=30, outside_diameter="5.5in"))
    assert answer.finding.candidates[0].diametral_pitch == pytest.approx(8)
    wrong = gear_desk(
        DeskInput(teeth=42, centre_distance="4.8in", mate_teeth=30, outside_diameter="5.500in", source="print")
    )
    assert wrong.finding.state is State.DISPUTED


def test_a_cutter_number_speaks_for_14_and_a_half():
    plain = gear_desk(DeskInput(teeth=42, outside_diameter="5.5in")).finding
    cutter = gear_desk(DeskInput(teeth=42, outside_diameter="5.5in", cutter="3")).finding

    def share(finding):
        return sum(c.probability for c in finding.candidates if c.pressure_angle_deg == 14.5)

    assert share(cutter) > 0.9 > share(plain)


def test_an_agreed_gear_is_shown_in_mesh(run):
    words = ["--teeth", "42", "--outside-diameter", "5.500in", "--diametral-pitch", "8", "--pressure-angle", "14.5"]
    words += ["--whole-depth", ".270in", "--words", "full depth", "--from", "print", "--mate-teeth", "36"]
    result = run(*words, "--centre-distance", "4.880in")
    assert "backlash" not in result.output
    result = run(*words, "--centre-distance", "4.875in")
    assert "backlash 0.0000 in" in result.output
    # ASA B6.1-1932 (MH31-2216, seen): clearance 0.157/P, here 0.0196 in.
    assert "clearance 0.0196 in, no interference" in result.output
    assert json.loads(run(*words, "--centre-distance", "4.875in", "--json").output)["mesh"]["interference"] is False
