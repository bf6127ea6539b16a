"""Score a folder of results against a folder of truth: ``python tests/bench/score.py RESULTS TRUTH [--json]``.

RESULTS holds one folder a sheet, named as its truth file, with the files of the output contract. Every figure is given
with the number of cases behind it.
"""

import argparse
import json
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.bounds import resampled_upper_bound, upper_bound
from tests.bench.dimension_score import SheetDimensions, score_dimensions
from tests.bench.gear_score import SheetGear, score_gear
from tests.bench.head_score import SheetHeads, score_heads
from tests.bench.lettering_score import SheetLettering, score_lettering
from tests.bench.records import Case, load_cases
from tests.bench.sheet_score import SheetCalibration, score_calibration
from tests.bench.stroke_score import SheetStrokes, compare, score_strokes

TIP_PX = 0.3
Scores = dict[str, Any]


def _ratio(part: float, whole: float) -> float | None:
    return None if whole == 0 else part / whole


def dimension_scores(sheets: Sequence[SheetDimensions]) -> Scores:
    """Recall, precision, silent wrong, traps and disputes over all sheets."""
    total = {k: sum(getattr(s, k) for s in sheets) for k in _COUNTS}
    recall, precision = _ratio(total["right"], total["true"]), _ratio(total["right"], total["claimed"])
    both = None if not recall or not precision else 2 * recall * precision / (recall + precision)
    wrong = [len(s.wrong) for s in sheets]
    return {
        "true": total["true"], "claimed": total["claimed"], "right": total["right"],
        "recall": recall, "precision": precision, "f1": both,
        "agreed": total["agreed"], "agreed_share": _ratio(total["agreed_right"], total["true"]),
        "silent_wrong": {
            "count": sum(wrong), "of_agreed": total["agreed_all_kinds"],
            "rate": _ratio(sum(wrong), total["agreed_all_kinds"]),
            "upper95": resampled_upper_bound(wrong, [s.agreed_all_kinds for s in sheets]),
            "which": [w for s in sheets for w in s.wrong],
        },
        "traps": total["traps"], "trap_caught": _ratio(total["traps_caught"], total["traps"]),
        "trap_disputed": _ratio(total["traps_disputed"], total["traps"]),
        "sound": total["sound"], "false_dispute": _ratio(total["sound_disputed"], total["sound"]),
        "styles": _style_scores(sheets),
    }  # fmt: skip


_COUNTS = ("true", "claimed", "right", "agreed", "agreed_all_kinds", "agreed_right", "sound", "sound_disputed", "traps",
           "traps_caught", "traps_disputed")  # fmt: skip


def _style_scores(sheets: Sequence[SheetDimensions]) -> Scores:
    names = sorted({name for s in sheets for name in s.styles})
    rows: Scores = {}
    for name in names:
        true, right, agreed, wrong = (sum(s.styles.get(name, (0,) * 4)[k] for s in sheets) for k in range(4))
        rows[name] = {"true": true, "recall": _ratio(right, true), "agreed": agreed, "silent_wrong": wrong,
                      "upper95": upper_bound(wrong, agreed)}  # fmt: skip
    return rows


def _spread(values: Iterable[float]) -> Scores:
    """Median, 95th percentile and worst of absolute errors, with their number."""
    errors = np.abs(np.array(list(values), dtype=np.float64))
    if len(errors) == 0:
        return {"cases": 0}
    return {"cases": len(errors), "median": float(np.median(errors)), "p95": float(np.quantile(errors, 0.95)),
            "worst": float(errors.max())}  # fmt: skip


def calibration_scores(sheets: Sequence[SheetCalibration]) -> Scores:
    """Skew, orientation, polarity, scale and its coverage."""
    covered = [c for s in sheets if s.covered for c in s.covered]
    return {
        "orientation_right": _ratio(sum(s.orientation_right for s in sheets), len(sheets)),
        "polarity_right": _ratio(sum(s.polarity_right for s in sheets), len(sheets)),
        "skew_deg": _spread(s.skew_error_deg for s in sheets if s.skew_error_deg is not None),
        "scale": _spread(e for s in sheets if s.scale_error for e in s.scale_error),
        "scale_coverage": _ratio(sum(covered), len(covered)), "scale_coverage_cases": len(covered),
    }  # fmt: skip


def stroke_scores(sheets: Sequence[SheetStrokes]) -> Scores:
    """Recall, precision, offset, fragmentation and roles of the trace."""

    def total(name: str) -> float:
        return float(sum(getattr(s, name) for s in sheets))

    squares = _ratio(total("squares_px"), total("samples"))
    widths = [abs(error) for sheet in sheets for error in sheet.width_errors_mm]
    return {
        "true_visible_mm": total("true_visible"),
        "recall": _ratio(total("covered_visible"), total("true_visible")),
        "precision": _ratio(total("traced_on_truth"), total("traced")),
        "rms_px": None if squares is None else squares**0.5,
        "fragmentation": _ratio(total("entities"), total("true_entities")),
        "role_accuracy": _ratio(total("role_right"), total("traced_on_truth")),
        "widths": len(widths),
        "width_error_mm": float(np.median(widths)) if widths else None,
        "worst_width_error_mm": max(widths, default=None),
    }


