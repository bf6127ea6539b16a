"""What figures settle of an outline, on the sheets kept in `samples/sheets`: taking one away leaves it open."""

import json
from pathlib import Path

import pytest

from tests.bench.records import Record
from tests.bench.told import told_views

SHEETS = Path(__file__).parents[2] / "samples" / "sheets"


def truth(name: str, without: str = "") -> Record:
    """A sheet's truth, without one figure."""
    record: Record = json.loads((SHEETS / f"{name}.truth.json").read_text(encoding="utf-8"))
    kept = [each for each in record["dimensions"] if each["id"] != without]
    assert bool(without) == (len(kept) < len(record["dimensions"]))
    return record | {"dimensions": kept}


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("hm-10-pulley-flange", {"front", "section"}),
        ("hm-05-guard-bracket", {"front", "edge"}),
        ("hm-02-layshaft", {"side"}),
        ("hm-06-bearing-bush", {"end"}),
    ],
)
def test_what_the_figures_settle(name: str, told: set[str]) -> None:
    """The bush's section has a chamfer that no figure gives."""
    assert told_views(truth(name)) & told == told
    if name == "hm-06-bearing-bush":
        assert "section" not in told_views(truth(name))


@pytest.mark.parametrize(
    ("name", "figure", "view"),
    [
        ("hm-03-flange-blueprint", "HD", "section"),
        ("hm-05-guard-bracket", "R", "front"),
        ("hm-05-guard-bracket", "A", "front"),
        ("hm-05-guard-bracket", "T", "edge"),
        ("hm-02-layshaft", "D1", "side"),
    ],
)
def test_a_figure_less_leaves_an_outline_open(name: str, figure: str, view: str) -> None:
    assert view in told_views(truth(name))
    assert view not in told_views(truth(name, figure))


def test_a_rim_without_a_figure_is_not_told() -> None:
    """One gear has a web, whose rim no figure gives; the other is solid from hub to teeth."""
    assert "section" not in told_views(truth("hm-11-gear-gaps"))
    assert "section" in told_views(truth("hm-01-back-gear"))
