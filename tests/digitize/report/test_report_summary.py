"""The few lines that a person reads when a sheet is done."""

from dataclasses import replace

import pytest
from hand_drawn import agreed_gear, spur_gear
from test_report_write import doubtful_gear

from digitize.dimensions.table import State
from digitize.redraw.report import PartReport
from digitize.report.summary import check_first, gear_lines, gear_words, outline_lines
from digitize.report.wording import headline


@pytest.mark.parametrize(("probability", "named"), [(0.01, False), (0.49, False), (0.6, True)])
def test_a_gear_less_likely_right_than_wrong_is_not_named(probability: float, named: bool) -> None:
    gear = agreed_gear(State.UNPROVEN)
    (best, *others) = gear.candidates
    words = gear_words(replace(gear, candidates=(replace(best, probability=probability), *others)))
    assert ("42 teeth" in words) is named
    assert f"{probability:.2f}" in words
    assert "unproven" in words


def test_what_a_person_confirmed_against_the_drawing_is_checked_before_all() -> None:
    (sound, *others) = doubtful_gear().dimensions
    apart = 'reads 1 7/8" but measures 1.125 in: 0.75 in apart, 104 standard errors'
    said = "confirmed by A. Reader on 2026-01-02"
    evidence = ('reads 1 7/8"', "measures 1.125 +- 0.002 in on the sheet", apart, said)
    against = replace(sound, state=State.AGREED, contradicted=True, evidence=evidence)
    (title, first, *_) = check_first((*others, against))
    assert title == "Check first:"
    assert first.endswith(f"agreed: {apart}; {said}")
    assert headline([against]) == "1 value found; 1 needs a person's eye before use."


def test_all_that_speaks_against_a_figure_is_told() -> None:
    (row,) = [each for each in doubtful_gear().dimensions if each.state is State.DISPUTED]
    evidence = ("reads 2", "measures 3 +- 0.1 in on the sheet", "reads 2 but measures 3 in", "5 would fit the drawing")
    (_, told) = check_first((replace(row, evidence=evidence),))
    assert told.endswith("disputed: reads 2 but measures 3 in; 5 would fit the drawing")
    (_, told) = check_first((replace(row, evidence=("reads 2", "the chain is broken")),))
    assert told.endswith("disputed: the chain is broken")


def test_of_a_gear_that_is_not_agreed_the_summary_tells_what_is_decided_and_what_to_measure() -> None:
    gear = agreed_gear(State.UNPROVEN)
    told = replace(gear, evidence=("Pitch: 16 P, decided (1.000).",), measure_next=("Measure the root diameter.",))
    assert [*gear_lines(told)] == ["  Pitch: 16 P, decided (1.000).", "  Measure the root diameter."]
    assert [*gear_lines(replace(told, state=State.AGREED))] == [*gear_lines(None)] == []


def test_an_agreed_gear_that_a_person_spoke_for_says_so() -> None:
    told = replace(agreed_gear(), by_word="By a person's word: whole depth 6.75mm.")
    assert [*gear_lines(told)] == ["  By a person's word: whole depth 6.75mm."]


def test_a_persons_figure_that_the_outline_does_not_follow_is_named() -> None:
    print_ = spur_gear()
    first = replace(print_.dimensions[0], confirmed_by="A. Fitter")
    rows = (first, *print_.dimensions[1:])
    why = ((first.id, "the edges it was tied to lie at another distance"), (rows[1].id, "it is unproven"))
    part = PartReport(left_out=why)
    assert list(outline_lines(rows, part)) == [
        f"Outline: {first.id}  {first.text}  is not followed: the edges it was tied to lie at another distance"
    ]
    contradicting = replace(part, contradicting=(rows[1].id,))
    assert len(list(outline_lines(rows, contradicting))) == 2
