"""What the slow stages found on sample sheets, kept so that the later stages can be run again in seconds.

    python -m tests.bench.cache make --level clean --seeds 12000:12040 --out out/cache
    python -m tests.bench.cache again out/cache

``make`` draws each sheet, loads, restores and straightens it, finds lettering, traces strokes and reads, once, and
keeps ``NAME.found.json`` (as `digitize.found` writes it: calibration without its pictures, strokes, readings with their
rivals) and ``NAME.truth.json``. Sheets that are there already are left alone, so a stopped run is taken up by the same
command. ``again`` runs reconcile and gear identification of the code as it is now over what was kept, and scores
dimensions, calibration and gears. In a bench of your own:

    from tests.bench.cache import kept, finished
    for found in kept(Path("out/cache")):        # found.sheet, .strokes, .texts, .truth, .revision
        reconciled = reconcile(found.sheet, found.strokes, found.texts, parse)
        case = finished(found)                    # as the scorers want it: case.table, case.sheet

What was kept is as old as ``found.revision``: after a change in calibrate, strokes or lettering make it anew in another
folder. ``found.sheet.grey`` and its like have the right shape and no content.
"""

import argparse
import json
import os
import subprocess
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from calibrate.level import calibrate_sheet
from calibrate.sheet import LevelSheet
from digitize.dimensions.reconcile import reconcile
from digitize.found import Found, load, save
from digitize.gears.identifying.from_sheet import gear_of_sheet
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from digitize.redraw.report import PartReport
from digitize.report.frame import sheet_frame
from digitize.report.paper import paper
from digitize.report.provenance import provenance
from digitize.report.table import table
from digitize.strokes.primitives import Strokes
from samples.__main__ import make_sheet, seed_range
from samples.bends import KINDS
from samples.compose import FAMILIES
from samples.figures import FIGURES
from tests.bench.dimension_score import score_dimensions
from tests.bench.gear_score import score_gear
from tests.bench.records import Case, Record
from tests.bench.score import calibration_scores, dimension_scores, gear_scores, pairs_of
from tests.bench.sheet_score import score_calibration

SUFFIX, TRUTH_SUFFIX = ".found.json", ".truth.json"
THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS")


@dataclass(frozen=True)
class Kept:
    """What the stages up to the reading of lettering found on one sheet, and its truth."""

    name: str
    truth: Record
    sheet: LevelSheet
    strokes: Strokes
    texts: tuple[Text, ...]
    timings_s: dict[str, float]
    revision: str


def keep(one: Kept, folder: Path) -> None:
    """Write what was found on a sheet; its truth comes last, so that what has one is whole."""
    folder.mkdir(parents=True, exist_ok=True)
    save(folder / (one.name + SUFFIX), Found(one.sheet, one.strokes, one.texts))
    record = {**one.truth, "timings_s": one.timings_s, "revision": one.revision}
    temporary = folder / f"{one.name}.{os.getpid()}"
    temporary.write_text(json.dumps(record, ensure_ascii=False), encoding="utf-8")
    temporary.replace(folder / (one.name + TRUTH_SUFFIX))


def kept(folder: Path, pick: Callable[[str], bool] = lambda name: True) -> Iterator[Kept]:
    """All sheets of a folder whose name is picked, by name."""
    for path in sorted(folder.glob(f"*{TRUTH_SUFFIX}")):
        name = path.name.removesuffix(TRUTH_SUFFIX)
        if not pick(name):
            continue
        truth = json.loads(path.read_text(encoding="utf-8"))
        timings, revision = truth.pop("timings_s"), truth.pop("revision")
        found = load(folder / (name + SUFFIX))
        yield Kept(name, truth, found.sheet, found.strokes, found.texts, timings, revision)


def find(
    level: str,
    seed: int,
    trap_mode: str = "mixed",
    family: str | None = None,
    bend: str | None = None,
    style: str = "mixed",
) -> Kept:
    """Draw one sheet and run the slow stages over it; the picture is not kept."""
    from digitize.pipeline import Stopwatch, find_on, laid_upright

    clock = Stopwatch(lambda stage: None)
    with tempfile.TemporaryDirectory() as drawn:
        picture = make_sheet(level, seed, Path(drawn), family, trap_mode, bend, style=style)
        with clock.stage("straighten"):
            sheet = laid_upright(lambda turn: calibrate_sheet(picture, orientation_deg=turn))
        found = find_on(sheet, None, clock)
        truth = json.loads((Path(drawn) / f"{picture.stem}{TRUTH_SUFFIX}").read_text(encoding="utf-8"))
    return Kept(truth["name"], truth, found.sheet, found.strokes, found.texts, clock.timings_s, revision())


def revision() -> str:
    """Short name of the commit that the code stands at; empty where there is none."""
    done = subprocess.run(["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=False)
    return done.stdout.strip()


def finished(found: Kept) -> Case:
    """Run reconcile and gear identification over what was found: the case as the scorers want it."""
    reconciled = reconcile(found.sheet, found.strokes, found.texts, parse)
    gear = gear_of_sheet(reconciled, found.strokes, found.texts)
    content = table(found.sheet, reconciled, gear)
    frame, on_paper = sheet_frame(found.sheet, reconciled), paper(found.sheet, reconciled)
    record = provenance(found.sheet, found.strokes, reconciled, frame, on_paper, PartReport(), found.timings_s)
    return Case(found.name, found.truth, content, record, Path(), found.sheet)


def _make_one(job: tuple[str, int, Path, str, str | None, str | None, str]) -> str:
    level, seed, folder, trap_mode, family, bend, style = job
    for name in THREADS:
        os.environ.setdefault(name, "1")
    import cv2

    cv2.setNumThreads(1)
    name = "-".join(part for part in (level, None if style == "mixed" else style, bend, f"{seed:05d}") if part)
    start = time.perf_counter()
    if (folder / (name + TRUTH_SUFFIX)).exists():
        return f"{name} is there"
    try:
        keep(find(level, seed, trap_mode, family, bend, style), folder)
    except Exception:
        (folder / f"{name}.failed").write_text(traceback.format_exc(), encoding="utf-8")
        return f"{name} failed: {traceback.format_exc(limit=0).strip().splitlines()[-1]}"
    return f"{name} {time.perf_counter() - start:.1f} s"


def _make(options: argparse.Namespace) -> None:
    options.out.mkdir(parents=True, exist_ok=True)
    made = options.level, options.out, options.traps, options.family, options.bend, options.figures
    jobs = [(made[0], seed, *made[1:]) for seed in options.seeds]
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
    make.add_argument("--out", type=Path, required=True, help="folder for what is found")
    make.add_argument("--traps", choices=("all", "none", "mixed"), default="mixed")
    make.add_argument("--family", choices=tuple(FAMILIES), help="parts of one kind only")
    make.add_argument("--bend", choices=KINDS, help="sheets that do not lie flat")
    make.add_argument("--figures", choices=FIGURES, default="mixed", help="sheets dense in one style of figure")
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
