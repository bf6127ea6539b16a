"""A scale bar is put where there is room; the drawing under it stays as it was."""

import pytest

from samples.compose import finished, streams
from samples.museum import open_office
from samples.scale_bars import UNIT_MM, with_bar

SEEDS = range(40, 48)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_bar_is_true_to_the_drawings_scale_and_disturbs_nothing(seed: int) -> None:
    plain = finished("clean", seed, None, "none")
    drawing = with_bar(plain, "clean", seed, open_office(streams("clean", seed).office).style.hand)
    assert drawing.lines[: len(plain.lines)] == plain.lines
    assert drawing.dimensions == plain.dimensions
    bar = drawing.scale_bar
    if bar is None:
        return
    drawn_mm = bar.last[0] - bar.first[0]
    true_mm = bar.value * UNIT_MM[bar.unit] / drawing.views[0].scale
    assert drawn_mm == pytest.approx(true_mm, abs=0.01 + 4 * plain.pen_error_mm)
    figures = [text.text for text in drawing.texts[len(plain.texts) : -1]]
    assert figures == [f"{bar.value * k / bar.divisions:g}" for k in range(bar.divisions + 1)]


def test_most_sheets_have_room_for_one() -> None:
    hands = [open_office(streams("clean", seed).office).style.hand for seed in SEEDS]
    barred = [
        with_bar(finished("clean", s, None, "none"), "clean", s, hand) for s, hand in zip(SEEDS, hands, strict=True)
    ]
    assert sum(each.scale_bar is not None for each in barred) >= len(SEEDS) // 2
