"""`part.dxf`: the part as dimensioned: closed outlines, DIMENSION entities, the gear's true teeth."""

from collections.abc import Iterator, Sequence
from itertools import groupby
from pathlib import Path

from digitize.dimensions.table import Dimension, Reconciled, State
from digitize.gears.identifying.finding import GearFinding
from digitize.lettering.text import Text, Unit
from digitize.redraw import dxf
from digitize.redraw.gear_outline import covered
from digitize.redraw.keyseat_note import keyseat_notes
from digitize.redraw.planes.pieces import piece_line
from digitize.redraw.report import Outline, PartReport
from digitize.redraw.solving.drawn_views import part_frame
from digitize.redraw.solving.figures import LIMITS
from digitize.redraw.solving.heavy_edges import with_heavy_edges
from digitize.redraw.solving.open_chains import OpenChain, ends_of, open_chains, where
from digitize.redraw.solving.solved import Part, SolvedView, solve_part
from digitize.redraw.writing import dimensioned
from digitize.redraw.writing.figure_entities import add_figures, list_below
from digitize.redraw.writing.figure_words import DECIMALS, MOST_LISTED, scaled_words
from digitize.redraw.writing.profile_entities import add_open, add_profile, add_teeth
from digitize.redraw.writing.set_screw import add_set_screw
from digitize.redraw.writing.sheet_blocks import add_notes, add_sheet_blocks
from digitize.report.frame import Frame
from digitize.strokes.primitives import Strokes

NO_FIGURE = "it is not tied to anything drawn"


def write_part(
    path: Path,
    strokes: Strokes,
    reconciled: Reconciled,
    gear: GearFinding | None,
    frame: Frame,
    unit: Unit,
    texts: Sequence[Text] = (),
) -> PartReport:
    """Write the part as dimensioned.

    Parameters
    ----------
    path : Path
    strokes : Strokes
    reconciled : Reconciled
        Of whole views, as `whole_views` gives both.
    gear : GearFinding or None
        Its teeth are drawn where its system, pitch and pressure angle can be stated; on their own layer while unproven.
    frame : Frame
        Of the sheet; each view keeps its place on the sheet and has its own scale.
    unit : Unit
        INCH or MM, the file's.
    texts : sequence of Text
        All lettering of the sheet, for title block and tables.

    Returns
    -------
    PartReport
        What was closed, which figures hold, what was left out and why.
    """
    strokes = with_heavy_edges(strokes)
    frame = part_frame(frame, reconciled)
    part = solve_part(strokes, reconciled, gear, frame, unit)
    solved, plan = part.views, part.gear
    drawing = dxf.new_drawing(unit, frame.paper_mm * dxf.per_mm(unit))
    dimensioned.add_style(drawing, frame.paper_mm * dxf.per_mm(unit), unit)
    outlines: list[Outline] = []
    for each in solved:
        outlines += add_profile(drawing, each, plan, unit)
    outlines += add_teeth(drawing, plan, part.curves, unit)
    screw = add_set_screw(drawing, plan, part.curves, reconciled, strokes, unit)
    add_figures(drawing, solved, reconciled, unit)
    unclosed = list(_open(part))
    in_line = (row for each in solved for row in _in_line(each, unit))
    remarks = [*part.left_out, *keyseat_notes(part, reconciled, unit), *in_line]
    word = [gear.by_word] if gear is not None and gear.by_word and plan.spec is not None else []
    below = [*remarks, *plan.notes, *word]
    list_below(drawing, part, reconciled, frame, unit, add_open(drawing, unclosed, unit), below)
    if solved:
        add_sheet_blocks(drawing, strokes, texts, reconciled.title_block, frame, dxf.per_mm(unit))
        add_notes(drawing, strokes, texts, frame, dxf.per_mm(unit))
    dxf.save(drawing, path)
    used = tuple(name for each in solved for name in each.profile.ends)
    ends = [end for each, chain in unclosed for end in ends_of(each.view, chain)]
    notes = [note for each in solved for note in (*each.profile.notes, *_left_free(each, unit))]
    notes += [*_between_limits(reconciled, used), *remarks]
    said = (*part.notes, *_open_words(unclosed, unit), *notes, *plan.notes, *screw)
    return PartReport(
        tuple(outlines),
        used,
        _left_out(solved, reconciled, used),
        contradicting=tuple(name for each in solved for name in each.profile.contradicting),
        in_excess=tuple(name for each in solved for name in each.profile.in_excess),
        freedom=tuple((each.view.name, each.profile.freedom) for each in solved if each.profile.rings),
        open_ends=tuple(ends),
        notes=tuple(dict.fromkeys(said)),
    )


