"""Heads that end a length are ink of the drawing; one that ends none may be a stroke of a figure."""

from dataclasses import replace

from digitize.dimensions.linking.heads_ink import ink_of_heads
from digitize.dimensions.linking.spans import find_spans
from digitize.strokes.primitives import Arrowhead
from tests.digitize.dimensions.drawn import Drawn, draw, level_sheet, sure


def test_only_heads_in_pairs_are_taken_for_sure() -> None:
    strokes, _ = draw([Drawn((500.0, 500.0), (1100.0, 500.0), sure("1"))])
    stray = Arrowhead((1800.0, 1500.0), 90.0, 30.0)
    sheet, strokes = level_sheet(), replace(strokes, arrowheads=(*strokes.arrowheads, stray))
    found = ink_of_heads(sheet, strokes, find_spans(strokes, sheet.paper_mm_per_px))
    assert found[500, 505]
    assert found[500, 1095]
    assert not found[500, 800]
    assert not found[1490:1540, 1780:1820].any()
