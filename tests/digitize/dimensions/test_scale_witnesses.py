"""Sources of the scale side by side: what agrees, and what is said where they contradict each other."""

from dataclasses import replace

import pytest

from calibrate.sheet import KnownOf, LevelSheet, ScaleWitness
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Reconciled
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from tests.digitize.dimensions.drawn import MM_PER_PX, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import WIDTHS_IN, drawn


def sheet(*witnesses: ScaleWitness) -> LevelSheet:
    return replace(level_sheet(), witnesses=witnesses)


def paper(source: str, factor: float = 1.0, std: float = 0.01) -> ScaleWitness:
    value = MM_PER_PX * factor
    return ScaleWitness(source, KnownOf.PAPER, (value, value), (std * value, std * value), "as said")


def found_on(level: LevelSheet, *notes: str) -> Reconciled:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    words = [
        Text(block_at((2500.0, 2900.0 - 150.0 * i), note), sure(note), "drawn")
        for i, note in enumerate(notes or ("SCALE HALF SIZE",))
    ]
    return reconcile(level, strokes, (*texts, *words), parse)


def agreement(found: Reconciled) -> dict[str, bool | None]:
    return {witness.source: witness.agrees for witness in found.witnesses}


def about(found: Reconciled, source: str) -> list[str]:
    return [warning for warning in found.warnings if warning.startswith(f"The {source} ")]


def test_sources_that_agree_are_kept_and_nothing_is_said() -> None:
    found = found_on(sheet(paper("resolution"), paper("border", 1.006, 0.004)))
    assert agreement(found) == {"dimensions": True, "resolution": True, "border": True, "scale note": True}
    assert not [w for w in found.warnings if "contradicts" in w]
    dimensions = found.witnesses[0]
    assert dimensions.mm_per_px[0] == pytest.approx(2 * MM_PER_PX, rel=1e-4)
    assert 0 < dimensions.std[0] < 0.001 * dimensions.mm_per_px[0]


def test_a_resolution_that_contradicts_is_named_with_both_figures() -> None:
    """300 dpi stated of a scan of 240: everything on it would be a quarter larger."""
    found = found_on(sheet(paper("resolution", 0.8)))
    assert agreement(found)["resolution"] is False
    assert agreement(found)["dimensions"] is False
    (said,) = about(found, "resolution")
    assert "20.0 % apart" in said
    assert "The dimensions are believed" in said


def test_a_scale_note_that_contradicts_is_told() -> None:
    found = found_on(sheet(paper("resolution")), "SCALE QUARTER SIZE")
    assert agreement(found)["scale note"] is False
    assert len(about(found, "scale note")) == 1


def test_a_view_marked_not_to_scale_is_contradicted_by_nothing() -> None:
    """Neither resolution nor scale note speaks of it: there is nothing to check on the scan."""
    found = found_on(sheet(paper("resolution")), "SCALE QUARTER SIZE", "NOT TO SCALE")
    assert found.scales[0].marked_not_to_scale
    assert set(agreement(found).values()) == {None}
    assert not [w for w in found.warnings if "contradicts" in w]


def test_without_a_note_the_paper_says_nothing_of_the_part() -> None:
    found = found_on(sheet(paper("resolution", 0.8)), "OAK")
    assert agreement(found) == {"dimensions": None, "resolution": None}


def test_what_paper_and_scanners_do_is_no_contradiction() -> None:
    found = found_on(sheet(paper("resolution", 1.025)))
    assert agreement(found)["resolution"] is True
