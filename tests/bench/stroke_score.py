"""The trace against the pen's strokes, compared in mm of paper.

Both drawings are cut into short pieces: the truth in its own frame, the trace carried back through the result's
``pixel_to_mm`` and the truth's ``source_from_paper``. A piece is covered where its middle lies within 0.1 mm of paper
of a piece of the other drawing that runs the same way.

A dimension line is one line through the figure that breaks it, so a trace may, and need not, run through the break.
Arrowheads are no strokes and are left out on both sides: they have a score of their own.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely import LineString, Polygon

from tests.bench.records import Case, FloatArray, Record, project

TOLERANCE_MM = 0.1
PIECE_MM = 0.4
SAGITTA_MM = 0.0005
NEIGHBOURS = 12
SAME_WAY_COS = 0.94  # 20 degrees: a line that only crosses does not cover
ROLES = ("visible", "hidden", "centre", "phantom", "hatch", "dimension", "extension", "leader", "cutting", "break",
         "border", "table")  # fmt: skip
UNIT_MM = {1: 25.4, 4: 1.0}  # DXF $INSUNITS: inches, millimetres
FLATTENING_MM = 0.0005
MAIN_SHARE = 0.15
RIM_MM = 0.001
"""Section lines at either side of a region run along its rim."""


@dataclass(frozen=True)
class SheetStrokes:
    """Lengths in mm of paper, counts, squared offsets in source pixels."""

    true_visible: float = 0.0
    covered_visible: float = 0.0
    traced: float = 0.0
    traced_on_truth: float = 0.0
    role_right: float = 0.0
    squares_px: float = 0.0
    samples: int = 0
    entities: int = 0
    true_entities: int = 0
    width_errors_mm: tuple[float, ...] = ()


@dataclass(frozen=True)
class Pieces:
    """Short straight pieces: ends (N, 4) in mm of paper, owner index and role of each."""

    ends: FloatArray
    owner: NDArray[np.int64]
    roles: tuple[str, ...]

    @property
    def middles(self) -> FloatArray:
        """Shape (N, 2)."""
        return np.asarray((self.ends[:, :2] + self.ends[:, 2:]) / 2, dtype=np.float64)

    @property
    def lengths(self) -> FloatArray:
        """Shape (N,)."""
        return np.asarray(np.hypot(*(self.ends[:, 2:] - self.ends[:, :2]).T), dtype=np.float64)


def _cut(points: FloatArray) -> FloatArray:
    """Polyline to pieces no longer than `PIECE_MM`, shape (N, 4)."""
    rows = []
    for a, b in pairwise(points):
        count = max(1, int(np.ceil(np.hypot(*(b - a)) / PIECE_MM)))
        at = a + (b - a) * np.linspace(0, 1, count + 1)[:, None]
        rows.append(np.hstack([at[:-1], at[1:]]))
    return np.vstack(rows) if rows else np.zeros((0, 4))


def pieces_of(polylines: list[tuple[FloatArray, str]]) -> Pieces:
    """Cut polylines with their roles."""
    cut = [_cut(points) for points, _ in polylines]
    ends = np.vstack(cut) if cut else np.zeros((0, 4))
    owner = np.repeat(np.arange(len(cut)), [len(c) for c in cut]) if cut else np.zeros(0, dtype=np.int64)
    return Pieces(ends, owner.astype(np.int64), tuple(role for _, role in polylines))


def true_polyline(stroke: Record) -> FloatArray:
    """Points along a true stroke, in mm of paper."""
    if stroke["type"] == "line":
        return np.array([stroke["p0"], stroke["p1"]], dtype=np.float64)
    radius = stroke["radius"]
    step = 2 * np.degrees(np.arccos(max(0.5, 1 - SAGITTA_MM / max(radius, 4 * SAGITTA_MM))))
    count = max(4, int(np.ceil(abs(stroke["sweep_deg"]) / step)))
    angles = np.radians(stroke["start_deg"] + np.linspace(0, stroke["sweep_deg"], count + 1))
    return np.asarray(stroke["centre"] + radius * np.column_stack([np.cos(angles), np.sin(angles)]), dtype=np.float64)


def figure_breaks(truth: Record) -> list[tuple[FloatArray, str]]:
    """The breaks that figures make in dimension lines, in mm of paper: from half to half, over a text's quad."""
    halves = [s for s in truth["strokes"] if s["type"] == "line" and s["role"] == "dimension"]
    paper_from_source = np.linalg.inv(np.array(truth["source_from_paper"], dtype=np.float64))
    quads = [project(paper_from_source, text["quad_px"]) for text in truth["texts"]]
    found = []
    for first, second in combinations(halves, 2):
        gap = _gap_of(first, second) if first["view"] == second["view"] else None
        if gap is not None and any(_holds(quad, gap.mean(axis=0)) for quad in quads):
            found.append((gap, "dimension"))
    return found


