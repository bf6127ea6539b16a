"""What lettering and arrowheads left among the strokes, known once figures are read and heads looked for from them.

The finder leaves to the strokes what stands alone or touches a line: a lone 1, the marks of inches. What was then read
as lettering is no stroke, and neither are the barbs of a head that was found from its figure.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from digitize.lettering.text import Text, TextBlock
from digitize.strokes.primitives import Arc, Arrowhead, Dash, Line, Role, Strokes
from digitize.strokes.roles.hatched import hatched_regions
from digitize.strokes.roles.headed import pairs_within

FloatArray = NDArray[np.float64]

LEAST_READING = 0.8
"""What is read with this probability is lettering."""
MARGIN_PENS, MARGIN_PX = 0.6, 1.0
"""A stroke's middle may lie so far outside the head or the lettering whose ink it is, in its own widths and in px."""
LONGEST_BARB = 1.3
"""Over the length of a head along its shaft."""
WIDEST_BARB = 0.9
"""How far off its shaft a barb lies, over how far behind the tip."""
MARK_HEIGHT, BESIDE_HEIGHT, ABOVE_HEIGHT = 0.7, 0.9, 0.5
"""The marks of inches and feet are no longer than this, in heights of their figure, and stand so far behind and above
it."""
MARK_SINE = 0.6
"""They are drawn across the row, as no dash of its dimension line is."""
PLACES = 5
UNTOLD = (Role.VISIBLE, Role.HIDDEN, Role.EXTENSION)
"""What the drawing itself made a leader, a dimension line or a section line stays so."""
TIP_TO_TIP, OPPOSITE_COS = 0.3, -0.95
"""Tips of two dimensions in a row lie this near to each other, over a head's length, and point opposite ways."""
WITHOUT_BARBS = "tick", "dot"


def without_remains(strokes: Strokes, texts: Sequence[Text]) -> Strokes:
    """Leave out the strokes that are parts of letters or of arrowheads.

    Parameters
    ----------
    strokes : Strokes
        Level pixels, as seen, with all arrowheads.
    texts : sequence of Text
        All that was read.
    """
    heads = _alone_and_tip_to_tip([head for head in strokes.arrowheads if head.form not in WITHOUT_BARBS])
    blocks = [text.block for text in texts if text.readings and text.readings[0].probability >= LEAST_READING]
    shafts = {head.line for head in strokes.arrowheads}

    def remains(stroke: Line | Arc) -> bool:
        if stroke.role not in UNTOLD or stroke.dash is not Dash.SOLID:
            return False
        points, margin = places_on(stroke), MARGIN_PENS * stroke.width_px + MARGIN_PX
        return any(_is_barb(points, each, margin) for each in heads) or any(
            _is_of_letters(points, block, margin) for block in blocks
        )

    kept = [n for n, line in enumerate(strokes.lines) if n in shafts or not remains(line)]
    arcs = tuple(arc for arc in strokes.arcs if not remains(arc))
    if len(kept) == len(strokes.lines) and len(arcs) == len(strokes.arcs):
        return strokes
    place = {n: k for k, n in enumerate(kept)}
    lines = tuple(strokes.lines[n] for n in kept)
    arrowheads = tuple(
        replace(head, line=None if head.line is None else place[head.line]) for head in strokes.arrowheads
    )
    return replace(strokes, lines=lines, arcs=arcs, arrowheads=arrowheads, hatched=hatched_regions(lines))


def places_on(stroke: Line | Arc) -> FloatArray:
    """Points along a stroke, its ends among them, shape (`PLACES`, 2)."""
    share = np.linspace(0.0, 1.0, PLACES)[:, None]
    if isinstance(stroke, Line):
        return np.asarray((1.0 - share) * stroke.start + share * stroke.end, dtype=np.float64)
    turn = np.radians(stroke.start_deg + stroke.sweep_deg * share)
    return np.asarray(stroke.centre + stroke.radius_px * np.hstack([np.cos(turn), -np.sin(turn)]), dtype=np.float64)


def _alone_and_tip_to_tip(heads: list[Arrowhead]) -> list[tuple[Arrowhead, ...]]:
    """Every head by itself, and any two whose tips meet: their ink together looks like a short thick line."""
    reach = TIP_TO_TIP * max((head.length_px for head in heads), default=0.0)
    pairs = [(heads[n], heads[m]) for n, m in pairs_within([head.tip for head in heads], reach)]
    opposite = [
        (a, b)
        for a, b in pairs
        if math.dist(a.tip, b.tip) <= TIP_TO_TIP * min(a.length_px, b.length_px)
        and math.cos(math.radians(a.direction_deg - b.direction_deg)) <= OPPOSITE_COS
    ]
    return [*((head,) for head in heads), *opposite]


def _is_barb(points: FloatArray, heads: tuple[Arrowhead, ...], margin: float) -> bool:
    """Whether a stroke lies wholly within a head, or two."""
    if math.dist(points[0], points[-1]) > LONGEST_BARB * sum(head.length_px for head in heads):
        return False
    return bool(np.any([_within(points, head, margin) for head in heads], axis=0).all())


def _within(points: FloatArray, head: Arrowhead, margin: float) -> NDArray[np.bool_]:
    """Which points lie within a head."""
    turn = math.radians(head.direction_deg)
    x, y = (points - head.tip).T
    back, aside = y * math.sin(turn) - x * math.cos(turn), np.abs(x * math.sin(turn) + y * math.cos(turn))
    within = (back >= -margin) & (back <= head.length_px + margin) & (aside <= WIDEST_BARB * back.clip(0.0) + margin)
    return np.asarray(within)


def _is_of_letters(points: FloatArray, block: TextBlock, margin: float) -> bool:
    """Whether a stroke lies wholly in a row of lettering, or is a mark of inches or feet behind or above its end."""
    corner, right, _, down = (np.array(corner) for corner in block.quad)
    width, depth = float(np.hypot(*(right - corner))), float(np.hypot(*(down - corner)))
    if min(width, depth) <= 0.0:
        return False
    along, across = (points - corner) @ (right - corner) / width, (points - corner) @ (down - corner) / depth
    if _holds(along, across, (-margin, width + margin), (-margin, depth + margin)):
        return True
    length = math.dist(points[0], points[-1])
    is_mark = length <= MARK_HEIGHT * block.height_px and abs(across[-1] - across[0]) >= MARK_SINE * length
    behind, above = BESIDE_HEIGHT * block.height_px, ABOVE_HEIGHT * block.height_px
    return is_mark and _holds(along, across, (0.5 * width, width + behind), (-above, 0.5 * depth))


def _holds(along: FloatArray, across: FloatArray, row: tuple[float, float], column: tuple[float, float]) -> bool:
    within = (along >= row[0]) & (along <= row[1]) & (across >= column[0]) & (across <= column[1])
    return bool(within.all())
