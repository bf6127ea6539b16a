"""The command `digitize review`."""

import fcntl
import getpass
import socket
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer
import uvicorn
from rich.console import Console

from calibrate.errors import InputError
from digitize.refusal import one_clear_sentence
from digitize.review.app import Gate, review_app
from digitize.review.reviewed import ReviewedSheet

ADDRESS = "127.0.0.1"
LOCK = ".review-lock"
CLOSING_S = 1
"""Seconds that open pages get to finish when the command is stopped."""


def review_command(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="A result folder of digitize sheet.")],
    print_file: Annotated[Path | None, typer.Option("--print", help="Where the print is, if it was moved.")] = None,
    by: Annotated[str, typer.Option(help="Your name: the table records who confirmed a value.")] = "",
    port: Annotated[int, typer.Option(help="Port on this computer; default: a free one.")] = 0,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Only show the address.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Show nothing but the address.")] = False,
) -> None:
    """Look at a finished sheet in the browser, correct and confirm its figures.

    The doubtful figures come first, each beside its enlarged picture. Every keystroke is kept in review.sqlite in the
    folder; Export writes the tables, DXF files and the check print anew. The page is served to this computer alone.
    Stop with Ctrl-C.

    Example: digitize review flange --by "A. Reader"
    """
    with one_clear_sentence(), _alone(folder):
        _serve(folder, print_file, by or _name(), port, not no_browser, Console(stderr=True, quiet=quiet))


def _serve(folder: Path, print_file: Path | None, by: str, port: int, browser: bool, console: Console) -> None:
    with console.status(f"Opening {folder.name} ..."):
        reviewed = ReviewedSheet(folder, print_file)
        reviewed.conclude()
        sides = reviewed.pictures.size_px
    listening = _listen(port)
    number = listening.getsockname()[1]
    gate = Gate(frozenset({f"{ADDRESS}:{number}", f"localhost:{number}"}))
    address = f"http://{ADDRESS}:{number}/?token={gate.token}"
    config = uvicorn.Config(
        review_app(reviewed, gate, by), log_level="warning", timeout_graceful_shutdown=CLOSING_S, server_header=False
    )
    typer.echo(address)
    if browser:
        webbrowser.open(address)
    console.print(f"{folder.name}: {sides[0]} x {sides[1]} pixels. Stop with Ctrl-C.")
    uvicorn.Server(config).run([listening])


def _name() -> str:
    """The user's name on this computer, where it is a person's."""
    name = getpass.getuser()
    return "" if name == "root" else name


def _listen(port: int) -> socket.socket:
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((ADDRESS, port))
        listening.listen()
    except OSError as error:
        raise InputError(f"Port {port} is taken on this computer; leave --port out.") from error
    return listening


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Keep a second review of the same folder out."""
    if not folder.is_dir():
        raise InputError(f"{folder} is no folder; give the one that digitize sheet wrote.")
    with (folder / LOCK).open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            raise InputError(
                f"{folder.name} is under review already; go on in that browser, or stop that digitize review first."
            ) from error
        try:
            yield
        finally:
            (folder / LOCK).unlink(missing_ok=True)
