"""The scale of sheets against truth: ``python -m tests.bench.scale FOLDER`` over what `tests.bench.cache` kept.

For each level, for plotted and for hand-drawn sheets, with ten and more dimensions in the fit and with fewer: relative
error on each axis, how often it is within the goal, how often the stated 95 % interval holds the truth, and the least
error that anybody could reach.

Glossary
--------
bound
    Standard error of the scale of an estimator that reads every figure of the main scale rightly, measures every
    length exactly, knows the draughtsman's error, weighs lengths that share an end as such (generalised least squares,
    which no unbiased linear estimator beats: Gauss-Markov), and knows from round circles how the axes compare. What is
    left is the draughtsman's error alone. Sizes read from circles and callouts besides may beat it a little.
"""

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.bench.cache import finished, kept
from tests.bench.records import Case, FloatArray, Record, project
from tests.bench.sheet_score import covered, main_scale, scale_errors

MM = {"mm": 1.0, "in": 25.4}
STRETCH_STD, ROUND_STD = (
    0.006,
    0.0006,
)  # what paper does, what circles tell of it: as in `stretching`
ROUND_MM = 4.0  # radius from which a circle tells it
MANY = 10
GOAL = {"clean": 0.0002, "aged": 0.0005, "harsh": 0.0005}
SAME_STATION_MM = 0.002
SAME_LENGTH_MM = 0.9  # a drawn length is that of its figure within three pen errors
OWN_SHARE = 0.1  # of the pen's error that each length has to itself
NORMAL_95 = 1.96


@dataclass(frozen=True)
class SheetScale:
    """One sheet: relative errors, their stated standard errors and the bound, each on x and y."""

    name: str
    pen_mm: float
    witnesses: int
    errors: tuple[float, float]
    stds: tuple[float, float]
    covered: tuple[bool, bool]
    bound: tuple[float, float] | None
    photographed: bool


def _direction(mark: Record, first: FloatArray, second: FloatArray, nominal_mm: float) -> int | None:
    """Along what a truth dimension is measured: 0 for x, 1 for y, 2 for neither; None where nothing fits."""
    dx, dy = np.abs(second - first)
    lengths = np.array([dx, dy, np.hypot(dx, dy)])
    if mark["kind"] == "radius" or (mark["kind"] == "diameter" and min(dx, dy) > SAME_LENGTH_MM):
        lengths[:2] = np.inf
    off = np.abs(lengths - nominal_mm)
    # A level or upright length is as long as the slanting one between its ends, but for the pen.
    best = int(np.argmin(off[:2])) if off[:2].min() < SAME_LENGTH_MM else 2
    return best if off[best] < SAME_LENGTH_MM else None


def _lengths(case: Case) -> tuple[FloatArray, FloatArray]:
    """Rows (log ratio's design: scale and stretch) over the drawn length, and the rows' loads on the pen's stations."""
    scale, _ = main_scale(case)
    views = {v["id"] for v in case.truth["views"] if v["scale"] == scale and not v["not_to_scale"]}
    to_paper = np.asarray(np.linalg.inv(case.source_from_paper), np.float64)
    stations: dict[tuple[object, ...], int] = {}
    rows, loads = [], []
    for mark in case.truth["dimensions"]:
        if mark["view"] not in views or mark["trap"] or not mark["first_px"] or not mark["second_px"]:
            continue
        if mark["kind"] not in ("linear", "diameter", "radius") or mark["value"] is None:
            continue
        first, second = project(to_paper, [mark["first_px"], mark["second_px"]])
        nominal_mm = mark["value"] * MM[mark["unit"]] / scale
        along = _direction(mark, first, second, nominal_mm)
        if along is None:
            continue
        if along == 2:
            middle = np.round((first + second) / 2 / SAME_STATION_MM)
            keys = [(mark["view"], *middle, end, round(nominal_mm, 2)) for end in range(2)]
        else:
            keys = [(mark["view"], along, round(end[along] / SAME_STATION_MM)) for end in (first, second)]
        half = 0.5 if mark["kind"] == "radius" else 1.0
        rows.append([1.0, (0.5, -0.5, 0.0)[along], nominal_mm])
        ends = [stations.setdefault(key, len(stations)) for key in keys]
        loads.append({ends[0]: -half, ends[1]: half})
    matrix = np.zeros((len(rows), len(stations)))
    for row, load in enumerate(loads):
        for station, sign in load.items():
            matrix[row, station] = sign
    return np.array(rows, np.float64).reshape(-1, 3), matrix


def bound(case: Case) -> tuple[float, float] | None:
    """The bound on x and y, relative; None where the pen was exact or no length is known."""
    pen = case.truth["pen_error_mm"]
    rows, loads = _lengths(case)
    if not pen or len(rows) == 0:
        return None
    # Figures of one length, and the parts of a sum, tell nothing new: their rounding must not pass for knowledge.
    covariance = pen**2 / 2 * (loads @ loads.T) + np.eye(len(rows)) * (OWN_SHARE * pen) ** 2
    design = rows[:, :2] * rows[:, 2:]
    rounds = [s for s in case.truth["strokes"] if s["type"] == "arc" and abs(s["sweep_deg"]) >= 360]
    stretch_std = ROUND_STD if any(s["radius"] >= ROUND_MM for s in rounds) else STRETCH_STD
    information = design.T @ np.linalg.solve(covariance, design) + np.diag([0.0, stretch_std**-2])
    spread = np.linalg.inv(information)
    x, y = (float(np.sqrt(axis @ spread @ axis)) for axis in (np.array([1.0, 0.5]), np.array([1.0, -0.5])))
    return x, y


