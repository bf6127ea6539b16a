"""Title block and tables of the print as blocks of `part.dxf`: their lines, their lettering, and the fields read.

Each is one INSERT where the sheet has it. The fields that were read of the title block hang on it as invisible
attributes, so that a drawing register can ask for them.
"""

import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np
from ezdxf.document import Drawing
from ezdxf.enums import TextEntityAlignment
from ezdxf.layouts.base import BaseLayout
from ezdxf.layouts.blocklayout import BlockLayout
from shapely import LineString, box

from calibrate.sheet import apply_homography
from digitize.dimensions.table import Dimension, State
from digitize.lettering.grammar import parse
from digitize.lettering.meaning.labels import gear_row
from digitize.lettering.text import Callout, Kind, Text, TextBlock
from digitize.redraw import dxf
from digitize.redraw.trace import NOTE_LAYER, NOTE_STYLE
from digitize.redraw.writing.dimensioned import TEXT_MM
from digitize.report.frame import Frame
from digitize.strokes.primitives import Point, Role, Strokes, View

NAMES = {"title_block": "TITLE_BLOCK", "table": "TABLE"}
_NO_TAG = re.compile(r"[^A-Z0-9_]+")
UNREAD = "?"
SURE = 0.9
"""A note whose reading is less probable is no note to hand on."""
SLACK_PX, LEAST_SHARE = 3.0, 0.5
"""The frame's lines lie on the edge of a division; one that only touches a corner is none of its sides."""


def add_sheet_blocks(
    drawing: Drawing,
    strokes: Strokes,
    texts: Sequence[Text],
    fields: Mapping[str, str],
    frame: Frame,
    factor: float,
    dimensions: Sequence[Dimension] = (),
) -> None:
    """Add a block for the title block and for each table.

    Parameters
    ----------
    drawing : Drawing
    strokes : Strokes
    texts : sequence of Text
        All lettering of the sheet; a block takes what stands in it, unread lettering as a question mark.
    fields : mapping of str to str
        Read of the title block.
    frame : Frame
        Of the sheet.
    factor : float
        File units in one length unit of the frame.
    dimensions : sequence of Dimension, optional
        What is believed of the figures: a block says that, and not what the reader saw first.
    """
    believed = _at_places(dimensions, frame)
    counts: dict[str, int] = {}
    for view in (each for each in strokes.views if each.kind in NAMES):
        counts[view.kind] = counts.get(view.kind, 0) + 1
        name = NAMES[view.kind] if counts[view.kind] == 1 else f"{NAMES[view.kind]}_{counts[view.kind]}"
        foot = dxf.scaled(frame.point((view.box[0], view.box[3])), factor)
        block = drawing.blocks.new(name)
        _draw(drawing, block, view, strokes, texts, frame, factor, foot, believed)
        insert = drawing.modelspace().add_blockref(name, foot, {"layer": dxf.add_role_layer(drawing, Role.TABLE)})
        if view.kind == "title_block":
            for tag, value in sorted(fields.items()):
                attributes = {"height": TEXT_MM * frame.paper_mm * factor}
                insert.add_attrib(_NO_TAG.sub("_", tag.upper()), value, foot, attributes).is_invisible = True


def _draw(
    drawing: Drawing,
    block: BlockLayout,
    view: View,
    strokes: Strokes,
    texts: Sequence[Text],
    frame: Frame,
    factor: float,
    foot: Point,
    believed: Sequence[tuple[Point, Dimension]],
) -> None:
    """Lines and lettering of a division, measured from its foot."""

    def place(point: Point) -> Point:
        x, y = dxf.scaled(frame.point(point), factor)
        return x - foot[0], y - foot[1]

    for start, end in _rules(view, strokes):
        block.add_line(place(start), place(end), {"layer": dxf.add_role_layer(drawing, Role.TABLE)})
    for text in texts:
        if not _is_in(view, text.block.centre):
            continue
        dxf.add_layer(drawing, NOTE_LAYER, NOTE_STYLE)
        row = next((row for at, row in believed if text.block.holds(at)), None)
        words = _as_read(text) if row is None else _as_believed(text, row)
        _write(block, words.replace("\n", " "), text.block, place, text.block.height_px * frame.y_mm_per_px * factor)


