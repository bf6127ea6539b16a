"""Whether dashes end in paper, as those of a broken stroke do, or turn into other strokes."""

import math

import numpy as np

from digitize.strokes.centre_lines.fit import ARC
from digitize.strokes.centre_lines.profiles import darkness_at
from digitize.strokes.centre_lines.refine import FloatArray
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.joining.board import Bench
from digitize.strokes.joining.inked import INK_LEVEL
from digitize.strokes.pieces import Piece
from digitize.strokes.runs import run_extents
from digitize.strokes.table import WIDTH, point_on

LEAST_ROUND_DASHES = 5
LEAST_ROUND_SWEEP_DEG = 40.0
PAPER_ENDS_SHARE = 0.25
"""At least this share of the ends of dashes, many of which meet flanks and crossing lines, lies in paper."""
END_REACH_WIDTHS = 1.25
"""Beyond the skeleton's end of a dash its ink goes on for half a width."""
ASIDE_DEG = (-90.0, -75.0, -60.0, 60.0, 75.0, 90.0)
"""Where ink would show that a dash turns into another stroke."""
WAYPOINTS = 5
"""Ink is looked for at so many points from the rim of the dash on: a pixel apart where the pen is 5 px wide."""


def broken_by_paper(bench: Bench, stroke: Piece, dashes: int) -> bool:
    """Dashes must end in paper, and those of a circle must show enough of it.

    The tips of gear teeth lie on a circle at even gaps, but their ends turn into the flanks; section lines on both
    sides of a hole lie on one line, but their ends lie on the hole's edge.
    """
    if stroke.track.kind == ARC:
        sweep = np.degrees(stroke.length / stroke.track.radius)
        if dashes < LEAST_ROUND_DASHES or sweep < LEAST_ROUND_SWEEP_DEG:
            return False
    inner = ends_of(stroke)[1:-1]
    return sum(ends_in_paper(bench, stroke, *end) for end in inner) >= PAPER_ENDS_SHARE * len(inner)


def ends_of(stroke: Piece) -> list[tuple[float, float]]:
    """The ends of all dashes: s, and the sign of s towards the gap."""
    return [end for run in run_extents(stroke.track, stroke.runs) for end in ((run[0], -1.0), (run[1], 1.0))]


def ends_in_paper(bench: Bench, stroke: Piece, s: float, sign: float) -> bool:
    """Whether there is no ink to either side of the end of a dash; ahead the next one may be near."""
    reach = END_REACH_WIDTHS * stroke.width + 1.0
    ground = bench.ground
    return not _any_ink_aside(ground.dark, ground.picture_from_round, np.array(stroke.row), s, sign * reach)


@compiled
def _any_ink_aside(dark: ByteImage, picture: FloatArray, row: FloatArray, s: float, reach: float) -> bool:
    """Whether ink leads from the end of a dash to ``reach`` px from it, to its sides or a little ahead.

    Beyond paper there is another stroke, as an edge beside a hidden one.
    """
    rim = 0.5 * row[WIDTH]
    for turn_deg in ASIDE_DEG:
        turn, led = math.radians(turn_deg), 0
        while led < WAYPOINTS:
            way = abs(reach) - (abs(reach) - rim) * led / (WAYPOINTS - 1)
            x, y = point_on(row, s + math.copysign(way, reach) * math.cos(turn), way * math.sin(turn))
            px, py = picture[0, 0] * x + picture[0, 1] * y, picture[1, 0] * x + picture[1, 1] * y
            if darkness_at(dark, px, py) < INK_LEVEL:
                break
            led += 1
        if led == WAYPOINTS:
            return True
    return False
