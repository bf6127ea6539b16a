"""Rows that stand in line, joined to one: words of a note, letters that a line runs through, signs between figures."""

import math
from collections.abc import Sequence

import numpy as np

from calibrate.restoring.connected import Pieces
from calibrate.sheet import InkImage
from digitize.lettering.finding.loose import Loose
from digitize.lettering.finding.parts import Look, Part
from digitize.lettering.finding.placing import frame_axes, place
from digitize.lettering.finding.row import Row, joined, row_of
from digitize.lettering.finding.rows import rows_at

WORD_GAP = 1.15
"""Widest paper between words of one row, in figure heights."""
SIGN_GAP = 3.2
LONGEST_SIGN = 1.1
"""A dash or equals sign between words, and the words' distance then, in figure heights."""
SLOPING = 0.25
"""Boxes of sloping letters reach this far over each other, in figure heights."""
LIKE_HEIGHT = 0.55
LIKE_HEIGHT_ALONE = 0.4
"""Words in line differ no more in height, and a lone times sign among them."""
SAME_LEVEL = 0.4
SAME_ANGLE_DEG = 4.0
TOUCHED_LOW, TOUCHED_HIGH, TOUCHED_GAP = 0.75, 1.3, 0.8
"""Height of a letter at the end of a row, and the paper between, in figure heights."""
FIGURE_GAP = 0.35
"""Paper between the letters of one figure, in figure heights."""


def with_lone_letters_turned(rows: Sequence[Row], usual_height: float) -> list[Row]:
    """Give single letters, which may read either way, the direction of the words that they stand in line with."""
    words = [row for row in rows if row.letters >= 2]
    return [_turned_to_words(row, words, usual_height) if row.letters < 2 else row for row in rows]


def _turned_to_words(row: Row, words: Sequence[Row], usual_height: float) -> Row:
    best, best_gap = row, math.inf
    for word in words:
        if not _are_near(row, word):
            continue
        turned = rows_at(row.parts, word.angle_deg, usual_height)
        if len(turned) != 1 or not _holds_letters_of(row, turned[0]):
            continue
        for gap in (_gap_in_line(turned[0], word), _gap_in_line(word, turned[0])):
            if gap is not None and gap < best_gap:
                best, best_gap = turned[0], gap
    return best


def _holds_letters_of(row: Row, turned: Row) -> bool:
    """Whether a row turned has all that it had, but for points: a speck beside a letter is one in its old direction."""
    left = {part.label for part in turned.parts}
    return all(part.look is Look.DOT for part in row.parts if part.label not in left)


def _are_near(row: Row, word: Row) -> bool:
    """Whether a row may be a word's next letter, whichever way it is turned."""
    reach = sum(math.dist(each.quad[0], each.quad[2]) for each in (row, word)) / 2
    return math.dist(row.centre, word.centre) < reach + 2 * WORD_GAP * max(row.height, word.height)


def with_touched_letters(rows: Sequence[Row], parts: Sequence[Part]) -> list[Row]:
    """Give rows the letters at their ends that a line of the drawing runs through.

    Such a letter is no sure lettering by itself; beside a row that it continues it is, and a figure without it would
    read as another size.
    """
    claimed = {part.label for row in rows for part in row.parts}
    looks = (Look.GLYPH, Look.RING, Look.BAR)
    loose = Loose([part for part in parts if part.label not in claimed and part.look in looks])
    waiting, out = list(rows), list[Row]()
    while waiting:
        row = waiting.pop(0)
        while (letter := _next_letter(row, loose)) is not None:
            row = joined(row, row_of(place([letter], row.angle_deg), row.angle_deg, row.height))
            loose.take(letter)
            for others in (waiting, out):
                for other in [other for other in others if _are_parted_by(letter, row, other)]:
                    others.remove(other)
                    row = joined(row, other)
        out.append(row)
    return out


def _are_parted_by(letter: Part, row: Row, other: Row) -> bool:
    """Whether another row goes on right beyond the letter at a row's end, which parted the two."""
    if abs(other.angle_deg - row.angle_deg) > SAME_ANGLE_DEG:
        return False
    (placed,) = place([letter], row.angle_deg)
    at_end = placed.right >= row.box[2]
    gap = _gap_in_line(row, other, FIGURE_GAP) if at_end else _gap_in_line(other, row, FIGURE_GAP)
    return not letter.free and gap is not None and gap > -SLOPING * row.height


