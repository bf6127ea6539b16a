"""Ink found by restoration, by Sauvola's and by Otsu's threshold: ``python -m tests.bench.restore --seeds 2500:2510``.

The reference is the ink as it was laid on the picture: pens as broad as they had spread, before blur, fading, stains
and everything else. Two figures: the F-measure of ink pixels, and the recall of thin lines, which is the part of the
centre lines of the fine strokes that lies in found ink. Only the paper counts, not what lies beyond it. The two other
methods get the same grey with dark ink on light paper; Sauvola's threshold gets the best of several windows and
constants on the tuning seeds.

Each sheet is told beside the better of the two others, and so is the sum: above, tied (the same figure to the last
pixel, as where both find every thin line) or below. A method that floods a page, so that most of its ink is none,
covers every line and has found none: its recall on that page is told but not compared. Where a method finds every
point of every thin line, it is at the ceiling, and nothing can stand above it.

``--levels fine`` scans clean drawings whose fine pens are 0.18 and 0.13 mm broad at 200 dpi, softly, in black ink and
in pale pencil: below the two pixels that the finest line needs.
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from unittest import mock

import cv2
import numpy as np
from numpy.typing import NDArray
from skimage.filters import threshold_otsu, threshold_sauvola

import samples.aging
from calibrate.files.load import load_page
from calibrate.restoring.polarity import best_grey, polarity_of
from calibrate.restoring.restore import restore
from calibrate.sheet import Polarity
from samples import geometry
from samples.__main__ import seed_range
from samples.aging import Scan, coloured, grey_of, noisy
from samples.compose import finished, streams
from samples.harms import paper_mask
from samples.pictures import encoded
from samples.raster import arc_points, dashed, ink_coverage
from samples.truth import Drawing, Exposure, project
from tests.bench.records import FloatArray

THIN_MM = 0.4
"""Strokes up to this width are thin lines."""
STEP_PX = 0.5
COVERED = 0.5
SAUVOLA_WINDOWS_MM, SAUVOLA_CONSTANTS = (1.0, 2.0, 4.0), (0.1, 0.2, 0.34)
SAUVOLA_WINDOW_MM, SAUVOLA_CONSTANT = 1.0, 0.34
"""Best of these on seeds 1000 to 1003, clean; aged ones gain 0.015 in F from 2 mm."""
MM_PER_INCH = 25.4

OWN = "restore"
FLOODED = 0.5
"""A page of which less than this part of the ink found is ink is flooded."""
STANDINGS = ("above", "tied", "BELOW")
FINE = "fine"
FINE_PENS_MM, FINE_TONES = (0.18, 0.13), (samples.aging.WHITE_PRINT, samples.aging.PENCIL)
FINE_DPI, FINE_BLUR_PX, FINE_SKEW_DEG, FINE_PAD_PX = 200.0, 0.8, 0.4, 20
PAPER_NOISE = 3.0

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Laid:
    """One sample with the ink as laid: picture file, reference ink, the paper, points (x, y) along thin lines, dpi."""

    path: Path
    ink: Mask
    paper: Mask
    thin_px: NDArray[np.intp]
    dpi: float


@dataclass(frozen=True)
class Score:
    """F-measure of ink pixels, recall of thin lines, and the part of the ink found that is ink."""

    f_measure: float
    thin_recall: float
    precision: float

    @property
    def floods(self) -> bool:
        """Tell whether most of the ink found is none."""
        return self.precision < FLOODED


def lay(level: str, seed: int, folder: Path) -> Laid:
    """Draw one sample and keep its ink as it was laid."""
    drawing, kept = finished("clean" if level == FINE else level, seed, None, "mixed"), []
    draw_ink = ink_coverage

    def keeping(*arguments: object) -> NDArray[np.float32]:
        kept.append(draw_ink(*arguments))  # type: ignore[arg-type]
        return kept[-1].copy()

    with mock.patch.object(samples.aging, "ink_coverage", keeping):
        if level == FINE:
            drawing = with_fine_pens(drawing, FINE_PENS_MM[seed % len(FINE_PENS_MM)])
            scan = fine_scan(drawing, seed)
        else:
            scan = samples.aging.EXPOSE[level](drawing, streams(level, seed).exposure)
    path = folder / f"{level}-{seed:05d}{scan.suffix}"
    path.write_bytes(encoded(scan))
    to_source, shape = scan.exposure.source_from_paper, kept[0].shape
    paper = paper_mask(to_source, drawing.paper_mm, shape) > COVERED
    return Laid(path, kept[0] > COVERED, paper, _thin_points(drawing, to_source, shape), scan.exposure.dpi_true)


def with_fine_pens(drawing: Drawing, width_mm: float) -> Drawing:
    """The same drawing, its thin lines and its lettering drawn with a finer pen."""
    lines = tuple(replace(m, width_mm=width_mm) if m.width_mm <= THIN_MM else m for m in drawing.lines)
    arcs = tuple(replace(m, width_mm=width_mm) if m.width_mm <= THIN_MM else m for m in drawing.arcs)
    return replace(drawing, lines=lines, arcs=arcs, texts=tuple(replace(t, width_mm=width_mm) for t in drawing.texts))


def fine_scan(drawing: Drawing, seed: int) -> Scan:
    """A soft scan at `FINE_DPI`; the tones take turns by seed."""
    tone = FINE_TONES[seed // len(FINE_PENS_MM) % len(FINE_TONES)]
    to_source, size = geometry.scan(drawing.paper_mm, geometry.Geometry(FINE_DPI, FINE_SKEW_DEG, pad_px=FINE_PAD_PX))
    laid = samples.aging.ink_coverage(drawing, to_source, size)
    ink = np.asarray(cv2.GaussianBlur(laid, (0, 0), FINE_BLUR_PX), np.float32)
    picture = grey_of(coloured(tone, ink, np.zeros_like(ink), np.ones_like(ink)))
    exposure = Exposure(to_source, size, FINE_SKEW_DEG, 0, tone.polarity, (0.0, 0.0), FINE_DPI, FINE_DPI)
    return Scan(noisy(np.random.default_rng(seed), picture, PAPER_NOISE), exposure, ".png", 0)


def _thin_points(drawing: Drawing, to_source: FloatArray, shape: tuple[int, ...]) -> NDArray[np.intp]:
    """Pixels (x, y) along the centre lines of thin strokes and lettering."""
    strokes = [(np.array([m.p0, m.p1]), m.dash) for m in drawing.lines if m.width_mm <= THIN_MM]
    strokes += [(arc_points(m), m.dash) for m in drawing.arcs if m.width_mm <= THIN_MM]
    parts = [part for points, dash in strokes for part in dashed(points, dash)]
    parts += [np.asarray(s) for text in drawing.texts if text.width_mm <= THIN_MM for s in text.strokes]
    points = np.concatenate([_along(project(to_source, np.asarray(part, np.float64))) for part in parts])
    nearest = np.round(points).astype(np.intp)
    inside = (nearest >= 0).all(axis=1) & (nearest < [shape[1], shape[0]]).all(axis=1)
    return nearest[inside]


def _along(points: FloatArray) -> FloatArray:
    reach = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = np.linspace(0, reach[-1], max(2, int(reach[-1] / STEP_PX)))
    return np.column_stack([np.interp(at, reach, points[:, k]) for k in (0, 1)])


def score(found: Mask, laid: Laid) -> Score:
    """Compare found ink with the ink as laid, on the paper alone."""
    x, y = laid.thin_px.T
    on_paper = laid.paper[y, x]
    hits = np.count_nonzero(found & laid.ink & laid.paper)
    own = np.count_nonzero(found & laid.paper)
    both = own + np.count_nonzero(laid.ink & laid.paper)
    return Score(2 * hits / both, float(found[y, x][on_paper].mean()), hits / max(own, 1))


def against(own: float, others: list[float]) -> str:
    """Say how a figure stands to the best of the others."""
    best = max(others, default=0.0)
    return "tied" if own == best else "above" if own > best else "BELOW"


def told(name: str, scores: dict[str, Score]) -> tuple[str, str, str]:
    """One sheet in words, and how its F-measure and its thin-line recall stand."""
    own = scores[OWN]
    others = [score for method, score in scores.items() if method != OWN]
    f = against(own.f_measure, [score.f_measure for score in others])
    thin = against(own.thin_recall, [score.thin_recall for score in others if not score.floods])
    figures = "; ".join(
        f"{method} F {score.f_measure:.4f} thin {score.thin_recall:.5f}{' flooded' if score.floods else ''}"
        for method, score in scores.items()
    )
    return f"  {name}: F {f}, thin lines {thin} ({figures})", f, thin


def summed(level: str, name: str, scores: list[Score]) -> str:
    """The figures of one method over all sheets, in words."""
    f = np.array([s.f_measure for s in scores])
    thin = np.array([s.thin_recall for s in scores])
    flooded = sum(s.floods for s in scores)
    return (
        f"{level} {name}: F mean {f.mean():.4f} least {f.min():.4f};"
        f" thin-line recall mean {thin.mean():.6f} least {thin.min():.6f},"
        f" at the ceiling on {np.count_nonzero(thin == 1.0)} of {len(thin)} sheets"
        + (
            f"; {flooded} flooded, without them F {_mean(f, scores):.4f}, thin {_mean(thin, scores):.5f}"
            if flooded
            else ""
        )
    )


def _mean(figures: FloatArray, scores: list[Score]) -> float:
    return float(figures[[not s.floods for s in scores]].mean()) if any(not s.floods for s in scores) else 0.0


def methods(laid: Laid, *, tune: bool) -> Iterator[tuple[str, Mask]]:
    """Ink of one sheet by each method."""
    page = load_page(laid.path)
    yield OWN, restore(page).ink
    grey = best_grey(page.pixels)
    if polarity_of(grey) is Polarity.LIGHT_ON_DARK:
        grey = np.asarray(cv2.bitwise_not(grey), np.uint8)
    yield "Otsu", grey <= threshold_otsu(grey)
    windows = SAUVOLA_WINDOWS_MM if tune else (SAUVOLA_WINDOW_MM,)
    for window_mm in windows:
        window = round(window_mm / MM_PER_INCH * laid.dpi) | 1
        for constant in SAUVOLA_CONSTANTS if tune else (SAUVOLA_CONSTANT,):
            yield f"Sauvola {window_mm} mm, k {constant}", grey <= threshold_sauvola(grey, window, constant)


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="restore", description=__doc__)
    parser.add_argument("--levels", nargs="+", choices=("clean", "aged", "harsh", FINE), default=("clean", "aged"))
    parser.add_argument("--seeds", type=seed_range, required=True, help="first:last, last not included")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--tune", action="store_true", help="try several settings of Sauvola's threshold")
    options = parser.parse_args(argv)
    cv2.setNumThreads(1)
    options.out.mkdir(parents=True, exist_ok=True)
    for level in options.levels:
        table: dict[str, list[Score]] = {}
        standings: list[tuple[str, str]] = []
        for seed in options.seeds:
            laid = lay(level, seed, options.out)
            scores = {name: score(found, laid) for name, found in methods(laid, tune=options.tune)}
            laid.path.unlink()
            line, *standing = told(laid.path.name, scores)
            standings.append((standing[0], standing[1]))
            print(line, flush=True)
            for name, one in scores.items():
                table.setdefault(name, []).append(one)
        for name, each in table.items():
            print(summed(level, name, each))
        for what, place in (("F-measure", 0), ("thin-line recall", 1)):
            counts = ", ".join(f"{word} on {sum(s[place] == word for s in standings)}" for word in STANDINGS)
            print(f"{level} {what} against the better of the two others: {counts} of {len(standings)} sheets")


if __name__ == "__main__":
    main()
