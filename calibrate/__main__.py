"""The command ``calibrate``: a print becomes a level picture and a record of how it was brought level."""

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, NoReturn

import typer

from calibrate.errors import TraceclothError
from calibrate.files.load import page_count
from calibrate.level import calibrate_sheet
from calibrate.record import mm_per_px, write_calibration
from calibrate.scaling.circles import circles_words
from calibrate.scaling.known import KnownLength
from calibrate.scaling.known_option import HELP, KNOWN, METAVAR, OF_HELP, KnownCommand, check_page, known_lengths
from calibrate.sheet import KnownOf, LevelSheet, Polarity, ResolutionStatus, ScaleWitness

BAD_INPUT = 2
STANDARD_ERRORS_95 = 1.96
FINEST_TOLD_DEG = 0.001
POLARITY_WORDS = {
    Polarity.DARK_ON_LIGHT: "dark lines on light paper",
    Polarity.LIGHT_ON_DARK: "light lines on dark paper",
}
UNCONFIRMED = ", not borne out by anything on the sheet: even good scans are off by 1 to 3 %"
"""Scale of oversize scans: FADGI 2016."""
GIVE_ONE = "; give a length that you know with --known"
app = typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode="markdown")


@app.command(cls=KnownCommand)
def calibrate(
    print_file: Annotated[Path, typer.Argument(metavar="PRINT", help="TIFF, PNG, JPEG, JPEG 2000 or PDF.")],
    page: Annotated[int | None, typer.Option(help="Page, from 1; all pages where it is left out.")] = None,
    out: Annotated[Path | None, typer.Option(help="Folder for the results; named after the print by default.")] = None,
    known: Annotated[
        list[str] | None,
        typer.Option(KNOWN, metavar=METAVAR, help=HELP),
    ] = None,
    known_of: Annotated[KnownOf, typer.Option(help=OF_HELP)] = KnownOf.PART,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print nothing but errors.")] = False,
) -> None:
    """Bring a print upright and level, and say at what scale it was scanned and how sure that is.

    The folder gets the level picture, level.tif, with its true resolution, and sheet.json, with the scale's witnesses
    and the way back to the file's pixels. The file itself is never changed.
    """
    folder = out or Path(print_file.stem)
    try:
        lengths = known_lengths(known)
        pages = page_count(print_file)
        check_page(lengths, print_file.name, pages, page)
    except TraceclothError as error:
        _fail(error)
    several = pages > 1 and page is None
    failed = False
    for number in range(1, pages + 1) if several else [page or 1]:
        place = folder / f"p{number:03d}" if several else folder
        failed |= not _one_page(print_file, number, place, lengths, known_of, quiet=quiet)
    if failed:
        raise typer.Exit(BAD_INPUT)


def _one_page(
    print_file: Path, page: int, folder: Path, lengths: Sequence[KnownLength], known_of: KnownOf, *, quiet: bool
) -> bool:
    """Calibrate one page and write it; tell the error and give False where it can't be done."""
    try:
        sheet = calibrate_sheet(print_file, page, lengths, known_of, by_circles=True)
        write_calibration(sheet, folder)
    except TraceclothError as error:
        typer.echo(str(error), err=True)
        return False
    except OSError as error:
        typer.echo(f"{folder} can't be written ({error.strerror}); give another folder with --out.", err=True)
        return False
    except MemoryError:
        typer.echo(f"{print_file.name} needs more memory than there is; scan it at a lower resolution.", err=True)
        return False
    if not quiet:
        typer.echo(summary(sheet, folder))
    return True


def _fail(error: TraceclothError) -> NoReturn:
    typer.echo(str(error), err=True)
    raise typer.Exit(BAD_INPUT)


def summary(sheet: LevelSheet, folder: Path) -> str:
    """Say in a few lines what was found.

    Parameters
    ----------
    sheet : LevelSheet
    folder : Path
        Where the results lie.
    """
    turned_over = ", turned over" if sheet.turned_over else ""
    photograph = ", perspective taken off" if sheet.rectified else ""
    good_to_deg = max(STANDARD_ERRORS_95 * sheet.skew_std_deg, FINEST_TOLD_DEG)
    lines = [
        f"{sheet.path.name}, page {sheet.page} of {sheet.page_count}: {POLARITY_WORDS[sheet.polarity]}",
        f"  turned by {sheet.orientation_deg} deg{turned_over}, skew {sheet.skew_deg:+.3f} deg,"
        f" good to {good_to_deg:.3f} deg (95 %){photograph}",
        f"  scale {_scale_words(sheet)}",
        *(f"  {_witness_words(witness)}" for witness in sheet.witnesses if witness.source != "resolution"),
        *(f"  {line}" for line in sheet.evidence),
        *(() if sheet.circles is None else (f"  {circles_words(sheet.circles)}",)),
        *(f"  check: {warning}" for warning in sheet.warnings),
        f"  written to {folder}",
    ]
    return "\n".join(lines)


def _scale_words(sheet: LevelSheet) -> str:
    """Millimetres of paper a pixel, where they come from, and what bears them out."""
    known, resolution = mm_per_px(sheet), sheet.resolution
    if known is None:
        return f"not known; {resolution.note}" + (GIVE_ONE if sheet.known is None else "")
    figures = f"{known[0]:.4f}" if known[0] == known[1] else f"{known[0]:.4f} across, {known[1]:.4f} up,"
    alone = not sheet.evidence and all(witness.source == "resolution" for witness in sheet.witnesses)
    unconfirmed = resolution.status is ResolutionStatus.STATED and alone
    return f"{figures} mm of paper a pixel; {resolution.note}" + (UNCONFIRMED if unconfirmed else "")


def _witness_words(witness: ScaleWitness) -> str:
    pairs = zip(witness.mm_per_px, witness.std, strict=True)
    x, y = (f"{mm:.6f} +- {STANDARD_ERRORS_95 * std:.6f}" for mm, std in pairs)
    return f"{witness.source}: {x} across, {y} up, mm of the {witness.of.value} a pixel (95 %); {witness.note}"


def main() -> None:
    """Run the command."""
    app()


if __name__ == "__main__":
    main()
