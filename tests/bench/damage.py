"""Strokes that are no drawing's: ``python -m tests.bench.damage --seeds 13000:13006 --out DIR``.

Each sheet is scanned soundly once in every tone and kind of file that old originals come in, and once a harm of
`samples.damage` in one of the tones; each picture is calibrated and traced. False are traced strokes further than
`NEAR_MM` of paper from anything drawn (dashes count as whole lines); lost is drawn ink of the paper whose place no
longer holds ink on the calibrated sheet. Both are set against the same sheet in the same tone without the harm. Files
of one bit are told apart: what their scanner made ink is as black as the drawing. Set apart is what the trace takes for
edges of tape, counted by where it lies: rightly, away from anything drawn, or within `NEAR_MM` of it, as where tape
crosses a line.
"""

import argparse
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np

from calibrate.errors import InputError
from calibrate.level import calibrate_sheet
from calibrate.sheet import FloatArray, LevelSheet, apply_homography
from digitize.lettering.find import find_lettering
from digitize.strokes.heads.arrows_in_lettering import freed_of_arrows
from digitize.strokes.primitives import Arc, Line
from digitize.strokes.trace import trace_strokes
from samples import aging
from samples.__main__ import seed_range
from samples.aging import Scan, Tone, coloured, grey_of, noisy
from samples.compose import finished
from samples.damage import HARMS, damaged
from samples.geometry import Geometry, scan
from samples.pictures import encoded
from samples.raster import ink_coverage
from samples.truth import Drawing, Exposure

NEAR_MM = 0.5
STEP_PX = 2.0
LARGE_SHEET_MM, COARSE_DPI, FINE_DPI = 350.0, 200.0, 300.0
JPEG_QUALITY = 60
SKEW_LIMIT_DEG = 1.0
INKED = 0.5
WINDOWS_PER_INCH, STEP_TO_INK = 6.0, 22
"""A one-bit scanner looks through a window an inch over the first; so many grey levels below its mean are ink."""


@dataclass(frozen=True)
class Original:
    """A kind of original: its tone, and how the archive kept it: "colour", "grey", "bits" or "jpeg"."""

    tone: Tone
    kept: str


ORIGINALS = {
    "white print": Original(aging.WHITE_PRINT, "grey"),
    "sepia": Original(aging.SEPIA, "colour"),
    "dye line": Original(aging.DYE_LINE, "colour"),
    "pencil": Original(aging.PENCIL, "grey"),
    "blueprint": Original(aging.BLUE_PRINT, "colour"),
    "blueprint in grey": Original(aging.BLUE_PRINT, "grey"),
    "one bit": Original(aging.WHITE_PRINT, "bits"),
    "sepia, one bit": Original(aging.SEPIA, "bits"),
    "blueprint, JPEG": Original(aging.BLUE_PRINT, "jpeg"),
}


@dataclass(frozen=True)
class Measured:
    """False strokes in mm of paper, part of the drawn ink lost, seconds; ``polarity_right``; or why it was refused.

    ``apart_mm`` is the length set apart away from anything drawn, ``drawn_apart_mm`` that near something drawn.
    """

    false_mm: float = 0.0
    lost: float = 0.0
    seconds: float = 0.0
    polarity_right: bool = True
    refused: str = ""
    apart_mm: float = 0.0
    drawn_apart_mm: float = 0.0


def sound_scan(drawing: Drawing, seed: int, original: Original) -> Scan:
    """Scan a drawing as a sound sheet of one kind of original."""
    rng = np.random.default_rng(seed)
    dpi = COARSE_DPI if drawing.paper_mm[0] > LARGE_SHEET_MM else FINE_DPI
    skew = float(rng.uniform(-SKEW_LIMIT_DEG, SKEW_LIMIT_DEG))
    to_source, size = scan(drawing.paper_mm, Geometry(dpi, skew, pad_px=round(0.1 * dpi)))
    ink = np.asarray(cv2.GaussianBlur(ink_coverage(drawing, to_source, size), (0, 0), 0.6), np.float32)
    picture = coloured(original.tone, ink, np.zeros_like(ink), np.ones_like(ink))
    exposure = Exposure(to_source, size, skew, 0, original.tone.polarity, (0.0, 0.0), dpi, dpi)
    grey = original.kept in ("grey", "bits")
    return Scan(noisy(rng, grey_of(picture) if grey else picture, 3.0), exposure, ".png", JPEG_QUALITY)