def _next_letter(row: Row, loose: Loose) -> Part | None:
    """A loose letter of a row's own height that stands just before or after it."""
    left, _, right, _ = row.box
    reach = 2 * row.height + right - left
    for item in place(loose.near(row.centre, reach), row.angle_deg):
        gap = max(left - item.right, item.left - right)
        like = TOUCHED_LOW * row.height < item.height < TOUCHED_HIGH * row.height and item.width < 1.3 * row.height
        level = min(abs(item.middle[1] - v) for v in _levels(row)) < 0.2 * row.height
        if like and level and -0.2 * row.height < gap < TOUCHED_GAP * row.height:
            return item.part
    return None


def join_words(ink: InkImage, pieces: Pieces, rows: Sequence[Row], loose: Sequence[Part] = ()) -> list[Row]:
    """Join rows that stand in line, a word's space apart, with nothing drawn between them.

    A dash or an equals sign among ``loose`` may stand between two words and is taken in. ``pieces`` are those of the
    ink without lines, of which the rows' parts are some.
    """
    waiting = sorted(rows, key=lambda row: (round(row.angle_deg), row.box[0]))
    done: list[Row] = []
    while waiting:
        row = waiting.pop(0)
        following = _next_word(ink, pieces, row, waiting, loose)
        if following is None:
            done.append(row)
        else:
            partner, whole = following
            waiting.remove(partner)
            waiting.insert(0, whole)
    return done


def _next_word(
    ink: InkImage, pieces: Pieces, row: Row, others: Sequence[Row], loose: Sequence[Part]
) -> tuple[Row, Row] | None:
    """The row's next word, and the two as one row."""
    in_line = []
    for other in others:
        if abs(other.angle_deg - row.angle_deg) <= SAME_ANGLE_DEG:
            gap = _gap_in_line(row, other, SIGN_GAP)
            if gap is not None:
                in_line.append((gap, other))
    if not in_line:
        return None
    gap, other = min(in_line, key=lambda item: item[0])
    signs = _signs_between(row, other, loose)
    if gap >= WORD_GAP * max(row.height, other.height) and not signs:
        return None
    whole = joined(row, other, signs)
    return None if _is_crossed(ink, pieces, row, other, signs) else (other, whole)


def _signs_between(row: Row, other: Row, loose: Sequence[Part]) -> list[Part]:
    """Level bars between two words, no word's space from either."""
    height = max(row.height, other.height)
    level = (row.box[1] + row.box[3]) / 2
    bars = [
        item
        for item in place(loose, row.angle_deg)
        if row.box[2] - SLOPING * height < item.left
        and item.right < other.box[0] + SLOPING * height
        and abs(item.middle[1] - level) < 0.35 * height
        and item.height < item.width < LONGEST_SIGN * height
    ]
    if not bars:
        return []
    first, last = min(item.left for item in bars), max(item.right for item in bars)
    near = max(first - row.box[2], other.box[0] - last, last - first) < WORD_GAP * height
    return [item.part for item in bars] if near else []


def _gap_in_line(row: Row, other: Row, widest: float = WORD_GAP) -> float | None:
    """Paper from a row's end to another's start, where the two stand in line; None where they do not."""
    height = max(row.height, other.height)
    least = LIKE_HEIGHT_ALONE if 1 in (len(row.parts), len(other.parts)) else LIKE_HEIGHT
    if min(row.height, other.height) < least * height:
        return None
    gap = other.box[0] - row.box[2]
    apart = min(abs(one - two) for one in _levels(row) for two in _levels(other))
    return gap if -0.5 * height < gap < widest * height and apart <= SAME_LEVEL * height else None


def _levels(row: Row) -> list[float]:
    """Where a word may stand beside a row: at its middle, and beside either line of a stack without a bar."""
    middle = (row.box[1] + row.box[3]) / 2
    if not row.is_pair:
        return [middle]
    return [middle, row.box[1] + row.height / 2, row.box[3] - row.height / 2]


def _is_crossed(ink: InkImage, pieces: Pieces, row: Row, other: Row, signs: Sequence[Part] = ()) -> bool:
    """Whether something is drawn in the paper between two rows in line."""
    axes = frame_axes(row.angle_deg)
    level = (row.box[1] + row.box[3] + other.box[1] + other.box[3]) / 4
    start, end = row.box[2] + 1, other.box[0] - 1
    if end <= start:
        return False
    own = {part.label for part in (*row.parts, *other.parts, *signs)}
    for v in (level - 0.3 * row.height, level, level + 0.3 * row.height):
        steps = max(math.ceil(end - start) + 1, 2)
        points = np.column_stack([np.linspace(start, end, steps), np.full(steps, v)]) @ axes
        columns = np.clip(np.rint(points[:, 0]).astype(int), 0, ink.shape[1] - 1)
        lines = np.clip(np.rint(points[:, 1]).astype(int), 0, ink.shape[0] - 1)
        hit = ink[lines, columns]
        if any(label not in own for label in pieces.at(lines[hit], columns[hit]).tolist()):
            return True
    return False
