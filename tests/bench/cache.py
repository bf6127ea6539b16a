"""What the slow stages found on sample sheets, kept so that the later stages can be run again in seconds.

    python -m tests.bench.cache make --level clean --seeds 12000:12040 --out out/cache
    python -m tests.bench.cache again out/cache

``make`` draws each sheet, loads, restores and straightens it, finds lettering, traces strokes and reads, once, and
keeps the result as ``NAME.found``: calibration without its pictures, strokes, readings with their rivals, and the
sheet's truth. Sheets that are there already are left alone, so a stopped run is taken up by the same command.
``again`` runs reconcile and gear identification of the code as it is now over what was kept, and scores dimensions,
calibration and gears. In a bench of your own:

    from tests.bench.cache import kept, finished
    for found in kept(Path("out/cache")):        # found.sheet, .strokes, .texts, .truth, .revision
        reconciled = reconcile(found.sheet, found.strokes, found.texts, parse)
        case = finished(found)                    # as the scorers want it: case.table, case.sheet

What was kept is as old as ``found.revision``: after a change in calibrate, strokes or lettering make it anew in another
folder. ``found.sheet.grey`` and its like have the right shape and no content. The files are pickles: load your own
only.
"""

import argparse
import json
import lzma
import os
import pickle
import subprocess
import time
import traceback
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from calibrate.level import calibrate_sheet
from calibrate.sheet import LevelSheet
from digitize.dimensions.reconcile import reconcile
from digitize.gears.from_sheet import gear_of_sheet
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from digitize.redraw.report import PartReport
from digitize.report.frame import sheet_frame
from digitize.report.paper import paper
from digitize.report.provenance import provenance
from digitize.report.table import table
from digitize.strokes.primitives import Strokes
from samples.__main__ import make_sheet, seed_range
from tests.bench.dimension_score import score_dimensions
from tests.bench.gear_score import score_gear
from tests.bench.records import Case, Record
from tests.bench.score import calibration_scores, dimension_scores, gear_scores, pairs_of
from tests.bench.sheet_score import score_calibration

SUFFIX = ".found"
PICTURES = ("working_grey", "working_ink", "grey", "ink")
THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS")


@dataclass(frozen=True)
class Found:
    """What the stages up to the reading of lettering found on one sheet."""

    name: str
    truth: Record
    sheet: LevelSheet
    strokes: Strokes
    texts: tuple[Text, ...]
    timings_s: dict[str, float]
    revision: str


def blank(sheet: LevelSheet) -> LevelSheet:
    """The sheet with pictures of the same shape that hold nothing and take no room."""
    shapes = {name: getattr(sheet, name) for name in PICTURES}
    empty: dict[str, Any] = {
        name: np.broadcast_to(np.zeros((), picture.dtype), picture.shape) for name, picture in shapes.items()
    }
    return replace(sheet, **empty)


