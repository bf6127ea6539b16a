"""The command `digitize`."""

import datetime
import getpass
import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

from calibrate.errors import TraceclothError
from calibrate.files.load import page_count
from calibrate.scaling.known import KnownLength
from calibrate.scaling.known_option import HELP, KNOWN, METAVAR, OF_HELP, KnownCommand, check_page, known_lengths
from calibrate.sheet import KnownOf
from digitize.archive.command import archive_command
from digitize.archive.find_command import find_command
from digitize.batch.command import batch_command
from digitize.gears.desk.command import gear_command
from digitize.gears.desk.parameters import teeth_from, with_teeth_options
from digitize.gears.options import NOTHING_TYPED, DeskInput
from digitize.gears.typed import evidence_from
from digitize.lettering.text import Unit
from digitize.pipeline import STAGES, SheetResult, digitize_sheet
from digitize.redraw.solids.make_solid import body_sizes, made_solid
from digitize.redraw.solids.solid_shape import Asked
from digitize.redraw.solving.body_sizes import BodySizes
from digitize.refusal import one_clear_sentence
from digitize.report.corrections import Corrections
from digitize.report.summary import summary_of
from digitize.review.command import review_command

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode="markdown",
    help="Turn scans of old engineering prints into dimensions, CAD geometry and a known gear system.",
)
app.command("gear")(gear_command)
app.command("review")(review_command)
app.command("batch")(batch_command)
app.command("find")(find_command)
app.command("archive")(archive_command)


@app.callback()
def commands() -> None:
    """Keep `sheet` a command of its own, and what libraries log off the screen."""
    logging.getLogger("ezdxf").addHandler(logging.NullHandler())


@app.command("sheet", cls=KnownCommand)
@with_teeth_options
def sheet_command(
    print_file: Annotated[Path, typer.Argument(metavar="PRINT", help="TIFF, PNG, JPEG, JPEG 2000 or PDF.")],
    page: Annotated[int | None, typer.Option(help="One page of a file of several; default: all.")] = None,
    out: Annotated[Path | None, typer.Option(help="Folder for the results; default: named after the print.")] = None,
    units: Annotated[str | None, typer.Option(help="Unit of the DXF, in or mm; default: the drawing's own.")] = None,
    r12: Annotated[bool, typer.Option("--r12", help="DXF as R12: lines, arcs, polylines; no unit in it.")] = False,
    solid: Annotated[bool, typer.Option("--solid", help="Also a solid, STEP and STL; needs the extra solid.")] = False,
    thickness: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of a plate or a gear's face that no view gives: 1/2in, 12mm.")
    ] = None,
    hub_length: Annotated[str | None, typer.Option(metavar="LENGTH", help="The same of a gear's hub.")] = None,
    hub_diameter: Annotated[str | None, typer.Option(metavar="LENGTH", help="Outside of a gear's hub.")] = None,
    web_thickness: Annotated[str | None, typer.Option(metavar="LENGTH", help="The same of a gear's web.")] = None,
    rim_thickness: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="From the roots of a gear's teeth in to its web.")
    ] = None,
    corrected: Annotated[
        Path | None, typer.Option("--with", metavar="TABLE", help="A copy of dimensions.csv that you corrected.")
    ] = None,
    by: Annotated[str, typer.Option(help="Who vouches for the corrections.")] = "",
    known: Annotated[list[str] | None, typer.Option(KNOWN, metavar=METAVAR, help=HELP)] = None,
    known_of: Annotated[KnownOf, typer.Option(help=OF_HELP)] = KnownOf.PART,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print nothing but errors.")] = False,
    **typed: Any,
) -> None:
    """Digitize one print: DXF, dimension table, gear and check print.

    Writes trace.dxf (as drawn), part.dxf (as dimensioned), dimensions.csv, .json and .xlsx, check-print.html and
    .png, and sheet.json into the folder; inspection.pdf, a sheet for the bench, where a gear is agreed. Of a file with
    several pages each goes into its own, p001, p002 ...

    Every value is **agreed** (two independent witnesses), **unproven** (one), **disputed** (they
    contradict each other) or **unread**. Look at the disputed and unread ones before you cut.

    To correct a value, change its text or value in a copy of dimensions.csv (kind "note" strikes a row out) and give
    it with --with: what you changed is agreed on your word, the outlines follow, and nothing is read anew.

    With --solid a plate, a turned part or a spur gear also becomes part.step and part.stl. A size that no view gives
    is not made up: the command says which is missing.

    A length that you measured on the part or the print is a witness of the scale: --known "7.5in" 120,300 1890,300.

    What a print does not say of its gear's teeth may be given: --tooth-form involute, --whole-depth .27in. It is kept
    with the results.

    Example: digitize sheet flange.tif --out flange --units in
    """
    with one_clear_sentence():
        unit = _unit(units)
        folder = out or Path(print_file.stem)
        lengths = tuple(known_lengths(known))
        pages = page_count(print_file)
        check_page(lengths, print_file.name, pages, page)
        wanted = range(1, pages + 1) if page is None else [page]
        corrections = _corrections(corrected, by, len(wanted))
        given = Given(corrections, lengths, known_of, r12, _teeth(typed, len(wanted)))
        measured = {
            Asked.THICKNESS: thickness,
            Asked.HUB: hub_length,
            Asked.HUB_DIAMETER: hub_diameter,
            Asked.WEB: web_thickness,
            Asked.RIM: rim_thickness,
        }
        sizes = _body_sizes(solid, measured, len(wanted))
        for number in wanted:
            target = folder / f"p{number:03d}" if page is None and pages > 1 else folder
            result = _with_progress(print_file, number, target, unit, quiet, given)
            if not quiet:
                Console().print(summary_of(result, target), highlight=False)
            if said := made_solid(result, target, sizes):
                Console(stderr=quiet).print(said, highlight=False, markup=False)