def _at_places(dimensions: Sequence[Dimension], frame: Frame) -> list[tuple[Point, Dimension]]:
    """Each row of the table with the middle of its lettering, in level pixels."""
    middles = np.array([np.mean(each.quad_px, axis=0) for each in dimensions], dtype=np.float64).reshape(-1, 2)
    level = apply_homography(frame.level_from_source, middles).tolist()
    return [((x, y), each) for (x, y), each in zip(level, dimensions, strict=True)]


def _as_read(text: Text) -> str:
    """Lettering of which the table says nothing: words as they were read, figures only where that is sure."""
    if not text.readings:
        return UNREAD
    best = text.readings[0]
    has_figures = any(character.isdigit() for character in best.text)
    return UNREAD if has_figures and best.probability < SURE else best.text


def _as_believed(text: Text, row: Dimension) -> str:
    """What a cell says by its row of the table, without the label that the row repeats from the cell before it."""
    if row.state is State.UNREAD:
        return UNREAD
    own = gear_row(text.readings[0].text.upper()) if text.readings else None
    data = gear_row(row.text.upper())
    repeats_label = data is not None and data.filled and own is None
    return data.filled if data is not None and repeats_label else row.text


def _write(space: BaseLayout, words: str, block: TextBlock, place: Callable[[Point], Point], height: float) -> None:
    """Words where the print has them, and as wide in any lettering.

    They stand in the middle of their block, which is taller where a rule of the table was found as one with them.
    """
    spare = (1 - block.height_px / max(math.dist(block.quad[0], block.quad[3]), block.height_px)) / 2
    first, last = (_between(block.quad[foot], block.quad[head], spare) for foot, head in ((3, 0), (2, 1)))
    written = space.add_text(words, height=height, dxfattribs={"layer": NOTE_LAYER})
    if words == UNREAD:  # drawn out over its block it could not be told for one
        written.set_placement(place(first))
    else:
        written.set_placement(place(first), place(last), TextEntityAlignment.FIT)


def _between(one: Point, other: Point, share: float) -> Point:
    return one[0] + (other[0] - one[0]) * share, one[1] + (other[1] - one[1]) * share


def add_notes(drawing: Drawing, strokes: Strokes, texts: Sequence[Text], frame: Frame, factor: float) -> None:
    """Add the sheet's notes where they stand, such as which edges to break; those hardly read as a question mark.

    Parameters are as in `add_sheet_blocks`.
    """
    divisions = [each for each in strokes.views if each.kind in NAMES]
    for text in texts:
        if not _is_note(text) or any(_is_in(each, text.block.centre) for each in divisions):
            continue
        dxf.add_layer(drawing, NOTE_LAYER, NOTE_STYLE)
        words = text.readings[0].text if text.readings[0].probability >= SURE else UNREAD
        height = text.block.height_px * frame.y_mm_per_px * factor
        _write(drawing.modelspace(), words, text.block, lambda at: dxf.scaled(frame.point(at), factor), height)


def _is_note(text: Text) -> bool:
    """Whether a line of lettering is words alone, no size."""
    if not text.readings or "\n" in text.readings[0].text:
        return False
    said = parse(text.readings[0].text)
    return isinstance(said, Callout) and all(each.kind is Kind.NOTE for each in said.values)


def _rules(view: View, strokes: Strokes) -> Iterator[tuple[Point, Point]]:
    """The division's own rules, and as much of the sheet's frame as closes it."""
    room = box(*view.box).buffer(SLACK_PX, join_style="mitre")
    for line in strokes.lines:
        if line.role is Role.TABLE and line.view == view.id:
            yield line.start, line.end
        elif line.role is Role.BORDER:
            within = LineString([line.start, line.end]).intersection(room)
            if within.length > LEAST_SHARE * min(view.box[2] - view.box[0], view.box[3] - view.box[1]):
                (x0, y0), (x1, y1) = within.coords[0], within.coords[-1]
                yield (x0, y0), (x1, y1)


def _is_in(view: View, point: Point) -> bool:
    left, top, right, bottom = view.box
    return left <= point[0] <= right and top <= point[1] <= bottom
