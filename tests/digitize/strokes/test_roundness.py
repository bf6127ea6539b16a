"""What circles tell of a sheet's stretch."""

from types import SimpleNamespace

import numpy as np
import pytest

from digitize.strokes.centre_lines.fit import ARC
from digitize.strokes.gearing import roundness
from digitize.strokes.gearing.roundness import Squeeze, measure_squeeze
from digitize.strokes.pieces import Piece


class Ground:
    """Thresholds at 200 dpi."""

    def px(self, mm: float) -> float:
        return mm * 200 / 25.4


@pytest.mark.parametrize(
    ("circles", "told"),
    [
        ([], Squeeze()),
        ([(0.02, 1e-4), (-0.02, 1e-4)], Squeeze()),  # as on a bent sheet
        ([(0.01, 1e-4), (0.0101, 1e-4), (-0.03, 1e-4)], Squeeze(0.01005, 7.07e-5, 2)),
    ],
)
def test_circles_that_contradict_each_other_tell_nothing(
    circles: list[tuple[float, float]], told: Squeeze, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = roundness.SAME_CIRCLE[0]
    groups = [[k] for k in range(len(circles))]
    monkeypatch.setattr(roundness, "_same_circle", lambda _, __, share: groups if share == first else [])
    monkeypatch.setattr(roundness, "_ellipse_of", lambda trail, group, turn_deg: circles[group[0]])
    found = measure_squeeze(Ground(), None, [], 0.0)  # type: ignore[arg-type]
    assert (found.value, found.circles) == (pytest.approx(told.value, abs=1e-6), told.circles)
    assert np.isfinite(found.std) == np.isfinite(told.std)


class OneTrail:
    """A trail through points one pixel apart."""

    def __init__(self, x: list[float], y: list[float]) -> None:
        self.x, self.y = np.array(x), np.array(y)
        self.weight, self.width = np.ones(len(x)), np.full(len(x), 2.0)


def arc_of(sweep_deg: float, tangent_px: float, radius: float = 37.5) -> tuple[OneTrail, Piece]:
    """Points of an arc that runs on along the tangents at its ends."""
    count = round(np.radians(sweep_deg) * radius)
    turn = np.radians(np.linspace(-sweep_deg / 2, sweep_deg / 2, count))
    x, y = list(radius * np.cos(turn)), list(radius * np.sin(turn))
    ahead = np.arange(1, tangent_px + 1)
    ends = [(turn[0], -1.0), (turn[-1], 1.0)]
    x += [radius * np.cos(t) - sign * d * np.sin(t) for t, sign in ends for d in ahead]
    y += [radius * np.sin(t) + sign * d * np.cos(t) for t, sign in ends for d in ahead]
    track = SimpleNamespace(kind=ARC, x=0.0, y=0.0, radius=radius)
    return OneTrail(x, y), SimpleNamespace(track=track, spans=[(0, len(x))], length=len(x), start=0)  # type: ignore[return-value]


@pytest.mark.parametrize(
    ("sweep_deg", "tangent_px", "told"), [(360.0, 0, True), (250.0, 0, True), (180.0, 0, False), (180.0, 11, False)]
)
def test_the_round_end_of_a_slot_tells_no_squeeze(sweep_deg: float, tangent_px: float, *, told: bool) -> None:
    trail, piece = arc_of(sweep_deg, tangent_px)
    found = measure_squeeze(Ground(), trail, [piece], 0.0)  # type: ignore[arg-type]
    assert (found.circles > 0) is told
    assert not found.is_real


def joined(*circles: tuple[float, float, float]) -> tuple[OneTrail, list[Piece]]:
    """Six arcs of each of some circles about one centre: radius, squeeze, share of the turn that the arcs cover."""
    x: list[float] = []
    y: list[float] = []
    pieces = []
    for radius, squeeze, share in circles:
        for k in range(6):
            turn = 2 * np.pi / 6 * (k + share * np.linspace(0, 1, round(share * np.pi / 3 * radius)))
            start = len(x)
            x += list(radius * (1 - squeeze / 2) * np.cos(turn))
            y += list(radius * (1 + squeeze / 2) * np.sin(turn))
            track = SimpleNamespace(kind=ARC, x=0.0, y=0.0, radius=radius)
            length = share * np.pi / 3 * radius
            pieces.append(SimpleNamespace(track=track, spans=[(start, len(x))], length=length, start=start))
    return OneTrail(x, y), pieces  # type: ignore[return-value]


def test_the_outside_and_pitch_circle_of_a_gear_in_pieces_are_two_circles() -> None:
    trail, pieces = joined((592.5, 0.0, 0.9), (562.5, 0.0, 0.9), (131.0, 0.0015, 0.9))
    found = measure_squeeze(Ground(), trail, pieces, 0.0)  # type: ignore[arg-type]
    assert found.circles == 3
    assert abs(found.value) < 2e-4
    assert not found.is_real


def test_one_small_circle_a_little_out_of_round_squeezes_no_sheet() -> None:
    trail, pieces = joined((131.0, 0.0015, 0.9))
    assert not measure_squeeze(Ground(), trail, pieces, 0.0).is_real  # type: ignore[arg-type]


def test_large_circles_squeezed_alike_tell_of_shrunken_paper() -> None:
    trail, pieces = joined((592.5, 0.004, 0.9), (562.5, 0.004, 0.9))
    found = measure_squeeze(Ground(), trail, pieces, 0.0)  # type: ignore[arg-type]
    assert found.value == pytest.approx(0.004, abs=1e-4)
    assert found.is_real


def test_small_holes_out_of_round_alike_do_not_outvote_the_large_circles() -> None:
    trail, pieces = joined((900.0, 0.0, 0.9), (300.0, 0.0, 0.9), *[(61.0 + 8 * k, -0.0038, 0.9) for k in range(6)])
    found = measure_squeeze(Ground(), trail, pieces, 0.0)  # type: ignore[arg-type]
    assert abs(found.value) < 2e-4
    assert not found.is_real
