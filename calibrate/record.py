"""What calibration leaves on disk: the level picture and its record, whole or not at all."""

import json
import os
from collections.abc import Callable
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import numpy as np
import tifffile

from calibrate.files.resolution import MM_PER_INCH
from calibrate.scaling.circles import circles_record
from calibrate.scaling.witnesses import witness_record
from calibrate.sheet import KnownScale, LevelSheet, Proportion
from calibrate.straightening.flat_map import bend_record

LEVEL_NAME, RECORD_NAME = "level.tif", "sheet.json"
DEGREE_DIGITS, PIXEL_DIGITS, PERCENT_DIGITS = 5, 3, 3


def mm_per_px(sheet: LevelSheet) -> tuple[float, float] | None:
    """Millimetres of paper per level pixel along x and y; None where the resolution is not known."""
    if sheet.resolution.x_dpi is None or sheet.resolution.y_dpi is None:
        return None
    return MM_PER_INCH / sheet.resolution.x_dpi, MM_PER_INCH / sheet.resolution.y_dpi


def calibration_record(sheet: LevelSheet) -> dict[str, object]:
    """Collect the calibration of a sheet in plain values, ready for JSON.

    Parameters
    ----------
    sheet : LevelSheet

    Returns
    -------
    dict
        Lengths in pixels or millimetres of paper, angles in degrees, as the keys say; unknown values are None.
    """
    known = mm_per_px(sheet)
    height, width = sheet.source_shape_px
    return {
        "source": sheet.path.name,
        "sha256": sheet.sha256,
        "page": sheet.page,
        "page_count": sheet.page_count,
        "image_size_px": [width, height],
        "polarity": sheet.polarity.value,
        "orientation_deg": sheet.orientation_deg,
        "turned_over": sheet.turned_over,
        "skew_deg": round(sheet.skew_deg, DEGREE_DIGITS),
        "skew_std_deg": round(sheet.skew_std_deg, DEGREE_DIGITS),
        "rectified": sheet.rectified,
        "proportion": proportion_record(sheet.proportion),
        "circles": circles_record(sheet.circles),
        "level_from_source": np.asarray(sheet.level_from_source).tolist(),
        "level_size_px": [sheet.grey.shape[1], sheet.grey.shape[0]],
        "mm_per_px": None if known is None else list(known),
        "resolution": {
            "status": sheet.resolution.status.value,
            "x_dpi": sheet.resolution.x_dpi,
            "y_dpi": sheet.resolution.y_dpi,
            "note": sheet.resolution.note,
        },
        "scale": None if sheet.known is None else _scale(sheet.known),
        "evidence": list(sheet.evidence),
        "witnesses": [witness_record(each) for each in sheet.witnesses],
        "bend": bend_record(sheet.bend, sheet.grey.shape, None if known is None else sum(known) / 2),
        "pen_px": round(sheet.pen_px, PIXEL_DIGITS),
        "version": _version(),
        "warnings": list(sheet.warnings),
    }


def proportion_record(proportion: Proportion | None) -> dict[str, object] | None:
    """The proportion of a photograph's sides in plain values; None of a scan."""
    if proportion is None:
        return None
    return {"std_percent": round(100 * proportion.std, PERCENT_DIGITS), "note": proportion.note}


def _scale(known: KnownScale) -> dict[str, object]:
    return {
        f"{known.of.value}_mm_per_px": list(known.mm_per_px),
        "std": list(known.std),
        "known_lengths": known.count,
        "note": known.note,
    }


def write_calibration(sheet: LevelSheet, folder: Path) -> None:
    """Write the level picture and the record into a folder, each under a temporary name first.

    Parameters
    ----------
    sheet : LevelSheet
    folder : Path
        Made where it is missing.
    """
    folder.mkdir(parents=True, exist_ok=True)
    text = json.dumps(calibration_record(sheet), indent=2, ensure_ascii=False) + "\n"
    write_whole(folder / LEVEL_NAME, lambda path: _write_level(sheet, path))
    write_whole(folder / RECORD_NAME, lambda path: path.write_text(text, encoding="utf-8"))


def write_whole(path: Path, write: Callable[[Path], object]) -> None:
    """Let ``write`` fill a temporary file beside ``path``, then rename it: a crash leaves the old file or none."""
    temporary = path.with_name(f".{os.getpid()}.{path.name}")
    try:
        write(temporary)
        temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)


def _write_level(sheet: LevelSheet, path: Path) -> None:
    known = mm_per_px(sheet)
    dpi = (1.0, 1.0) if known is None else (MM_PER_INCH / known[0], MM_PER_INCH / known[1])
    tifffile.imwrite(
        path,
        sheet.grey,
        photometric="minisblack",
        compression="deflate",
        resolution=dpi,
        resolutionunit="NONE" if known is None else "INCH",
        metadata=None,
        software="tracecloth",
    )


def _version() -> str:
    try:
        return version("tracecloth")
    except PackageNotFoundError:
        return "not installed"
