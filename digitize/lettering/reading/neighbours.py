"""What stands beside a block and may be a part of it, so that the block is believed less."""

from collections.abc import Sequence
from dataclasses import replace

from shapely import Polygon

from digitize.lettering.finding.across_lines import has_figure_across_line
from digitize.lettering.reading.beside import doubted
from digitize.lettering.reading.candidates import areas_of
from digitize.lettering.reading.halves import HALF
from digitize.lettering.reading.parted import goes_on
from digitize.lettering.reading.rows_beside import has_bar_over, has_row_beside
from digitize.lettering.reading.run_into import (
    has_one_in_line_beside,
    has_struck_one_beside,
    touched_figures_beside,
)
from digitize.lettering.surroundings import Surroundings
from digitize.lettering.text import Text, TextBlock

OTHER_FIGURES = tuple("023456789.")
"""A size that begins so may have lost a 1."""
SAME_AREA = 0.75
"""Two ways to part ink are of one figure when they share so much of the larger one's box."""


def seen_with_neighbours(
    around: Surroundings, bare: Surroundings, texts: Sequence[Text], among: Sequence[Text]
) -> list[Text]:
    """Doubt blocks that have a row over or under them, or a figure beside them that ran into something else.

    What only shows where the ink of the drawing is left in, or only where it is taken away, is no reason.
    """
    blocks = [text.block for text in among]
    seen = [_seen_with(around, text, blocks) for text in texts]
    if bare is around:
        return seen
    return [new if new is old else _seen_with(bare, old, blocks) for new, old in zip(seen, texts, strict=True)]


def _seen_with(around: Surroundings, text: Text, blocks: Sequence[TextBlock]) -> Text:
    """The text, doubted as its neighbours bid; a figure before it, which a length can tell, is told from the rest."""
    block, best = text.block, text.readings[0].text if text.readings else ""
    before, behind = touched_figures_beside(around, block, blocks)
    if behind or has_row_beside(around, block, blocks) or has_figure_across_line(around, block):
        return doubted(text)
    if HALF.fullmatch(best) and has_bar_over(around, block, blocks):
        return doubted(text)
    in_line = best[:1] in OTHER_FIGURES and has_one_in_line_beside(around, block)
    if before or in_line or has_struck_one_beside(around, block, blocks):
        return replace(doubted(text), cut_before=True)
    return text


def as_doubtful(
    arounds: tuple[Surroundings, Surroundings],
    text: Text,
    among: Sequence[Text],
    in_doubt: Sequence[Polygon],
    found: Sequence[Text],
) -> Text:
    """A newcomer, doubted as its neighbours bid, as a block was whose ink it takes in and no more, or where more of
    what was found goes on with a sign."""
    (area,) = areas_of([text.block])
    if any(area.intersection(other).area > SAME_AREA * max(area.area, other.area) for other in in_doubt):
        return doubted(text)
    if any(goes_on(text, old) and area.intersects(Polygon(old.block.quad)) for old in found):
        return doubted(text)
    return seen_with_neighbours(*arounds, [text], among)[0]
