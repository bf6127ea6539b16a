"""Skew and quarter turns against truth: calibration, with figures read where letter shapes leave the turn open.

No sheet of these is bent, so that those called bent are told as well.

``python -m tests.bench.skew --seeds 3000:3100 --out DIR``; ``--borderless`` draws the sheets without their border and
title frame, ``--hand-ruled 0.15`` moves each end of each line by a normal error of so many mm across it.
"""

import argparse
import json
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np

from calibrate.errors import InputError
from calibrate.level import calibrate_sheet
from calibrate.sheet import FloatArray
from digitize.pipeline import laid_upright
from samples.__main__ import seed_range
from samples.aging import EXPOSE
from samples.compose import finished, streams
from samples.pictures import encoded
from samples.truth import Drawing, LineMark, truth_record
from tests.bench.records import Record

LEVELS = ("clean", "aged", "harsh")
NORMAL_95 = 1.96
SQUARE_ON = 0.05
"""Slope at which a line ruled askew still counts as level or upright."""
FIGURES_TO_DECIDE = 8
"""A sheet with so many figures must be turned rightly."""


@dataclass(frozen=True)
class Turned:
    """One sheet: skew error (None for photographs), its stated standard error, quarter turn right, told, figures.

    ``called_bent`` says what bend was found, if any.

    ``bound_deg`` is the standard error of the turn for somebody who knows every level and upright line exactly as it
    was ruled askew, and by how much a pen strays; 0 where none does.
    """

    name: str
    error_deg: float | None
    std_deg: float
    turn_right: bool
    turn_doubted: bool
    figures: int
    bound_deg: float = 0.0
    called_bent: str = ""


def hand_ruled(drawing: Drawing, seed: int, error_mm: float, *, borderless: bool) -> Drawing:
    """The drawing with its lines ruled askew, and without the lines of its border."""
    rng = np.random.default_rng(seed)
    lines = [line for line in drawing.lines if not (borderless and line.role == "border")]
    return replace(drawing, lines=tuple(_askew(line, rng.normal(0, error_mm, 2)) for line in lines))


def _askew(line: LineMark, error_mm: FloatArray) -> LineMark:
    ends = np.array([line.p0, line.p1])
    along = ends[1] - ends[0]
    across = np.array([-along[1], along[0]]) / max(float(np.hypot(*along)), 1e-9)
    (x0, y0), (x1, y1) = (ends + error_mm[:, None] * across).tolist()
    return replace(line, p0=(x0, y0), p1=(x1, y1))


def draw(level: str, seed: int, out: Path, error_mm: float, *, borderless: bool) -> Path:
    """Draw one sheet and its truth."""
    drawing = hand_ruled(finished(level, seed), seed, error_mm, borderless=borderless)
    scan = EXPOSE[level](drawing, streams(level, seed).exposure)
    name = f"{level}-{seed:05d}"
    picture = out / (name + scan.suffix)
    out.mkdir(parents=True, exist_ok=True)
    picture.write_bytes(encoded(scan))
    record = truth_record(drawing, scan.exposure, name=name, seed=seed, level=level, image=picture.name)
    picture.with_name(f"{name}.truth.json").write_text(json.dumps(record, ensure_ascii=False), encoding="utf-8")
    return picture


def bound_deg(strokes: list[Record], error_mm: float) -> float:
    """Standard error of a sheet's turn from all its level and upright lines, each end of which strays: lines weigh as
    their length squared, which no unbiased mean betters (Gauss-Markov)."""
    along = np.array([np.subtract(s["p1"], s["p0"]) for s in strokes if s["type"] == "line"]).reshape(-1, 2)
    length = np.hypot(*along.T)
    square_on = np.abs(along).min(axis=1) <= SQUARE_ON * length
    return float(np.degrees(2**0.5 * error_mm / np.sqrt(np.square(length[square_on]).sum())))


def measure(picture: Path, error_mm: float) -> Turned:
    """Calibrate one sample and compare it with its truth."""
    truth = json.loads(picture.with_name(f"{picture.stem}.truth.json").read_text(encoding="utf-8"))
    sheet = laid_upright(lambda turn: calibrate_sheet(picture, orientation_deg=turn))
    error = None if truth.get("perspective") else sheet.skew_deg - truth["skew_deg"]
    for warning in sheet.warnings:
        print(f"    {picture.stem}: {warning}")
    doubted = any("Which way up" in warning for warning in sheet.warnings)
    right = sheet.orientation_deg == truth["orientation_deg"]
    bound = bound_deg(truth["strokes"], error_mm)
    bent = "" if sheet.bend is None else f"{picture.stem}: bow {sheet.bend.bow_px:.1f} px"
    return Turned(picture.stem, error, sheet.skew_std_deg, right, doubted, len(truth["dimensions"]), bound, bent)


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
    bound = np.array([sheet.bound_deg for sheet in scans])
    if bound.any():
        lines.append(
            f"  bound set by the pen: standard error mean {bound.mean():.5f}, largest {bound.max():.5f} deg;"
            f" rms of error over it {np.sqrt(np.mean((error / bound) ** 2)):.2f}"
        )
    lines.append(f"  quarter turns wrong {len(wrong)}, without a doubt told {silent}, with eight figures {enough}")
    bent = [sheet.called_bent for sheet in sheets if sheet.called_bent]
    lines.append(f"  called bent, and flat: {len(bent)} {bent}")
    return "\n".join(lines)


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="skew", description=__doc__)
    parser.add_argument("--levels", nargs="+", choices=LEVELS, default=LEVELS)
    parser.add_argument("--seeds", type=seed_range, required=True, help="first:last, last not included")
    parser.add_argument("--borderless", action="store_true")
    parser.add_argument("--hand-ruled", type=float, default=0.0, metavar="MM")
    parser.add_argument("--out", type=Path, required=True)
    options = parser.parse_args(argv)
    cv2.setNumThreads(1)
    for level in options.levels:
        sheets, refused = [], []
        for seed in options.seeds:
            picture = draw(level, seed, options.out, options.hand_ruled, borderless=options.borderless)
            try:
                sheets.append(measure(picture, options.hand_ruled))
            except InputError as error:
                refused.append(f"{picture.name}: {error}")
            picture.unlink()
        print(report(level, sheets, refused), flush=True)


if __name__ == "__main__":
    main()
