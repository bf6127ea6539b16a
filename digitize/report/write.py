"""Write every file of the output contract into one folder."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from calibrate.sheet import LevelSheet, ResolutionStatus
from digitize.dimensions.table import Reconciled
from digitize.found import NAME, Found, save
from digitize.gears.desk.desk_files import write_inspection
from digitize.gears.identifying.finding import GearFinding
from digitize.gears.identifying.sheet_body import body_of_sheet
from digitize.lettering.text import Unit
from digitize.redraw.part import write_part
from digitize.redraw.report import PartReport, PlacedView
from digitize.redraw.solving.parted_views import WholeViews
from digitize.redraw.trace import write_trace
from digitize.redraw.writing.old_dxf import rewrite_r12
from digitize.redraw.writing.true_size import over_print, true_size, write_pdf, write_svg
from digitize.report import check_pdf, check_print
from digitize.report.bare_marks import bare_marks
from digitize.report.files import staged
from digitize.report.frame import other_scales, sheet_frame
from digitize.report.ink_marks import ink_marks
from digitize.report.open_marks import open_marks
from digitize.report.paper import paper
from digitize.report.picture import unread_pictures
from digitize.report.provenance import provenance
from digitize.report.table import table, write_csv, write_json, write_xlsx

FILES = ("trace.dxf", "part.dxf", "dimensions.json", "dimensions.csv", "dimensions.xlsx", "check-print.png",
         "check-print.pdf", "check-print.html", "sheet.json", NAME)  # fmt: skip
PAPER_FILES = ("part.svg", "part.pdf", "over-print.pdf")
"""Written where a view is redrawn."""
ON_PART = "True size, to lay on the part."
ON_PRINT = "Size of the scanned print, to lay over it."
ON_CHECK_PRINT = "Size of check-print.pdf, to lay over that: how large the print is, is not sure."
INSPECTION = "inspection.pdf"
"""The sheet for the bench, written where a gear is agreed."""


def write_results(
    out_dir: Path,
    found: Found,
    whole: WholeViews,
    gear: GearFinding | None,
    timings: Mapping[str, float],
    units: Unit | None = None,
    r12: bool = False,
    keep_found: bool = True,
    more: Mapping[str, Any] = MappingProxyType({}),
) -> tuple[list[Path], PartReport]:
    """Write the results of one sheet.

    Parameters
    ----------
    out_dir : Path
        Made where it is missing.
    found : Found
        With its pictures. Lettering that is in no row of the table is only counted.
    whole : WholeViews
        What was found, reconciled, its parted views joined; `found.json` keeps them as they were found.
    gear : GearFinding or None
    timings : mapping of str to float
        Seconds by stage, for `sheet.json` alone.
    units : Unit or None
        INCH or MM for the DXF files; None for the drawing's own.
    r12 : bool
        Write the DXF files as R12: lines, arcs and polylines only.
    keep_found : bool
        Write `found.json` too; not where it lies there already.
    more : mapping
        Further entries of `sheet.json`.

    Returns
    -------
    list of Path
        The files, each of them whole.
    PartReport
        What `part.dxf` holds.
    """
    sheet, strokes, reconciled = found.sheet, whole.strokes, whole.reconciled
    unit = units or (Unit.INCH if reconciled.unit is Unit.INCH else Unit.MM)
    frame, on_paper = sheet_frame(sheet, reconciled), paper(sheet, reconciled)
    content = table(sheet, reconciled, gear)
    pictures = unread_pictures(sheet, reconciled.dimensions)
    marked = check_print.marked(sheet, reconciled.dimensions)
    with staged(out_dir) as stage:
        write_trace(stage / "trace.dxf", strokes, frame, unit, other_scales(reconciled), with_regions=not r12)
        part = write_part(stage / "part.dxf", strokes, reconciled, gear, frame, unit, found.texts)
        part = replace(part, notes=(*whole.notes, *part.notes))
        written = _paper_checks(stage, part.views, sheet, reconciled)
        if r12:
            for name in ("trace.dxf", "part.dxf"):
                rewrite_r12(stage / name)
        write_json(stage / "dimensions.json", content)
        write_csv(stage / "dimensions.csv", content)
        write_xlsx(stage / "dimensions.xlsx", content, pictures)
        places = open_marks(part.open_ends, sheet.paper_mm_per_px, sheet.grey.shape, unit)
        places += bare_marks(reconciled.bare, sheet.paper_mm_per_px)
        places += ink_marks(sheet.other_ink, sheet.paper_mm_per_px)
        check_print.write_png(stage / "check-print.png", sheet, marked, places)
        check_pdf.write_pdf(stage / "check-print.pdf", sheet, [each.mark for each in marked], places)
        check_print.write_html(
            stage / "check-print.html", sheet, reconciled, gear, part, on_paper, marked, pictures, places
        )
        record = provenance(sheet, strokes, reconciled, frame, on_paper, part, timings)
        write_json(stage / "sheet.json", record | {"lettering_blocks": len(found.texts), **more})
        gear_unit = "in" if reconciled.unit is Unit.INCH else "mm"
        if write_inspection(stage / INSPECTION, gear, body_of_sheet(reconciled, found.texts, strokes), gear_unit):
            written.append(INSPECTION)
        if keep_found:
            save(stage / NAME, found, out_dir)
    for name in {*PAPER_FILES, INSPECTION}.difference(written):
        (out_dir / name).unlink(missing_ok=True)
    return [out_dir / name for name in (*FILES, *written)], part


def _paper_checks(folder: Path, views: Sequence[PlacedView], sheet: LevelSheet, reconciled: Reconciled) -> list[str]:
    """The part at its own size and at the print's, where a view is redrawn."""
    unproven = " and ".join(each.name for each in views if not each.proven)
    doubt = f" Not proven: the scale of view {unproven}." if unproven else ""
    part = folder / "part.dxf"
    contradicted = any(each.source == "resolution" and each.agrees is False for each in reconciled.witnesses)
    known = sheet.resolution.status is not ResolutionStatus.UNKNOWN and not contradicted
    on_part = true_size(part, ON_PART + doubt)
    on_print = over_print(part, views, sheet.paper_mm_per_px, ON_PRINT if known else ON_CHECK_PRINT)
    if on_part is None or on_print is None:
        return []
    write_svg(folder / "part.svg", on_part)
    write_pdf(folder / "part.pdf", on_part)
    write_pdf(folder / "over-print.pdf", on_print)
    return list(PAPER_FILES)
