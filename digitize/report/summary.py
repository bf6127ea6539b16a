"""The few lines that a person reads when a sheet is done."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from calibrate.sheet import LevelSheet, ResolutionStatus
from digitize.dimensions.reconcile import by_state
from digitize.dimensions.table import Dimension, Reconciled, State
from digitize.gears.desk.of_print import desk_words
from digitize.gears.identifying.claim import title_of
from digitize.gears.identifying.finding import GearFinding
from digitize.gears.identifying.sheet_body import body_of_sheet
from digitize.lettering.text import Kind, Unit
from digitize.redraw.report import PartReport
from digitize.redraw.solving.figures import LENGTHS

if TYPE_CHECKING:
    from digitize.pipeline import SheetResult

FIRST_TO_CHECK = 8
"""Lines of "check first" that still get read."""
AFTER_MEASURED = 2
"""Reasons begin with what is read and what is measured; what contradicts these repeats both."""
MEASURED_KINDS = (*LENGTHS, Kind.ANGLE)
"""What shapes an outline."""
LEAST_NAMED = 0.5
"""A gear that is less likely right than wrong is not named in one line; a reader would take it for the answer."""


def summary_of(result: "SheetResult", out: Path) -> str:
    """Sheet, scale and how it is known, dimensions by state, gear, what to check first.

    Parameters
    ----------
    result : SheetResult
    out : Path
        Where the files are.

    Returns
    -------
    str
    """
    sheet, reconciled = result.sheet, result.reconciled
    turned_over = ", turned over" if sheet.turned_over else ""
    lines = [
        f"{sheet.path.name}, page {sheet.page} of {sheet.page_count}: "
        f"skew {sheet.skew_deg:+.3f} deg, turned by {sheet.orientation_deg} deg{turned_over}",
        f"Scale: {scale_words(reconciled, sheet)}",
        f"Dimensions: {state_words(reconciled)}",
        f"Gear: {gear_words(result.gear)}",
        *gear_lines(result.gear),
        *strength_lines(result),
        *check_first(reconciled.dimensions),
        *(outline_lines(reconciled.dimensions, result.part) if result.part is not None else ()),
        *lacking_lines(reconciled),
        *(f"Note: {warning}" for warning in (*sheet.warnings, *reconciled.warnings)),
        f"Written to {out}",
    ]
    return "\n".join(lines)


def scale_words(reconciled: Reconciled, sheet: LevelSheet) -> str:
    """The main scale, how it is known, and the shrink."""
    paper_known = sheet.resolution.status is not ResolutionStatus.UNKNOWN
    if not reconciled.scales or not reconciled.scales[0].known:
        lengths = "lengths are those of the paper" if paper_known else f"lengths are in pixels; {sheet.resolution.note}"
        return f"not known: too few dimensions agree; {lengths}. A length that you know tells it: --known"
    main = reconciled.scales[0]
    mean = (main.x_mm_per_px + main.y_mm_per_px) / 2
    percent = 100 * max(main.x_std / main.x_mm_per_px, main.y_std / main.y_mm_per_px)
    stretch = 100 * (main.x_mm_per_px / main.y_mm_per_px - 1)
    times = f"{mean / sheet.paper_mm_per_px:.4g} times the paper, " if paper_known else ""
    return (
        f"{mean:.5f} mm of part a pixel, {times}+- {percent:.3f} %, "
        f"from {main.known}; across against up {stretch:+.2f} %"
    )


def state_words(reconciled: Reconciled) -> str:
    """Counts by state, in the order to look at them."""
    counts = by_state(reconciled.dimensions)
    if not reconciled.dimensions:
        return "none could be read; the trace is still written"
    return ", ".join(f"{counts[state]} {state.value}" for state in reversed(list(counts)))


def gear_words(gear: GearFinding | None) -> str:
    """The gear in a sentence."""
    if gear is None:
        return "none seen on this sheet"
    if not gear.candidates:
        return f"{gear.kind}, {gear.state.value}; no standard system fits"
    best = gear.candidates[0]
    if best.probability < LEAST_NAMED:
        return f"{gear.state.value}; none of the systems that fit is likelier than {best.probability:.2f}"
    sure = "" if gear.state is State.AGREED else f", probability {best.probability:.2f}"
    return f"{best.teeth} teeth, {title_of(gear)} ({gear.state.value}{sure})"


def gear_lines(gear: GearFinding | None) -> Iterator[str]:
    """What a person said of a gear; of one not agreed what is decided, what is not, and what to measure on the part."""
    if gear is not None and gear.state is State.AGREED and gear.by_word:
        yield f"  {gear.by_word}"
    if gear is not None and gear.state is not State.AGREED:
        yield from (f"  {sentence}" for sentence in (*gear.evidence, *gear.measure_next))


def strength_lines(result: "SheetResult") -> Iterator[str]:
    """How to learn what breaks first on an agreed gear."""
    if result.gear is None:
        return
    body = body_of_sheet(result.reconciled, result.texts, result.strokes)
    words = desk_words(result.gear, body, "in" if result.reconciled.unit is Unit.INCH else "mm")
    if words is not None:
        yield f"What breaks first, with what it is made of and carries (an estimate, no rating): {words}"
        if body.unproven:
            yield f"  Of its body unproven, check on the part: {', '.join(body.unproven)}"


def check_first(dimensions: tuple[Dimension, ...]) -> Iterator[str]:
    """The doubtful rows, worst first: before all, what a person confirmed against the drawing."""
    spoken_for = [row for row in dimensions if row.contradicted]
    doubtful = [row for state in (State.DISPUTED, State.UNREAD) for row in dimensions if row.state is state]
    doubtful = [*spoken_for, *doubtful]
    if doubtful:
        yield "Check first:"
    for row in doubtful[:FIRST_TO_CHECK]:
        yield f"  {row.id}  {one_line(row.text) or '(not read)'}  {row.state.value}: {'; '.join(_why(row))}"
    if len(doubtful) > FIRST_TO_CHECK:
        yield f"  ... and {len(doubtful) - FIRST_TO_CHECK} more in the table"


def _why(row: Dimension) -> tuple[str, ...]:
    """What speaks against a row: all that goes beyond what it reads and measures; of an unread one the last word."""
    if row.contradicted or row.state is State.DISPUTED:
        return row.evidence[AFTER_MEASURED:] or row.evidence[-1:]
    return row.evidence[-1:]


def outline_lines(dimensions: Sequence[Dimension], part: PartReport) -> Iterator[str]:
    """Why `part.dxf` does not follow a figure that a person vouches for, or one that contradicts others."""
    why = dict(part.left_out)
    for row in dimensions:
        if row.id in why and (row.id in part.contradicting or (row.confirmed_by and row.kind in MEASURED_KINDS)):
            yield f"Outline: {row.id}  {one_line(row.text)}  is not followed: {why[row.id]}"


def lacking_lines(reconciled: Reconciled) -> Iterator[str]:
    """What a maker would miss on the sheet, and what it gives once too often."""
    told = [*(each.words for each in reconciled.lacking), *reconciled.excess]
    yield from (f"Lacking: {words}" if i < len(reconciled.lacking) else f"Over-dimensioned: {words}"
                for i, words in enumerate(told[:FIRST_TO_CHECK]))  # fmt: skip
    if len(told) > FIRST_TO_CHECK:
        yield f"  ... and {len(told) - FIRST_TO_CHECK} more in the table"


def one_line(text: str) -> str:
    """A stacked text in one line."""
    return text.replace("\n", " / ")
