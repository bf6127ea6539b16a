"""Dashes ahead of a bar, in compiled code, which no index guards."""

import numpy as np

from digitize.lettering.finding.line_ahead import mark_pieces, pieces_ahead

ROW, START, WAY = 20, (4.0, 20.0), (1.0, 0.0)
DASHES = ((6, 11), (14, 19))


def test_a_bar_broader_than_the_way_ahead_is_long_marks_its_dashes() -> None:
    """Ink is looked for to twice a bar's breadth; where the sheet ends before that, it ends there."""
    ink = np.zeros((41, 26), np.bool_)
    for first, past in DASHES:
        ink[ROW, first:past] = True
    reach_px, half_px = 18.0, 9
    pieces = pieces_ahead(ink, START, WAY, 3.0, reach_px, 6.0, 3.0, 2)
    assert [(first + 5, past + 5) for first, past in pieces.tolist()] == list(DASHES)
    found = np.zeros_like(ink)
    mark_pieces(ink, START, WAY, 3.0, reach_px, pieces, half_px, found)
    assert np.flatnonzero(found.any(axis=0)).tolist() == np.flatnonzero(ink[ROW]).tolist()
    assert found[ROW - half_px : ROW + half_px + 1].any(axis=1).all()
    assert not found[: ROW - half_px].any()
