"""What a maker would look for on the sheet and not find.

A dimension line without its figure, a drawn circle or arc of a size that no figure gives, and an overall size that
neither a figure nor a row of figures end to end gives, are scaled from the print, each with its uncertainty. Positions
of holes and inner edges are not looked for, nor roundings so small that the print tells no size of them.
"""

from collections.abc import Sequence

from digitize.dimensions.states.bare_lines import is_same_size, lost_sizes
from digitize.dimensions.states.drawn_sizes import Drawing
from digitize.dimensions.states.overall_sizes import overall_sizes
from digitize.dimensions.states.round_sizes import round_sizes
from digitize.dimensions.table import BareLine, Dimension, Lacking, State, ViewScale
from digitize.lettering.text import Unit
from digitize.strokes.primitives import Strokes


def find_lacking(
    strokes: Strokes,
    rows: Sequence[Dimension],
    bare: Sequence[BareLine],
    scales: Sequence[ViewScale],
    unit: Unit,
    mm_per_px: float,
) -> tuple[Lacking, ...]:
    """Drawn sizes that no figure gives, in the views whose scale is known.

    Parameters
    ----------
    strokes : Strokes
    rows : sequence of Dimension
    bare : sequence of BareLine
        Dimension lines without a figure.
    scales : sequence of ViewScale
    unit : Unit
        Of the sheet's figures.
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    tuple of Lacking
    """
    known = {scale.view: scale for scale in scales if scale.known}
    drawing = Drawing(strokes, tuple(row for row in rows if row.state is not State.UNREAD), known, unit, mm_per_px)
    lost = tuple(lost_sizes(drawing, bare))
    others = (each for each in overall_sizes(drawing) if not any(is_same_size(each, other) for other in lost))
    return (*lost, *round_sizes(drawing), *others)
