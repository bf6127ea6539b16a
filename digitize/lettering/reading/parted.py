"""Callouts that came apart: a figure, a sign and words in line, found as blocks of their own.

Glossary
--------
pieces
    Blocks in line that one callout may have come apart into: ``3/16"``, ``3/32"`` and ``KEYSEAT``.
seam
    What stands between two pieces and belongs to neither: an inch mark, a times or plus-minus sign.

A times or plus-minus sign stands between two figures and never ends one, and words such as DIA or RAD follow theirs.
So pieces in line are read as one. Where the whole says what its ends say, with nothing but a seam between, it stands in
for them; where it holds a sign and says something else, no piece is believed: .001 DIA is no diameter but a tolerance.
Nor is any where an upright line parts them: heads that meet at an extension line look like a times sign.
"""

import re
from collections.abc import Callable, Sequence
from itertools import combinations, pairwise

import numpy as np

from calibrate.sheet import InkImage
from digitize.lettering.finding.gaps import all_inked
from digitize.lettering.finding.placing import frame_axes
from digitize.lettering.grammar import makes_sense
from digitize.lettering.reading.beside import both_ways, doubted
from digitize.lettering.reading.in_line import box_along, follows, letter_height, whole_of
from digitize.lettering.text import Text, TextBlock

NUMBER_GAP_HEIGHTS = 0.95
"""A whole number stands no further from its fraction or decimals than this; a neighbour's figure may stand as near."""
MOST_PIECES = 4
LINE_REACH, LINE_INTO = 0.8, 0.3
"""An upright line between pieces goes on so far from their middle, over and under, in depths of the lesser piece: no
letter does; it may have been taken into the end of one of them so far."""
SURE = 0.5
"""A whole that reads worse than this stands in for nothing."""
SIGNS = "×±"
SIZE_FOLLOWS = "×±+"
SEAM = r"[\"']?[×±]?"
FRACTION, DECIMALS = re.compile(r"\d+/\d+"), re.compile(r"\.\d")
ANOTHER_FIGURE = re.compile(r"\d.*(?!ON)[A-Z]{2}(?=\.?\d)[\d/]*[./\"][\d/\"]*$")
"""A callout, blanks squeezed out, that ends in a size behind its words: a neighbour's, but for a circle it lies ON."""

Read = Callable[[Sequence[TextBlock]], list[Text]]


def made_whole(texts: Sequence[Text], read: Read, ink: InkImage, drawn: InkImage | None = None) -> list[Text]:
    """Put callouts together that came apart.

    Parameters
    ----------
    texts : sequence of Text
        All blocks of a sheet, as read. Rows of notes and tables are left alone.
    read : callable
        Reads blocks.
    ink : array (H, W) of bool
        Of the sheet: lines part pieces.
    drawn : array (H, W) of bool, optional
        Arrowheads: they part pieces too.

    Returns
    -------
    list of Text
        Whole callouts in the place of their pieces; believed less are pieces that a sign leaves in doubt, and a
        callout with a neighbour's size at its end.
    """
    loose = [text for text in texts if text.block.group is None and text.readings]
    runs = [run for run in _runs(loose) if drawn is None or not _have_between(run, drawn)]
    wholes = read([whole_of([text.block for text in run]) for run in runs])
    out = list(texts)
    for run, whole in sorted(zip(runs, wholes, strict=True), key=lambda pair: -len(pair[0])):
        if not all(text in out for text in run):
            continue
        is_mixed = _is_mixed(run, whole)
        if is_mixed or (_is_one(run, whole) and not (_has_sign(run, whole) and _are_parted(run, ink))):
            whole = both_ways(run[1], whole) if is_mixed else whole
            out = [whole if text is run[0] else text for text in out if text is run[0] or not _lies_in(text, whole)]
        elif len(run) == 2 and _has_sign(run, whole):
            out = [doubted(text) if text in run else text for text in out]
    return [doubted(text) if text in loose and ANOTHER_FIGURE.search(_squeezed(text)) else text for text in out]


def _runs(texts: Sequence[Text]) -> list[list[Text]]:
    """Pieces in line, each run from left to right."""
    after: dict[int, list[int]] = {}
    for one, two in combinations(range(len(texts)), 2):
        for first, second in ((one, two), (two, one)):
            if follows(texts[first].block, texts[second].block):
                after.setdefault(first, []).append(second)
    runs: list[list[int]] = [[index] for index in range(len(texts))]
    longer = runs
    found: list[list[int]] = []
    for _ in range(MOST_PIECES - 1):
        longer = [[*run, following] for run in longer for following in after.get(run[-1], [])]
        found += longer
    return [[texts[index] for index in run] for run in found]


