"""The command `digitize review`."""

import getpass
import socket
import webbrowser
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer
import uvicorn
from rich.console import Console
from starlette.applications import Starlette

from calibrate.errors import InputError
from digitize.refusal import one_clear_sentence
from digitize.review.alone import alone
from digitize.review.app import Gate, review_app
from digitize.review.drawer import Drawer, is_drawer
from digitize.review.drawer_app import drawer_app
from digitize.review.reviewed import ReviewedSheet

ADDRESS = "127.0.0.1"
CLOSING_S = 1
"""Seconds that open pages get to finish when the command is stopped."""


def review_command(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Results of digitize sheet, or of digitize batch.")],
    print_file: Annotated[
        Path | None, typer.Option("--print", help="Where the print is, if moved; of a drawer, the folder of prints.")
    ] = None,
    by: Annotated[str, typer.Option(help="Your name: the table records who confirmed a value.")] = "",
    port: Annotated[int, typer.Option(help="Port on this computer; default: a free one.")] = 0,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Only show the address.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Show nothing but the address.")] = False,
) -> None:
    """Look at a finished sheet in the browser, correct and confirm its figures.

    The doubtful figures come first, each beside its enlarged picture. Every keystroke is kept in review.sqlite in the
    folder; Export writes the tables, DXF files and the check print anew. The page is served to this computer alone.
    Stop with Ctrl-C.

    Of a whole drawer, as digitize batch wrote it, every sheet is shown with a small picture and its states, is found
    by the words and sizes of digitize find, and opens for review.

    Example: digitize review flange --by "A. Reader"

    digitize review drawer-4-digitized
    """
    with one_clear_sentence():
        console = Console(stderr=True, quiet=quiet)
        work = _review_drawer if is_drawer(folder) else _review_sheet
        work(folder, print_file, by or _name(), Served(port, not no_browser, console))


@dataclass(frozen=True)
class Served:
    """How a page is served: port, whether a browser is opened, and where it is told."""

    port: int
    browser: bool
    console: Console

    def run(self, app: Callable[[Gate], Starlette], told: str) -> None:
        """Serve an application to this computer until it is stopped."""
        listening = _listen(self.port)
        number = listening.getsockname()[1]
        gate = Gate(frozenset({f"{ADDRESS}:{number}", f"localhost:{number}"}))
        address = f"http://{ADDRESS}:{number}/?token={gate.token}"
        config = uvicorn.Config(
            app(gate), log_level="warning", timeout_graceful_shutdown=CLOSING_S, server_header=False
        )
        typer.echo(address)
        if self.browser:
            webbrowser.open(address)
        self.console.print(f"{told} Stop with Ctrl-C.")
        uvicorn.Server(config).run([listening])


def _review_sheet(folder: Path, print_file: Path | None, by: str, served: Served) -> None:
    with alone(folder):
        with served.console.status(f"Opening {folder.name} ..."):
            reviewed = ReviewedSheet(folder, print_file)
            reviewed.conclude()
            sides = reviewed.pictures.size_px
        served.run(lambda gate: review_app(reviewed, gate, by), f"{folder.name}: {sides[0]} x {sides[1]} pixels.")


def _review_drawer(folder: Path, prints: Path | None, by: str, served: Served) -> None:
    drawer = Drawer(folder, prints)
    with served.console.status(f"Opening {folder.name} ..."):
        content = drawer.content()
    try:
        served.run(lambda gate: drawer_app(drawer, gate, by), f"{content['name']}: {content['sheets']} sheets.")
    finally:
        drawer.close()


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
