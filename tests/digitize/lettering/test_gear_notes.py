"""Gear notes of one line. How offices wrote them: common practice, no source; two-number pitches: gear_systems.toml."""

import pytest

from digitize.lettering.grammar import parse
from digitize.lettering.meaning.gear_notes import gear_note


def data(text: str) -> dict[str | None, str]:
    callout = parse(text)
    return {value.name: str(value.nominal) for value in callout.values} if callout else {}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("30 TEETH 8/10 D.P. STUB", {"teeth": "30", "diametral_pitch": "8"}),
        ("34 T. 8 D.P. 14 1/2° P.A.", {"teeth": "34", "diametral_pitch": "8", "pressure_angle": "29/2"}),
        ("34 T8/10 PITCH STUB", {"teeth": "34", "diametral_pitch": "8"}),
        ("30 TEETH 8-10 D.P.", {"teeth": "30", "diametral_pitch": "8"}),
        ("8 PITCH 34 TEETH INVOLUTE", {"teeth": "34", "diametral_pitch": "8"}),
        ("NO. OF TEETH 30 D.P. 8", {"teeth": "30", "diametral_pitch": "8"}),
        ("24 TEETH - 10 P. - STD. INVOLUTE", {"teeth": "24", "diametral_pitch": "10"}),
        ("36 TEETH, 1/2 C.P.", {"teeth": "36", "circular_pitch": "1/2"}),
        ("34 TEETH 8 D.P. 4.500 O.D.", {"teeth": "34", "diametral_pitch": "8", "outside_diameter": "9/2"}),
        ("14 1/2° INVOLUTE TEETH", {"pressure_angle": "29/2"}),
        ("28 Z M 2,5", {"teeth": "28", "module": "5/2"}),
    ],
)
def test_notes_are_parted_into_their_data(text: str, told: dict[str, str]) -> None:
    assert data(text) == told


@pytest.mark.parametrize(
    "text",
    [
        "8 PITCH",  # a screw has a pitch too
        "34 T.",
        "40 TEETH 2 PITCH",  # may be circular, in inches
        "40 TEETH 1/2 PITCH",
        "34 TEETH 36 TEETH 8 D.P.",  # which of the two?
        "30 TEETH 8 D.P. 4.250",  # a size of what?
        "1/4-20 TAP",
        "R 3/8 P.",
        "CHANGE GEAR",
    ],
)
def test_lines_that_say_less_or_something_else_are_no_notes(text: str) -> None:
    assert gear_note(text) == ()


def test_no_pitch_is_finer_than_any_series() -> None:
    assert data("DIAMETRAL PITCH 8/10") == {"diametral_pitch": "8"}
    assert not parse("DIAMETRAL PITCH 811")
