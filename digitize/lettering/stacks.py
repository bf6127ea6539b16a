"""How lettering in two dimensions is spelled as two strings, one for each output of the reader.

A figure such as 2 3/8 has its 3 over its 8. The reader's *upper* output spells the row and what stands on top of each
stack; its *lower* output spells what stands below, one piece for each stack:

    upper  ``2`` FRACTION ``3`` END ``"``        lower  START ``8``

which together are the canonical text ``2 3/8"``. Limits are opened by LIMITS instead of FRACTION and joined by a line
feed. A fraction written along the row, or with a sloping stroke, needs no stack: ``/`` is a character as any other.
"""

import re
import string

FRACTION, LIMITS, END, START = "\ue000", "\ue001", "\ue002", "\ue003"
"""Marks of the two outputs, from Unicode's private area so that no drawing can hold them."""

_MARKS = ".,-+±/'\"°Ø():;&#%=@□"
_LETTERS = string.digits + string.ascii_uppercase + string.ascii_lowercase
UPPER_ALPHABET = " " + _LETTERS + _MARKS + FRACTION + LIMITS + END + "×"
LOWER_ALPHABET = " " + string.digits + ".,-+'\"°/" + START + "ØR"

_STACK = re.compile(f"([{FRACTION}{LIMITS}])([^{FRACTION}{LIMITS}{END}]+){END}")
_SPACES = re.compile(" +")
_MARK_BETWEEN = re.compile(r"(\d)(['\"°]) ?(\d+/\d+)(?![\d'\"°])")


def canonical(upper: str, lower: str) -> str | None:
    """Join the two outputs into canonical text.

    Parameters
    ----------
    upper, lower : str
        As the reader's outputs spell them.

    Returns
    -------
    str or None
        None where the outputs contradict each other: another number of stacks, an empty or unclosed stack.

    Examples
    --------
    >>> canonical("2" + FRACTION + "3" + END + '"', START + "8")
    '2 3/8"'
    >>> canonical(LIMITS + "1.250" + END, START + "1.248")
    '1.250\\n1.248'
    >>> canonical("2" + FRACTION + "3" + END, "") is None
    True

    An inch mark lettered between the whole number and its fraction belongs after both.

    >>> canonical('2"' + FRACTION + "3" + END, START + "8")
    '2 3/8"'
    """
    below = lower.split(START)
    if below[0].strip() or len(below) - 1 != len(_STACK.findall(upper)):
        return None
    pieces: list[str] = []
    done = 0
    for match, under in zip(_STACK.finditer(upper), below[1:], strict=True):
        if not under.strip() or not match[2].strip():
            return None
        before = upper[done : match.start()]
        pieces += [before, _gap(before, match[1]), match[2].strip(), _joint(match[1]), under.strip()]
        done = match.end()
    text = "".join(pieces) + upper[done:]
    if any(mark in text for mark in (FRACTION, LIMITS, END)):
        return None
    return _SPACES.sub(" ", _MARK_BETWEEN.sub(r"\1 \3\2", text)).strip(" ")


def _gap(before: str, opening: str) -> str:
    """Space between a whole number and its fraction, or between a figure and its deviations; none after a sign."""
    if not before or before[-1] == " ":
        return ""
    parts = before[-1].isdigit() or (opening == LIMITS and before[-1] in "\"'°")
    return " " if parts else ""


def _joint(opening: str) -> str:
    return "/" if opening == FRACTION else "\n"