def _left_free(solved: SolvedView, unit: Unit) -> Iterator[str]:
    """Sentences on the degrees of freedom that are left, which they are, and on the figures in excess."""
    shape, name = solved.profile, solved.view.name
    if shape.freedom:
        lengths = "1 length is" if shape.freedom == 1 else f"{shape.freedom} lengths are"
        named = shape.scaled[:MOST_LISTED]
        listed = ", ".join(scaled_words(each, unit) for each in named)
        more = f" and {shape.freedom - len(named)} more" if shape.freedom > len(named) else ""
        said = f": {listed}{more}" if listed else ""
        yield f"view {name}: {lengths} left to the print's own scale (degrees of freedom){said}"
    if shape.in_excess:
        repeat = "it repeats what other figures give, and agrees"
        if len(shape.in_excess) > 1:
            repeat = "they repeat what other figures give, and agree"
        yield f"view {name}: {', '.join(shape.in_excess)} in excess: {repeat}"


def _in_line(solved: SolvedView, unit: Unit) -> Iterator[str]:
    """A sentence on each row of equal holes that are drawn out of line and of which figures do not place every one."""
    factor, decimals = dxf.per_mm(unit), DECIMALS[unit]
    for row in solved.profile.in_line:
        place, apart = f"{row.place_mm * factor:.{decimals - 1}f}", f"{row.apart_mm * factor:.{decimals}f}"
        if float(apart) > 0:
            yield (
                f"view {solved.view.name}: {row.holes} equal holes are taken to be in line at {row.axis} {place} "
                f"{unit.value}, where they are drawn {apart} apart: no figure places each by itself"
            )


def _between_limits(reconciled: Reconciled, used: Sequence[str]) -> Iterator[str]:
    """A sentence on each figure that gives two limits and no size."""
    between = (each for each in reconciled.dimensions if each.id in used and each.style == LIMITS)
    yield from (f"{each.id} is drawn at the middle of its two limits" for each in between)


def _open(part: Part) -> Iterator[tuple[SolvedView, OpenChain]]:
    """What does not close, the gear's drawn teeth left out."""
    for each in part.views:
        for chain in open_chains(each.profile, each.view.frame.paper_mm):
            lines = [piece_line(each.profile.plane, piece) for piece in chain.pieces]
            if not all(covered(part.gear, each.view.name, line) for line in lines):
                yield each, chain


def _open_words(unclosed: Sequence[tuple[SolvedView, OpenChain]], unit: Unit) -> Iterator[str]:
    """A sentence on each view that has open outlines."""
    for _, group in groupby(unclosed, key=lambda pair: pair[0].view.name):
        pairs = list(group)
        yield where(pairs[0][0].view, [chain for _, chain in pairs], unit)


def _left_out(solved: Sequence[SolvedView], reconciled: Reconciled, used: Sequence[str]) -> tuple[tuple[str, str], ...]:
    reasons = {name: why for each in solved for name, why in each.profile.left_out}
    return tuple(
        (each.id, reasons.get(each.id) or _why_unused(each, {one.view.name for one in solved}))
        for each in reconciled.dimensions
        if each.id not in used
    )


def _why_unused(dimension: Dimension, views: set[str | None]) -> str:
    if dimension.state is not State.AGREED:
        return f"it is {dimension.state.value}"
    if dimension.geometry is None:
        return NO_FIGURE
    if dimension.view not in views:
        return "its view is not redrawn"
    return "it is no length"
