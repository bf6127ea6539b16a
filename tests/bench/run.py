"""Draw sheets, digitize them, score them: ``python -m tests.bench.run --level clean --seeds 2000:2030 --out DIR``."""

import argparse
import json
import os
import time
import traceback
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from samples.__main__ import make_sheet, seed_range
from samples.compose import FAMILIES
from tests.bench.records import load_cases
from tests.bench.score import report, score

PROCESSES = 2
THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS")


def one_sheet(job: tuple[str, int, Path, str, str | None]) -> str:
    """Draw and digitize one sheet; returns a line on how it went. A sheet that fails leaves no result."""
    level, seed, out, trap_mode, family = job
    for name in THREADS:
        os.environ.setdefault(name, "1")
    import cv2

    from digitize.pipeline import digitize_sheet

    cv2.setNumThreads(1)
    picture = make_sheet(level, seed, out / "truth", family, trap_mode)
    name = f"{level}-{seed:05d}"
    start = time.perf_counter()
    try:
        digitize_sheet(picture, page=1, out=out / "results" / name)
    except Exception:
        (out / "failures").mkdir(parents=True, exist_ok=True)
        (out / "failures" / f"{name}.txt").write_text(traceback.format_exc(), encoding="utf-8")
        return f"{name} failed: {traceback.format_exc(limit=0).strip().splitlines()[-1]}"
    return f"{name} {time.perf_counter() - start:.1f} s"


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="run", description=__doc__)
    parser.add_argument("--level", choices=("clean", "aged", "harsh"), default="clean")
    parser.add_argument("--seeds", type=seed_range, required=True, help="first:last, last not included")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--traps", choices=("all", "none", "mixed"), default="mixed")
    parser.add_argument("--family", choices=tuple(FAMILIES), help="parts of one kind only")
    parser.add_argument("--processes", type=int, default=PROCESSES)
    options = parser.parse_args(argv)
    jobs = [(options.level, seed, options.out, options.traps, options.family) for seed in options.seeds]
    with ProcessPoolExecutor(options.processes) as pool:
        for line in pool.map(one_sheet, jobs):
            print(line, flush=True)
    scores = score(load_cases(options.out / "results", options.out / "truth"))
    (options.out / "scores.json").write_text(json.dumps(scores, indent=1), encoding="utf-8")
    print(report(scores))


if __name__ == "__main__":
    main()
