"""Words and figures as the catalogue keeps them, so that a figure is found however it was written."""

import re
from collections.abc import Iterator

_TOKEN = re.compile(r"(?P<whole>\d*)[.,](?P<part>\d+)|(?P<over>\d+)/(?P<under>\d+)|(?P<plain>[^\W_]+)")
DECIMAL, FRACTION = "d", "f"
"""What stands between the figures of one number: letters, which full-text search does not split."""
LEAST_PREFIX = 3
"""A word of so many letters is found by its beginning too."""


def folded(text: str) -> str:
    """The words of a text, in small letters, each number one word.

    Examples
    --------
    >>> folded('Ø 14 1/2" DIA., .6250 BORE No. B-261')
    'ø 14 1f2 dia 0d625 bore no b 261'
    """
    return " ".join(_words(text))


def _words(text: str) -> Iterator[str]:
    for match in _TOKEN.finditer(text.lower()):
        if match["part"] is not None:
            whole, part = match["whole"].lstrip("0") or "0", match["part"].rstrip("0")
            yield f"{whole}{DECIMAL}{part}" if part else whole
        elif match["over"] is not None:
            yield f"{match['over']}{FRACTION}{match['under']}"
        else:
            yield match["plain"]


def phrases(query: str) -> str:
    """A query for FTS5: every word must be there; whole numbers and their fractions stand together.

    Returns
    -------
    str
        Empty where the query holds no word.

    Examples
    --------
    >>> phrases('spindle 14 1/2"')
    '"spindle" * AND "14 1f2"'
    """
    found = [phrase for part in query.split('"') for phrase in _phrases(part)]
    return " AND ".join(found)


def _phrases(query: str) -> Iterator[str]:
    words: list[str] = []
    for part in query.split():
        inner = folded(part)
        if inner and words and words[-1].isdigit() and re.fullmatch(rf"\d+{FRACTION}\d+", inner):
            words[-1] += f" {inner}"
        elif inner:
            words.append(inner)
    for word in words:
        begins = len(word) >= LEAST_PREFIX and word.isalpha()
        yield f'"{word}" *' if begins else f'"{word}"'