def _gap_of(first: Record, second: Record) -> FloatArray | None:
    """The facing ends of two lines of which one carries on the other; None of any others."""
    ends = np.array([[a, b] for a in (first["p0"], first["p1"]) for b in (second["p0"], second["p1"])])
    gap = np.asarray(ends[np.hypot(*(ends[:, 1] - ends[:, 0]).T).argmin()], dtype=np.float64)
    size = float(np.hypot(*(gap[1] - gap[0])))
    outer = [np.array(p) for s in (first, second) for p in (s["p0"], s["p1"])]
    along = (gap[1] - gap[0]) / max(size, 1e-9)
    off = max(abs(float(along[0] * (p - gap[0])[1] - along[1] * (p - gap[0])[0])) for p in outer)
    length = sum(float(np.hypot(*np.subtract(s["p1"], s["p0"]))) for s in (first, second))
    reach = max(float(np.hypot(*(p - q))) for p in outer for q in outer)
    return gap if size > 0.0 and off <= TOLERANCE_MM and reach >= length + size - TOLERANCE_MM else None


def _holds(quad: FloatArray, point: FloatArray) -> bool:
    """Whether a convex quad holds a point."""
    step, away = np.roll(quad, -1, axis=0) - quad, point - quad
    side = step[:, 0] * away[:, 1] - step[:, 1] * away[:, 0]
    return bool((side >= 0).all() or (side <= 0).all())


def traced_polylines(path: Path, paper_from_part: FloatArray, mm_per_paper_mm: float) -> list[tuple[FloatArray, str]]:
    """Strokes of a DXF on the layers named by role, in mm of paper."""
    drawing = ezdxf.readfile(path)  # type: ignore[attr-defined]
    unit = UNIT_MM.get(int(drawing.header.get("$INSUNITS", 4)), 1.0)
    found = []
    for entity in drawing.modelspace().query("LINE ARC CIRCLE SPLINE"):
        role = entity.dxf.layer.lower()
        if role in ROLES:
            points = np.vstack(list(_vertices(entity, FLATTENING_MM * mm_per_paper_mm / unit))) * unit
            found.append((project(paper_from_part, points), role))
    for hatch in drawing.modelspace().query("HATCH"):
        lines = [line * unit for line in pattern_lines(hatch)] if hatch.dxf.layer.lower() in ROLES else []
        found += [(project(paper_from_part, line), hatch.dxf.layer.lower()) for line in lines]
    return found


def pattern_lines(hatch: Any) -> Iterator[FloatArray]:
    """The lines that a HATCH covers its region with, in drawing units, those on its rim included."""
    rim = Polygon([vertex[:2] for vertex in hatch.paths[0].vertices]).buffer(RIM_MM)
    for line in hatch.pattern.lines:
        along = np.array([np.cos(np.radians(line.angle)), np.sin(np.radians(line.angle))])
        base, step = np.array(line.base_point), np.array(line.offset)
        away = np.array(rim.exterior.coords) - base
        reach, across = np.abs(away).sum(axis=1).max(), np.array([-along[1], along[0]])
        numbers = away @ across / (step @ across)
        for number in range(int(np.ceil(numbers.min())), int(np.floor(numbers.max())) + 1):
            middle = base + number * step
            covered = rim.intersection(LineString([middle - reach * along, middle + reach * along]))
            yield from (np.array(part.coords) for part in getattr(covered, "geoms", [covered]))


def _vertices(entity: Any, sagitta: float) -> Iterator[FloatArray]:
    """Points along an entity, in drawing units. Arcs are flattened as arcs, not by way of splines."""
    if entity.dxftype() == "LINE":
        yield np.array([entity.dxf.start.vec2, entity.dxf.end.vec2], dtype=np.float64)
    else:
        yield np.array([v.vec2 for v in entity.flattening(sagitta)], dtype=np.float64)


def nearest(pieces: Pieces, others: Pieces) -> tuple[FloatArray, NDArray[np.int64]]:
    """Distance in mm from each piece's middle to the nearest other piece that runs the same way, and its index."""
    if len(pieces.ends) == 0 or len(others.ends) == 0:
        return np.full(len(pieces.ends), np.inf), np.zeros(len(pieces.ends), dtype=np.int64)
    count = min(NEIGHBOURS, len(others.ends))
    _, index = cKDTree(others.middles).query(pieces.middles, k=count)
    index = np.asarray(index).reshape(len(pieces.ends), count)
    start, step = others.ends[index, :2], others.ends[index, 2:] - others.ends[index, :2]
    away = pieces.middles[:, None, :] - start
    size = np.maximum((step**2).sum(axis=2), 1e-18)
    t = np.clip((away * step).sum(axis=2) / size, 0, 1)
    distance = np.hypot(*np.moveaxis(away - t[..., None] * step, 2, 0))
    own = pieces.ends[:, 2:] - pieces.ends[:, :2]
    own = own / np.maximum(np.hypot(*own.T), 1e-12)[:, None]
    cosine = np.abs((own[:, None, :] * step).sum(axis=2)) / np.sqrt(size)
    distance = np.where(cosine >= SAME_WAY_COS, distance, np.inf)
    best = distance.argmin(axis=1)
    rows = np.arange(len(distance))
    return distance[rows, best], index[rows, best].astype(np.int64)