def _is_one(run: Sequence[Text], whole: Text) -> bool:
    """Does the whole make sense and say what its ends say, joined by a sign or ending in words?"""
    if not whole.readings or whole.readings[0].probability < SURE or not makes_sense(whole.readings[0].text):
        return False
    said, first, last = (_squeezed(text) for text in (whole, run[0], run[-1]))
    first, last = first.rstrip(SIGNS), last.lstrip(SIGNS)
    if not said.startswith(first) or not said.endswith(last) or len(said) < len(first) + len(last):
        return False
    if ANOTHER_FIGURE.search(said):
        return False
    between = said[len(first) : len(said) - len(last)]
    middles = [re.escape(_squeezed(text).strip(SIGNS)) for text in run[1:-1]]
    sound = re.fullmatch(SEAM + "".join(middle + SEAM for middle in middles), between) is not None
    return sound and any(map(str.isdigit, first)) and (last[:1].isalpha() or bool(set(SIGNS) & set(between)))


def _is_mixed(run: Sequence[Text], whole: Text) -> bool:
    """Is the run a whole number and the fraction or decimals right behind it, and read so?"""
    if len(run) > 2 or not whole.readings or whole.readings[0].probability < SURE:
        return False
    number, rest = (text.readings[0].text for text in run)
    angle_deg = run[0].block.angle_deg
    gap = box_along(run[1].block, angle_deg)[0] - box_along(run[0].block, angle_deg)[2]
    near = gap < NUMBER_GAP_HEIGHTS * max(letter_height(text.block) for text in run)
    joint = "" if DECIMALS.match(rest) else " "
    mixed = number.isdecimal() and (DECIMALS.match(rest) or FRACTION.match(rest))
    return bool(mixed and near and whole.readings[0].text == f"{number}{joint}{rest}")


def goes_on(text: Text, larger: Text) -> bool:
    """Does a larger block say what a block says, and then a sign that a size follows, such as that of a tolerance?"""
    if not text.readings or not larger.readings:
        return False
    said, more = _squeezed(text), _squeezed(larger)
    return more.startswith(said) and more[len(said) :][:1] in tuple(SIZE_FOLLOWS)


def _has_sign(run: Sequence[Text], whole: Text) -> bool:
    """Does the whole hold a sign that neither piece holds?"""
    best = whole.readings[0].text if whole.readings else ""
    return any(sign in best and not any(sign in text.readings[0].text for text in run) for sign in SIGNS)


def _are_parted(run: Sequence[Text], ink: InkImage) -> bool:
    """Does an upright line of the drawing run between two pieces?"""
    angle_deg = run[0].block.angle_deg
    for one, two in pairwise(box_along(text.block, angle_deg) for text in run):
        depth = min(one[3] - one[1], two[3] - two[1])
        middle, into = (one[1] + one[3] + two[1] + two[3]) / 4, LINE_INTO * depth
        across = np.arange(one[2] - into, two[0] + into)
        if all_inked(ink, angle_deg, across, middle + np.arange(-LINE_REACH * depth, LINE_REACH * depth)).any():
            return True
    return False


def _have_between(run: Sequence[Text], drawn: InkImage) -> bool:
    """Does an arrowhead stand between two pieces, in their line?"""
    angle_deg = run[0].block.angle_deg
    for one, two in pairwise(box_along(text.block, angle_deg) for text in run):
        depth = min(one[3] - one[1], two[3] - two[1])
        middle = (one[1] + one[3] + two[1] + two[3]) / 4
        u, v = np.meshgrid(np.arange(one[2], two[0]), middle + np.arange(-depth / 4, depth / 4))
        columns, rows = np.rint(np.column_stack([u.ravel(), v.ravel()]) @ frame_axes(angle_deg)).astype(int).T
        inside = (rows >= 0) & (columns >= 0) & (rows < drawn.shape[0]) & (columns < drawn.shape[1])
        if drawn[rows[inside], columns[inside]].any():
            return True
    return False


def _squeezed(text: Text) -> str:
    return re.sub(r"\s", "", text.readings[0].text)


def _lies_in(text: Text, whole: Text) -> bool:
    """Is a block's middle within the whole?"""
    left, top, right, bottom = box_along(whole.block, whole.block.angle_deg)
    x, y = np.mean(text.block.quad, axis=0) @ frame_axes(whole.block.angle_deg).T
    return bool(left < x < right and top < y < bottom)
