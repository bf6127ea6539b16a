"""How fine lettering may be drawn on a sheet: what is finer is noise."""

import pytest

from digitize.lettering.find import find_lettering
from tests.digitize.lettering.sheets import Board, lettered


def thin_sheet(pen_px: float, rows: int) -> int:
    """How many blocks are found of rows lettered with a 4 px pen, on a sheet whose usual pen is as given."""
    board = Board()
    for i in range(rows):
        board.paste(lettered("2.375", 3.5), (400.0 + 500.0 * (i % 2), 150.0 + 150.0 * (i // 2)), 0.0)
    sheet = board.sheet()
    object.__setattr__(sheet, "pen_px", pen_px)
    return len(find_lettering(sheet).blocks)


@pytest.mark.parametrize(("pen_px", "rows", "found"), [(4.0, 6, 6), (9.0, 6, 6), (9.0, 2, 0)])
def test_lettering_finer_than_the_edges_is_lettering_where_most_of_it_is(pen_px: float, rows: int, found: int) -> None:
    assert thin_sheet(pen_px, rows) == found
