"""Notes that stand one behind the other on a line: ``BASE PLATE  SCALE 1:2  ALL DIMENSIONS IN MM``."""

import re

_NUMBER = r"\d+(?:\.\d+)?"
_SCALE = re.compile(rf"(?<![A-Z])SCALE ?[:=-]? ?(?:{_NUMBER} ?: ?{_NUMBER}|(?:FULL|HALF|QUARTER) SIZE)(?![\w:]|\.\d)")
_UNIT_NAME = r"(?:M\.?M\.?|MILLIMET(?:RE|ER)S|INCH(?:ES)?|INS\.?)"
_UNIT = re.compile(rf"(?<![A-Z])(?:ALL )?(?:DIMENSIONS|DIMS\.?|SIZES)(?: ARE)? IN {_UNIT_NAME}(?!\w)")
_OF_ONE_VIEW = re.compile(r"(?<![A-Z])(?:DETAIL|SECTION|SEC\.|VIEW|ENLARGED)(?![A-Z])")


def several_notes(text: str) -> tuple[str, ...]:
    """The notes on scale and unit that stand on a line among other words, in capitals.

    Parameters
    ----------
    text : str
        Capitals.

    Returns
    -------
    tuple of str
        Empty where the rest of the line has figures, which may belong to the notes, or where they are of one view only.

    Examples
    --------
    >>> several_notes("BASE PLATE SCALE 1:2 ALL DIMENSIONS IN MM")
    ('SCALE 1:2', 'ALL DIMENSIONS IN MM')
    >>> several_notes("DETAIL A SCALE 2:1"), several_notes("PLATE 3 SCALE 1:2")
    ((), ())
    """
    found = [match for pattern in (_SCALE, _UNIT) for match in pattern.finditer(text)]
    rest = _UNIT.sub(" ", _SCALE.sub(" ", text))
    if re.search(r"\d", rest) or _OF_ONE_VIEW.search(rest) or len({match.re for match in found}) < len(found):
        return ()
    return tuple(match[0] for match in found)


def stated_scale(text: str) -> str:
    """The words on scale of a line that says more; the line itself where it says nothing else.

    Examples
    --------
    >>> stated_scale("Spur gear  scale 1:2"), stated_scale("HALF SIZE")
    ('SCALE 1:2', 'HALF SIZE')
    """
    match = _SCALE.search(" ".join(text.upper().split()))
    return match[0] if match is not None else text
