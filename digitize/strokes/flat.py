"""Strokes and lettering of a bent sheet, moved to where they lie on the flat one."""

import math
from dataclasses import replace

import numpy as np

from calibrate.straightening.bend import Bend
from digitize.lettering.text import Text
from digitize.strokes.primitives import Arc, Line, Point, Strokes, ToothRing, View

ROUND_POINTS = 24
"""Points of a circle that are moved to find how large it is on the flat sheet."""
WIDE_DEG = 180.0
"""Arcs of at least so much tell how the bend squeezed circles."""


def flat_strokes(strokes: Strokes, bend: Bend | None) -> Strokes:
    """Move strokes, and say how much less sure lengths are for the bend.

    Parameters
    ----------
    strokes : Strokes
        Level pixels, as seen.
    bend : Bend or None

    Returns
    -------
    Strokes
        Level pixels on the flat sheet; the same ones where there is no bend.
    """
    if bend is None:
        return strokes
    strain = bend.strain_std()
    squeeze, squeeze_std = _flat_squeeze(strokes, bend, strain)
    return replace(
        strokes,
        lines=tuple(_line(line, bend) for line in strokes.lines),
        arcs=tuple(_arc(arc, bend, strain) for arc in strokes.arcs),
        arrowheads=tuple(replace(head, tip=_point(head.tip, bend)) for head in strokes.arrowheads),
        views=tuple(_view(view, bend) for view in strokes.views),
        tooth_rings=tuple(_ring(ring, bend) for ring in strokes.tooth_rings),
        splines=tuple(replace(s, control=_points(s.control, bend)) for s in strokes.splines),
        laid_on=tuple(_line(line, bend) for line in strokes.laid_on),
        hatched=tuple(replace(region, outline=_points(region.outline, bend)) for region in strokes.hatched),
        squeeze=squeeze,
        squeeze_std=squeeze_std,
        strain_std=strain,
    )


def flat_texts(texts: tuple[Text, ...], bend: Bend | None) -> tuple[Text, ...]:
    """Move lettering as `flat_strokes` moves strokes."""
    if bend is None:
        return texts
    moved = []
    for text in texts:
        a, b, c, d = (_point(corner, bend) for corner in text.block.quad)
        moved.append(replace(text, block=replace(text.block, quad=(a, b, c, d))))
    return tuple(moved)


def _point(point: Point, bend: Bend) -> Point:
    x, y = bend.flattened(np.array([point]))[0]
    return float(x), float(y)


def _points(points: tuple[Point, ...], bend: Bend) -> tuple[Point, ...]:
    return tuple(_point(point, bend) for point in points)


def _line(line: Line, bend: Bend) -> Line:
    std = math.hypot(line.std_px, bend.left_px)
    return replace(line, start=_point(line.start, bend), end=_point(line.end, bend), std_px=std)


def _arc(arc: Arc, bend: Bend, strain_std: float) -> Arc:
    centre, growth = _round(arc.centre, arc.radius_px, bend)
    return replace(
        arc,
        centre=centre,
        radius_px=arc.radius_px * growth,
        centre_std_px=math.hypot(arc.centre_std_px, bend.left_px),
        radius_std_px=math.hypot(arc.radius_std_px, bend.left_px, strain_std * arc.radius_px),
    )


def _flat_squeeze(strokes: Strokes, bend: Bend, strain_std: float) -> tuple[float, float]:
    """Height over width of the sheet's circles less 1, the bend's own part taken out, and its standard error."""
    wide = [arc for arc in strokes.arcs if arc.sweep_deg >= WIDE_DEG]
    std = math.hypot(strokes.squeeze_std, strain_std)
    if not wide or math.isinf(std):
        return strokes.squeeze, std
    turn = np.linspace(0, 2 * np.pi, ROUND_POINTS, endpoint=False)
    rim = np.column_stack([np.cos(turn), np.sin(turn)]) * [1, 1 + strokes.squeeze]
    spans = [bend.flattened(np.array(arc.centre) + arc.radius_px * rim).std(axis=0) for arc in wide]
    ratios = [float(height / width) for width, height in spans]
    # Wide circles told the squeeze as it was seen, so wide ones tell what of it the bend was.
    return float(np.average(ratios, weights=[arc.radius_px for arc in wide])) - 1, std


def _ring(ring: ToothRing, bend: Bend) -> ToothRing:
    centre, growth = _round(ring.centre, ring.tip_radius_px, bend)
    return replace(
        ring,
        centre=centre,
        tip_radius_px=ring.tip_radius_px * growth,
        root_radius_px=ring.root_radius_px * growth,
        flanks=tuple(replace(flank, points=_points(flank.points, bend)) for flank in ring.flanks),
    )


def _round(centre: Point, radius_px: float, bend: Bend) -> tuple[Point, float]:
    """Middle of a moved circle, and how much larger it has become."""
    turn = np.linspace(0, 2 * np.pi, ROUND_POINTS, endpoint=False)
    around = np.array(centre) + radius_px * np.column_stack([np.cos(turn), np.sin(turn)])
    moved = bend.flattened(around)
    x, y = moved.mean(axis=0)
    growth = float(np.linalg.norm(moved - [x, y], axis=1).mean()) / radius_px
    return (float(x), float(y)), growth


def _view(view: View, bend: Bend) -> View:
    left, top, right, bottom = view.box
    corners = bend.flattened(np.array([[left, top], [right, top], [right, bottom], [left, bottom]]))
    (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
    return replace(view, box=(float(x0), float(y0), float(x1), float(y1)))
