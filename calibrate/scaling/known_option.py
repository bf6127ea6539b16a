"""The option ``--known`` of both commands: three words, a length and two points."""

from collections.abc import Sequence
from typing import Any

from typer.core import TyperCommand

from calibrate.errors import InputError
from calibrate.scaling.known import KnownLength, parse_known

KNOWN, KNOWN_WORDS = "--known", 3
METAVAR = "LENGTH X1,Y1 X2,Y2"
HELP = (
    "A length between two pixels of the file, such as 7.5in 120,300 1890,300: x to the right and y down from the middle"
    " of the top left pixel; repeatable."
)
OF_HELP = "Known lengths are the part's, as dimensioned, or the paper's, by a rule."


class KnownCommand(TyperCommand):
    """A command whose option ``--known`` takes three words."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Join the words before the option is parsed."""
        return super().parse_args(ctx, joined(args))


def joined(arguments: Sequence[str]) -> list[str]:
    """Make one argument of the words that follow ``--known``.

    Examples
    --------
    >>> joined(["a.tif", "--known", "7.5in", "1,2", "3,4", "--quiet"])
    ['a.tif', '--known', '7.5in 1,2 3,4', '--quiet']
    """
    rest, result = list(arguments), []
    while rest:
        result.append(rest.pop(0))
        if result[-1] == KNOWN and rest:
            words = [] if rest[0].count(",") > 1 else rest[:KNOWN_WORDS]
            result.append(" ".join(words) or rest[0])
            del rest[: max(1, len(words))]
    return result


def known_lengths(texts: Sequence[str] | None) -> list[KnownLength]:
    """Read the lengths given for a print; raises InputError where one is not understood."""
    return [parse_known(text) for text in texts or ()]


def check_page(lengths: Sequence[KnownLength], name: str, pages: int, page: int | None) -> None:
    """Raise InputError where a length is given for a print of several pages and none was named."""
    if lengths and pages > 1 and page is None:
        raise InputError(f"{name} has {pages} pages; say with --page where the known length is.")
