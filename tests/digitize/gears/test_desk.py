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
from digitize.gears.desk.command import register
from digitize.gears.desk.desk import gear_desk
from digitize.gears.identifying.evidence import Known
from digitize.gears.lengths import parse_length
from digitize.gears.options import BodyInput, DeskInput, DutyInput
from digitize.gears.pitch import mixed
from digitize.gears.teeth.inspection import over_pins_mm, span_mm
from digitize.gears.teeth.tooth import GearSpec
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
    # They are headed as without backlash, and are so whatever is to be cut.
    assert "1.3589 in" in run(*words, "--words", "full depth involute", "--backlash", ".01in").output


KEYED = ["--teeth", "42", "--outside-diameter", "5.5in", "--bore", "1in", "--key", "1/4in"]
AGREED = ["--teeth", "42", "--outside-diameter", "5.500in", "--diametral-pitch", "8", "--pressure-angle", "14.5",
          "--whole-depth", ".270in", "--words", "full depth", "--from", "print"]  # fmt: skip


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
        (["--teeth", "42", "--outside-diameter", "5.5in", "--bore", "1in", "--key", "2in"], "narrower than its bore"),
        (["--teeth", "42", "--outside-diameter", "5.5in", "--key", "ANSI"], "needs the bore"),
        (["--teeth", "42", "--outside-diameter", "5.5in", "--bore", "40in", "--key", "ANSI"], "has no key"),
        (["--teeth", "42", "--outside-diameter", "5.5in", "--bore", "1in", "--keyseat", "over:1.1in"], "give the key"),
        ([*KEYED, "--keyseat", "deep"], "over:1.11in"),
        ([*KEYED, "--keyseat", "over:0.9in"], "lies inside the bore"),
        ([*KEYED, "--holes", "4"], "4:1/2in:3in"),
        ([*KEYED, "--holes", "99:1/2in:3in"], "99 holes"),
        ([*KEYED, "--set-screw", "1/4"], "no single thread"),
        ([*KEYED, "--torque", "20lbf.ft"], "--gear-material"),
        ([*KEYED, "--torque", "twenty", "--face", "1in", "--gear-material", "fibre"], "20lbf.ft"),
        ([*KEYED, "--power", "1hp", "--face", "1in", "--gear-material", "fibre"], "--speed"),
        ([*KEYED, "--face", "1in", "--gear-material", "fibre"], "--torque, or --power"),
        ([*KEYED, "--torque", "20Nm", "--face", "1in", "--gear-material", "cheese"], "not in the table"),
        (
            [*KEYED, "--torque", "20Nm", "--face", "1in", "--gear-material", "fibre", "--mate-material", "steel"],
            "--mate-teeth",
        ),
        (
            [*KEYED, "--torque", "9Nm", "--face", "1in", "--gear-material", "fibre", "--hub-material", "steel"],
            "--hub-diameter",
        ),
        (["--teeth", "42", "--outside-diameter", "5.5in", "--process", "carved"], "cut, moulded, printed"),
        (["--teeth", "42", "--outside-diameter", "5.5in", "--dxf", "x.dxf"], "Nothing is written"),
        (["--teeth", "42", "--outside-diameter", "5.5in", "--helix-angle", "30", "--dxf", "x.dxf"], "helical"),
        ([*AGREED, "--dxf", "gear.txt"], "end in .dxf"),
        ([*AGREED, "--sheet", "sheet.doc"], ".pdf or .html"),
        ([*AGREED, "--sheet", "s.pdf", "--paper", "foolscap"], "A4 or letter"),
        ([*AGREED, "--sheet", "no/such/folder/s.pdf"], "No such file"),
        ([*AGREED, "--profile-shift", "3"], "give a smaller one"),
        ([*AGREED, "--tip-chamfer", "1/8in"], "chamfer"),
        ([*AGREED, "--backlash", "1in"], "comes to a point"),
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


def test_every_kind_of_evidence_has_its_option(run):
    """Each may carry a tolerance, and one gear measured in every way is still that gear."""
    gear = GearSpec(42, 3.175, 14.5, 1.0, 1.157, 0.209)
    words = ["--teeth", "42", "--outside-diameter", "5.498in+-.004in", "--root-diameter", "4.962in+-.006in"]
    words += ["--whole-depth", ".269in+-.003in", "--centre-distance", "4.876in+-.005in", "--mate-teeth", "36"]
    words += [
        "--span",
        f"4:{span_mm(gear, 4) - 0.05:.3f}mm+-.05mm",
        "--span",
        f"5:{span_mm(gear, 5) - 0.05:.3f}mm+-.05mm",
    ]
    words += ["--pins", f"5.486mm:{over_pins_mm(gear, 5.486) - 0.1:.3f}mm+-.1mm", "--tooth-thickness", ".195in+-.004in"]
    words += ["--chordal-addendum", ".127in+-.004in", "--helix-angle", "0+-0.3deg", "--from", "part", "--json"]
    stated = json.loads(run(*words).output)
    assert stated["alternatives"][0]["diametral_pitch"] == pytest.approx(8)
    assert stated["alternatives"][0]["pressure_angle_deg"] == 14.5
    assert stated["status"] == "unproven"
    assert any("No caliper" in sentence for sentence in stated["measure_next"])
    assert all(len(each["speaks_against"]) == 0 for each in stated["alternatives"][:2])


