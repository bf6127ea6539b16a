"""Fractions of one and more are no sizes: a rule's divisions are parts of an inch (common practice, no source)."""

import pytest

from digitize.lettering.reading.improper import without_improper
from digitize.lettering.text import Reading

Pairs = list[tuple[str, float]]


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ([("12 7/2", 0.7), ("12 1/2", 0.2)], [("12 1/2", 0.9)]),
        ([("7/4", 0.4), ("3/4", 0.3), ("1/4", 0.1)], [("3/4", 0.6), ("1/4", 0.2)]),
        ([("12 7/2", 0.7), ("1/2", 0.2)], [("12 7/2", 0.7), ("1/2", 0.2)]),
        ([("2 7/8", 0.6), ("2 1/8", 0.3)], [("2 7/8", 0.6), ("2 1/8", 0.3)]),
        ([("K 3/8", 0.6), ("1 3/8", 0.3)], [("K 3/8", 0.6), ("1 3/8", 0.3)]),
        ([("7/2", 0.6)], [("7/2", 0.6)]),
        ([], []),
    ],
    ids=["a flag", "shared", "a figure more", "proper", "no fraction at fault", "alone", "nothing"],
)
def test_what_cannot_have_been_written_leaves_its_probability_to_what_looks_like_it(
    given: Pairs, expected: Pairs
) -> None:
    found = without_improper([Reading(*one) for one in given])
    assert [one.text for one in found] == [text for text, _ in expected]
    assert [one.probability for one in found] == pytest.approx([probability for _, probability in expected])
