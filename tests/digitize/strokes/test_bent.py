import numpy as np
import pytest

from calibrate.straightening.bend import POSE, Bend, lift_of
from digitize.dimensions.linking.spans import find_spans
from digitize.strokes.bent import unsure_by_bend
from digitize.strokes.primitives import Arc, Arrowhead, Line, Role, Strokes

UNIT, MIDDLE = 1000.0, np.array([1000.0, 700.0])


def curl(corrected=True):
    lift = lift_of(1.0, 6)
    wave = 0.02 * np.cos(np.pi * lift.grid / 2)
    terms = np.concatenate([[0, 0, 0, 0, 0, 0, np.log(2.0), 0, 0], np.linalg.lstsq(lift.values, wave, rcond=None)[0]])
    covariance = np.diag([*np.full(POSE - 1, 1e-8), 1e-8, *np.full(len(terms) - POSE, 1e-6)])
    return Bend(MIDDLE, UNIT, terms, covariance, lift, 8.0, 0.1, corrected)


def test_places_on_a_bent_sheet_are_less_sure():
    seen = Strokes(
        lines=(Line((0.0, 0.0), (500.0, 3.0), 3.0, std_px=0.05),),
        arcs=(Arc((400.0, 300.0), 100.0, 0, 360, 3.0, centre_std_px=0.02, radius_std_px=0.02),),
        squeeze=0.002,
        squeeze_std=3e-4,
    )
    bend = curl()
    unsure = unsure_by_bend(seen, bend)
    assert unsure.lines[0].std_px == pytest.approx(np.hypot(0.05, bend.left_px))
    assert unsure.arcs[0].radius_std_px == pytest.approx(np.sqrt(0.02**2 + 0.1**2 + (100 * bend.strain_std()) ** 2))
    assert (unsure.squeeze, unsure.squeeze_std) == (0.002, pytest.approx(np.hypot(3e-4, bend.strain_std())))
    assert (unsure.lines[0].start, unsure.lines[0].end) == (seen.lines[0].start, seen.lines[0].end)
    assert unsure.strain_std == bend.strain_std()


def test_a_flat_sheet_keeps_its_strokes():
    strokes = Strokes(lines=(Line((0.0, 0.0), (10.0, 0.0), 3.0),))
    assert unsure_by_bend(strokes, None) is strokes


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
