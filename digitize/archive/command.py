"""The command `digitize archive`."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import bagit
import typer
from rich.console import Console
from rich.progress import track

from calibrate.errors import InputError, TraceclothError
from digitize.archive.bag import archive_bag, tidy
from digitize.archive.catalogue import with_catalogue
from digitize.archive.plan import Plan, plans_of
from digitize.archive.verify import verify_bag
from digitize.refusal import BAD_INPUT, one_clear_sentence

FULL = "{archive} can't be written ({why}); free room or give another folder with --out. Earlier bags are as they were."


def archive_command(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Results of digitize batch or sheet; or an archive.")],
    out: Annotated[Path | None, typer.Option(help="The archive; default: DIR-archive beside DIR.")] = None,
    prints: Annotated[Path | None, typer.Option(metavar="FOLDER", help="Where the prints are, if moved.")] = None,
    verify: Annotated[bool, typer.Option("--verify", help="Check every byte of the archive; write nothing.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print nothing but what is wrong.")] = False,
) -> None:
    """Archive finished sheets as bags (RFC 8493) that need no program of ours to be read.

    A bag holds the print file untouched, the level image with its true resolution, a PDF whose words can be searched,
    the DXF files, the table, the check print, and events.json: what was done to it, by whom and with which versions.
    Every file has its SHA-512. Run again it changes nothing but what has changed.

    With --verify each file that was changed, lost or added is one line, and the exit code is 2.

    Example: digitize archive drawer-4-digitized
    """
    with one_clear_sentence():
        archive = out or _default(folder, verify)
        if not folder.is_dir():
            raise InputError(f"{folder} is no folder; give one that digitize batch or digitize sheet wrote.")
        wrong = list(_verified(archive, quiet) if verify else _archived(folder, archive, prints, quiet))
    for sentence in wrong:
        typer.echo(sentence, err=True)
    if wrong:
        raise typer.Exit(BAD_INPUT)


def _default(folder: Path, verify: bool) -> Path:
    """The archive of a folder of results; to verify, a folder of bags may be named itself."""
    if verify and (_is_bag(folder) or any(_is_bag(each) for each in folder.glob("*/"))):
        return folder
    return folder.resolve().with_name(f"{folder.resolve().name}-archive")


def _is_bag(folder: Path) -> bool:
    return any((folder / name).exists() for name in ("bagit.txt", "bag-info.txt"))


def _archived(folder: Path, archive: Path, prints: Path | None, quiet: bool) -> Iterator[str]:
    """Write the bags; give a sentence for each that can't be."""
    if archive.resolve().is_relative_to(folder.resolve()):
        raise InputError(f"{archive} lies in the results themselves; give a folder outside with --out.")
    plans, damaged = plans_of(folder)
    if not plans and not damaged:
        raise InputError(f"{folder} holds no finished sheet; run digitize batch or digitize sheet first.")
    yield from damaged
    written = 0
    try:
        archive.mkdir(parents=True, exist_ok=True)
        with _alone(archive):
            tidy(archive)
            for plan in _watched(plans, quiet):
                try:
                    written += archive_bag(plan, archive, prints)
                except (TraceclothError, bagit.BagError) as error:
                    yield str(error)
    except OSError as error:
        raise InputError(FULL.format(archive=archive, why=error.strerror or error)) from error
    with_catalogue(archive, lambda catalogue: None)
    if not quiet:
        typer.echo(f"{len(plans)} prints, {written} bags written, in {archive}")


def _watched(plans: tuple[Plan, ...], quiet: bool) -> Iterator[Plan]:
    yield from track(plans, "bags", console=Console(stderr=True, quiet=quiet), transient=True)


def _verified(archive: Path, quiet: bool) -> Iterator[str]:
    if not archive.is_dir():
        raise InputError(f"{archive} is no archive; run digitize archive first, or name the archive itself.")
    bags = [archive] if _is_bag(archive) else sorted(each for each in archive.glob("[!.]*/"))
    if not bags:
        raise InputError(f"{archive} holds no bag; run digitize archive first.")
    good = 0
    for bag in bags:
        sentences = list(verify_bag(bag))
        good += not sentences
        yield from sentences
    if not quiet:
        typer.echo(f"{good} of {len(bags)} bags are as they were written")


@contextmanager
def _alone(archive: Path) -> Iterator[None]:
    """Keep a second run on the same archive out."""
    handle = os.open(archive, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as error:
        os.close(handle)
        raise InputError(f"Another digitize archive writes to {archive}; wait for it to end.") from error
    try:
        yield
    finally:
        os.close(handle)
