"""Whether the figures that stand on a sheet settle the outlines drawn there, by its truth alone.

An outline all of whose figures are agreed can only be redrawn exactly where they leave nothing of it open: a gear's rim
has no figure, nor has the little chamfer of many a bush. What is asked here knows the strokes as they were drawn, and
nothing of what was traced, read or solved.

Glossary
--------
station
    A place along x or y at which strokes of a view lie, or a radius: one unknown.
relation
    What a figure says, and what a drafter keeps without one: both sides of a centre line alike, arcs tangent to the
    lines they round off, views that stand level alike.
told
    Of an outline: no way is left in which its stations can move, but all together.
"""

import math
from collections.abc import Iterator
from itertools import combinations

import numpy as np
import shapely
from shapely.ops import polygonize, unary_union

from calibrate.sheet import FloatArray
from tests.bench.records import Record
from tests.bench.told_relations import FINEST_MM, figures, level, middles_of, symmetry, tangents
from tests.bench.told_stations import RIGID, SAME_MM, Knowns, laid, stations_of

SLIPS = 3.0  # a drafter sets one length off no further from its size, in errors of his pen
MIRRORED = math.sqrt(3.0)  # two places and twice the middle err so much more than one length, which is two places


def told_views(truth: Record) -> set[str]:
    """The views of a sheet whose outer outline its figures settle.

    Parameters
    ----------
    truth : Record
        As `samples.truth` writes it.
    """
    slack = SLIPS * truth["pen_error_mm"] + FINEST_MM
    knowns, views = Knowns(), [view["id"] for view in truth["views"]]
    strokes = {view: [s for s in truth["strokes"] if s["view"] == view] for view in views}
    edges = {view: [s for s in mine if s["role"] == "visible"] for view, mine in strokes.items()}
    bounding = {view: [stations_of(knowns, view, each) for each in _bounding(mine)] for view, mine in edges.items()}
    for view, mine in edges.items():
        for each in mine:
            stations_of(knowns, view, each)
        tangents(knowns, view, mine)
    middles = {view: list(middles_of(mine)) for view, mine in strokes.items()}
    figures(knowns, truth, edges, middles)
    for view in truth["views"]:
        symmetry(knowns, view, middles[view["id"]], MIRRORED * slack)
    proper = [view for view in truth["views"] if not view["not_to_scale"]]
    for one, other in combinations(proper, 2):
        if one["scale"] == other["scale"]:
            level(knowns, one["id"], other["id"], edges, slack)
    free = knowns.free()
    return {view for view, found in bounding.items() if found and _rigid(found, free)}


def _rigid(found: list[dict[str, set[int]]], free: FloatArray) -> bool:
    """Whether stations move together along each axis, and radii not at all."""
    for what in ("x", "y", "r"):
        mine = sorted({unknown for each in found for unknown in each[what]})
        moving = free[mine]
        if len(moving) and np.abs(moving - (moving[0] if what != "r" else 0.0)).max(initial=0.0) > RIGID:
            return False
    return True


def _bounding(strokes: list[Record]) -> Iterator[Record]:
    """The strokes that bound all that a view's strokes enclose."""
    lines = [laid(each) for each in strokes]
    snapped = unary_union(shapely.set_precision(unary_union(lines), SAME_MM / 2))
    filled = unary_union(list(polygonize(snapped)))
    if filled.is_empty:
        return
    largest = max(getattr(filled, "geoms", [filled]), key=lambda each: each.area)
    rim = shapely.LineString(largest.exterior.coords).buffer(2 * SAME_MM)
    for stroke, line in zip(strokes, lines, strict=True):
        if rim.intersection(line).length > min(line.length / 4, 1.0):
            yield stroke
