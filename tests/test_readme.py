"""What the README tells a reader to type is there to be typed."""

import re
import shlex
from pathlib import Path

import pytest
import typer

from calibrate.__main__ import app as calibrate_app
from digitize.cli import app as digitize_app

README = Path(__file__).parents[1] / "README.md"
PROGRAMS = {"digitize": typer.main.get_command(digitize_app), "calibrate": typer.main.get_command(calibrate_app)}


def _typed_commands() -> list[list[str]]:
    blocks = re.findall(r"```sh\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    lines = [part for block in blocks for line in block.splitlines() for part in line.split("&&")]
    words = [shlex.split(line, comments=True) for line in lines]
    return [[Path(w[0]).name, *w[1:]] for w in words if w and Path(w[0]).name in PROGRAMS]


def _options_of(words: list[str]) -> set[str]:
    command = PROGRAMS[words[0]]
    subcommands = getattr(command, "commands", None)
    if subcommands is not None:
        command = subcommands[words[1]]
    return {name for parameter in command.params for name in (*parameter.opts, *parameter.secondary_opts)}


def test_the_readme_shows_every_subcommand() -> None:
    shown = {words[1] for words in _typed_commands() if words[0] == "digitize"}
    assert shown == set(PROGRAMS["digitize"].commands)  # type: ignore[attr-defined]


@pytest.mark.parametrize("words", _typed_commands(), ids=" ".join)
def test_every_option_shown_exists(words: list[str]) -> None:
    assert {word for word in words if word.startswith("--")} <= _options_of(words)
