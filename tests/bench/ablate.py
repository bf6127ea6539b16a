"""What each rule of the dimensions earns: one function at a time is made to find nothing, and the sheets judged again.

    python -m tests.bench.ablate out/cache [...] [--sheets 60] [--only NAME ...] [--changes 2]

The folders are those of `tests.bench.cache`. A rule is a function of `digitize.dimensions` that may find nothing: it
answers no, gives None or an empty tuple, or hands back what it was given. Each is told to, wherever it is called; a
question is also told to answer yes, since a rule that only says no is lost that way. Told are the sheets on which
anything of the table, the scales or the warnings differs, and what it comes to: figures right and agreed, agreed and
wrong, sound ones disputed, traps agreed and disputed. With ``--changes`` readings are changed as `tests.bench.stress`
does, and those that end agreed though the drawing tells them apart are told too. Rules that are used before the
sheets are kept (`missed_figures`, `flanking_heads`, ...) do not speak here.

A rule that changes no sheet is not yet idle: `tests.bench.stress`, the plates and the tests show what it guards.
"""

import argparse
import importlib
import inspect
import pkgutil
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FunctionType, NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import digitize.dimensions
from digitize.dimensions.reconcile import reconcile
from digitize.lettering.grammar import parse
from digitize.report.table import table
from tests.bench.cache import Kept, kept
from tests.bench.dimension_score import score_dimensions
from tests.bench.records import Case
from tests.bench.stress import changes_of

Count = Counter[str]
EMPTY: Mapping[Any, Callable[[], Any]] = {tuple: tuple, list: list, set: set, frozenset: frozenset, dict: dict}


@dataclass(frozen=True)
class Rule:
    """A function, what it is told to answer, and the function that does."""

    name: str
    function: FunctionType
    answer: str
    nothing: Callable[..., Any]


@dataclass(frozen=True)
class Outcome:
    """All that reconcile said of a sheet, to be compared, and what it comes to."""

    said: str
    count: Count


def rules() -> Iterator[Rule]:
    """Every function of the room that may find nothing, once for each way in which it may."""
    for module in pkgutil.walk_packages(digitize.dimensions.__path__, "digitize.dimensions."):
        loaded = importlib.import_module(module.name)
        for name, function in vars(loaded).items():
            if isinstance(function, FunctionType) and function.__module__ == module.name:
                for answer, nothing in nothings(function):
                    yield Rule(f"{module.name.removeprefix('digitize.dimensions.')}.{name}", function, answer, nothing)


def nothings(function: FunctionType) -> Iterator[tuple[str, Callable[..., Any]]]:
    """The ways in which a function may find nothing, by what it says that it gives."""
    hints = get_type_hints(function)
    gives = hints.pop("return", NoneType)
    first = next(iter(hints.values()), None)
    origin = get_origin(gives)
    if gives is bool:
        yield "no", lambda *args, **named: False
        yield "yes", lambda *args, **named: True
    elif first is not None and (gives == first or (origin is tuple and _of(gives) == _of(first) != ())):
        yield "as given", lambda *args, **named: args[0] if origin is not tuple else tuple(args[0])
    elif origin in (Union, UnionType) and NoneType in get_args(gives):
        yield "none", lambda *args, **named: None
    elif origin in EMPTY and (origin is not tuple or Ellipsis in get_args(gives)):
        yield "empty", lambda *args, **named: EMPTY[origin]()
    elif origin is not None and inspect.isgeneratorfunction(function):
        yield "empty", lambda *args, **named: iter(())


def _of(hint: Any) -> tuple[Any, ...]:
    """What a tuple or sequence holds."""
    return tuple(each for each in get_args(hint) if each is not Ellipsis)


@contextmanager
def instead(function: FunctionType, other: Callable[..., Any]) -> Iterator[None]:
    """Let another function stand in wherever one is known by name."""
    known = [
        (vars(module), name)
        for key, module in list(sys.modules.items())
        if key.startswith(("digitize", "tests.bench"))
        for name, value in list(vars(module).items())
        if value is function
    ]
    for names, name in known:
        names[name] = other
    try:
        yield
    finally:
        for names, name in known:
            names[name] = function


