"""The whole job on one screen: a print in, dimensions one can stake a workpiece on out.

>>> from digitize.pipeline import digitize_sheet           # doctest: +SKIP
>>> result = digitize_sheet("samples/sheets/flange.png")   # doctest: +SKIP
"""

import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from calibrate import calibrate_sheet
from calibrate.one_thread import on_one_thread
from calibrate.scaling.known import KnownLength
from calibrate.sheet import KnownOf, LevelSheet
from calibrate.straightening.turns import without_turn_doubt
from digitize.dimensions.linking.flanking_heads import (
    has_heads_beside_poor,
    with_flanking_heads,
    with_heads_of_read,
)
from digitize.dimensions.linking.heads_ink import ink_of_heads
from digitize.dimensions.linking.missed_figures import believed, figures_at_spans, missed_figures
from digitize.dimensions.linking.span import Span
from digitize.dimensions.linking.spans import find_spans
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.scales.bar_figures import bar_figures
from digitize.dimensions.table import Reconciled
from digitize.found import Found, kept_in
from digitize.gears.identifying.finding import GearFinding
from digitize.gears.identifying.from_sheet import gear_of_sheet
from digitize.gears.options import NOTHING_TYPED, DeskInput, typed_over
from digitize.lettering.find import find_lettering
from digitize.lettering.grammar import parse
from digitize.lettering.read import default_reader, read_blocks
from digitize.lettering.reading.once import Reader, ReadOnce
from digitize.lettering.standing import quarters_by_reading
from digitize.lettering.text import Text, Unit
from digitize.redraw.report import PartReport
from digitize.redraw.solving.parted_views import whole_views
from digitize.report.corrections import Corrections
from digitize.report.write import write_results
from digitize.strokes.bent import unsure_by_bend
from digitize.strokes.heads.arrows_in_lettering import freed_of_arrows
from digitize.strokes.primitives import Strokes
from digitize.strokes.remains import without_remains
from digitize.strokes.trace import trace_strokes

Progress = Callable[[str], None]

STAGES = ("straighten", "find lettering", "trace strokes", "read lettering", "reconcile", "identify gear", "write")
"""What the progress line counts through."""


@dataclass(frozen=True)
class SheetResult:
    """All that is known of one sheet, with the files written and what `part.dxf` holds (none where none were asked
    for)."""

    sheet: LevelSheet
    strokes: Strokes
    texts: tuple[Text, ...]
    reconciled: Reconciled
    gear: GearFinding | None
    files: tuple[Path, ...]
    timings_s: dict[str, float]
    part: PartReport | None = None


@on_one_thread
def digitize_sheet(
    path: Path | str,
    page: int = 1,
    out: Path | str | None = None,
    unit: Unit | None = None,
    reader: Reader | None = None,
    progress: Progress = lambda stage: None,
    corrections: Corrections | None = None,
    known: Sequence[KnownLength] = (),
    known_of: KnownOf = KnownOf.PART,
    r12: bool = False,
    teeth: DeskInput = NOTHING_TYPED,
) -> SheetResult:
    """Digitize one page of a print.

    Parameters
    ----------
    path : path
        TIFF, PNG, JPEG, JPEG 2000 or PDF.
    page : int
        From 1.
    out : path, optional
        Folder for the files of the output contract; without it nothing is written.
    unit : Unit, optional
        Of the DXF files: `Unit.MM` or `Unit.INCH`; otherwise the drawing's own.
    reader : Reader, optional
        Of lettering; the best that is installed by default.
    progress : callable
        Called with each of `STAGES` as it begins.
    corrections : Corrections, optional
        A table that a person corrected. Where ``out`` holds what was found on this print before, nothing is traced or
        read again.
    known : sequence of KnownLength, optional
        Lengths that a person measured, another witness of the scale.
    known_of : KnownOf
        What these are lengths of.
    r12 : bool
        Write the DXF files as R12, for old machines.
    teeth : DeskInput
        What a person knows of a gear's teeth, beside what the print says; kept in `found.json`. As with a corrected
        table, nothing is traced or read again.

    Returns
    -------
    SheetResult

    Raises
    ------
    calibrate.errors.InputError
        The file or page can't be used; its message says why in one sentence.
    """
    clock = Stopwatch(progress)
    with clock.stage("straighten"):
        sheet = laid_upright(
            lambda orientation_deg: calibrate_sheet(Path(path), page, known, known_of, orientation_deg), reader
        )
    spoken = corrections is not None or teeth != NOTHING_TYPED
    kept = kept_in(Path(out), sheet) if out is not None and spoken and not known else None
    found = kept or find_on(sheet, reader, clock)
    found = replace(found, teeth=typed_over(found.teeth, teeth))
    with clock.stage("reconcile"):
        said = corrections.read(found) if corrections is not None else ()
        whole = whole_views(found.strokes, reconcile(found.sheet, found.strokes, found.texts, parse, said))
    with clock.stage("identify gear"):
        gear = gear_of_sheet(whole.reconciled, whole.strokes, found.texts, found.teeth)
    files: tuple[Path, ...] = ()
    part = None
    if out is not None:
        with clock.stage("write"):
            written, part = write_results(Path(out), found, whole, gear, clock.timings_s, unit, r12)
            files = tuple(written)
    return SheetResult(found.sheet, whole.strokes, found.texts, whole.reconciled, gear, files, clock.timings_s, part)