def _unit(name: str | None) -> Unit | None:
    if name is None:
        return None
    if name not in ("in", "mm"):
        raise TraceclothError(f"--units {name} is unknown: say in or mm.")
    return Unit(name)


def _teeth(typed: Mapping[str, Any], pages: int) -> DeskInput:
    teeth = teeth_from(typed)
    evidence_from(teeth)
    if teeth != NOTHING_TYPED and pages > 1:
        raise TraceclothError("What is known of a gear's teeth is of one page's gear; say which with --page.")
    return teeth


def _body_sizes(solid: bool, measured: Mapping[Asked, str | None], pages: int) -> BodySizes | None:
    for option in (each for each, text in measured.items() if text is not None):
        if not solid:
            raise TraceclothError(f"{option} is of a solid; say --solid too.")
        if pages > 1:
            raise TraceclothError(f"{option} is of one page's part; say which with --page.")
    return body_sizes(measured) if solid else None


def _corrections(table: Path | None, by: str, pages: int) -> Corrections | None:
    if table is None:
        return None
    if pages > 1:
        raise TraceclothError("A corrected table is of one page; say which with --page.")
    return Corrections(table, by or getpass.getuser(), datetime.date.today().isoformat())


@dataclass(frozen=True)
class Given:
    """What a person adds to the print: a corrected table, measured lengths, what he knows of a gear; old DXF or new."""

    corrections: Corrections | None = None
    known: tuple[KnownLength, ...] = ()
    known_of: KnownOf = KnownOf.PART
    r12: bool = False
    teeth: DeskInput = NOTHING_TYPED


def _with_progress(path: Path, page: int, out: Path, unit: Unit | None, quiet: bool, given: Given) -> SheetResult:
    def run(progress: Callable[[str], None] = lambda stage: None) -> SheetResult:
        return digitize_sheet(
            path,
            page,
            out,
            unit,
            progress=progress,
            corrections=given.corrections,
            known=given.known,
            known_of=given.known_of,
            r12=given.r12,
            teeth=given.teeth,
        )

    if quiet:
        return run()
    columns = SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn()
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(path.name, total=len(STAGES))

        def show(stage: str) -> None:
            bar.update(task, advance=1, description=f"{path.name}: {stage}")

        return run(show)


def main() -> None:
    """Entry point of the console script."""
    app()


if __name__ == "__main__":
    main()
