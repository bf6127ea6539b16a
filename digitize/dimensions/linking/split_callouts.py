"""Callouts that the finder parted: 3/8 × 3/16 and KEYSEAT are one, and so are 1 5/8 and 5/8 DIA of the same 5/8."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations, product

from digitize.dimensions.linking.candidates import Parser
from digitize.dimensions.linking.cells import join_cells
from digitize.dimensions.linking.directions import across, along, fold_deg, unit
from digitize.dimensions.linking.dual_figures import join_duals
from digitize.dimensions.linking.schedules import join_schedules
from digitize.lettering.text import Callout, Reading, Text, TextBlock

SAME_WAY_DEG = 5.0
"""Words of one callout run the same way to this."""
OFF_LINE_HEIGHTS = 0.5
"""Their middles are no further off one line, in figure heights."""
GAP_HEIGHTS = -0.4, 1.6
"""The gap between them, in figure heights: a space, and no more."""
LIKE_HEIGHTS = 1.6
"""Neither is taller than this many times the other; but words may be as tall as the stack before them."""
SHARED_HEIGHTS = 0.3
"""Boxes that hold the same size overlap by more, in figure heights: those of neighbours do not."""
LEAST_JOINED = 0.3
"""Texts that overlap are left alone where the whole reads worse."""
ALTERNATIVES = 5
"""Readings of a joined callout."""
INCH, STROKES_OF_INCH = '"', "'\" "
"""The mark of inches behind a figure, and what a part of it reads as before the word that took it in."""


def whole_texts(texts: Sequence[Text], parse: Parser) -> tuple[Text, ...]:
    """The texts that dimensions are made of: labels with their values, figures with their words, inches with mm."""
    return join_duals(
        join_callouts(join_overlapping(join_cells(join_schedules(texts, parse), parse), parse), parse), parse
    )


def join_overlapping(texts: Sequence[Text], parse: Parser) -> tuple[Text, ...]:
    """Join texts in line whose boxes overlap where the one ends with the size that the other begins with.

    Parameters
    ----------
    texts : sequence of Text
    parse : callable
        Canonical text to Callout or None.

    Returns
    -------
    tuple of Text
        The first of two has the whole, the other is gone; all others are untouched and in order.
    """
    result: list[Text | None] = list(texts)
    loose = [i for i, text in enumerate(texts) if text.block.group is None and text.readings]
    for first, second in permutations(loose, 2):
        one, other = result[first], result[second]
        if one is None or other is None or not _overlaps(one.block, other.block):
            continue
        readings = _shared_once(one, other, parse)
        if readings:
            result[first], result[second] = replace(one, block=_both(one.block, other.block), readings=readings), None
    return tuple(text for text in result if text is not None)


def _overlaps(block: TextBlock, tail: TextBlock) -> bool:
    """Does ``tail`` stand on the line of ``block``, begin well within it and not end before it?"""
    way = unit(block.angle_deg)
    if abs(fold_deg(tail.angle_deg - block.angle_deg, 360.0)) > SAME_WAY_DEG:
        return False
    own, its = ([along(corner, block.centre, way) for corner in each.quad] for each in (block, tail))
    level = abs(across(tail.centre, block.centre, way)) < OFF_LINE_HEIGHTS * block.height_px
    within = min(own) < min(its) < max(own) - SHARED_HEIGHTS * block.height_px
    return level and within and max(own) < max(its)


def _shared_once(one: Text, other: Text, parse: Parser) -> tuple[Reading, ...]:
    """What two texts say together that say a size between them twice, best first; nothing where they don't."""
    pairs = product(one.readings[:ALTERNATIVES], other.readings[:ALTERNATIVES])
    found = ((_joined_at_size(a.text, b.text), a.probability * b.probability) for a, b in pairs)
    rows = [Reading(text, probability) for text, probability in found if text and parse(text) is not None]
    rows.sort(key=lambda reading: -reading.probability)
    return tuple(rows[:ALTERNATIVES]) if rows and rows[0].probability > LEAST_JOINED else ()