def laid_upright(calibrated: Callable[[int | None], LevelSheet], reader: Reader | None = None) -> LevelSheet:
    """Calibrate, and where letter shapes don't tell which way up the sheet lies, let its figures, read, tell it.

    Parameters
    ----------
    calibrated : callable
        The sheet in an orientation in degrees; with None its letters tell.
    reader : Reader, optional
        The best that is installed by default.
    """
    sheet = calibrated(None)
    told = without_turn_doubt(sheet.warnings)
    if told == sheet.warnings:
        return sheet
    quarters = quarters_by_reading(sheet, find_lettering(sheet).blocks, reader or default_reader())
    if not quarters:
        return sheet if quarters is None else replace(sheet, warnings=told)
    return calibrated((sheet.orientation_deg + 90 * quarters) % 360)


def find_on(sheet: LevelSheet, reader: Reader | None, clock: "Stopwatch") -> Found:
    """The slow stages: what lies on the sheet, before any of it is believed."""
    with clock.stage("find lettering"):
        lettering = freed_of_arrows(sheet, find_lettering(sheet))
    with clock.stage("trace strokes"):
        strokes = trace_strokes(sheet, lettering.mask)
    with clock.stage("read lettering"):
        blocks = (*lettering.blocks, *bar_figures(sheet, strokes, lettering.blocks))
        strokes = with_flanking_heads(sheet, strokes, blocks)
        spans = find_spans(strokes, sheet.paper_mm_per_px)
        looked_at = missed_figures(sheet, strokes, spans, blocks)
        seen = (*blocks, *looked_at)
        use = ReadOnce(reader or default_reader())

        def read(known: Strokes, spans: Sequence[Span]) -> tuple[Text, ...]:
            rivals = (*lettering.rivals, *figures_at_spans(sheet, known, spans, blocks))
            return believed(read_blocks(sheet, seen, use, rivals, ink_of_heads(sheet, known, spans)), looked_at)

        texts = read(strokes, spans)
        known = with_heads_of_read(sheet, strokes, seen, texts)
        if has_heads_beside_poor(known, strokes, texts):
            texts = read(known, find_spans(known, sheet.paper_mm_per_px))
            known = with_heads_of_read(sheet, known, seen, texts)
    return Found(sheet, unsure_by_bend(without_remains(known, texts), sheet.bend), texts)


class Stopwatch:
    """Names stages as they begin and keeps the seconds they took."""

    def __init__(self, progress: Progress) -> None:
        self.progress = progress
        self.timings_s: dict[str, float] = {}

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        """Time one stage."""
        self.progress(name)
        start = time.perf_counter()
        yield
        self.timings_s[name] = time.perf_counter() - start
