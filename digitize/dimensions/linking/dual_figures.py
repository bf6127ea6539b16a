"""Dual dimensions found in two pieces: inches and millimetres of one length beside each other, or over each other."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations, product

from digitize.dimensions.linking.candidates import Parser
from digitize.dimensions.linking.directions import across, along, fold_deg, unit
from digitize.lettering.text import Layout, Reading, Text, TextBlock

SAME_WAY_DEG = 5.0
LIKE_HEIGHTS = 1.3
"""Both are lettered alike: neither is taller than this many times the other."""
BESIDE_HEIGHTS = 1.6
"""The second stands no further behind the first, in figure heights: a space, and no more."""
OVER_HEIGHTS = 2.0
"""... or no further under it: a dimension line with the paper over and under it."""
OFF_LINE_HEIGHTS = 0.5
ALTERNATIVES = 5
"""Readings of each that are tried with those of the other."""


def join_duals(texts: Sequence[Text], parse: Parser) -> tuple[Text, ...]:
    """Join texts that say one length in inches and in millimetres.

    Parameters
    ----------
    texts : sequence of Text
    parse : callable
        Canonical text to Callout or None.

    Returns
    -------
    tuple of Text
        The first of two, or the upper, has the whole, the other is gone; all others are untouched and in order. What
        only stands so and is not the same length is not joined.
    """
    result: list[Text | None] = list(texts)
    loose = [i for i, text in enumerate(texts) if text.block.group is None and _has_size(text, parse)]
    for first, second in permutations(loose, 2):
        one, other = result[first], result[second]
        if one is None or other is None or not _may_be_one(one.block, other.block):
            continue
        over = not _is_beside(one.block, other.block)
        readings = _said_twice(one, other, over, parse)
        if readings:
            result[first], result[second] = _joined(one, other, over, readings), None
    return tuple(text for text in result if text is not None)


def _has_size(text: Text, parse: Parser) -> bool:
    """Is its best reading one size?"""
    callout = parse(text.readings[0].text) if text.readings else None
    return callout is not None and [value.nominal is not None for value in callout.values].count(True) == 1


def _may_be_one(one: TextBlock, other: TextBlock) -> bool:
    """Do both run the same way, as tall, the other right behind the one or right under it?"""
    if abs(fold_deg(other.angle_deg - one.angle_deg, 360.0)) > SAME_WAY_DEG:
        return False
    short, tall = sorted((one.height_px, other.height_px))
    return tall < LIKE_HEIGHTS * short and (_is_beside(one, other) or _is_over(one, other))


def _is_beside(one: TextBlock, other: TextBlock) -> bool:
    way, height = unit(one.angle_deg), one.height_px
    gap = min(along(c, one.centre, way) for c in other.quad) - max(along(c, one.centre, way) for c in one.quad)
    level = abs(across(other.centre, one.centre, way)) < OFF_LINE_HEIGHTS * height
    return level and abs(gap - BESIDE_HEIGHTS * height / 2) < BESIDE_HEIGHTS * height


def _is_over(one: TextBlock, other: TextBlock) -> bool:
    """Does the one stand right over the other, their middles in line?"""
    way, height = unit(one.angle_deg), one.height_px
    gap = min(across(c, one.centre, way) for c in other.quad) - max(across(c, one.centre, way) for c in one.quad)
    return abs(along(other.centre, one.centre, way)) < height and 0 <= gap < OVER_HEIGHTS * height


def _said_twice(one: Text, other: Text, over: bool, parse: Parser) -> tuple[Reading, ...]:
    """What both say together where their best readings are one length, best first; nothing where they are not."""
    bare = (
        Reading(_written(a.text, b.text, over), a.probability * b.probability)
        for a, b in product(one.readings[:ALTERNATIVES], other.readings[:ALTERNATIVES])
    )
    rows = [row for row in bare if parse(row.text) is not None]
    if not rows or rows[0].text != _written(one.readings[0].text, other.readings[0].text, over):
        return ()
    best = parse(rows[0].text)
    agrees = best is not None and any(v.restated is not None and v.restated.agrees for v in best.values)
    return tuple(sorted(rows, key=lambda row: -row.probability)[:ALTERNATIVES]) if agrees else ()


def _written(one: str, other: str, over: bool) -> str:
    return f"{one}\n{other}" if over else f"{one} ({other.strip('()')})"


def _joined(one: Text, other: Text, over: bool, readings: tuple[Reading, ...]) -> Text:
    first, second = one.block.quad, other.block.quad
    if over:
        quad = first[0], first[1], second[2], second[3]
        return replace(one, block=replace(one.block, quad=quad, layout=Layout.STACK), readings=readings)
    return replace(one, block=replace(one.block, quad=(first[0], second[1], second[2], first[3])), readings=readings)
