"""Titles of parts on a sheet of several (how offices wrote them: common practice, no source)."""

import pytest

from digitize.lettering.grammar import parse
from digitize.lettering.meaning.detail_titles import detail_title


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("DET. 1 2 REQ'D FULL SIZE", [("required", "2")]),
        (
            "DET. 6 46 TEETH 8 D.P. 14 1/2° P.A.",
            [("teeth", "46"), ("diametral_pitch", "8"), ("pressure_angle", "29/2")],
        ),
        ("PART 2 4 OFF M.S.", [("required", "4")]),
        ("1 REQ'D C.I. HALF SIZE", [("required", "1")]),
        ("ITEM 3 BRASS", [("words", "None")]),
    ],
)
def test_titles_of_parts_say_how_many_and_of_what(text: str, told: list[tuple[str, str]]) -> None:
    callout = parse(text)
    assert callout
    assert [(value.name, str(value.nominal)) for value in callout.values] == told  # type: ignore[union-attr]


@pytest.mark.parametrize(
    "text", ["DET. 6 3 1/2", "2 REQ'D", "DET. A", "PART NO. 1234", "1 REQ'D 3/8 BOLT", "STEEL 3/4"]
)
def test_lines_with_a_size_or_with_nothing_more_are_no_titles(text: str) -> None:
    assert detail_title(text) is None
