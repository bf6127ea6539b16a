"""Dots that end dimension lines: filled discs where a line meets another stroke, for places too narrow for heads."""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.profiles import darkness_at
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.heads.head import Head
from digitize.strokes.heads.ticks import DOUBT
from digitize.strokes.joining.crossings import Crossing
from digitize.strokes.table import Table

FloatArray = NDArray[np.float64]

LARGEST_RADIUS_MM, LEAST_RADIUS_MM = 2.5, 0.35
LEAST_RADIUS_WIDTHS, LEAST_RADIUS_CROSSED = 1.4, 1.0
"""A disc's radius over the width of its line, and over that of the stroke which it lies on; less, and it is a blot on a
crossing."""
RAYS = 48
NEAREST = 0.15
"""Share of the rays that may end nearer than at a disc's edge: between two lines that cross more of them do."""
ROUND_SHARE, EDGE_SLACK_PX, EDGE_SLACK_SHARE = 0.7, 0.8, 0.08
"""So many rays from a disc's middle must end at its radius; the others run along the strokes that meet there."""
LEAST_SHAFT = 1.5
"""The line goes on behind a dot for so many radii of it."""
INK = 128.0


@compiled
def _edge_distances(dark: ByteImage, x: float, y: float, farthest: float, rays: int) -> FloatArray:
    """Distance at which ink ends on rays all round a point, in px; ``farthest`` where it does not."""
    found = np.empty(rays)
    for n in range(rays):
        dx, dy = math.cos(2.0 * math.pi * n / rays), math.sin(2.0 * math.pi * n / rays)
        before, at = darkness_at(dark, x, y), farthest
        for i in range(1, int(2.0 * farthest)):
            here = darkness_at(dark, x + 0.5 * i * dx, y + 0.5 * i * dy)
            if here < INK:
                at = 0.5 * i - 0.5 * (INK - here) / max(before - here, 1e-9) if before >= INK else 0.0
                break
            before = here
        found[n] = at
    return found


def dots_at(ground: Ground, table: Table, crossings: dict[int, list[Crossing]]) -> list[Head]:
    """Dots on lines, by number, where they meet other strokes; one ends the dimensions on both of its sides."""
    met = [(k, crossing) for k, on_line in crossings.items() for crossing in on_line]
    points = np.array([table.pieces[k].track.point(crossing.s) for k, crossing in met]).reshape(-1, 2)
    in_picture = ground.in_picture(points)
    radii = _disc_radii(ground.dark, in_picture, ground.px(LEAST_RADIUS_MM), ground.px(LARGEST_RADIUS_MM)).tolist()
    found = []
    for (k, crossing), (x, y), radius in zip(met, points.tolist(), radii, strict=True):
        piece = table.pieces[k]
        least = max(LEAST_RADIUS_WIDTHS * piece.width, LEAST_RADIUS_CROSSED * float(table.width[crossing.other]))
        if math.isnan(radius) or radius < least:
            continue
        hx, hy = piece.track.heading(crossing.s)
        for sign, behind in ((1.0, crossing.s - piece.s0), (-1.0, piece.s1 - crossing.s)):
            if behind >= LEAST_SHAFT * radius:
                found.append(Head(x, y, sign * hx, sign * hy, radius, radius, "dot", k, crossing.s, DOUBT))
    return found


@compiled
def _disc_radii(dark: ByteImage, points: FloatArray, least: float, largest: float) -> FloatArray:
    """Radius of the filled disc about each of many points; NaN where there is none."""
    found = np.full(len(points), np.nan)
    for n in range(len(points)):
        edges = _edge_distances(dark, points[n, 0], points[n, 1], largest + 2.0, RAYS)
        radius = float(np.quantile(edges, NEAREST))
        slack = EDGE_SLACK_PX + EDGE_SLACK_SHARE * radius
        if least <= radius <= largest and np.mean(np.abs(edges - radius) <= slack) >= ROUND_SHARE:
            found[n] = radius
    return found