def lettering_scores(sheets: Sequence[SheetLettering]) -> Scores:
    """Strokes that letters became, and strokes through letters that were lost."""
    texts, crossed = sum(s.texts for s in sheets), sum(s.crossed for s in sheets)
    drawn = sum(s.drawn for s in sheets)
    return {
        "texts": texts, "stray_mm_per_text": _ratio(sum(s.stray for s in sheets), texts),
        "drawn_through_mm": drawn, "lost": _ratio(sum(s.lost for s in sheets), drawn),
        "crossed": crossed, "crossed_kept": _ratio(sum(s.kept for s in sheets), crossed),
    }  # fmt: skip


def head_scores(sheets: Sequence[SheetHeads]) -> Scores:
    """Arrowheads found and rightly found, and how near their tips lie."""
    true, found = sum(s.true for s in sheets), sum(s.found for s in sheets)
    tips = [tip for s in sheets for tip in s.tips_px]
    return {
        "true": true, "recall": _ratio(len(tips), true), "precision": _ratio(len(tips), found),
        "tip_px": float(np.median(tips)) if tips else None,
        "tips_within_0.3_px": _ratio(sum(tip <= TIP_PX for tip in tips), len(tips)),
    }  # fmt: skip


def gear_scores(sheets: Sequence[SheetGear]) -> Scores:
    """Exact gears where the sheet decides, and false claims."""
    decidable = sum(s.decidable for s in sheets)
    wrong = [w for s in sheets for w in s.false_claims]
    claims = sum(s.claims for s in sheets)
    return {
        "decidable": decidable, "exact": _ratio(sum(s.exact for s in sheets), decidable),
        "exact_agreed": _ratio(sum(s.exact_agreed for s in sheets), decidable), "claims": claims,
        "undecided": sum(s.undecided for s in sheets), "undecided_listed": sum(s.listed for s in sheets),
        "other_name": sum(s.other_name for s in sheets),
        "false_claims": len(wrong), "upper95": upper_bound(len(wrong), claims), "which": wrong,
    }  # fmt: skip


def score(cases: Sequence[Case]) -> Scores:
    """All measures over a set of sheets."""
    compared = [compare(c) for c in cases]
    return {
        "sheets": len(cases), "failed": [c.name for c in cases if c.failed],
        "dimensions": dimension_scores([score_dimensions(c) for c in cases]),
        "calibration": calibration_scores([score_calibration(c) for c in cases]),
        "strokes": stroke_scores([score_strokes(c, found) for c, found in zip(cases, compared, strict=True)]),
        "lettering": lettering_scores([score_lettering(c, found) for c, found in zip(cases, compared, strict=True)]),
        "arrowheads": head_scores([score_heads(c) for c in cases]),
        "gear": gear_scores([score_gear(c) for c in cases]),
    }  # fmt: skip


def _shown(value: Any) -> str:
    if value is None:
        return "-"
    return f"{value:.4f}" if isinstance(value, float) else str(value)


def report(scores: Scores) -> str:
    """Scores as lines of text."""
    lines = [f"sheets {scores['sheets']}, failed {len(scores['failed'])} {' '.join(scores['failed'])}".rstrip()]
    for part in ("dimensions", "calibration", "strokes", "lettering", "arrowheads", "gear"):
        lines.append(part)
        for name, value in scores[part].items():
            if name == "styles":
                lines += [f"    {style}: " + _pairs(row) for style, row in value.items()]
            elif isinstance(value, dict):
                lines.append(f"  {name}: " + _pairs(value))
            elif isinstance(value, list):
                lines += [f"    {item}" for item in value]
            else:
                lines.append(f"  {name}: {_shown(value)}")
    return "\n".join(lines)


def pairs_of(value: Any) -> str:
    """A score, or a dictionary of them, on a line; its lists on lines of their own."""
    return _pairs(value) if isinstance(value, dict) else _shown(value)


def _pairs(row: Scores) -> str:
    shown = ", ".join(f"{k} {_shown(v)}" for k, v in row.items() if not isinstance(v, list))
    return shown + "".join(f"\n      {item}" for v in row.values() if isinstance(v, list) for item in v)


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="score", description=__doc__)
    parser.add_argument("results", type=Path)
    parser.add_argument("truth", type=Path)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(argv)
    scores = score(load_cases(options.results, options.truth))
    print(json.dumps(scores, indent=1) if options.json else report(scores))


if __name__ == "__main__":
    main()