def sheet_scale(case: Case) -> SheetScale | None:
    """What one sheet came to; None where it claims no scale."""
    errors, held = scale_errors(case), covered(case)
    if errors is None or held is None or case.sheet is None:
        return None
    scale = case.sheet["scale"]
    x, y = (std / value for std, value in zip(scale["std"], scale["part_mm_per_px"], strict=True))
    pen, photographed = case.truth["pen_error_mm"], bool(case.truth["perspective"])
    return SheetScale(case.name, pen, scale["witnesses"], errors, (x, y), held, bound(case), photographed)


def _percent(values: Sequence[float] | FloatArray) -> str:
    at = np.abs(np.asarray(values))
    return f"median {100 * np.median(at):.4f} %, 95th {100 * np.quantile(at, 0.95):.4f} %, worst {100 * at.max():.4f} %"


def _group_lines(level: str, title: str, sheets: Sequence[SheetScale]) -> list[str]:
    if not sheets:
        return []
    errors = np.array([s.errors for s in sheets])
    stds = np.array([s.stds for s in sheets])
    held = np.mean([s.covered for s in sheets])
    within = np.mean(np.abs(errors) <= GOAL[level])
    lines = [
        f"{level}, {title}: {len(sheets)} sheets",
        f"  error: {_percent(errors.ravel())}; within {100 * GOAL[level]:.2f} %: {100 * within:.0f} % of axes",
        f"  stated 95 % interval holds {100 * held:.1f} % of {2 * len(sheets)} axes;"
        f" 1.96 standard errors {100 * np.mean(np.abs(errors) <= NORMAL_95 * stds):.1f} %;"
        f" rms of error over standard error {np.sqrt(np.mean((errors / stds) ** 2)):.2f}",
    ]
    known = [s for s in sheets if s.bound]
    if known:
        least = np.array([s.bound for s in known])
        ratio = np.array([s.errors for s in known]) / least
        reach = np.mean(NORMAL_95 * least <= GOAL[level])
        lines.append(
            f"  bound: standard error {_percent(least.ravel())};"
            f" rms of error over bound {np.sqrt(np.mean(ratio**2)):.2f};"
            f" stated standard error over bound, median {np.median(np.array([s.stds for s in known]) / least):.2f};"
            f" an axis on which the goal could be kept 95 times in 100: {100 * reach:.0f} %"
        )
    return lines


def proportion_line(sheets: Sequence[SheetScale]) -> str:
    """How well the proportion of photographed sheets is known once circles and dimensions have told it."""
    errors = np.array([s.errors for s in sheets if s.photographed])
    if not len(errors):
        return "no photographs"
    return (
        f"proportion of {len(errors)} photographs, told by circles and dimensions: {_percent(np.diff(errors).ravel())}"
    )


def each_against_bound(sheets: Sequence[SheetScale]) -> str:
    """Every hand-drawn sheet: its errors, the bound that the pen sets, what was stated, and whether that holds."""
    lines = ["hand-drawn sheets, on x and y, in percent: error, bound, stated standard error, interval holds"]
    for s in sheets:
        if s.bound is not None:
            told = (
                f"{100 * error:+.3f} {100 * least:.3f} {100 * std:.3f} {'yes' if held else 'NO'}"
                for error, least, std, held in zip(s.errors, s.bound, s.stds, s.covered, strict=True)
            )
            lines.append(f"  {s.name}: {'; '.join(told)}; pen {s.pen_mm} mm, {s.witnesses} dimensions")
    return "\n".join(lines)


def report(sheets: Sequence[SheetScale]) -> str:
    """All groups as lines of text, and the worst sheets."""
    lines: list[str] = []
    for level in ("clean", "aged", "harsh"):
        own = [s for s in sheets if s.name.startswith(level)]
        for pen, drawn in ((False, "plotted"), (True, "hand-drawn")):
            for many, words in ((True, f"{MANY} dimensions and more"), (False, f"under {MANY}")):
                chosen = [s for s in own if bool(s.pen_mm) is pen and (s.witnesses >= MANY) is many]
                lines += _group_lines(level, f"{drawn}, {words}", chosen)
        lines += _group_lines(level, "all", own)
    lines.append(proportion_line(sheets))
    worst = sorted(sheets, key=lambda s: -max(abs(e) / d for e, d in zip(s.errors, s.stds, strict=True)))[:8]
    lines.append("furthest off in standard errors")
    for s in worst:
        x, y = (f"{100 * e:+.4f} % ({e / d:+.1f})" for e, d in zip(s.errors, s.stds, strict=True))
        lines.append(f"  {s.name}: {x}, {y}; pen {s.pen_mm} mm, {s.witnesses} dimensions")
    return "\n".join(lines)


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    plain = argparse.RawDescriptionHelpFormatter
    parser = argparse.ArgumentParser(prog="scale", description=__doc__, formatter_class=plain)
    parser.add_argument("folder", type=Path, help="of what tests.bench.cache kept")
    parser.add_argument("--only", default="", help="names that hold this text, such as clean-")
    parser.add_argument("--each", action="store_true", help="tell every hand-drawn sheet against its bound")
    options = parser.parse_args(argv)
    cases = [finished(found) for found in kept(options.folder, lambda name: options.only in name)]
    sheets = [s for s in map(sheet_scale, cases) if s is not None]
    print(f"{len(cases)} sheets, {len(sheets)} with a scale")
    print(report(sheets))
    if options.each:
        print(each_against_bound(sheets))


if __name__ == "__main__":
    main()
