"""Drawings by a foreign library, rendered by a foreign browser, digitized and scored.

``python -m tests.bench.foreign --seeds 40000:40020 --out DIR`` needs Debian's Chromium and the fonts named in
`foreign_drawings`. ezdxf draws, Chromium makes the PDF, PDFium the picture; then it is turned a little, blurred and
given a scanner's noise.
"""

import argparse
import json
import subprocess
from base64 import b64encode
from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np
import pypdfium2
from ezdxf.addons.drawing import Frontend, RenderContext
from ezdxf.addons.drawing.config import BackgroundPolicy, ColorPolicy, Configuration, LineweightPolicy
from ezdxf.addons.drawing.layout import Margins, Page, Settings
from ezdxf.addons.drawing.svg import SVGBackend
from ezdxf.math import BoundingBox2d
from PIL import Image

from digitize.pipeline import digitize_sheet
from samples.__main__ import seed_range
from tests.bench.dimension_score import score_dimensions
from tests.bench.foreign_drawings import PAPER_MM, Board, Manner, foreign_drawing
from tests.bench.records import load_cases
from tests.bench.score import dimension_scores, pairs_of

DPI = (200, 300, 400)
LARGEST_SKEW_DEG = 0.6
BLUR_PX = 0.6
NOISE = 4.0
PAPER_TONE = 238.0


def as_svg(board: Board) -> str:
    """The drawing as an SVG page at true size."""
    backend = SVGBackend()
    look = Configuration(
        color_policy=ColorPolicy.BLACK, background_policy=BackgroundPolicy.WHITE,
        lineweight_policy=LineweightPolicy.ABSOLUTE,
    )  # fmt: skip
    Frontend(RenderContext(board.document), backend, config=look).draw_layout(board.space)
    page = Page(*PAPER_MM, margins=Margins(0, 0, 0, 0))
    everything = BoundingBox2d([(0, 0), PAPER_MM])
    return backend.get_string(page, settings=Settings(fit_page=False), render_box=everything, xml_declaration=False)


def print_pdf(boards: Sequence[Board], out: Path) -> Path:
    """All drawings as one PDF, a page each."""
    # images keep the style sheets of the drawings, whose names are alike, apart
    coded = [b64encode(as_svg(board).encode()).decode() for board in boards]
    pages = "".join(f'<div><img src="data:image/svg+xml;base64,{one}"></div>' for one in coded)
    style = f"@page{{size:{PAPER_MM[0]}mm {PAPER_MM[1]}mm;margin:0}} body{{margin:0}} div{{break-after:page}}"
    style += f"img{{display:block;width:{PAPER_MM[0]}mm;height:{PAPER_MM[1] - 0.2}mm}}"
    html, pdf = out / "drawings.html", out / "drawings.pdf"
    html.write_text(f"<!doctype html><style>{style}</style>{pages}", encoding="utf-8")
    command = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    subprocess.run([*command, f"--print-to-pdf={pdf}", html.as_uri()], check=True, capture_output=True, timeout=300)
    return pdf


def scanned(page: pypdfium2.PdfPage, dpi: int, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """A page as a scanner sees it, and the matrix from mm of paper (y up) to its pixels."""
    fine = page.render(scale=2 * dpi / 72, grayscale=True).to_numpy()
    height, width = fine.shape
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), rng.uniform(-LARGEST_SKEW_DEG, LARGEST_SKEW_DEG), 1.0)
    turned = cv2.warpAffine(fine, turn, (width, height), flags=cv2.INTER_LANCZOS4, borderValue=255)
    half = cv2.GaussianBlur(cv2.resize(turned, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA), (0, 0), BLUR_PX)
    grey = half.astype(np.float64) / 255 * PAPER_TONE + rng.normal(0, NOISE, half.shape)
    per_mm = 2 * dpi / 25.4
    from_paper = np.array([[per_mm, 0, -0.5], [0, -per_mm, PAPER_MM[1] * per_mm - 0.5]])
    halved = np.array([[0.5, 0, -0.25], [0, 0.5, -0.25], [0, 0, 1]])
    matrix = halved @ np.vstack([turn, [0, 0, 1]]) @ np.vstack([from_paper, [0, 0, 1]])
    return np.clip(grey, 0, 255).astype(np.uint8), matrix


def make_sheets(
    seeds: Sequence[int], out: Path, manner: Manner | None = None, dpis: Sequence[int] = DPI, lying: bool = False
) -> list[Path]:
    """Draw, render and write the pictures with their truths."""
    boards = [foreign_drawing(seed, manner, lying) for seed in seeds]
    pdf = pypdfium2.PdfDocument(print_pdf(boards, out))
    pictures = []
    for seed, board, page in zip(seeds, boards, pdf, strict=False):
        rng = np.random.default_rng(seed)
        dpi = int(rng.choice(dpis))
        picture, matrix = scanned(page, dpi, rng)
        path = out / "truth" / f"foreign-{seed:05d}.png"
        path.parent.mkdir(parents=True, exist_ok=True)
        Image.fromarray(picture).save(path, dpi=(dpi, dpi))
        records = [{**t, "quad_px": [_mapped(matrix, p) for p in t["quad_mm"]]} for t in board.truths]
        truth = {"name": path.stem, "dimensions": records, "manner": repr(board.manner)}
        path.with_suffix(".truth.json").write_text(json.dumps(truth), encoding="utf-8")
        pictures.append(path)
    return pictures


def _mapped(matrix: np.ndarray, point: tuple[float, float]) -> list[float]:
    x, y, _ = matrix @ (*point, 1.0)
    return [float(x), float(y)]


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="foreign", description=__doc__)
    parser.add_argument("--seeds", type=seed_range, required=True, help="first:last, last not included")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--lying", action="store_true", help="one dimension of each sheet says what is not drawn")
    options = parser.parse_args(argv)
    options.out.mkdir(parents=True, exist_ok=True)
    for picture in make_sheets(options.seeds, options.out, lying=options.lying):
        digitize_sheet(picture, out=options.out / "results" / picture.stem)
        (case,) = [c for c in load_cases(options.out / "results", picture.parent) if c.name == picture.stem]
        found = score_dimensions(case)
        counts = f"{found.right} of {found.true} right, {found.agreed_right} agreed, {len(found.wrong)} wrong"
        print(f"{case.name}: {counts}; {case.truth['manner']}", flush=True)
    cases = load_cases(options.out / "results", options.out / "truth")
    for name, value in dimension_scores([score_dimensions(c) for c in cases]).items():
        print(f"{name}: {pairs_of(value)}")


if __name__ == "__main__":
    main()
