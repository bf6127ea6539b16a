"""Outlines of `part.dxf` against the parts that were drawn: ``python -m tests.bench.outline DIR [--out DXFS]``.

DIR holds what `tests.bench.cache make` kept. The figures of each sheet are reconciled and its views redrawn by the code
as it is now; ``--out`` keeps the DXF files. An outline is counted

closed
    where an outer outline of the matching view has the true area, give or take what a pen and a scale err;
exact
    where besides it is within 0.1 % of the truth; asked of those whose view has all its figures agreed, of those
    among them that the figures settle (`told.py`), and of those that the redrawing itself calls determined.

Views marked as not to scale are not redrawn and not counted.
"""

import argparse
import math
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from ezdxf import path as dxf_path
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import readfile

from calibrate.sheet import FloatArray
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Reconciled
from digitize.gears.identifying.from_sheet import gear_of_sheet
from digitize.lettering.grammar import parse
from digitize.lettering.text import Unit
from digitize.redraw.part import write_part
from digitize.redraw.report import Outline, OutlineKind, PartReport
from digitize.redraw.solving.parted_views import WholeViews, whole_views
from digitize.redraw.writing.layers import EDGE, OPEN
from digitize.report.frame import sheet_frame
from digitize.report.table import table
from digitize.strokes.primitives import Strokes
from tests.bench.cache import Kept, kept
from tests.bench.dimension_score import GEOMETRIC, pair, same_value
from tests.bench.records import Record, project
from tests.bench.told import told_views

CLOSED_SHARE = 0.02
"""An outline as drawn has the true area to the errors of pen and scale; one that lost a corner or a step has not."""
EXACT_SHARE = 1e-3
CHORD_MM = 1e-3
SAME_PLACE_MM = 1e-6


@dataclass(frozen=True)
class TrueOutline:
    """What became of one true outline; ``share`` is its area over the truth less 1, None where none closes.

    ``agreed``: all figures of its view are; ``told``: they settle it, by the truth itself. ``scaled``: the redrawing
    leaves lengths of the view to the print's own scale, for which it says that its area may be off by ``off_share``.
    """

    name: str
    share: float | None
    agreed: bool
    determined: bool
    scaled: bool = False
    off_share: float = 0.0
    told: bool = False

    @property
    def covered(self) -> bool:
        """Whether its area is off by no more than is said of it (95 %), or than an exact one may be."""
        return self.share is not None and abs(self.share) <= max(self.off_share, EXACT_SHARE)

    @property
    def closed(self) -> bool:
        """Whether it closes as the part does."""
        return self.share is not None and abs(self.share) <= CLOSED_SHARE

    @property
    def exact(self) -> bool:
        """Whether its area is the true one."""
        return self.share is not None and abs(self.share) <= EXACT_SHARE


@dataclass(frozen=True)
class Soundness:
    """Faults of one DXF: audit errors, outlines that cross themselves or stay open, entities drawn twice."""

    audit: int
    crossing: int
    unclosed: int
    twice: int


def redrawn(found: Kept, path: Path) -> tuple[PartReport, WholeViews]:
    """Reconcile what was found and write the part, of whole views."""
    whole = whole_views(found.strokes, reconcile(found.sheet, found.strokes, found.texts, parse))
    reconciled = whole.reconciled
    gear = gear_of_sheet(reconciled, whole.strokes, found.texts)
    unit = Unit.INCH if reconciled.unit is Unit.INCH else Unit.MM
    report = write_part(path, whole.strokes, reconciled, gear, sheet_frame(found.sheet, reconciled), unit)
    return report, whole


def true_outlines(found: Kept, report: PartReport, whole: WholeViews) -> Iterator[TrueOutline]:
    """Every outer outline of the truth and what became of it."""
    level = found.sheet.level_from_source @ np.array(found.truth["source_from_paper"])
    agreed = _agreed_views(found, whole.reconciled)
    views = {view["id"]: view for view in found.truth["views"] if not view["not_to_scale"]}
    told = told_views(found.truth)
    for each in found.truth["outlines"]:
        if each["view"] not in views:
            continue
        mine = _view_there(views[each["view"]], level, whole.strokes)
        closed = [one for one in report.outlines if one.kind is OutlineKind.OUTER and one.view == mine]
        best = min(closed, key=lambda one: abs(one.area_mm2 - each["area_mm2"]), default=None)
        scaled = mine is not None and dict(report.freedom).get(mine, 0) > 0
        judged = _judged(f"{found.name} {each['view']}", best, each["area_mm2"], each["view"] in agreed, scaled)
        yield replace(judged, told=each["view"] in told)


def _judged(name: str, best: Outline | None, area_mm2: float, agreed: bool, scaled: bool) -> TrueOutline:
    if best is None:
        return TrueOutline(name, None, agreed, False, scaled)
    return TrueOutline(name, best.area_mm2 / area_mm2 - 1, agreed, best.determined, scaled, best.off_percent / 100)


def _view_there(view: Record, level_from_paper: FloatArray, strokes: Strokes) -> str | None:
    """The traced view that covers most of a true one."""
    left, low, right, high = view["box_paper_mm"]
    corners = project(level_from_paper, [[left, low], [right, low], [right, high], [left, high]])
    true = shapely.Polygon(corners)
    found = [(true.intersection(shapely.box(*each.box)).area, each.id) for each in strokes.views if each.kind == "view"]
    area, best = max(found, default=(0.0, ""))
    return best if area > 0 else None


