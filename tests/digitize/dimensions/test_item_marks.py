"""Numbers of items in circles measure nothing (ISO 6433, from memory)."""

from dataclasses import replace

import pytest

from digitize.dimensions.reconcile import reconcile
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from digitize.strokes.primitives import Arc, Role
from tests.digitize.dimensions.drawn import Drawn, block_at, draw, level_sheet, sure


@pytest.mark.parametrize(("role", "rows"), [(Role.LEADER, 1), (Role.VISIBLE, 2)])
def test_a_number_in_a_circle_of_an_item_is_no_row_of_the_table(role: Role, rows: int) -> None:
    strokes, texts = draw([Drawn((200.0, 500.0), (800.0, 500.0), sure('2"'))])
    circle = Arc((1500.0, 900.0), 60.0, 0.0, 360.0, 4.0, role=role)
    number = Text(block_at((1500.0, 900.0), "14"), sure("14"), "test")
    result = reconcile(level_sheet(), replace(strokes, arcs=(*strokes.arcs, circle)), (*texts, number), parse)
    assert len(result.dimensions) == rows
