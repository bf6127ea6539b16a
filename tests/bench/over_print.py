"""Whether `over-print.pdf`, laid on the print, covers its lines: ``python -m tests.bench.over_print DIR``.

DIR holds what `tests.bench.cache make` kept. The true edges of each sheet's views are put where the scan shows them, at
the size of the paper that was scanned (of the check print, where the file states no resolution), and the page is laid
on them as a person would: shifted and turned, never stretched. Given is the share of the edges' length over which the
page's lines touch their ink. Left out are gears, whose teeth prints draw by compass, photographs, and views
marked as not to scale.
"""

import argparse
import math
import tempfile
from itertools import product
from pathlib import Path

import numpy as np
import shapely
from scipy.optimize import least_squares
from scipy.spatial import KDTree

from calibrate.sheet import FloatArray, ResolutionStatus
from digitize.redraw.writing.true_size import PEN_MM, over_print
from tests.bench.cache import Kept, kept
from tests.bench.outline import redrawn
from tests.bench.records import project
from tests.bench.stroke_score import true_polyline

STEP_MM = 0.25
NEAR_MM = 5.0  # of a page that is laid down by eye; what lies further off is not drawn
REACHES_MM = (0.5, 0.5, 0.5, 0.05, 0.05, 0.05)  # then it is shifted, what is no nearer pulling less and less


def edges(found: Kept) -> tuple[FloatArray, FloatArray]:
    """Points along the true edges, shape (N, 2), in mm of the scan's paper, upright, and each one's width in mm."""
    mm = found.sheet.paper_mm_per_px
    if found.sheet.resolution.status is not ResolutionStatus.UNKNOWN:
        mm = 25.4 / found.truth["dpi_true"]
    level_from_paper = found.sheet.level_from_source @ np.array(found.truth["source_from_paper"])
    views = {each["id"] for each in found.truth["views"] if not each["not_to_scale"]}
    at, wide = [], []
    for stroke in found.truth["strokes"]:
        if stroke["role"] == "visible" and stroke["view"] in views:
            points = _spaced(project(level_from_paper, true_polyline(stroke)) * [mm, -mm])
            at.append(points)
            wide.append(np.full(len(points), stroke["width_mm"]))
    return np.concatenate(at), np.concatenate(wide)


def _spaced(line: FloatArray) -> FloatArray:
    drawn = shapely.LineString(line)
    places = np.arange(STEP_MM / 2, drawn.length, STEP_MM)
    return np.asarray(shapely.get_coordinates(shapely.line_interpolate_point(drawn, places)))


def uncovered(page: FloatArray, at: FloatArray) -> FloatArray:
    """How far each point lies from the page's lines, both given by points, the page laid on as well as it goes.

    A view that the page lacks leaves the others at one side of the whole: tried are all corners, and the middle.
    """
    box = np.array([page.min(axis=0), page.max(axis=0)])
    room = np.array([at.min(axis=0), at.max(axis=0)])
    sides = np.array([(0.5, 0.5), *product((0.0, 1.0), repeat=2)])
    starts = [room[0] + np.diff(room, axis=0)[0] * side - box[0] - np.diff(box, axis=0)[0] * side for side in sides]
    return min((_laid(page + start, at) for start in starts), key=lambda off: float(np.minimum(off, NEAR_MM).sum()))


def _laid(page: FloatArray, at: FloatArray) -> FloatArray:
    middle = page.mean(axis=0)

    def turned(place: FloatArray) -> FloatArray:
        turn = np.array([[math.cos(place[2]), -math.sin(place[2])], [math.sin(place[2]), math.cos(place[2])]])
        return np.asarray((page - middle) @ turn.T + middle + place[:2])

    place = np.zeros(3)
    for reach in REACHES_MM:
        _, nearest = KDTree(turned(place)).query(at)

        def off(place: FloatArray, mine: FloatArray = nearest) -> FloatArray:
            return np.asarray((turned(place)[mine] - at).ravel())

        place = least_squares(off, place, loss="soft_l1", f_scale=reach).x
    return np.asarray(KDTree(turned(place)).query(at)[0])


def covered(found: Kept, folder: Path) -> float | None:
    """Share of a sheet's true edges whose ink the page's lines touch; None without a page."""
    path = folder / f"{found.name}.dxf"
    report, whole = redrawn(found, path)
    off_scale = {each.view for each in whole.reconciled.scales if each.marked_not_to_scale}
    views = [each for each in report.views if each.name not in off_scale]
    page = over_print(path, views, found.sheet.paper_mm_per_px, "")
    if page is None:
        return None
    at, wide = edges(found)
    drawn = np.concatenate([_spaced(np.array(line)) for line in page.lines if len(line) > 1])
    return float(np.mean(uncovered(drawn, at) <= (wide + PEN_MM) / 2))


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(
        prog="over_print", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("--only", default="", help="names that hold this text")
    options = parser.parse_args(argv)
    shares = []
    with tempfile.TemporaryDirectory() as temporary:
        for found in kept(options.folder, lambda name: options.only in name):
            if found.truth["gear"] or found.truth["perspective"]:
                continue
            share = covered(found, Path(temporary))
            print(found.name, "no page" if share is None else f"{share:.3f}")
            shares += [] if share is None else [share]
    print(f"{len(shares)} sheets: covered, median {np.median(shares):.3f}, worst {min(shares):.3f}")


if __name__ == "__main__":
    main()
