"""The scales as the table and `sheet.json` state them, and in words."""

import math
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import replace
from itertools import islice

from calibrate.scaling.scale import ScaleFit
from digitize.dimensions.scales.off_scale import drawn_to_show
from digitize.dimensions.scales.scaled import BORDER_NOTE, SCALE_NOTE, Scaled
from digitize.dimensions.table import ViewScale
from digitize.strokes.primitives import Strokes


def describe(scaled: Scaled, mm_per_px: float) -> tuple[ViewScale, ...]:
    """The scales as the table and `sheet.json` state them, the best-supported group first."""
    if scaled.fit is None:
        return ()
    fit = scaled.fit
    support = [scaled.carriers(group) for group in range(len(scaled.starts))]
    grouped = [(view, group) for view, group in scaled.group_of.items() if group is not None]
    # A view that the print marks as larger never lends the sheet its own either.
    order = sorted(
        grouped,
        key=lambda item: (item[0] in scaled.marked, scaled.ratio(item[0]) != 1.0, -support[item[1]], item[0] or ""),
    )
    drawn = tuple(_view_scale(view, group, scaled, fit, mm_per_px) for view, group in order)
    none = ViewScale("", mm_per_px, mm_per_px, 0.0, 0.0, 0, fit.pen_std_mm, not_to_scale=True)
    without_scale = (
        replace(none, view=view, marked_not_to_scale=view in scaled.marked) for view in sorted(scaled.scaleless)
    )
    return (*drawn, *without_scale)


def of_drawn_views(
    scales: Sequence[ViewScale], marked: Collection[str], strokes: Strokes, mm_per_px: float
) -> tuple[ViewScale, ...]:
    """Leave out tables and the title block, which have no scale.

    Where none but views marked as not to scale has one, another view comes first, without: they never lend the sheet
    theirs.
    """
    views = {view.id: view for view in strokes.views}
    drawn = [scale for scale in scales if scale.view not in views or views[scale.view].kind == "view"]
    told = {scale.view for scale in drawn}.union(marked)
    if drawn and drawn[0].marked_not_to_scale:
        plain = (view for view in drawn_to_show(strokes, mm_per_px) if view.id not in told)
        without = ViewScale("", mm_per_px, mm_per_px, 0.0, 0.0, 0, drawn[0].pen_std_mm)
        drawn = [*(replace(without, view=view.id) for view in islice(plain, 1)), *drawn]
    return tuple(drawn)


def _view_scale(view: str | None, group: int, scaled: Scaled, fit: ScaleFit, mm_per_px: float) -> ViewScale:
    (x, x_std), (y, y_std) = fit.log_scale(group, 1.0), fit.log_scale(group, -1.0)
    ratio = scaled.ratio(view)
    x_scale, y_scale = ratio * math.exp(x) * mm_per_px, ratio * math.exp(y) * mm_per_px
    stds = x_scale * x_std, y_scale * y_std
    halves = x_scale * fit.half_width(group, 1.0), y_scale * fit.half_width(group, -1.0)
    return ViewScale(
        view or "",
        x_scale,
        y_scale,
        *stds,
        scaled.carriers(group),
        fit.pen_std_mm,
        known=_known(scaled, group),
        part_per_paper=ratio * math.exp((x + y) / 2),
        half_width_95=halves,
        marked_not_to_scale=view in scaled.marked,
    )


def _known(scaled: Scaled, group: int) -> str:
    """How the scale of a group is known, in words; empty where it is not."""
    if scaled.error_bound(group) == 0.0:
        return ""
    also = Counter(scaled.also(group))
    words = [_counted("dimension", scaled.carriers(group)), *(_counted(name, count) for name, count in also.items())]
    return " and ".join(filter(None, [", ".join(words[:-1]), words[-1]]))


def _counted(name: str, count: int) -> str:
    if name in (SCALE_NOTE, BORDER_NOTE):
        return f"the {name}"
    return f"{count} {name}{'s' if count > 1 else ''}"