def kept(scanned: Scan, original: Original) -> Scan:
    """The scan as its archive kept it."""
    if original.kept == "jpeg":
        return replace(scanned, suffix=".jpg")
    if original.kept == "bits":
        block = int(scanned.exposure.dpi_true / WINDOWS_PER_INCH) | 1
        bits = cv2.adaptiveThreshold(
            scanned.picture, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY, block, STEP_TO_INK
        )
        return replace(scanned, picture=np.asarray(bits, np.uint8), suffix=".tif")
    return scanned


def measure(drawing: Drawing, scanned: Scan, path: Path) -> Measured:
    """Calibrate and trace one picture."""
    path = path.with_suffix(scanned.suffix)
    path.write_bytes(encoded(scanned))
    start = time.process_time()
    try:
        sheet = calibrate_sheet(path)
    except InputError as error:
        return Measured(refused=str(error))
    finally:
        path.unlink()
    strokes = trace_strokes(sheet, freed_of_arrows(sheet, find_lettering(sheet)).mask)
    seconds = time.process_time() - start
    false, _ = lengths_mm(drawing, scanned.exposure, sheet, (*strokes.lines, *strokes.arcs))
    apart, drawn_apart = lengths_mm(drawing, scanned.exposure, sheet, strokes.laid_on)
    return Measured(
        false,
        lost_share(drawing, scanned.exposure, sheet),
        seconds,
        sheet.polarity.value == scanned.exposure.polarity,
        apart_mm=apart,
        drawn_apart_mm=drawn_apart,
    )


def lengths_mm(
    drawing: Drawing, exposure: Exposure, sheet: LevelSheet, strokes: Sequence[Line | Arc]
) -> tuple[float, float]:
    """Length of traced strokes away from anything drawn and near it, in mm of paper."""
    whole = replace(
        drawing,
        lines=tuple(replace(mark, dash="solid") for mark in drawing.lines),
        arcs=tuple(replace(mark, dash="solid") for mark in drawing.arcs),
    )
    near = ink_coverage(whole, exposure.source_from_paper, exposure.size_px, 2 * NEAR_MM) > 0
    source_from_level = np.linalg.inv(sheet.level_from_source)
    steps = [_steps(stroke) for stroke in strokes]
    if not steps:
        return 0.0, 0.0
    x, y = np.round(apply_homography(source_from_level, np.concatenate(steps))).astype(int).T
    inside = (x >= 0) & (y >= 0) & (x < near.shape[1]) & (y < near.shape[0])
    true = np.count_nonzero(near[y[inside], x[inside]])
    step_mm = STEP_PX * 25.4 / exposure.dpi_true
    return (len(x) - true) * step_mm, true * step_mm


def _steps(stroke: Line | Arc) -> FloatArray:
    """Points (x, y) along a traced stroke, `STEP_PX` apart."""
    if isinstance(stroke, Line):
        ends = np.array([stroke.start, stroke.end])
        count = max(1, round(float(np.hypot(*(ends[1] - ends[0]))) / STEP_PX))
        return np.asarray(ends[0] + (ends[1] - ends[0]) * ((np.arange(count) + 0.5) / count)[:, None])
    count = max(1, round(np.radians(abs(stroke.sweep_deg)) * stroke.radius_px / STEP_PX))
    angle = np.radians(stroke.start_deg + stroke.sweep_deg * (np.arange(count) + 0.5) / count)
    return np.asarray(stroke.centre + stroke.radius_px * np.column_stack([np.cos(angle), -np.sin(angle)]))


