"""Damaged files by the thousand, through the command `calibrate`: what became of them, and the memory that was taken.

    python -m tests.bench.mutants --seeds 21000:22000 [--kinds png g4.tif]

Ends with code 1 where one file led to anything but a result or a sentence.
"""

import argparse
import json
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.calibrate.mutants import KINDS, judged

GOOD = frozenset({"read", "told", "hungry"})


def main() -> None:
    """Try them, print a line a kind."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seeds", default="21000:22000")
    options.add_argument("--kinds", nargs="*", default=list(KINDS), choices=list(KINDS))
    chosen = options.parse_args()
    first, last = map(int, chosen.seeds.split(":"))
    bad = 0
    for kind in chosen.kinds:
        start = time.perf_counter()
        with tempfile.TemporaryDirectory() as folder:
            verdicts = list(judged(kind, range(first, last), Path(folder)))
        wrong = [(each.seed, each.what) for each in verdicts if each.what not in GOOD]
        bad += len(wrong)
        counts = Counter(each.what for each in verdicts if each.what in GOOD)
        peak_mb = max(each.peak_bytes for each in verdicts) // 10**6
        figures = {"kind": kind, "files": len(verdicts), **counts, "wrong": wrong, "peak_mb": peak_mb}
        print(json.dumps(figures | {"seconds": round(time.perf_counter() - start, 1)}), flush=True)
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
