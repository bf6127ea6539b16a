"""Keys as they are named: sizes, standards, and half-round ones by number, on paper and under load."""

from fractions import Fraction
from math import sqrt

import pytest

from calibrate.errors import InputError
from digitize.gears.body import body_from
from digitize.gears.desk.bench_lines import bore_lines, fitting_lines
from digitize.gears.desk.desk import gear_desk
from digitize.gears.desk.processes import process
from digitize.gears.keys import half_round_key, key_from
from digitize.gears.options import BodyInput, DeskInput, DutyInput
from digitize.gears.strength.strength import KEY_BEARING, KEY_SHEAR

IN = 25.4
KNOWN = DeskInput(
    teeth=42, outside_diameter="5.5in", diametral_pitch="8", pressure_angle="14.5", whole_depth=".270in",
    words=("FULL DEPTH INVOLUTE",), source="print",
)  # fmt: skip
ACTUAL_LENGTHS_IN = {"202": 0.248, "404": 0.491, "606": 0.740, "808": 0.992, "1212": 1.484}
"""Length of the flat top, ANSI B17.2 (from memory)."""
HUB_DEPTHS_IN = {"202": 0.0372, "404": 0.0685, "606": 0.0997, "808": 0.1310, "1210": 0.1935}
"""Keyseat in the hub, ANSI/ASME B17.2-1967 (seen)."""


@pytest.mark.parametrize(("number", "length_in"), ACTUAL_LENGTHS_IN.items())
def test_half_round_keys_are_as_long_as_published(number, length_in):
    assert half_round_key(number).length_mm / IN == pytest.approx(length_in, abs=0.0012)


@pytest.mark.parametrize(("number", "depth_in"), HUB_DEPTHS_IN.items())
def test_half_round_keyseats_in_all_three_ways(number, depth_in):
    given = body_from(BodyInput(bore="1in", key=f"No. {number}"))
    lines = {line.name: line for line in (*bore_lines(given, process("cut"), "in"), *fitting_lines(given, "in"))}
    width_in = int(number) // 100 / 32
    arc_in = (1 - sqrt(1 - width_in**2)) / 2
    assert lines["keyseat depth at the side"].nominal == f"{depth_in:.4f} in"
    assert float(lines["keyseat depth at the centre"].nominal.split()[0]) == pytest.approx(depth_in - arc_in, abs=6e-5)
    assert float(lines["over the keyseat"].nominal.split()[0]) == pytest.approx(1 + depth_in - arc_in, abs=6e-5)
    # The table's depth has the clearance over the key in it.
    assert not lines["over the keyseat"].usual
    assert f"No. {number} (ANSI B17.2)" in lines["key"].remark


def test_a_half_round_key_under_load_by_hand():
    """Shear 7,500 psi on width x length, bearing 15,000 psi on half the width x length (rule of strength.toml)."""
    duty = DutyInput(torque="20lbf.ft", gear_material="steel")
    answer = gear_desk(KNOWN, BodyInput(face="1in", bore="1in", key="404"), duty)
    bears = {point.name: point.torque_nm for point in answer.breakage.ranked}
    length_in = 2 * sqrt(0.25**2 - (3 / 64) ** 2)
    lbf_in = 4.4482216152605 * 0.0254
    assert bears[KEY_SHEAR] == pytest.approx(7_500 * 0.125 * length_in * 0.5 * lbf_in, rel=1e-6)
    assert bears[KEY_BEARING] == pytest.approx(15_000 * 0.0625 * length_in * 0.5 * lbf_in, rel=1e-6)


def test_no_more_of_the_key_bears_than_lies_in_the_gear():
    def shear(face: str) -> float:
        duty = DutyInput(torque="20lbf.ft", gear_material="steel")
        ranked = gear_desk(KNOWN, BodyInput(face=face, bore="1in", key="404"), duty).breakage.ranked
        return next(point.torque_nm for point in ranked if point.name == KEY_SHEAR)

    assert shear("1in") == shear("2in")
    assert shear("1/4in") == pytest.approx(shear("1in") * 0.25 / (half_round_key("404").length_mm / IN))


def test_advice_on_a_half_round_key_is_of_another_kind_of_key():
    duty = DutyInput(torque="20lbf.ft", gear_material="steel")
    verdict = gear_desk(KNOWN, BodyInput(face="1/4in", bore="1in", key="404"), duty).breakage.verdict
    assert any("parallel key and hub" in change for change in verdict.changes)


@pytest.mark.parametrize("text", ["404", "No. 404", "NO 404", "#404", "Woodruff 404", "woodruff key no. 404"])
def test_ways_of_writing_a_number(text):
    key = key_from(text, Fraction(254, 10))
    assert key.half_round.number == "404"
    assert key.width_mm == IN / 8


def test_numbers_that_are_none_name_the_nearest():
    with pytest.raises(InputError, match=r"no half-round key No\. 409 in the table; the nearest are 406, 405, 404"):
        body_from(BodyInput(bore="1in", key="No. 409"))
    with pytest.raises(InputError, match="length follows from its number"):
        body_from(BodyInput(bore="1in", key="404", key_length="1in"))
    with pytest.raises(InputError, match="narrower than its bore"):
        body_from(BodyInput(bore="1/8in", key="1210"))
