"""Picture to straight, metric sheet.

In: a file with a scan or a photograph of a print. Out: a `LevelSheet`, its grey and ink images upright and level,
with the transforms that lead back to the source pixels.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from calibrate.level import calibrate_sheet

__all__ = ["calibrate_sheet"]


def __getattr__(name: str) -> object:
    # Loaded on first use, so that the exchanged types can be imported without the image libraries.
    if name == "calibrate_sheet":
        from calibrate.level import calibrate_sheet

        return calibrate_sheet
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