def spoken(sheets: Sequence[Kept], chosen: Sequence[Rule]) -> Mapping[Rule, list[Kept]]:
    """The sheets on which each rule answers anything but what it would be told to: on others it can change nothing."""
    heard: dict[Rule, list[Kept]] = {rule: [] for rule in chosen}
    told: dict[FunctionType, list[Rule]] = {}
    for rule in chosen:
        told.setdefault(rule.function, []).append(rule)
    seen: set[Rule] = set()
    with ExitStack() as all_of_them:
        for function, own in told.items():
            all_of_them.enter_context(instead(function, _listening(function, own, seen)))
        for sheet in sheets:
            seen.clear()
            reconcile(sheet.sheet, sheet.strokes, sheet.texts, parse)
            for rule in seen:
                heard[rule].append(sheet)
    return heard


def _listening(function: FunctionType, own: Sequence[Rule], seen: set[Rule]) -> Callable[..., Any]:
    """The function, which notes the rules that say more than nothing."""

    def asked(*args: Any, **named: Any) -> Any:
        answer = function(*args, **named)
        for rule in own:
            if rule not in seen and not _same(answer, rule.nothing(*args, **named)):
                seen.add(rule)
        return answer

    return asked


def _same(one: Any, other: Any) -> bool:
    try:
        return one is other or bool(one == other)
    except ValueError:  # arrays do not compare to one answer
        return False


def outcome(sheet: Kept, changes: int) -> Outcome:
    """Judge a sheet with the rules as they now are; one that cannot do without a rule says so."""
    try:
        reconciled = reconcile(sheet.sheet, sheet.strokes, sheet.texts, parse)
        content = table(sheet.sheet, reconciled, None)
    except Exception as error:  # whatever a missing rule leads to
        return Outcome(repr(error), Counter({"fails": 1}))
    count: Count = Counter()
    if "dimensions" in sheet.truth:
        score = score_dimensions(Case(sheet.name, sheet.truth, content, {}, Path(), sheet.sheet))
        count.update({
            "right": score.right, "agreed": score.agreed_right, "wrong": len(score.wrong),
            "false disputes": score.sound_disputed, "traps agreed": score.traps - score.traps_caught,
            "traps disputed": score.traps_disputed,
        })  # fmt: skip
    if changes:
        ended = [each.state for each in changes_of(sheet, changes) if each.told_apart]
        count["changed agreed"] = sum(state == "agreed" for state in ended)
    return Outcome(repr(reconciled), count)


def ablated(rule: Rule, sheets: Sequence[Kept], before: Mapping[str, Outcome], changes: int) -> str:
    """One line on what a rule earns."""
    differ: list[str] = []
    change: Count = Counter()
    with instead(rule.function, rule.nothing):
        for sheet in sheets:
            after = outcome(sheet, changes)
            if after != before[sheet.name]:
                differ.append(sheet.name)
                change.update(after.count)
                change.subtract(before[sheet.name].count)
    parts = [f"{key} {value:+d}" for key, value in change.items() if value]
    names = f" ({', '.join(differ)})" if 0 < len(differ) < 4 else ""
    told = f"speaks on {len(sheets)}, differs on {len(differ)}{names}"
    return f"{rule.name} [{rule.answer}]: {told}; {', '.join(parts) or 'nothing'}"


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="ablate", description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--sheets", type=int, default=10**6, help="at most so many of those on which a rule speaks")
    parser.add_argument("--only", nargs="*", default=[], help="rules whose names hold one of these")
    parser.add_argument("--changes", type=int, default=0, help="readings changed a sheet")
    options = parser.parse_args(argv)
    sheets = [sheet for folder in options.folders for sheet in kept(folder)]
    chosen = [rule for rule in rules() if not options.only or any(part in rule.name for part in options.only)]
    heard = spoken(sheets, chosen)
    before = {sheet.name: outcome(sheet, options.changes) for sheet in sheets}
    for rule, on in sorted(heard.items(), key=lambda each: len(each[1])):
        step = max(1, -(-len(on) // options.sheets))
        print(ablated(rule, on[::step], before, options.changes), flush=True)


if __name__ == "__main__":
    main()
