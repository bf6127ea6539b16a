"""Read the blocks that the finder found: crops to readings, trying other directions where the first is poor.

A block's direction comes from its shape, which does not tell a half turn. The figures of a drawing are read from the
bottom or from the right of the sheet, so that direction is tried first and believed when it makes sense; where it does
not, the half turn, and for short blocks the quarter turns, may be better.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
from shapely import STRtree

from calibrate.errors import InputError
from calibrate.sheet import InkImage, LevelSheet
from digitize.lettering.crops import PAPER, cut
from digitize.lettering.finding.high_marks import with_high_marks
from digitize.lettering.grammar import makes_sense
from digitize.lettering.reading.bars import with_bars_as_seen
from digitize.lettering.reading.beside import both_ways, doubted, grown
from digitize.lettering.reading.candidates import areas_of, without_parts_said
from digitize.lettering.reading.contest import DOUBTFUL, contested
from digitize.lettering.reading.halves import with_halves_doubted
from digitize.lettering.reading.improper import without_improper
from digitize.lettering.reading.let_in import takes_in, without_parts
from digitize.lettering.reading.line_through import line_through
from digitize.lettering.reading.neighbours import as_doubtful, seen_with_neighbours
from digitize.lettering.reading.once import Reader
from digitize.lettering.reading.other_directions import is_sideways, other_directions
from digitize.lettering.reading.parted import goes_on, made_whole
from digitize.lettering.reading.read_on import read_on
from digitize.lettering.reading.row_by_row import joined_lines, letter_and_size, lines_of
from digitize.lettering.reading.two_figures import cut_in_two, may_be_two
from digitize.lettering.reading.worth import figure_worth, worth
from digitize.lettering.surroundings import Surroundings
from digitize.lettering.text import Layout, Text, TextBlock

WORDS_TURNED = 0.2
"""Weight of words where a block is turned to them: any letters are words."""
POOR = 0.5
"""A best reading below this, or without a meaning, sends a block through its other directions."""
BETTER = 1.5
"""How many times better another direction must read than the usual one."""
NESTED = 0.5
"""A block lies within another when so much of it does."""


def default_reader() -> Reader:
    """Our own network where its model is there, else Tesseract where it is installed.

    Raises
    ------
    InputError
        Where there is neither.
    """
    from digitize.lettering import network
    from digitize.lettering.reading import tesseract

    if network.MODEL.exists():
        return _own_reader()
    if tesseract.is_installed():
        return tesseract.TesseractReader()
    raise InputError(
        "There is nothing to read lettering with: install tesseract-ocr and the extra 'tesseract', or put the file "
        f"{network.MODEL.name} back into the package."
    )


@cache
def _own_reader() -> Reader:
    """Our own network, opened once: that takes as long as to read ten figures."""
    from digitize.lettering import network

    return network.NetworkReader()


def read_blocks(
    sheet: LevelSheet,
    blocks: Sequence[TextBlock],
    reader: Reader,
    rivals: Sequence[TextBlock] = (),
    drawn: InkImage | None = None,
) -> tuple[Text, ...]:
    """Read blocks.

    Parameters
    ----------
    sheet : LevelSheet
    blocks : sequence of TextBlock
    reader : Reader
    rivals : sequence of TextBlock
        Other ways to part the ink of blocks, see `digitize.lettering.finding.rivals`.
    drawn : ndarray, bool, shape (H, W), optional
        Level ink that is surely of the drawing, such as arrowheads. It is left where a figure is read, which it may
        touch, but is no part of one: a rival that takes it in is none, and beside a block it raises no doubt.

    Returns
    -------
    tuple of Text
        In the order of the blocks, then those for which rivals stand in, then what these leave, unread. What lies
        within another block is not read twice; a block that was read in another direction is turned to it; a row that
        only makes sense as two figures is given as two.
    """
    bare = sheet if drawn is None else replace(sheet, grey=np.where(drawn, np.uint8(PAPER), sheet.grey))
    around = Surroundings(sheet)
    clear = around if bare is sheet else Surroundings(bare)
    blocks = without_nested(blocks)
    usual = [doubted(text) if is_sideways(text.block) else text for text in _read(sheet, blocks, reader)]
    doubtful = [index for index, text in enumerate(usual) if worth(text) < POOR]
    others = [(index, other) for index in doubtful for other in other_directions(usual[index])]
    turned_texts = _read(sheet, [block for _, block in others], reader)
    best = dict(enumerate(usual))
    for (index, _), text in zip(others, turned_texts, strict=True):
        if worth(text, WORDS_TURNED) > max(BETTER * worth(usual[index]), worth(best[index])):
            best[index] = doubted(text) if is_sideways(blocks[index]) else text
    letters = _read_lines(sheet, best, reader)
    longer, made = read_on(clear, [*best.values(), *letters], lambda some: _read(sheet, some, reader))
    plain = made_whole(longer, lambda some: _read(sheet, some, reader), sheet.ink, drawn)
    seen = seen_with_neighbours(around, clear, plain, plain)
    seen = with_halves_doubted(seen, rivals, lambda some: _read(sheet, some, reader))
    doubted_ones = [old for new, old in zip(seen, plain, strict=True) if new is not old]
    in_doubt = areas_of([text.block for text in doubted_ones])
    wholes = [text for text in doubted_ones if figure_worth(text) > DOUBTFUL]
    larger = without_parts(
        [rival for rival in rivals if bare is sheet or not takes_in(sheet, bare, rival)],
        [text.block for text in wholes],
    )
    won, rest, unread = contested(
        bare, seen, larger, lambda some: without_parts_said(_read(sheet, some, reader), wholes), figure_worth
    )
    known = {text.block for text in seen}  # what was doubted before is not doubted twice
    texts = [
        text if text.block in known else as_doubtful((around, clear), text, [*rest, *unread, *won], in_doubt, plain)
        for text in (*_grown(sheet, clear, rest, won, reader), *won)
    ]
    pieces = [piece for text in texts for piece in _in_pieces(sheet, text, reader)]
    both = {each.whole.block: each.both for each in made}
    texts = made_whole(pieces, lambda some: _read(sheet, some, reader), sheet.ink, drawn)
    final = [both.get(text.block, text) for text in texts]
    return (*(replace(text, line_through=line_through(sheet, text)) for text in final), *unread)


def without_nested(blocks: Sequence[TextBlock]) -> tuple[TextBlock, ...]:
    """Blocks that do not lie within another: a part of a figure is no figure."""
    quads = areas_of(blocks)
    tree = STRtree(quads)

    def nested(index: int) -> bool:
        own = quads[index]
        return any(
            other != index and quads[other].area > own.area and own.intersection(quads[other]).area > NESTED * own.area
            for other in tree.query(own).tolist()
        )

    return tuple(block for index, block in enumerate(blocks) if not nested(index))


def _read_lines(sheet: LevelSheet, best: dict[int, Text], reader: Reader) -> list[Text]:
    """Read the two lines of stacks that read poorly one by one; what they say together must make sense as limits.

    Where one is the letter of a cutting plane and the other a size, that stands alone. Returned are the letters.
    """
    poor = [index for index, text in best.items() if text.block.layout is Layout.STACK and worth(text) < POOR]
    halves = {index: lines for index in poor if (lines := lines_of(sheet, best[index].block)) is not None}
    texts = iter(_read(sheet, [line for lines in halves.values() for line in lines], reader))
    letters: list[Text] = []
    for index, upper, lower in zip(halves, texts, texts, strict=True):
        both = joined_lines(best[index].block, upper, lower)
        if both.readings and makes_sense(both.readings[0].text) and worth(both) > max(POOR, worth(best[index])):
            best[index] = both
        elif (parted := letter_and_size(upper, lower)) is not None:
            best[index] = parted[1]
            letters.append(parted[0])
    return letters


def _grown(
    sheet: LevelSheet, bare: Surroundings, texts: Sequence[Text], won: Sequence[Text], reader: Reader
) -> list[Text]:
    """Read blocks with unclaimed figures beside them both ways; for those that won, that was a rival."""
    blocks = [text.block for text in (*texts, *won) if worth(text) >= POOR]  # what reads poorly claims no ink
    larger = {
        index: block for index, text in enumerate(texts) if (block := grown(bare, text.block, blocks)) is not None
    }
    out = list(texts)
    for index, text in zip(larger, _read(sheet, list(larger.values()), reader), strict=True):
        if text.readings and makes_sense(text.readings[0].text):
            out[index] = both_ways(out[index], text)
        elif goes_on(out[index], text):  # a tolerance of which a part is not read
            out[index] = doubted(out[index])
    return out


def _read(sheet: LevelSheet, blocks: Sequence[TextBlock], reader: Reader) -> list[Text]:
    if not blocks:
        return []
    crops = [cut(sheet, block) for block in blocks]
    readings = reader.read(crops, [block.layout for block in blocks])
    texts = [Text(block, without_improper(best), reader.name) for block, best in zip(blocks, readings, strict=True)]
    return [with_bars_as_seen(sheet, with_high_marks(sheet, text)) for text in texts]


def _in_pieces(sheet: LevelSheet, text: Text, reader: Reader) -> list[Text]:
    """The text, or two where only these make sense or a gap parts them: figures of lines that stand close together."""
    one = any(makes_sense(reading.text) for reading in text.readings[:1]) and not may_be_two(text)
    if text.block.group is not None or one:
        return [text]
    blocks = cut_in_two(sheet, text.block)
    if blocks is None:
        return [text]
    halves = _read(sheet, blocks, reader)
    sound = all(half.readings and re.search(r"\d", half.readings[0].text) for half in halves)
    return halves if sound and min(worth(half) for half in halves) > POOR else [text]
