"""`part.dxf`: the part as dimensioned: closed outlines, DIMENSION entities, the gear's true teeth."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from digitize.dimensions.table import Dimension, Reconciled, State
from digitize.gears.identifying.finding import GearFinding
from digitize.lettering.text import Text, Unit
from digitize.redraw import dxf
from digitize.redraw.gear_outline import GearPlan, covered
from digitize.redraw.keyseat_note import keyseat_notes
from digitize.redraw.planes.pieces import piece_line
from digitize.redraw.report import Outline, OutlineKind, PartReport, PlacedView
from digitize.redraw.solving.drawn_views import part_frame
from digitize.redraw.solving.figures import LIMITS
from digitize.redraw.solving.open_chains import OpenChain, ends_of, open_chains, where
from digitize.redraw.solving.solved import SolvedView, solve_part
from digitize.redraw.writing import dimensioned
from digitize.redraw.writing.figure_entities import add_figures, list_below
from digitize.redraw.writing.figure_words import DECIMALS, MOST_LISTED, scaled_words
from digitize.redraw.writing.laid_on_print import frame_on_print
from digitize.redraw.writing.profile_entities import add_open, add_profile, add_teeth
from digitize.redraw.writing.set_screw import add_set_screw
from digitize.redraw.writing.sheet_blocks import add_notes, add_sheet_blocks
from digitize.report.frame import Frame
from digitize.report.wording import INTERVAL_95
from digitize.strokes.primitives import Strokes

NO_FIGURE = "it is not tied to anything drawn"
NOTHING_DRAWN = "no view is drawn here: give a length that you know (--known), and a view's scale follows"


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
    frame = part_frame(frame, reconciled)
    part = solve_part(strokes, reconciled, gear, frame, unit)
    solved, plan = part.views, part.gear
    drawing = dxf.new_drawing(unit, frame.paper_mm * dxf.per_mm(unit))
    dimensioned.add_style(drawing, frame.paper_mm * dxf.per_mm(unit), unit)
    outlines: list[Outline] = []
    unclosed, open_places = [(each, _open(each, plan)) for each in solved], 0
    for each, chains in unclosed:
        with dxf.view_group(drawing, each.view.name):
            outlines += add_profile(drawing, each, plan, unit)
            open_places += add_open(drawing, each, chains, unit)
    with dxf.view_group(drawing, plan.view):
        outlines += add_teeth(drawing, plan, part.curves, unit)
    screw = add_set_screw(drawing, plan, part.curves, reconciled, strokes, unit)
    add_figures(drawing, solved, reconciled, unit)
    in_line = (row for each in solved for row in _in_line(each, unit))
    remarks = [*part.left_out, *keyseat_notes(part, reconciled, unit), *in_line]
    word = [gear.by_word] if gear is not None and gear.by_word and plan.spec is not None else []
    nothing = [] if solved else [NOTHING_DRAWN]
    below = [*nothing, *remarks, *plan.notes, *word]
    list_below(drawing, part, reconciled, frame, unit, open_places, below)
    if solved:
        rows = reconciled.dimensions
        add_sheet_blocks(drawing, strokes, texts, reconciled.title_block, frame, dxf.per_mm(unit), rows)
        add_notes(drawing, strokes, texts, frame, dxf.per_mm(unit))
    dxf.save(drawing, path)
    used = tuple(name for each in solved for name in each.profile.ends)
    ends = [end for each, chains in unclosed for chain in chains for end in ends_of(each.view, chain)]
    notes = [note for each in solved for note in (*each.profile.notes, *_left_free(each, unit))]
    notes += [_area(each, unit) for each in outlines if each.kind is OutlineKind.OUTER and not each.determined]
    notes += [*_between_limits(reconciled, used), *remarks]
    open_words = [where(each.view, chains, unit) for each, chains in unclosed if chains]
    said = (*part.notes, *open_words, *notes, *plan.notes, *screw)
    return PartReport(
        tuple(outlines),
        used,
        _left_out(solved, reconciled, used),
        contradicting=tuple(name for each in solved for name in each.profile.contradicting),
        in_excess=tuple(name for each in solved for name in each.profile.in_excess),
        freedom=tuple((each.view.name, each.profile.freedom) for each in solved if each.profile.rings),
        open_ends=tuple(ends),
        notes=tuple(dict.fromkeys(said)),
        views=tuple(PlacedView(str(each.view.name), frame_on_print(each), each.view.proven) for each in solved),
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


def _area(outer: Outline, unit: Unit) -> str:
    """A sentence on how nearly the area of an outer outline is known that figures do not settle."""
    squared, decimals = dxf.per_mm(unit) ** 2, DECIMALS[unit] - 1
    size = f"view {outer.view}: its outline encloses {outer.area_mm2 * squared:.{decimals}f}"
    if not outer.settled:
        return f"{size} square {unit.value} as drawn here: how far that is off is not known"
    off = INTERVAL_95 * outer.area_std_mm2 * squared
    return f"{size} ± {off:.{decimals}f} square {unit.value}, for the lengths that are scaled"


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


def _open(solved: SolvedView, plan: GearPlan) -> list[OpenChain]:
    """What does not close in a view, the gear's drawn teeth left out."""
    shape, view = solved.profile, solved.view
    return [
        chain
        for chain in open_chains(shape, view.frame.paper_mm)
        if not all(covered(plan, view.name, piece_line(shape.plane, piece)) for piece in chain.pieces)
    ]


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