def _joined_at_size(one: str, other: str) -> str:
    """Both with the size that they share said once; empty where they share none, or the second adds nothing to it.

    Examples
    --------
    >>> _joined_at_size("1 5/8", '5/8" DIA'), _joined_at_size("3/16 × 3/32", "32 KEYS")
    ('1 5/8" DIA', '')
    """
    size = one.rsplit(" ", 1)[-1]
    goes_on = other.removeprefix(size)
    ends = goes_on not in ("", other) and not goes_on[0].isalnum() and any(character.isdigit() for character in size)
    return one + goes_on if ends else ""


def join_callouts(texts: Sequence[Text], parse: Parser) -> tuple[Text, ...]:
    """Join figures with the words right behind them that say what they are of.

    Parameters
    ----------
    texts : sequence of Text
    parse : callable
        Canonical text to Callout or None.

    Returns
    -------
    tuple of Text
        Words that were joined are gone; all others are untouched and in order.
    """
    result: list[Text | None] = list(texts)
    words = [i for i, text in enumerate(texts) if _is_words(text, parse)]
    figures = [i for i, text in enumerate(texts) if text.block.group is None and _values(text, parse)]
    for tail in words:
        behind = [i for i in figures if result[i] is texts[i] and _follows(texts[i].block, texts[tail].block)]
        joined = _joined(texts[behind[0]], texts[tail], parse) if len(behind) == 1 else None
        if joined is not None:
            result[behind[0]], result[tail] = joined, None
    return tuple(text for text in result if text is not None)


def _values(text: Text, parse: Parser) -> Callout | None:
    """The callout of the best reading, where it holds a number."""
    callout = parse(text.readings[0].text) if text.readings else None
    return callout if callout is not None and any(v.nominal is not None for v in callout.values) else None


def _is_words(text: Text, parse: Parser) -> bool:
    """Words without a number, outside of notes and tables."""
    if not text.readings or text.block.group is not None or _values(text, parse):
        return False
    read = text.readings[0].text
    return not any(character.isdigit() for character in read) and any(character.isalpha() for character in read)


def _follows(block: TextBlock, tail: TextBlock) -> bool:
    """Does ``tail`` stand on the line of ``block``, right behind it?"""
    height, way = block.height_px, unit(block.angle_deg)
    if abs(fold_deg(tail.angle_deg - block.angle_deg, 360.0)) > SAME_WAY_DEG:
        return False
    aside = [across(corner, block.centre, way) for corner in block.quad]
    tallest = max(LIKE_HEIGHTS * height, max(aside) - min(aside))
    if height > LIKE_HEIGHTS * tail.height_px or tail.height_px > tallest:
        return False
    end = max(along(corner, block.centre, way) for corner in block.quad)
    start = min(along(corner, block.centre, way) for corner in tail.quad)
    gap = (start - end) / height
    return GAP_HEIGHTS[0] < gap < GAP_HEIGHTS[1] and (
        abs(across(tail.centre, block.centre, way)) < OFF_LINE_HEIGHTS * height
    )


def _joined(figure: Text, tail: Text, parse: Parser) -> Text | None:
    """Both as one text; None where the words add nothing to the figures, or change their numbers."""
    word = tail.readings[0]
    rows = [
        Reading(f"{r.text} {_word_behind(r.text, word.text)}", r.probability * word.probability)
        for r in figure.readings[:ALTERNATIVES]
    ]
    alone, together = _values(figure, parse), parse(rows[0].text)
    if alone is None or together is None or together.values == alone.values:
        return None
    if [v.nominal for v in together.values] != [v.nominal for v in alone.values]:
        return None
    return replace(figure, block=_both(figure.block, tail.block), readings=tuple(rows))


def _both(block: TextBlock, tail: TextBlock) -> TextBlock:
    """The block drawn out to the end of the one behind it."""
    return replace(block, quad=(block.quad[0], tail.quad[1], tail.quad[2], block.quad[3]))


def _word_behind(figure: str, word: str) -> str:
    """The word without the stroke of an inch mark that the figure has whole."""
    return word.lstrip(STROKES_OF_INCH) if figure.endswith(INCH) else word
