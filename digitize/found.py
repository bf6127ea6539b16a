"""What the slow stages found on a sheet, kept as a file: the fast ones can run again without the picture.

`found.json` in a result folder holds the calibration, the strokes and the readings with their rivals. A correction or a
review starts from it: nothing is traced or read anew, and what was found stays what it was.
"""

import json
import math
import os
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, get_args, get_origin

import cattrs
import numpy as np

from calibrate.errors import InputError
from calibrate.sheet import LevelSheet
from digitize.gears.options import NOTHING_TYPED, DeskInput
from digitize.lettering.text import Text
from digitize.strokes.primitives import Strokes

SCHEMA = "found/1"
NAME = "found.json"
DAMAGED = "{name} is damaged; digitize the print again."
PICTURES = {"working_grey": np.uint8, "working_ink": np.bool_, "grey": np.uint8, "ink": np.bool_}
"""Fields of a `LevelSheet` that are pictures: only their shape is kept."""


@dataclass(frozen=True)
class Found:
    """All that the stages after reading need.

    Attributes
    ----------
    sheet : LevelSheet
        Its pictures may be blank ones of the right shape.
    strokes : Strokes
    texts : tuple of Text
    teeth : DeskInput
        What a person typed of a gear's teeth.
    """

    sheet: LevelSheet
    strokes: Strokes
    texts: tuple[Text, ...]
    teeth: DeskInput = NOTHING_TYPED


def save(path: Path, found: Found, home: Path | None = None) -> None:
    """Write what was found; pictures are left out, but for their shape.

    Parameters
    ----------
    path : Path
    found : Found
    home : Path, optional
        Folder that the record will lie in: the print's place is told from there.
    """
    nothing: dict[str, Any] = {name: np.zeros((0, 0), kind) for name, kind in PICTURES.items()}
    bare = replace(found, sheet=replace(found.sheet, path=Path(found.sheet.path.name), **nothing))
    content = {
        "schema": SCHEMA,
        "source": os.path.relpath(found.sheet.path.resolve(), (home or path.parent).resolve()),
        "shapes": {name: list(getattr(found.sheet, name).shape) for name in PICTURES},
        **_converter().unstructure(bare),
    }
    path.write_text(json.dumps(content, allow_nan=False, ensure_ascii=False) + "\n", encoding="utf-8")


def load(path: Path) -> Found:
    """Read what `save` wrote; pictures come back blank.

    Raises
    ------
    InputError
        The file is no such record, or that of another version.
    """
    content = _content(path)
    if content.get("schema") != SCHEMA:
        raise InputError(f"{path.name} was written by another version; digitize the print again.")
    try:
        parts = {key: content[key] for key in ("sheet", "strokes", "texts")}
        found = _converter().structure(parts | {"teeth": content.get("teeth", {})}, Found)
        blank: dict[str, Any] = {
            name: np.broadcast_to(np.zeros((), kind), tuple(content["shapes"][name])) for name, kind in PICTURES.items()
        }
    except (ValueError, KeyError, TypeError, cattrs.BaseValidationError) as error:
        raise InputError(DAMAGED.format(name=path.name)) from error
    return replace(found, sheet=replace(found.sheet, **blank))


def kept_in(folder: Path, sheet: LevelSheet) -> Found | None:
    """What was found before on this very print, with the pictures of ``sheet``.

    None where the folder holds nothing, or where another version laid the sheet otherwise.
    """
    path = folder / NAME
    if not path.exists():
        return None
    found = with_pictures(load(path), sheet)
    same_shape = found.sheet.source_shape_px == sheet.source_shape_px
    return found if same_shape and np.allclose(found.sheet.level_from_source, sheet.level_from_source) else None


def _content(path: Path) -> dict[str, Any]:
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
    except ValueError as error:
        raise InputError(DAMAGED.format(name=path.name)) from error
    if not isinstance(content, dict) or "schema" not in content:
        raise InputError(DAMAGED.format(name=path.name))
    return content


def source_of(path: Path) -> Path:
    """Where the print lay when it was digitized."""
    return path.parent / str(_content(path).get("source", "the print"))


def with_pictures(found: Found, sheet: LevelSheet) -> Found:
    """Give a record its pictures back, from the same print calibrated again.

    Raises
    ------
    InputError
        The print is not the one that was digitized.
    """
    if sheet.sha256 != found.sheet.sha256 or sheet.page != found.sheet.page:
        raise InputError(f"{sheet.path.name} is not the file that was digitized: its bytes differ; digitize it again.")
    return replace(found, sheet=replace(found.sheet, path=sheet.path, **{n: getattr(sheet, n) for n in PICTURES}))


@cache
def _converter() -> cattrs.Converter:
    converter = cattrs.Converter(forbid_extra_keys=False)
    converter.register_unstructure_hook(float, lambda value: value if math.isfinite(value) else repr(float(value)))
    converter.register_unstructure_hook(Path, str)
    converter.register_structure_hook(Path, lambda value, _: Path(value))
    converter.register_unstructure_hook_func(_is_array, lambda array: array.tolist())
    converter.register_structure_hook_func(_is_array, _to_array)
    return converter


def _is_array(kind: Any) -> bool:
    return kind is np.ndarray or get_origin(kind) is np.ndarray


def _to_array(value: Any, kind: Any) -> Any:
    scalar = get_args(get_args(kind)[1])[0]
    return np.array(value, dtype=scalar)
