"""The command that a print's gear is taken to the desk with: it tells the desk the very tooth that the print has."""

import json
import shlex

import pytest
from typer.testing import CliRunner

from digitize.cli import app
from digitize.dimensions.table import State
from digitize.gears.body import GivenBody, body_from
from digitize.gears.desk.of_print import DUTY, desk_words
from digitize.gears.identifying.identify import identify
from digitize.gears.options import BodyInput, DeskInput
from digitize.gears.typed import evidence_from
from tests.digitize.redraw.hand_drawn import agreed_gear

PRINTS = {
    "full depth": DeskInput(teeth=42, diametral_pitch="8", pressure_angle="14.5", tooth_form="involute",
                            outside_diameter="5.5in", whole_depth=".2696in"),
    "composite": DeskInput(teeth=42, diametral_pitch="8", pressure_angle="14.5", tooth_form="composite",
                           outside_diameter="5.5in", whole_depth=".2696in"),
    "stub": DeskInput(teeth=22, diametral_pitch="8", pressure_angle="20", tooth_form="involute",
                      outside_diameter="2.95in", whole_depth=".225in"),
    "module": DeskInput(teeth=24, module="3", pressure_angle="20", tooth_form="involute", outside_diameter="78mm",
                        whole_depth="6.75mm"),
}  # fmt: skip
"""Heights of ASA B6.1-1932 and DIN 867, from memory."""


@pytest.mark.parametrize("name", PRINTS)
@pytest.mark.parametrize("key", ["1/4in", "No. 404", None])
def test_the_desk_finds_the_prints_own_tooth_and_says_what_breaks_first(name: str, key: str | None) -> None:
    finding = identify(evidence_from(PRINTS[name]))
    assert finding.state is State.AGREED
    body = body_from(BodyInput(face="1in", bore="1in", key=key))
    words = desk_words(finding, body, "mm" if name == "module" else "in")
    assert words is not None
    typed = shlex.split(words.replace(DUTY, "--gear-material fibre --torque 2lbf.ft --json"))
    result = CliRunner().invoke(app, typed[1:])
    assert result.exit_code == 0, result.stderr
    answer = json.loads(result.stdout)
    assert (answer["status"], answer["teeth"]) == ("agreed", finding.teeth)
    assert answer["alternatives"][0]["title"] == finding.candidates[0].title
    assert ("key" in str(answer["breaks_first"]["ranked"]).lower()) == (key is not None)


def test_what_the_print_does_not_tell_stands_in_capitals() -> None:
    words = desk_words(agreed_gear(), GivenBody(bore_mm=25.4), "in")
    assert words is not None
    assert "--face LENGTH --bore 1in --gear-material MATERIAL --torque TORQUE" in words


def test_an_unproven_gear_is_not_taken_to_the_desk() -> None:
    assert desk_words(agreed_gear(State.UNPROVEN), GivenBody(), "in") is None
