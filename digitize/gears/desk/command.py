"""The command ``digitize gear``."""

import inspect
import sys
from dataclasses import fields
from typing import Annotated, Any

import typer
from rich.console import Console

from calibrate.errors import TraceclothError
from digitize.gears.desk.answer import answer_json, print_answer
from digitize.gears.desk.desk import gear_desk
from digitize.gears.desk.parameters import parameter
from digitize.gears.options import GROUPS

BAD_INPUT = 2
"""Exit code where what was typed can't be meant."""
JSON = "as_json"


def gear_command(**typed: Any) -> None:
    """Rank the gear systems that fit some sizes, and say what to measure next.

    Lengths carry their unit and may carry a tolerance: 5.5in, 5 1/2in, 139.7mm, 5.5in+-0.01in.

    Example: digitize gear --teeth 42 --outside-diameter 5.5in

    With a torque, face, bore and material it says what breaks first; --sheet writes a sheet for the bench, --dxf a
    drawing. Strength figures are estimates for comparison, no rating.
    """
    as_json = typed.pop(JSON)
    given = {name: tuple(value) if isinstance(value, list) else value for name, value in typed.items()}
    groups = [made(**_of_group(made, given)) for _, made in GROUPS]
    try:
        answer = gear_desk(*groups)
    except TraceclothError as error:
        sys.stderr.write(f"{error}\n")
        raise typer.Exit(BAD_INPUT) from error
    except OSError as error:
        sys.stderr.write(f"{error.filename or 'The file'}: {error.strerror}; name a file that can be written.\n")
        raise typer.Exit(BAD_INPUT) from error
    if as_json:
        sys.stdout.write(answer_json(answer) + "\n")
    else:
        print_answer(answer, Console())


def _of_group(made: type, given: dict[str, Any]) -> dict[str, Any]:
    """The values of one group; an option that was not given keeps the group's own default."""
    return {each.name: given[each.name] for each in fields(made) if given[each.name] not in (None, ())}


def _signature() -> inspect.Signature:
    """The command's parameters: the fields of the groups, then the choice of JSON."""
    found = [parameter(panel, made, each.name) for panel, made in GROUPS for each in fields(made)]
    stated = typer.Option("--json", help="Print JSON.")
    as_json = inspect.Parameter(JSON, inspect.Parameter.KEYWORD_ONLY, default=False, annotation=Annotated[bool, stated])
    return inspect.Signature([*found, as_json])


_SIGNATURE = _signature()
gear_command.__signature__ = _SIGNATURE  # type: ignore[attr-defined]
gear_command.__annotations__ = {name: each.annotation for name, each in _SIGNATURE.parameters.items()}


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("gear")(gear_command)
