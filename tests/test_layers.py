"""Folders of a room import one another one way: none reaches back to a folder that imports it."""

import ast
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ROOMS = (
    "calibrate",
    "digitize/strokes",
    "digitize/lettering",
    "digitize/dimensions",
    "digitize/redraw",
    "digitize/gears",
)


def imported(source: Path) -> Iterator[str]:
    """Dotted names of all modules that a file imports, or imports something from."""
    for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{name.name}" for name in node.names)
        elif isinstance(node, ast.Import):
            yield from (name.name for name in node.names)


def folders_of(room: str) -> dict[str, set[str]]:
    """The folders of a room, and to each the others that its modules import."""
    dotted = room.replace("/", ".") + "."
    graph: dict[str, set[str]] = {}
    for folder in (path.parent for path in (ROOT / room).glob("*/__init__.py")):
        names = (name for source in folder.rglob("*.py") for name in imported(source) if name.startswith(dotted))
        others = {name.removeprefix(dotted).split(".")[0] for name in names}
        graph[folder.name] = {other for other in others if (ROOT / room / other).is_dir()} - {folder.name}
    return graph


@pytest.mark.parametrize("room", ROOMS)
def test_folders_import_one_another_one_way(room):
    graph = folders_of(room)
    assert len(graph) >= 3
    assert list(TopologicalSorter(graph).static_order())
