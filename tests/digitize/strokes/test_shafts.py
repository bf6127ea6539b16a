"""Which piece carries an arrowhead: told by how far it reaches behind the tip, not by its own length."""

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.heads.head import Head
from digitize.strokes.heads.shafts import reach_behind, shaft_of
from digitize.strokes.pieces import Piece
from digitize.strokes.table import Table
from digitize.strokes.tracks import Track
from tests.digitize.strokes.drawn import Picture

TIP = 100.0


def level(start: float, end: float) -> Piece:
    return Piece(Track(LINE, 0.0, 50.0, 1.0, 0.0), start, end, 2.4, 0.1, (), ())


def head_on(piece: int, length: float = 24.0) -> Head:
    return Head(TIP, 50.0, 1.0, 0.0, length, 4.8, "open", piece, TIP, 0.0)


def test_a_shaft_that_begins_within_its_head_need_not_be_longer_than_that() -> None:
    """Barbs and shaft run together near the tip, and the trace parts there."""
    stub, shaft = level(TIP - 17.0, TIP), level(TIP - 46.0, TIP - 17.0)
    head = head_on(0)
    assert shaft.length < 1.3 * head.length < reach_behind(shaft, head)
    assert shaft_of(Picture(200, 100).ground(), Table([stub, shaft]), head) == 1


def test_a_piece_within_the_head_is_no_shaft() -> None:
    stub, inner = level(TIP - 8.0, TIP), level(TIP - 24.0, TIP - 6.0)
    assert shaft_of(Picture(200, 100).ground(), Table([stub, inner]), head_on(0)) == 0


def test_a_head_on_a_long_bow_is_not_given_to_a_line_that_touches_it() -> None:
    bow = Piece(Track(ARC, TIP, 450.0, radius=400.0), -800.0, -500.0, 2.4, 0.1, (), ())
    line = level(0.0, 180.0)
    assert shaft_of(Picture(200, 100).ground(), Table([bow, line]), head_on(0)) == 0
    assert shaft_of(Picture(200, 100).ground(), Table([level(92.0, TIP), line]), head_on(0)) == 1
