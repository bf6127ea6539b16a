"""Fields of the groups of options as a command's parameters: those of the desk, and the few that a sheet takes too."""

import inspect
from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from typing import Annotated, Any, get_type_hints

import typer

from digitize.gears.options import NOTHING_TYPED, OF_A_PRINT, DeskInput, flag_of

TEETH = "A gear's teeth, where the print leaves them open"


def parameter(panel: str, made: type, name: str) -> inspect.Parameter:
    """A field of a group as a parameter of a command, under the panel of the help that it stands in."""
    each = next(one for one in fields(made) if one.name == name)
    stated = typer.Option(
        flag_of(name, each.metadata),
        metavar=each.metadata["metavar"],
        help=each.metadata["help"],
        rich_help_panel=panel,
    )
    repeated = each.default == ()
    held: Any = list[str] | None if repeated else get_type_hints(made)[name]
    return inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=None, annotation=Annotated[held, stated])


def teeth_from(typed: Mapping[str, Any]) -> DeskInput:
    """What was typed of a print's gear, by the names of the fields."""
    given: dict[str, Any] = {name: tuple(value) if isinstance(value, list) else value for name, value in typed.items()}
    return replace(NOTHING_TYPED, **{name: value for name, value in given.items() if value not in (None, ())})


def with_teeth_options(command: Callable[..., None]) -> Callable[..., None]:
    """Let a command that takes further keywords take the options of a print's gear."""
    written = inspect.signature(command)
    own = [each for each in written.parameters.values() if each.kind is not inspect.Parameter.VAR_KEYWORD]
    whole = [*own, *(parameter(TEETH, DeskInput, name) for name in OF_A_PRINT)]
    keyed = [each.replace(kind=inspect.Parameter.KEYWORD_ONLY) for each in whole]
    command.__signature__ = written.replace(parameters=keyed)  # type: ignore[attr-defined]
    command.__annotations__ = {each.name: each.annotation for each in keyed}
    return command
