"""The command `digitize`."""

import datetime
import getpass
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

from calibrate.errors import TraceclothError
from calibrate.load import page_count
from digitize.gears.command import gear_command
from digitize.lettering.text import Unit
from digitize.pipeline import STAGES, SheetResult, digitize_sheet
from digitize.report.corrections import Corrections
from digitize.report.summary import summary_of

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode="rich",
    help="Turn scans of old engineering prints into dimensions, CAD geometry and a known gear system.",
)
app.command("gear")(gear_command)

BAD_INPUT = 2
"""Exit code where the input is at fault."""


@app.callback()
def commands() -> None:
    """Keep `sheet` a command of its own."""


@app.command("sheet")
def sheet_command(
    print_file: Annotated[Path, typer.Argument(metavar="PRINT", help="TIFF, PNG, JPEG, JPEG 2000 or PDF.")],
    page: Annotated[int | None, typer.Option(help="One page of a file of several; default: all.")] = None,
    out: Annotated[Path | None, typer.Option(help="Folder for the results; default: named after the print.")] = None,
    units: Annotated[str | None, typer.Option(help="Unit of the DXF, in or mm; default: the drawing's own.")] = None,
    corrected: Annotated[
        Path | None, typer.Option("--with", metavar="TABLE", help="A copy of dimensions.csv that you corrected.")
    ] = None,
    by: Annotated[str, typer.Option(help="Who vouches for the corrections.")] = "",
    quiet: Annotated[bool, typer.Option("--quiet", help="Print nothing but errors.")] = False,
) -> None:
    """Digitize one print: DXF, dimension table, gear and check print.

    Writes trace.dxf (as drawn), part.dxf (as dimensioned), dimensions.csv, .json and .xlsx, check-print.html and
    .png, and sheet.json into the folder. Of a file with several pages each goes into its own, p001, p002 ...

    Every value is [bold]agreed[/] (two independent witnesses), [bold]unproven[/] (one), [bold]disputed[/] (they
    contradict each other) or [bold]unread[/]. Look at the disputed and unread ones before you cut.

    To correct a value, change its text or value in a copy of dimensions.csv (kind "note" strikes a row out) and give
    it with --with: what you changed is agreed on your word, the outlines follow, and nothing is read anew.

    Example: digitize sheet flange.tif --out flange --units in
    """
    with one_clear_sentence():
        unit = _unit(units)
        folder = out or Path(print_file.stem)
        pages = page_count(print_file)
        wanted = range(1, pages + 1) if page is None else [page]
        corrections = _corrections(corrected, by, len(wanted))
        for number in wanted:
            target = folder / f"p{number:03d}" if page is None and pages > 1 else folder
            result = _with_progress(print_file, number, target, unit, quiet, corrections)
            if not quiet:
                Console().print(summary_of(result, target), highlight=False)


def _unit(name: str | None) -> Unit | None:
    if name is None:
        return None
    if name not in ("in", "mm"):
        raise TraceclothError(f"--units {name} is unknown: say in or mm.")
    return Unit(name)


def _corrections(table: Path | None, by: str, pages: int) -> Corrections | None:
    if table is None:
        return None
    if pages > 1:
        raise TraceclothError("A corrected table is of one page; say which with --page.")
    return Corrections(table, by or getpass.getuser(), datetime.date.today().isoformat())


def _with_progress(
    path: Path, page: int, out: Path, unit: Unit | None, quiet: bool, corrections: Corrections | None
) -> SheetResult:
    if quiet:
        return digitize_sheet(path, page, out, unit, corrections=corrections)
    columns = SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn()
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(path.name, total=len(STAGES))

        def show(stage: str) -> None:
            bar.update(task, advance=1, description=f"{path.name}: {stage}")

        return digitize_sheet(path, page, out, unit, progress=show, corrections=corrections)


@contextmanager
def one_clear_sentence() -> Iterator[None]:
    """Say what is wrong with an input in one sentence and end with code 2."""
    try:
        yield
    except TraceclothError as error:
        sys.stderr.write(f"{error}\n")
        raise typer.Exit(BAD_INPUT) from error
    except OSError as error:
        sys.stderr.write(f"{error.filename or 'The file'}: {error.strerror}; give a file that can be read.\n")
        raise typer.Exit(BAD_INPUT) from error


def main() -> None:
    """Entry point of the console script."""
    app()


if __name__ == "__main__":
    main()
