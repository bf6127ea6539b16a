"""The command `digitize find`."""

import json
import shlex
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.table import Table
from rich.text import Text

from calibrate.errors import InputError
from digitize.archive import wording
from digitize.archive.asked import query_of
from digitize.archive.catalogue import Hit, with_catalogue
from digitize.archive.page import write_page
from digitize.archive.record import PM_PER_MM
from digitize.dimensions.table import State
from digitize.refusal import one_clear_sentence

SCHEMA = "found-sheets/1"


def find_command(
    words: Annotated[
        list[str] | None, typer.Argument(metavar="[WORDS]...", help="Words or figures written on the sheet.")
    ] = None,
    home: Annotated[Path, typer.Option("--in", metavar="FOLDER", help="Results or bags; default: here.")] = Path(),
    title: Annotated[str, typer.Option(help="Words of the title.")] = "",
    number: Annotated[str, typer.Option(help="Drawing number.")] = "",
    material: Annotated[str, typer.Option(help="Words of the material.")] = "",
    date: Annotated[str, typer.Option(help="Date, or a part of it: 1937.")] = "",
    diameter: Annotated[list[str] | None, typer.Option(help="A diameter with its unit: 5.5in.")] = None,
    radius: Annotated[list[str] | None, typer.Option(help="A radius with its unit.")] = None,
    length: Annotated[list[str] | None, typer.Option(help="A straight length with its unit.")] = None,
    within: Annotated[str, typer.Option(help="How far off a length may be: 0.01in; default: not at all.")] = "",
    teeth: Annotated[int | None, typer.Option(min=1, help="Number of teeth.")] = None,
    pitch: Annotated[str, typer.Option(help="Diametral pitch.")] = "",
    module: Annotated[str, typer.Option(help="Module in mm.")] = "",
    state: Annotated[State | None, typer.Option(help="State of what is looked for; alone: of any value.")] = None,
    most: Annotated[int, typer.Option(min=1, help="How many sheets to show.")] = 50,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON instead of a table.")] = False,
    page: Annotated[Path | None, typer.Option(metavar="FILE", help="Write a page with small pictures too.")] = None,
    rebuild: Annotated[bool, typer.Option("--rebuild", help="Read every sheet anew first.")] = False,
) -> None:
    """Find a sheet again: by its words, a length, a gear, or what is doubtful on it.

    All that is given must hold. The catalogue is one file in the folder, catalogue.sqlite; it follows the results and
    may be deleted at any time. Each value is shown with its state: a disputed one may be wrong.

    Examples: digitize find "spindle 14 1/2" --in drawer-4-digitized

    digitize find --diameter 5.5in --within 0.01in

    digitize find --teeth 42 --pitch 8
    """
    with one_clear_sentence():
        query = query_of(
            _as_asked(words or ()),
            {"title": title, "number": number, "material": material, "date": date},
            {"diameter": diameter or (), "radius": radius or (), "length": length or ()},
            within,
            teeth,
            pitch,
            module,
            state.value if state else "",
            most,
        )
        if not query.asks():
            raise InputError(
                'Say what to look for: words, a length, a gear or a state, such as digitize find "spindle".'
            )
        hits, more = with_catalogue(home, lambda catalogue: catalogue.find(query), rebuild)
        if page is not None:
            write_page(page, hits, more, home)
    if as_json:
        content = {"schema": SCHEMA, "sheets": [_as_json(hit) for hit in hits], "more": more}
        typer.echo(json.dumps(content, indent=1, ensure_ascii=False))
    else:
        Console().print(_as_table(hits, more), highlight=False)


def _as_asked(words: Sequence[str]) -> str:
    """The words as one text; a folder among them was meant to be the one searched."""
    folder = next((word for word in words if word and _is_meant_as_folder(word, alone=len(words) == 1)), None)
    if folder is None:
        return " ".join(words)
    rest = shlex.quote(" ".join(word for word in words if word != folder) or "spindle")
    raise InputError(
        f"{folder} is a folder, not a word on a sheet; to search in it write: "
        f"digitize find {rest} --in {shlex.quote(folder)}"
    )


def _is_meant_as_folder(word: str, *, alone: bool) -> bool:
    """Whether it names a folder: beside other words by its name, alone only with a path."""
    return Path(word).is_dir() and not (alone and Path(word).name == word)


def _as_json(hit: Hit) -> dict[str, Any]:
    return {
        "folder": hit.folder,
        **hit.fields,
        "values": [
            {
                "id": each.row,
                "kind": each.kind,
                "text": each.text,
                "mm": None if each.length_pm is None else each.length_pm / PM_PER_MM,
                "state": each.state,
            }
            for each in hit.sizes
        ],
        "gears": [{"teeth": each.teeth, "module_mm": each.module_mm, "state": each.state} for each in hit.gears],
    }


def _as_table(hits: tuple[Hit, ...], more: bool) -> Table | str:
    heading = wording.heading(hits, more)
    if not hits:
        return heading
    table = Table(title=heading, title_justify="left", box=None)
    columns = {
        "folder": [hit.folder for hit in hits],
        "title block": ["\n".join(wording.title_block(hit)) for hit in hits],
        "found on it": ["\n".join(wording.found_on(hit)) for hit in hits],
    }
    filled = {name: cells for name, cells in columns.items() if any(cells)}
    for name in filled:
        table.add_column(name)
    for row in zip(*filled.values(), strict=True):
        table.add_row(*map(Text, row))
    return table