@dataclass(frozen=True)
class Compared:
    """Truth and trace of one sheet in short pieces, and how far each piece lies from the other drawing, in mm of paper.

    ``allowed`` holds the truth with the breaks of dimension lines; ``home`` is the piece of it nearest to each traced.
    """

    truth: Pieces
    allowed: Pieces
    traced: Pieces
    away: FloatArray
    back: FloatArray
    home: NDArray[np.int64]

    @property
    def covered(self) -> NDArray[np.bool_]:
        """Which pieces of the truth were traced."""
        return np.asarray(self.away <= TOLERANCE_MM)

    @property
    def on_truth(self) -> NDArray[np.bool_]:
        """Which traced pieces lie on a true stroke or its break."""
        return np.asarray(self.back <= TOLERANCE_MM)


def compare(case: Case) -> Compared:
    """Cut both drawings of a sheet to pieces; a sheet without a trace has none traced."""
    drawn = [(true_polyline(s), s["role"]) for s in case.truth["strokes"]]
    truth, allowed = pieces_of(drawn), pieces_of(drawn + figure_breaks(case.truth))
    traced = pieces_of(_traced(case))
    away, _ = nearest(truth, traced)
    back, home = nearest(traced, allowed)
    return Compared(truth, allowed, traced, away, back, home)


def _traced(case: Case) -> list[tuple[FloatArray, str]]:
    frame, trace = case.part_from_source, case.folder / "trace.dxf"
    if frame is None or not trace.is_file():
        return []
    paper_from_part = np.asarray(np.linalg.inv(frame @ case.source_from_paper), dtype=np.float64)
    growth = 1 / abs(float(np.linalg.det((paper_from_part / paper_from_part[2, 2])[:2, :2]))) ** 0.5
    return traced_polylines(trace, paper_from_part, growth)


def score_strokes(case: Case, found: Compared) -> SheetStrokes:
    """Score one trace."""
    truth, traced = found.truth, found.traced
    on_visible = np.array([role == "visible" for role in truth.roles])[truth.owner]
    px_per_mm = case.truth["dpi_true"] / 25.4
    hit = found.covered & on_visible
    roles_right = _roles_right(traced, found.allowed, found.on_truth)
    may_be = np.array([role == "visible" for role in found.allowed.roles])
    entities, true_entities = _fragments(traced, found.allowed, found.home, found.on_truth, may_be)
    return SheetStrokes(
        float(truth.lengths[on_visible].sum()), float(truth.lengths[hit].sum()), float(traced.lengths.sum()),
        float(traced.lengths[found.on_truth].sum()), float(traced.lengths[roles_right].sum()),
        float(((found.away[hit] * px_per_mm) ** 2).sum()), int(hit.sum()), entities, true_entities, width_errors(case),
    )  # fmt: skip


def width_errors(case: Case) -> tuple[float, ...]:
    """Error in mm of the group of width nearest to each width that the sheet is mainly drawn with.

    A sheet whose resolution the file does not state says nothing in mm of its own paper.
    """
    length: dict[float, float] = {}
    for stroke in case.truth["strokes"]:
        width = float(stroke["width_mm"])
        length[width] = length.get(width, 0.0) + float(np.hypot(*np.diff(true_polyline(stroke), axis=0).T).sum())
    if case.sheet is None or case.sheet.get("resolution", {}).get("status") != "stated":
        return ()
    found = [float(group["width_mm"]) for group in case.sheet.get("line_widths") or ()]
    main = [width for width, drawn in length.items() if drawn >= MAIN_SHARE * sum(length.values())]
    return tuple(min((f - width for f in found), key=abs, default=np.inf) for width in main)


def _roles_right(traced: Pieces, truth: Pieces, on_truth: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which traced pieces lie on a true stroke of their role; where two true strokes lie on one another, either is."""
    right = np.zeros(len(traced.ends), dtype=bool)
    said, true = (np.array(p.roles, dtype=str)[p.owner] for p in (traced, truth))
    for role in np.unique(said):
        mine = np.flatnonzero((said == role) & on_truth)
        away, _ = nearest(_some(traced, mine), _some(truth, np.flatnonzero(true == role)))
        right[mine] = away <= TOLERANCE_MM
    return right


def _some(pieces: Pieces, picks: NDArray[np.int64]) -> Pieces:
    return Pieces(pieces.ends[picks], pieces.owner[picks], pieces.roles)


def _fragments(
    traced: Pieces, truth: Pieces, home: NDArray[np.int64], on_truth: NDArray[np.bool_], visible: NDArray[np.bool_]
) -> tuple[int, int]:
    """Entities written for visible true strokes, and how many of those strokes have any."""
    pairs: dict[int, dict[int, int]] = {}
    for entity, stroke in zip(traced.owner[on_truth], truth.owner[home[on_truth]], strict=True):
        votes = pairs.setdefault(int(entity), {})
        votes[int(stroke)] = votes.get(int(stroke), 0) + 1
    homes = [max(votes, key=lambda s: votes[s]) for votes in pairs.values()]
    on_visible = [stroke for stroke in homes if visible[stroke]]
    return len(on_visible), len(set(on_visible))