def _agreed_views(found: Kept, reconciled: Reconciled) -> set[str]:
    """True views all of whose lengths and angles are agreed; one without any hangs on those of the other views."""
    truths = [each for each in found.truth["dimensions"] if each["kind"] in GEOMETRIC]
    rows = [row for row in table(found.sheet, reconciled, None)["dimensions"] if row["value"] is not None]
    agreed = {i for i, j in pair(truths, rows) if rows[j]["status"] == "agreed" and same_value(truths[i], rows[j])}
    missing = {truth["view"] for i, truth in enumerate(truths) if i not in agreed}
    if missing:
        missing |= {view["id"] for view in found.truth["views"]} - {truth["view"] for truth in truths}
    return {view["id"] for view in found.truth["views"]} - missing


def soundness(path: Path) -> Soundness:
    """Look a DXF over as a foreign reader would."""
    drawing = readfile(path)
    shapes = [each for each in drawing.modelspace() if isinstance(each, DXFGraphic) and _is_part(each)]
    closed = [each for each in shapes if each.dxftype() == "CIRCLE" or _is_outline(each)]
    keys = Counter(_key(each) for each in shapes)
    return Soundness(
        audit=len(drawing.audit().errors),
        crossing=sum(not _polygon(each).is_valid for each in closed),
        unclosed=sum(isinstance(each, LWPolyline) and not each.closed for each in closed),
        twice=sum(count - 1 for count in keys.values()),
    )


def _is_outline(entity: DXFGraphic) -> bool:
    """Whether a polyline stands for an outline: a bent edge within one, or of an open one, is an open polyline."""
    return isinstance(entity, LWPolyline) and (entity.closed or entity.dxf.layer not in (EDGE, OPEN))


def _is_part(entity: DXFGraphic) -> bool:
    return entity.dxftype() in ("LINE", "ARC", "CIRCLE", "LWPOLYLINE") and entity.dxf.layer != "CENTRE"


def _polygon(entity: DXFGraphic) -> shapely.Polygon:
    """An entity's polygon; the arc that ends in its first corner comes back to it but for its rounding."""
    digits = round(-math.log10(SAME_PLACE_MM))
    points = dxf_path.make_path(entity).flattening(CHORD_MM)
    return shapely.Polygon([(round(p.x, digits), round(p.y, digits)) for p in points])


def _key(entity: DXFGraphic) -> tuple[object, ...]:
    """Where an entity lies, whichever way it runs."""
    points = [(p.x, p.y) for p in dxf_path.make_path(entity).flattening(CHORD_MM)]
    ends = sorted(tuple(round(value / SAME_PLACE_MM) for value in each) for each in (points[0], points[-1]))
    middle = points[len(points) // 2]
    return (*ends, round(middle[0], 3), round(middle[1], 3), len(points))


def score(folder: Path, out: Path, only: str = "") -> tuple[list[TrueOutline], list[tuple[str, Soundness]]]:
    """Redraw every sheet of a folder and judge its outlines."""
    outlines: list[TrueOutline] = []
    sound: list[tuple[str, Soundness]] = []
    for found in kept(folder, lambda name: only in name):
        path = out / f"{found.name}.dxf"
        report, whole = redrawn(found, path)
        outlines += true_outlines(found, report, whole)
        sound.append((found.name, soundness(path)))
    return outlines, sound


def summary(outlines: list[TrueOutline], sound: list[tuple[str, Soundness]]) -> Iterator[str]:
    """The figures, then every outline and file that falls short."""
    agreed, determined = ([each for each in outlines if getattr(each, what)] for what in ("agreed", "determined"))
    yield f"closed {_share(sum(each.closed for each in outlines), len(outlines))}"
    yield f"within 0.1 % where all figures are agreed {_share(sum(each.exact for each in agreed), len(agreed))}"
    told = [each for each in agreed if each.told]
    yield f"... and settle it, by the truth {_share(sum(each.exact for each in told), len(told))}"
    rest = [each for each in outlines if each.off_share]
    yield f"within what is said of scaled lengths {_share(sum(each.covered for each in rest), len(rest))}"
    yield f"within 0.1 % where called determined {_share(sum(each.exact for each in determined), len(determined))}"
    for what in ("audit", "crossing", "unclosed", "twice"):
        yield f"{what} {sum(getattr(each, what) for _, each in sound)}"
    for each in outlines:
        if not each.closed or ((each.agreed or each.determined) and not each.exact):
            off = (
                "open"
                if each.share is None
                else f"area off by {100 * each.share:.3f} % (said {100 * each.off_share:.3f})"
            )
            said = {
                "all agreed": each.agreed,
                "settled by them": each.told,
                "lengths scaled": each.scaled,
                "determined": each.determined,
            }
            yield f"  {', '.join([f'{each.name}: {off}', *(words for words, true in said.items() if true)])}"
    for name, faults in sound:
        if faults != Soundness(0, 0, 0, 0):
            yield f"  {name}: {faults}"


def _share(part: int, whole: int) -> str:
    return f"{part} of {whole}" + (f" ({part / whole:.3f})" if whole else "")


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(
        prog="outline", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("--only", default="", help="names that hold this text")
    parser.add_argument("--out", type=Path, help="folder to keep the DXF files in")
    options = parser.parse_args(argv)
    with tempfile.TemporaryDirectory() as temporary:
        out = options.out or Path(temporary)
        out.mkdir(parents=True, exist_ok=True)
        print("\n".join(summary(*score(options.folder, out, options.only))))


if __name__ == "__main__":
    main()