def lost_share(drawing: Drawing, exposure: Exposure, sheet: LevelSheet) -> float:
    """Part of the drawn ink whose place on the level sheet holds none."""
    drawn = ink_coverage(drawing, exposure.source_from_paper, exposure.size_px) > INKED
    y, x = np.nonzero(cv2.erode(drawn.view(np.uint8), np.ones((2, 2), np.uint8)))
    place = apply_homography(sheet.level_from_source, np.column_stack([x, y]).astype(np.float64))
    column, row = np.clip(np.round(place).astype(int), 0, np.array(sheet.ink.shape[::-1]) - 1).T
    wide = cv2.dilate(sheet.ink.view(np.uint8), np.ones((3, 3), np.uint8))
    return float(1 - wide[row, column].mean())


def summary(name: str, sheets: list[Measured], without: list[Measured] | None) -> str:
    """One line for a kind of original or a harm."""
    used = [sheet for sheet in sheets if not sheet.refused]
    false = np.array([sheet.false_mm for sheet in used])
    lost = np.array([sheet.lost for sheet in used])
    line = (
        f"{name}: {len(used)} sheets; false strokes {false.mean():.1f} mm a sheet, most {false.max():.1f};"
        f" ink lost {100 * lost.mean():.3f} %, most {100 * lost.max():.3f} %; {sum(s.seconds for s in used):.0f} s"
    )
    if without is not None:
        pairs = [(a, b) for a, b in zip(sheets, without, strict=True) if not (a.refused or b.refused)]
        more = np.array([a.false_mm - b.false_mm for a, b in pairs])
        line += f"; {more.mean():+.1f} mm against the same sheets without"
    if any(s.apart_mm or s.drawn_apart_mm for s in used):
        rightly, beside = (sum(getattr(s, part) for s in used) / len(used) for part in ("apart_mm", "drawn_apart_mm"))
        line += f"; set apart as tape {rightly:.1f} mm a sheet, and {beside:.1f} mm near something drawn"
    wrong = sum(not sheet.polarity_right for sheet in used)
    line += f"; polarity wrong on {wrong}" if wrong else ""
    return line + "".join(f"\n  refused: {sheet.refused}" for sheet in sheets if sheet.refused)


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="damage", description=__doc__)
    parser.add_argument("--seeds", type=seed_range, required=True, help="first:last, last not included")
    parser.add_argument("--harms", nargs="*", choices=tuple(HARMS), default=tuple(HARMS))
    parser.add_argument("--originals", nargs="*", choices=tuple(ORIGINALS), default=tuple(ORIGINALS))
    parser.add_argument("--every", action="store_true", help="every harm on every original of every sheet")
    parser.add_argument("--out", type=Path, required=True)
    options = parser.parse_args(argv)
    cv2.setNumThreads(1)
    options.out.mkdir(parents=True, exist_ok=True)
    by_original: dict[str, list[Measured]] = {name: [] for name in options.originals}
    by_harm: dict[str, list[tuple[Measured, Measured]]] = {}
    for seed in options.seeds:
        drawing = finished("clean", seed, None, "none")
        sound: dict[str, Measured] = {}
        for name in options.originals:
            original = ORIGINALS[name]
            sound[name] = measure(drawing, kept(sound_scan(drawing, seed, original), original), options.out / "sheet")
            by_original[name].append(sound[name])
        pairs = [
            (harm, name)
            for number, harm in enumerate(options.harms)
            for place, name in enumerate(options.originals)
            if options.every or place == (seed + number) % len(options.originals)
        ]
        for harm, name in pairs:
            original = ORIGINALS[name]
            harmed = kept(damaged(harm, seed, drawing, sound_scan(drawing, seed, original)), original)
            now = measure(drawing, harmed, options.out / "harmed")
            key = f"{harm}, one bit" if original.kept == "bits" else harm
            by_harm.setdefault(key, []).append((now, sound[name]))
            told = f"{now.false_mm:.1f} mm, without {sound[name].false_mm:.1f} {now.refused}"
            apart = f" (set apart {now.apart_mm:.1f} + {now.drawn_apart_mm:.1f})" if now.apart_mm else ""
            print(f"  {seed} {harm} on {name}: {told}{apart}", flush=True)
    for name, sheets in by_original.items():
        print(summary(name, sheets, None))
    for harm, pairs in sorted(by_harm.items()):
        print(summary(harm, [a for a, _ in pairs], [b for _, b in pairs]))


if __name__ == "__main__":
    main()