def keep(found: Found, folder: Path) -> Path:
    """Write what was found on a sheet, whole or not at all."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / (found.name + SUFFIX)
    shapes = {name: (getattr(found.sheet, name).dtype.str, getattr(found.sheet, name).shape) for name in PICTURES}
    nothing: dict[str, Any] = dict.fromkeys(PICTURES)
    bare = vars(replace(found, sheet=replace(found.sheet, **nothing)))
    temporary = path.with_suffix(f".{os.getpid()}")
    temporary.write_bytes(lzma.compress(pickle.dumps((bare, shapes)), preset=1))
    temporary.replace(path)
    return path


def load(path: Path) -> Found:
    """Read what `keep` wrote."""
    bare, shapes = pickle.loads(lzma.decompress(path.read_bytes()))
    empty: dict[str, Any] = {
        name: np.broadcast_to(np.zeros((), np.dtype(kind)), shape) for name, (kind, shape) in shapes.items()
    }
    return Found(**{**bare, "sheet": replace(bare["sheet"], **empty)})


def kept(folder: Path, pick: Callable[[str], bool] = lambda name: True) -> Iterator[Found]:
    """All sheets of a folder whose name is picked, by name."""
    for path in sorted(folder.glob(f"*{SUFFIX}")):
        if pick(path.stem):
            yield load(path)


def find(level: str, seed: int, folder: Path, trap_mode: str = "mixed") -> Found:
    """Draw one sheet and run the slow stages over it; the picture is deleted again."""
    from digitize.lettering.find import find_lettering
    from digitize.lettering.read import default_reader, read_blocks
    from digitize.pipeline import Stopwatch
    from digitize.strokes.trace import trace_strokes

    picture = make_sheet(level, seed, folder / "drawn", None, trap_mode)
    truth_path = picture.parent / f"{level}-{seed:05d}.truth.json"
    clock = Stopwatch(lambda stage: None)
    try:
        with clock.stage("straighten"):
            sheet = calibrate_sheet(picture)
        with clock.stage("find lettering"):
            lettering = find_lettering(sheet)
        with clock.stage("trace strokes"):
            strokes = trace_strokes(sheet, lettering.mask)
        with clock.stage("read lettering"):
            texts = read_blocks(sheet, lettering.blocks, default_reader())
        truth = json.loads(truth_path.read_text(encoding="utf-8"))
    finally:
        picture.unlink()
        truth_path.unlink()
    return Found(truth["name"], truth, blank(sheet), strokes, texts, clock.timings_s, revision())


def revision() -> str:
    """Short name of the commit that the code stands at; empty where there is none."""
    done = subprocess.run(["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=False)
    return done.stdout.strip()


def finished(found: Found) -> Case:
    """Run reconcile and gear identification over what was found: the case as the scorers want it."""
    reconciled = reconcile(found.sheet, found.strokes, found.texts, parse)
    gear = gear_of_sheet(reconciled, found.strokes, found.texts)
    content = table(found.sheet, reconciled, gear)
    frame, on_paper = sheet_frame(found.sheet, reconciled), paper(found.sheet, reconciled)
    record = provenance(found.sheet, found.strokes, reconciled, frame, on_paper, PartReport(), found.timings_s)
    return Case(found.name, found.truth, content, record, Path())


def _make_one(job: tuple[str, int, Path, str]) -> str:
    level, seed, folder, trap_mode = job
    for name in THREADS:
        os.environ.setdefault(name, "1")
    import cv2

    cv2.setNumThreads(1)
    name, start = f"{level}-{seed:05d}", time.perf_counter()
    if (folder / (name + SUFFIX)).exists():
        return f"{name} is there"
    try:
        keep(find(level, seed, folder, trap_mode), folder)
    except Exception:
        (folder / f"{name}.failed").write_text(traceback.format_exc(), encoding="utf-8")
        return f"{name} failed: {traceback.format_exc(limit=0).strip().splitlines()[-1]}"
    return f"{name} {time.perf_counter() - start:.1f} s"


def _make(options: argparse.Namespace) -> None:
    options.out.mkdir(parents=True, exist_ok=True)
    jobs = [(options.level, seed, options.out, options.traps) for seed in options.seeds]
    with ProcessPoolExecutor(options.processes) as pool:
        for line in pool.map(_make_one, jobs):
            print(line, flush=True)


def _again(options: argparse.Namespace) -> None:
    cases = [finished(found) for found in kept(options.folder, lambda name: options.only in name)]
    scores = {
        "dimensions": dimension_scores([score_dimensions(c) for c in cases]),
        "calibration": calibration_scores([score_calibration(c) for c in cases]),
        "gear": gear_scores([score_gear(c) for c in cases]),
    }
    print(f"sheets {len(cases)}")
    for part, values in scores.items():
        print("\n".join([part, *(f"  {name}: {pairs_of(value)}" for name, value in values.items())]))


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    plain = argparse.RawDescriptionHelpFormatter
    parser = argparse.ArgumentParser(prog="cache", description=__doc__, formatter_class=plain)
    commands = parser.add_subparsers(required=True)
    make = commands.add_parser("make", help="run the slow stages over sample sheets and keep what they find")
    make.add_argument("--level", choices=("clean", "aged", "harsh"), default="clean")
    make.add_argument("--seeds", type=seed_range, required=True, help="first:last, last not included")
    make.add_argument("--out", type=Path, required=True, help="folder for the .found files")
    make.add_argument("--traps", choices=("all", "none", "mixed"), default="mixed")
    make.add_argument("--processes", type=int, default=1)
    make.set_defaults(run=_make)
    again = commands.add_parser("again", help="run the later stages over what was kept, and score")
    again.add_argument("folder", type=Path)
    again.add_argument("--only", default="", help="names that hold this text, such as clean-")
    again.set_defaults(run=_again)
    options = parser.parse_args(argv)
    options.run(options)


if __name__ == "__main__":
    main()
