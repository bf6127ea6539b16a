"""The print as an archival PDF whose words can be searched: the text lies unseen on the picture, where it was read."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import numpy as np
from reportlab.pdfbase.pdfmetrics import registerFont, stringWidth
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from calibrate.sheet import FloatArray, LevelSheet
from digitize.archive.archival import make_archival
from digitize.lettering.text import Reading, Text
from digitize.report.check_pdf import sheet_page

FONT = "Vera"
"""Comes with the library that writes the PDF, under a licence that lets it be embedded."""
CAPITAL_HEIGHT = 0.729
"""Height of its capitals, in parts of the size of the type (the outline of its H: 1493 of 2048)."""
SPELLED = str.maketrans("⌀∅φ′″μ", "ØØØ'\"µ")
"""Signs of the trade that the font lacks, and what stands for them."""
LACKING = "?"
"""Stands for any other sign that it lacks: an archival PDF may name no glyph that is not there."""
_TYPE = TTFont(FONT, f"{FONT}.ttf", asciiReadable=False)
registerFont(_TYPE)
INVISIBLE: Final = 3
"""Text render mode (ISO 32000-1, table 106)."""
SAME_PLACE = 0.25
"""A row stands where a text stands if their middles are nearer than this, in heights of its letters."""
WHOLE_PERCENT = 100
SUBJECT = "The text was read by machine and may be wrong; the state of every value is in dimensions.json."


def write_searchable(path: Path, sheet: LevelSheet, texts: Sequence[Text]) -> None:
    """Write the level sheet with its text.

    Parameters
    ----------
    path : Path
    sheet : LevelSheet
        With its pictures. The page has the paper's size, as far as the resolution of the scan is known.
    texts : sequence of Text
        The likeliest reading of each is laid where it was found; what nobody could read is left out.
    """
    canvas, point = sheet_page(path, sheet, sheet.path.stem, FONT)
    canvas.setSubject(SUBJECT)
    for text in texts:
        if text.readings:
            quad = np.array(text.block.quad, dtype=np.float64)
            for line, corners in _lines(text.readings[0].text, quad):
                _lay(canvas, spelled(line), corners, sheet.grey.shape[0], point)
    canvas.save()
    make_archival(path)


def spelled(line: str) -> str:
    """A text in signs that the font has.

    Examples
    --------
    >>> spelled("⌀ 1.250 ± .001 ☃")
    'Ø 1.250 ± .001 ?'
    """
    return "".join(sign if ord(sign) in _TYPE.face.charToGlyph else LACKING for sign in line.translate(SPELLED))


def with_confirmed(sheet: LevelSheet, texts: Sequence[Text], rows: Sequence[Mapping[str, Any]]) -> tuple[Text, ...]:
    """The texts, with what a person confirmed or corrected in place of what the reader saw.

    Parameters
    ----------
    sheet : LevelSheet
    texts : sequence of Text
    rows : sequence of mapping
        Of the table: a confirmed one stands where its text stands.
    """
    told = [(np.mean(row["quad_px"], axis=0), row) for row in rows if row["confirmed_by"] and row["text"]]
    return tuple(_confirmed(sheet, text, told) for text in texts)


def _confirmed(sheet: LevelSheet, text: Text, told: Sequence[tuple[FloatArray, Mapping[str, Any]]]) -> Text:
    centre = sheet.source_points(np.array([text.block.centre], dtype=np.float64))[0]
    reach_px = text.block.height_px * SAME_PLACE
    for at, row in told:
        if np.hypot(*(at - centre)) < reach_px:
            return replace(text, readings=(Reading(row["text"], 1.0),), reader=row["confirmed_by"])
    return text


def _lines(text: str, quad: FloatArray) -> Iterator[tuple[str, FloatArray]]:
    """Figures over one another each get their share of the block's height, upper first."""
    lines = text.split("\n")
    top_left, top_right, low_right, low_left = quad
    for number, line in enumerate(lines):
        upper, lower = number / len(lines), (number + 1) / len(lines)
        ends = [
            top_left + upper * (low_left - top_left),
            top_right + upper * (low_right - top_right),
            top_right + lower * (low_right - top_right),
            top_left + lower * (low_left - top_left),
        ]
        yield line, np.array(ends)


def _lay(canvas: Canvas, line: str, quad: FloatArray, height_px: int, point: float) -> None:
    """One line of text from the left end of the quad's foot to its right end."""
    across, along = quad[2] - quad[3], quad[0] - quad[3]
    width, size = float(np.hypot(*across)) * point, float(np.hypot(*along)) * point / CAPITAL_HEIGHT
    natural = stringWidth(line, FONT, size)
    if width <= 0 or size <= 0 or natural <= 0:
        return
    x, y = (quad[3][0] + 0.5) * point, (height_px - 0.5 - quad[3][1]) * point
    turn = math.atan2(-across[1], across[0])
    written = canvas.beginText()
    written.setTextRenderMode(INVISIBLE)
    written.setFont(FONT, size)
    written.setHorizScale(WHOLE_PERCENT * width / natural)
    written.setTextTransform(math.cos(turn), math.sin(turn), -math.sin(turn), math.cos(turn), x, y)
    written.textOut(line)
    canvas.drawText(written)
