from itertools import pairwise

import numpy as np
import pytest

from calibrate.straightening.bend import POSE, Bend, lift_of
from digitize.dimensions.linking.spans import find_spans
from digitize.lettering.text import Text, TextBlock
from digitize.strokes.flat import flat_strokes, flat_texts
from digitize.strokes.primitives import Arc, Arrowhead, Line, Role, Strokes, View

UNIT, MIDDLE = 1000.0, np.array([1000.0, 700.0])


def curl(corrected=True):
    lift = lift_of(1.0, 6)
    wave = 0.02 * np.cos(np.pi * lift.grid / 2)
    terms = np.concatenate([[0, 0, 0, 0, 0, 0, np.log(2.0), 0, 0], np.linalg.lstsq(lift.values, wave, rcond=None)[0]])
    covariance = np.diag([*np.full(POSE - 1, 1e-8), 1e-8, *np.full(len(terms) - POSE, 1e-6)])
    return Bend(MIDDLE, UNIT, terms, covariance, lift, 8.0, 0.1, corrected)


def strokes_at(points):
    """Lines between neighbouring points."""
    pairs = pairwise(points)
    return Strokes(lines=tuple(Line((float(a[0]), float(a[1])), (float(b[0]), float(b[1])), 3.0) for a, b in pairs))


def test_pieces_of_a_bowed_line_come_into_one_straight_line():
    straight = np.column_stack([np.linspace(100, 1900, 9), np.full(9, 150.0)])
    bent = curl().bent(straight)
    assert np.ptp(bent[:, 1]) > 4
    flat = flat_strokes(strokes_at(bent), curl())
    assert [line.start[1] for line in flat.lines] == pytest.approx(np.full(8, 150.0), abs=1e-6)
    assert all(line.std_px > 0.1 for line in flat.lines)


def test_arcs_heads_views_and_lettering_move_with_the_sheet():
    bend = curl()
    turn = np.linspace(0, 2 * np.pi, 60)
    seen = bend.bent(np.array([400.0, 300.0]) + 100 * np.column_stack([np.cos(turn), np.sin(turn)]))
    centre = tuple(seen[:-1].mean(axis=0))
    radius = float(np.linalg.norm(seen - centre, axis=1).mean())
    tip = tuple(bend.bent(np.array([[1500.0, 200.0]]))[0])
    seen_strokes = Strokes(
        arcs=(Arc(centre, radius, 0, 360, 3.0),),
        arrowheads=(Arrowhead(tip, 90.0, 20.0),),
        views=(View("A", "view", (300, 200, 500, 400)),),
    )
    flat = flat_strokes(seen_strokes, bend)
    assert flat.arcs[0].radius_px == pytest.approx(100, rel=2e-4)
    assert flat.arcs[0].centre == pytest.approx((400, 300), abs=0.1)
    assert flat.arcs[0].radius_std_px > seen_strokes.arcs[0].radius_std_px
    assert flat.arrowheads[0].tip == pytest.approx((1500, 200), abs=1e-6)
    assert flat.views[0].box == pytest.approx((300, 200, 500, 400), abs=15)
    quad = tuple(tuple(corner) for corner in bend.bent(np.array([[10.0, 10], [60, 10], [60, 40], [10, 40]])))
    (text,) = flat_texts((Text(TextBlock(quad, 0.0, 30.0), ()),), bend)
    assert np.array(text.block.quad) == pytest.approx(np.array([[10.0, 10], [60, 10], [60, 40], [10, 40]]), abs=1e-6)


def test_a_flat_sheet_keeps_its_strokes():
    strokes = strokes_at(np.array([[0.0, 0], [10, 0], [20, 0]]))
    assert flat_strokes(strokes, None) is strokes
    assert flat_texts((), None) == ()


def dimensioned(strain_std):
    """A length of 600 pixels between two extension lines."""
    edges = [Line((x, 100.0), (x, 300.0), 2.0, role=Role.EXTENSION) for x in (200.0, 800.0)]
    shaft = Line((200.0, 200.0), (800.0, 200.0), 2.0, role=Role.DIMENSION)
    heads = (Arrowhead((200.0, 200.0), 180.0, 24.0, line=2), Arrowhead((800.0, 200.0), 0.0, 24.0, line=2))
    return Strokes(lines=(*edges, shaft), arrowheads=heads, strain_std=strain_std)


def test_lengths_on_a_bent_sheet_are_less_sure():
    """A bend that nobody understands leaves lengths unsure by far more than a pen does: none is agreed on."""
    (sure,), (unsure,) = (find_spans(dimensioned(std), 0.1) for std in (0.0, curl(corrected=False).strain_std()))
    assert sure.size == unsure.size == pytest.approx(600)
    assert sure.size_std < 1
    assert unsure.size_std == pytest.approx(2 * 8.0 / UNIT * 600, rel=0.01)


def test_a_bend_that_is_not_understood_moves_nothing():
    strokes = strokes_at(np.array([[0.0, 0], [500, 3]]))
    flat = flat_strokes(strokes, curl(corrected=False))
    assert (flat.lines[0].start, flat.lines[0].end) == ((0.0, 0.0), (500.0, 3.0))


def test_circles_of_a_curled_sheet_are_as_round_as_on_the_flat_one():
    """What a curl does to every circle of one place is no shrinkage of the paper: the axes keep their proportion."""
    bend = curl()
    turn = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    seen = bend.bent(np.array([400.0, 300.0]) + 100 * np.column_stack([np.cos(turn), np.sin(turn)]))
    width, height = seen.std(axis=0)
    arc = Arc(tuple(seen.mean(axis=0)), float(np.linalg.norm(seen - seen.mean(axis=0), axis=1).mean()), 0, 360, 3.0)
    squeezed = Strokes(arcs=(arc,), squeeze=height / width - 1, squeeze_std=1e-4)
    flat = flat_strokes(squeezed, bend)
    assert abs(squeezed.squeeze) > 0.005
    assert abs(flat.squeeze) < 3e-4
    assert flat.squeeze_std >= bend.strain_std()
    untold = flat_strokes(Strokes(arcs=(arc,)), bend)
    assert (untold.squeeze, untold.squeeze_std) == (0.0, np.inf)
