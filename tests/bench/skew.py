"""Skew and quarter turns against truth, calibration alone.

``python -m tests.bench.skew --seeds 3000:3100 --out DIR``
"""

import argparse
import json
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from calibrate.errors import InputError
from calibrate.level import calibrate_sheet
from samples.__main__ import make_sheet, seed_range

LEVELS = ("clean", "aged", "harsh")
NORMAL_95 = 1.96
FIGURES_TO_DECIDE = 8
"""A sheet with so many figures must be turned rightly."""


@dataclass(frozen=True)
class Turned:
    """One sheet: skew error (None for photographs), its stated standard error, quarter turn right, told, figures."""

    name: str
    error_deg: float | None
    std_deg: float
    turn_right: bool
    turn_doubted: bool
    figures: int


def measure(picture: Path) -> Turned:
    """Calibrate one sample and compare it with its truth."""
    truth = json.loads(picture.with_name(f"{picture.stem}.truth.json").read_text(encoding="utf-8"))
    sheet = calibrate_sheet(picture)
    error = None if truth.get("perspective") else sheet.skew_deg - truth["skew_deg"]
    doubted = any("Which way up" in warning for warning in sheet.warnings)
    right = sheet.orientation_deg == truth["orientation_deg"]
    return Turned(picture.stem, error, sheet.skew_std_deg, right, doubted, len(truth["dimensions"]))


def report(level: str, sheets: list[Turned], refused: list[str]) -> str:
    """The figures of one level, in words."""
    scans = [sheet for sheet in sheets if sheet.error_deg is not None and sheet.turn_right]
    error = np.abs([sheet.error_deg for sheet in scans if sheet.error_deg is not None])
    std = np.array([sheet.std_deg for sheet in scans])
    wrong = [sheet for sheet in sheets if not sheet.turn_right]
    silent = [sheet.name for sheet in wrong if not sheet.turn_doubted]
    enough = [sheet.name for sheet in wrong if sheet.figures >= FIGURES_TO_DECIDE]
    lines = [f"{level}: {len(sheets)} sheets, {len(refused)} refused {refused}"]
    if len(error):
        lines.append(
            f"  skew of {len(error)} scans: mean {error.mean():.5f}, 95th {np.percentile(error, 95):.5f}, worst"
            f" {error.max():.5f} deg ({scans[int(error.argmax())].name});"
            f" within 1.96 standard errors {np.mean(error <= NORMAL_95 * std):.3f}"
        )
    lines.append(f"  quarter turns wrong {len(wrong)}, without a doubt told {silent}, with eight figures {enough}")
    return "\n".join(lines)


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="skew", description=__doc__)
    parser.add_argument("--levels", nargs="+", choices=LEVELS, default=LEVELS)
    parser.add_argument("--seeds", type=seed_range, required=True, help="first:last, last not included")
    parser.add_argument("--out", type=Path, required=True)
    options = parser.parse_args(argv)
    cv2.setNumThreads(1)
    for level in options.levels:
        sheets, refused = [], []
        for seed in options.seeds:
            picture = make_sheet(level, seed, options.out)
            try:
                sheets.append(measure(picture))
            except InputError as error:
                refused.append(f"{picture.name}: {error}")
            picture.unlink()
        print(report(level, sheets, refused), flush=True)


if __name__ == "__main__":
    main()
