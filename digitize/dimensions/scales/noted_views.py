"""Views drawn to another scale than the sheet's, as the note beside them says: "SECTION A-A SCALE 2:1".

Such a view has few dimensions, often two: too few to make a scale of their own. The two notes, the view's and the title
block's, say how many times larger it is drawn; where its figures bear that out, it shares the sheet's scale. On a sheet
of several parts the title block may say AS NOTED: then the note that most parts have stands for the sheet's.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction

from digitize.dimensions.scales.off_scale import LEAST_READING, drawn_to_show, gap
from digitize.lettering.meaning.detail_titles import detail_title
from digitize.lettering.text import Text
from digitize.standards import scale_note
from digitize.strokes.primitives import Strokes

AMBIGUOUS = "ambiguous"
_BY_PART = re.compile(r"(?:AS )?(?:NOTED|SHOWN|STATED)|VARIOUS|SEE DETAILS?")


def noted_ratios(
    texts: Sequence[Text],
    strokes: Strokes,
    sheet_note: str,
    mm_per_px: float,
    level_with: Mapping[str, Sequence[str]] | None = None,
) -> dict[str, float]:
    """Part mm per paper mm of views over that of the sheet, by their notes.

    Parameters
    ----------
    texts : sequence of Text
    strokes : Strokes
    sheet_note : str
        The scale in the title block, as read; empty where there is none.
    mm_per_px : float
        Paper millimetres per level pixel.
    level_with : mapping of view to views, optional
        Which views each is projected from: one without a note of its own has theirs.

    Returns
    -------
    dict of str to float
        By view; the sheet's own scale is left out.
    """
    notes = _notes_by_view(texts, strokes, mm_per_px)
    whole = _plain_scale(sheet_note)
    if whole is None and _BY_PART.fullmatch(sheet_note.upper().removeprefix("SCALE").strip(" :.")) and notes:
        whole = Counter(notes.values()).most_common(1)[0][0]
    if whole is None:
        return {}
    for view, others in (level_with or {}).items():
        theirs = {notes[other] for other in others if other in notes}
        if view not in notes and len(theirs) == 1:
            notes[view] = theirs.pop()
    return {view: float(whole / note) for view, note in notes.items() if note != whole}


def _notes_by_view(texts: Sequence[Text], strokes: Strokes, mm_per_px: float) -> dict[str, Fraction]:
    """Drawn over real by the note that stands nearest each view, outside of title blocks."""
    drawn = drawn_to_show(strokes, mm_per_px)
    blocks = [view for view in strokes.views if view.kind == "title_block"]
    found: dict[str, Fraction] = {}
    for text in texts if drawn else ():
        at = text.block.centre
        if not text.readings or text.readings[0].probability < LEAST_READING or any(not gap(b, at) for b in blocks):
            continue
        note = _plain_scale(text.readings[0].text)
        if note is not None:
            found[min(drawn, key=lambda view: gap(view, at)).id] = note
    return found


def _plain_scale(text: str) -> Fraction | None:
    """Drawn over real as a note says it, after the title of its view.

    Examples
    --------
    >>> _plain_scale("SECTION A-A SCALE 2:1"), _plain_scale("SCALE HALF SIZE"), _plain_scale("DET. 2 1 REQ'D HALF SIZE")
    (Fraction(2, 1), Fraction(1, 2), Fraction(1, 2))
    >>> _plain_scale("SCALE 1/4"), _plain_scale("FULL SIZE DETAIL")
    (None, None)
    """
    title = detail_title(" ".join(text.upper().split()))
    if title is not None:
        note = scale_note(title.scale)
    else:
        _, word, rest = text.upper().partition("SCALE")
        note = scale_note(word + rest) if word else None
    return note.drawn_over_real if note is not None and note.kind != AMBIGUOUS else None
