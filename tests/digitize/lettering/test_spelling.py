"""Spellings of one text are one; what means something else stays apart.

Callouts of threads and keyseats as in ASME Y14.6 and common practice; the rest is common practice, no source.
"""

import pytest

from digitize.lettering.grammar import parse
from digitize.lettering.meaning.spelling import one_spelling, without_idle_spaces


@pytest.mark.parametrize(
    ("written", "spelled"),
    [
        ('3/32" X 3/64" KEYSEAT', '3/32" × 3/64" KEYSEAT'),
        ('3/32"× 3/64" KEYSEAT', '3/32" × 3/64" KEYSEAT'),
        ("16 WIDE x 6 DEEP", "16 WIDE × 6 DEEP"),
        ("3/4 - 10 THDS.", "3/4-10 THDS."),
        ('1 1/4"- 7 THDS.', '1 1/4"-7 THDS.'),
        ("SCALE 1 : 2", "SCALE 1:2"),
        ("SCALE:1:2", "SCALE: 1:2"),
        ("12' - 6\"", "12'-6\""),
        ("12'- 6 1/2\"", "12'-6 1/2\""),
        ("R 2.404", "R2.404"),
        ("Ø .5", "Ø.5"),
        ("3'4 1/2\"", "3'-4 1/2\""),
        ("12'9\"", "12'-9\""),
        ("6'1/2\"", "6'-1/2\""),
    ],
)
def test_spellings_of_one_text_are_one(written: str, spelled: str) -> None:
    assert one_spelling(written) == spelled
    assert one_spelling(spelled) == spelled
    assert [v.nominal for v in parse(written).values] == [v.nominal for v in parse(spelled).values]


@pytest.mark.parametrize("written", ["PRESSURE ANGLE 20 DEG", "PRESSURE ANGLE 20DEG.", "PRESSURE ANGLE 20 DEGREES"])
def test_degrees_in_letters_are_degrees(written: str) -> None:
    assert one_spelling(written) == "PRESSURE ANGLE 20°"
    assert [(v.name, v.nominal) for v in parse(one_spelling(written)).values] == [("pressure_angle", 20)]


@pytest.mark.parametrize(
    "text",
    [
        "20 DEGREASED",
        "SECTION X-X",
        "4X Ø.25",
        "X3",
        "20 -0.05",
        "20 - 0.05",
        "6, 5",
        "6,5",
        "M10×1.5",
        "1.500 +.001\n-.002",
        "2'-3\"",
        "2' 3\"",
        "14°30'15\"",
        "1.5'3\"",
        "5'30",
        "1 1/2",
        "11/2",
        "FOR 2",
    ],
)
def test_what_means_something_else_stays(text: str) -> None:
    assert one_spelling(text) == text


def test_a_colon_before_a_word_is_no_scale() -> None:
    assert one_spelling("NO. 8:BRASS") == one_spelling("NO. 8: BRASS")
    assert one_spelling("SCALE 1:8") == "SCALE 1:8"


@pytest.mark.parametrize("text", ["1 1/2", "6 5", "2 .5", "6, 5", "6 ,5"])
def test_a_space_between_figures_is_not_idle(text: str) -> None:
    assert without_idle_spaces(text) == text


@pytest.mark.parametrize(("apart", "close"), [("THRU D.", "THRUD."), ("Q 2124", "Q2124"), ("4 × 1/2", "4×1/2")])
def test_other_spaces_are_idle(apart: str, close: str) -> None:
    assert without_idle_spaces(apart) == without_idle_spaces(close) == close