def test_a_chordal_addendum_tells_a_stub_from_a_full_tooth():
    full = DeskInput(teeth=24, outside_diameter="3.25in", chordal_addendum="0.128in+-.003in", source="part")
    stub = DeskInput(teeth=24, outside_diameter="3.2in", chordal_addendum="0.103in+-.003in", source="part")
    stubs = {"asa_20_stub", "stub_two_number"}
    assert gear_desk(stub).finding.candidates[0].system in stubs
    assert gear_desk(full).finding.candidates[0].system not in stubs


def test_sizes_that_contradict_each_other_are_disputed_in_one_sentence():
    answer = gear_desk(DeskInput(teeth=42, outside_diameter="5.5in", pitch_diameter="5in", source="print"))
    assert answer.finding.state is State.DISPUTED
    assert "pitch diameter: 5.0000 in given, 5.2500 in here" in answer.finding.evidence[0]


def test_an_outside_diameter_that_no_system_fits_names_the_nearest():
    answer = gear_desk(DeskInput(teeth=42, outside_diameter="5.610in", source="print"))
    assert answer.finding.none_probability > 0.5
    (first, *_) = answer.finding.evidence
    assert first.startswith("No tabled system fits well")
    assert "8 P 14 1/2 deg full-depth involute (ASA B6.1-1932), 5.5000 in outside" in first
    assert "module 3.25" in first


def test_a_slip_of_the_unit_comes_first(run):
    result = run("--teeth", "42", "--outside-diameter", "5.5mm")
    assert result.output.index("is meant in inches") < result.output.index("Pitch is not decided")


def test_what_breaks_first_is_printed_and_in_json(run):
    words = [
        *AGREED,
        "--face",
        "1in",
        "--bore",
        "1in",
        "--key",
        "ANSI",
        "--hub-diameter",
        "2in",
        "--torque",
        "20lbf.ft",
    ]
    words += ["--gear-material", "fibre", "--speed", "300rpm", "--mate-teeth", "36", "--mate-material", "steel"]
    shown = run(*words).output
    assert shown.index("keyway side in the gear") < shown.index("│ tooth ") < shown.index("mate's tooth")
    assert "can't be the sacrificial one" in shown
    assert "no rating" in shown
    stated = json.loads(run(*words, "--json").output)["breaks_first"]
    torques = [part["bears_nm"] for part in stated["ranked"]]
    assert torques == sorted(torques)
    assert stated["tooth_goes_first"] is False
    assert stated["torque_nm"] == pytest.approx(27.116, abs=1e-3)
    assert stated["changes"]


def test_power_and_speed_are_a_torque(run):
    words = [*AGREED, "--face", "1in", "--bore", "1in", "--gear-material", "cast iron", "--json"]
    by_power = json.loads(run(*words, "--power", "1hp", "--speed", "300rpm").output)["breaks_first"]
    by_torque = json.loads(run(*words, "--torque", "210.08lbf.in", "--speed", "300rpm").output)["breaks_first"]
    assert by_power["torque_nm"] == pytest.approx(by_torque["torque_nm"], rel=1e-4)
    assert "No key is given" in by_power["notes"][-1]


def test_an_unproven_tooth_is_reckoned_as_a_range(run):
    words = ["--teeth", "42", "--outside-diameter", "5.5in", "--face", "1in", "--bore", "1in", "--torque", "20lbf.ft"]
    shown = " ".join(run(*words, "--gear-material", "fibre").output.split())
    assert "by the systems that are left the teeth bear" in shown


def test_files_are_written_and_named(run, tmp_path):
    sheet, drawing = tmp_path / "a.html", tmp_path / "a.dxf"
    result = run(*AGREED, "--sheet", str(sheet), "--dxf", str(drawing), "--process", "moulded", "--json")
    assert json.loads(result.output)["files"] == [str(sheet), str(drawing)]
    assert "as moulded gears come" in sheet.read_text(encoding="utf-8")
    assert drawing.stat().st_size > 1000


def test_the_options_of_the_help_are_grouped(run):
    shown = run("--help").output
    for title in ("The teeth", "Bore, hub and web", "What breaks first", "For the bench"):
        assert title in shown


def test_a_verdict_that_hangs_on_the_system_says_so():
    """At 14 1/2 deg the teeth bear 46 lbf ft, at 25 deg far more: a key between them goes first or not."""
    typed = DeskInput(teeth=42, outside_diameter="5.5in")
    duty = DutyInput(torque="20lbf.ft", gear_material="fibre", hub_material="steel")
    body = BodyInput(face="1in", bore="1in", key="1/4in", key_length="0.9in", hub_diameter="4in")
    found = gear_desk(typed, body, duty).breakage
    assert found.verdict.sure is None
    assert "depends on the system" in found.verdict.sentence
    assert any("joins the hub" in note for note in found.notes)


def test_the_mesh_of_an_unproven_tooth_says_which_it_takes(run):
    words = [
        "--teeth",
        "20",
        "--module",
        "3",
        "--pressure-angle",
        "20",
        "--outside-diameter",
        "66mm",
        "--from",
        "print",
    ]
    shown = " ".join(run(*words, "--mate-teeth", "30", "--centre-distance", "75mm").output.split())
    assert "UNPROVEN" in shown
    assert "If it is module 3, DIN 867 basic rack: With a mate of the same cut" in shown
    assert "contact ratio 1.61" in shown
