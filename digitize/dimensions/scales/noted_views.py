"""Views drawn to another scale than the sheet's, as the note beside them says: "SECTION A-A SCALE 2:1".

Such a view has few dimensions, often two: too few to make a scale of their own. The two notes, the view's and the title
block's, say how many times larger it is drawn; where its figures bear that out, it shares the sheet's scale.
"""

from collections.abc import Sequence

from digitize.dimensions.scales.off_scale import LEAST_READING, drawn_to_show, gap
from digitize.lettering.text import Text
from digitize.standards import ScaleNote, scale_note
from digitize.strokes.primitives import Strokes

AMBIGUOUS = "ambiguous"


def noted_ratios(texts: Sequence[Text], strokes: Strokes, sheet_note: str, mm_per_px: float) -> dict[str, float]:
    """Part mm per paper mm of views over that of the sheet, by their notes.

    Parameters
    ----------
    texts : sequence of Text
    strokes : Strokes
    sheet_note : str
        The scale in the title block, as read; empty where there is none.
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    dict of str to float
        By view; the sheet's own scale is left out.
    """
    whole = _plain_note(sheet_note)
    drawn = drawn_to_show(strokes, mm_per_px)
    blocks = [view for view in strokes.views if view.kind == "title_block"]
    if whole is None or not drawn:
        return {}
    found: dict[str, float] = {}
    for text in texts:
        at = text.block.centre
        if not text.readings or text.readings[0].probability < LEAST_READING or any(not gap(b, at) for b in blocks):
            continue
        note = _plain_note(text.readings[0].text)
        if note is not None and note.drawn_over_real != whole.drawn_over_real:
            found[min(drawn, key=lambda view: gap(view, at)).id] = float(whole.drawn_over_real / note.drawn_over_real)
    return found


def _plain_note(text: str) -> ScaleNote | None:
    """The scale that a note says, after the title of its view.

    Examples
    --------
    >>> _plain_note("SECTION A-A SCALE 2:1").drawn_over_real, _plain_note("SCALE HALF SIZE").drawn_over_real
    (Fraction(2, 1), Fraction(1, 2))
    >>> _plain_note("SCALE 1/4"), _plain_note("FULL SIZE DETAIL")
    (None, None)
    """
    _, word, rest = text.upper().partition("SCALE")
    note = scale_note(word + rest) if word else None
    return note if note is not None and note.kind != AMBIGUOUS else None
