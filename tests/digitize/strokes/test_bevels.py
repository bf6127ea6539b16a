"""Small bevels and roundings of a heavy pen, told apart by the edges of their ink."""

import math
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.ground import Ground, ground_of
from digitize.strokes.joining.bevels import with_bevels
from digitize.strokes.pieces import Piece
from digitize.strokes.trace import traced_pieces
from digitize.strokes.tracks import Track
from tests.digitize.strokes.drawn import Picture, sheet_of

LEG_PX = 110.0
PENS_PX = (4.0, 6.4, 9.0, 12.0)
TURNS_DEG = (7.0, 33.0)


@dataclass(frozen=True)
class Corner:
    """A square corner, turned by an angle, that is drawn with a pen."""

    pen: float
    turn_deg: float
    at: tuple[float, float] = (150.3, 149.6)

    def on(self, leg: int, length: float) -> tuple[float, float]:
        """The place so far from the corner on one of its two legs."""
        a = math.radians(self.turn_deg + 90.0 * leg)
        return self.at[0] + length * math.cos(a), self.at[1] - length * math.sin(a)

    def legs(self, cuts: tuple[float, float]) -> Picture:
        picture = Picture(300, 300)
        for leg, cut in enumerate(cuts):
            picture.line(self.on(leg, LEG_PX), self.on(leg, cut), self.pen)
        return picture

    def bevelled(self, cuts: tuple[float, float]) -> Picture:
        return self.legs(cuts).line(self.on(0, cuts[0]), self.on(1, cuts[1]), self.pen)

    def rounded(self, radius: float) -> Picture:
        return self.legs((radius, radius)).arc(self.centre(radius), radius, self.turn_deg + 180.0, 90.0, self.pen)

    def centre(self, radius: float) -> tuple[float, float]:
        (x, y), (u, v) = self.on(0, radius), self.on(1, radius)
        return x + u - self.at[0], y + v - self.at[1]

    def as_a_rounding(self, radius: float) -> list[Piece]:
        """Both legs and the arc between them, which comes first."""
        circle = Track(ARC, *self.centre(radius), radius=radius)
        ends = sorted(circle.s_of(*self.on(leg, radius)) for leg in (0, 1))
        if ends[1] - ends[0] > 0.5 * circle.period:
            ends = [ends[1], ends[0] + circle.period]
        legs = []
        for leg in (0, 1):
            (x, y), (far_x, far_y) = self.on(leg, 0.0), self.on(leg, LEG_PX)
            track = Track(LINE, x, y, (far_x - x) / LEG_PX, (far_y - y) / LEG_PX)
            legs.append(self.piece(track, radius, LEG_PX))
        return [self.piece(circle, ends[0], ends[1]), *legs]

    def piece(self, track: Track, s0: float, s1: float) -> Piece:
        run = track.point(s0), track.point(0.5 * (s0 + s1)), track.point(s1)
        return Piece(track, s0, s1, self.pen, 0.1, (), (run,))


def seen(picture: Picture, blur_px: float, noise: float) -> Ground:
    cover = gaussian_filter(picture.cover, blur_px)
    grey = 250.0 - 240.0 * cover + np.random.default_rng(11).normal(0.0, noise, cover.shape)
    return ground_of(sheet_of(np.clip(np.rint(grey), 0, 255).astype(np.uint8)), picture.no_lettering())


@pytest.mark.parametrize("turn_deg", TURNS_DEG)
@pytest.mark.parametrize("pen", PENS_PX)
@pytest.mark.parametrize("share", [1.2, 1.5, 2.0, 3.0, 4.0])
def test_a_rounding_stays_round(pen: float, share: float, turn_deg: float) -> None:
    corner = Corner(pen, turn_deg)
    pieces = corner.as_a_rounding(share * pen)
    for blur_px, noise in ((0.5, 4.0), (1.0, 8.0)):
        assert with_bevels(seen(corner.rounded(share * pen), blur_px, noise), pieces) == pieces


@pytest.mark.parametrize("turn_deg", TURNS_DEG)
@pytest.mark.parametrize("pen", PENS_PX)
@pytest.mark.parametrize(("share", "bevel_deg"), [(0.8, 45), (1.2, 45), (1.2, 30), (2.0, 45), (2.0, 30), (4.0, 45)])
def test_a_bevel_becomes_straight(pen: float, share: float, bevel_deg: float, turn_deg: float) -> None:
    corner = Corner(pen, turn_deg)
    cuts = share * pen, share * pen * math.tan(math.radians(bevel_deg))
    pieces = corner.as_a_rounding(0.5 * sum(cuts) + 0.6 * pen)
    for blur_px, noise in ((0.5, 4.0), (1.0, 8.0)):
        bevel, first, second = with_bevels(seen(corner.bevelled(cuts), blur_px, noise), pieces)
        assert bevel.track.kind == LINE
        ends = corner.on(0, cuts[0]), corner.on(1, cuts[1])
        for leg, end in zip((first, second), ends, strict=True):
            assert leg.start == pytest.approx(end, abs=0.3)
            assert min(math.dist(leg.start, bevel.start), math.dist(leg.start, bevel.end)) < 1e-6


def hatched(picture: Picture, corner: Corner) -> Picture:
    """With section lines, of which the nearest runs into the rounded ink of the corner."""
    for share in (3.0, 6.0, 9.0):
        length = share * corner.pen
        picture.line(corner.on(0, length), corner.on(1, length), 0.35 * corner.pen)
    return picture


@pytest.mark.parametrize("turn_deg", [0.0, 7.0, 21.0])
def test_a_traced_outline_runs_over_its_bevel(turn_deg: float) -> None:
    """Thinning alone gives this bevel an arc of 1.5 pens' radius, whichever way it is turned."""
    corner = Corner(10.4, turn_deg)
    cut = 0.95 * corner.pen
    pieces = traced_pieces(hatched(corner.bevelled((cut, cut)), corner).ground(3.0)).pieces
    assert all(piece.track.kind == LINE for piece in pieces)
    ends = [end for piece in pieces if piece.width > 0.7 * corner.pen for end in (piece.start, piece.end)]
    for leg in (0, 1):
        assert sum(math.dist(end, corner.on(leg, cut)) < 0.3 for end in ends) == 2


@pytest.mark.parametrize("turn_deg", [0.0, 7.0, 21.0])
def test_a_traced_rounding_in_a_section_stays_round(turn_deg: float) -> None:
    corner = Corner(10.4, turn_deg)
    radius = 1.8 * corner.pen
    pieces = traced_pieces(hatched(corner.rounded(radius), corner).ground(3.0)).pieces
    (arc,) = [piece.track for piece in pieces if piece.track.kind == ARC]
    assert arc.radius == pytest.approx(radius, abs=0.05 * radius)
