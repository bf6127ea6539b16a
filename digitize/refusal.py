"""How a command says that its input is at fault: one sentence, exit code 2."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager

import typer

from calibrate.errors import TraceclothError

BAD_INPUT = 2
"""Exit code where the input is at fault."""


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
