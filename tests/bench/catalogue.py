"""The catalogue over many made sheets: each query's time, and a plain LIKE scan of the same texts for comparison.

    python -m tests.bench.catalogue --sheets 100000

Also builds the catalogue and says its size.
"""

import argparse
import json
import random
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path

from digitize.archive.catalogue import Catalogue
from digitize.archive.query import Query, SizeWanted
from digitize.archive.record import GearFound, SheetRecord, Size, length_pm

PARTS = ("SPINDLE", "BUSH", "FLANGE", "BACK GEAR", "FEED WHEEL", "LAYSHAFT", "GUARD BRACKET", "PULLEY", "STOP PLATE")
MATERIALS = ("STEEL", "CAST IRON", "BRASS", "PHOSPHOR BRONZE", "MILD STEEL")
STATES = ("agreed",) * 6 + ("unproven",) * 2 + ("disputed", "unread")
ROWS = 20
"""Values on a sheet."""
REPEATS = 9
QUERIES = {
    "spindle 14 1/2": Query("spindle 14 1/2"),
    "spindle (a ninth of all)": Query("spindle"),
    "steel drawing number": Query("steel", {"drawing_number": "HM-4711"}),
    "diameter 5.5in +- 0.01in": Query(sizes=(SizeWanted("diameter", Fraction(1397, 10), Fraction(254, 1000)),)),
    "42 teeth, 8 pitch": Query(teeth=42, module_mm=3.175),
    "museum (on every sheet)": Query("museum"),
    "disputed": Query(state="disputed"),
    "spindle, disputed, 5.5in": Query("spindle", sizes=(SizeWanted("diameter", Fraction(1397, 10)),), state="disputed"),
}


def made(count: int) -> Iterator[SheetRecord]:
    """Sheets with values in sixty-fourths and a gear on every fifth."""
    rng = random.Random(11)
    for number in range(count):
        sizes = []
        for row in range(ROWS):
            inches = Fraction(rng.randint(4, 64 * 20), 64)
            whole, part = divmod(inches, 1)
            text = f"{whole} {part}" if whole and part else str(inches)
            kind = rng.choice(("linear", "linear", "diameter", "radius"))
            sizes.append(Size(f"A{row}", kind, "", text, length_pm(float(inches), "in"), rng.choice(STATES)))
        gear = (GearFound(rng.randint(12, 120), 25.4 / rng.randint(4, 24), "agreed"),) if number % 5 == 0 else ()
        title, material = rng.choice(PARTS), rng.choice(MATERIALS)
        texts = (*(each.text for each in sizes), title, "FINISH ALL OVER", "MILL MUSEUM")
        year = str(rng.randint(1880, 1960))
        yield SheetRecord(
            f"{number:06d}.tif", "0" * 64, 1, title, f"HM-{number}", material, year, "HALF SIZE", texts,
            tuple(sizes), gear,
        )  # fmt: skip


def timed_ms(work: Callable[[], object], clock: Callable[[], float] = time.perf_counter) -> float:
    """Median over some repeats; by `time.process_time` where the machine is busy with other things."""
    times = []
    for _ in range(REPEATS):
        start = clock()
        work()
        times.append((clock() - start) * 1e3)
    return statistics.median(times)


def main() -> None:
    """Build, ask, print."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--sheets", type=int, default=100_000)
    count = options.parse_args().sheets
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "catalogue.sqlite"
        catalogue, start = Catalogue(path), time.perf_counter()
        plain = sqlite3.connect(Path(folder) / "plain.sqlite")
        plain.execute("CREATE TABLE sheets (folder TEXT, texts TEXT)")
        with catalogue._change():
            for number, record in enumerate(made(count)):
                catalogue.add(f"{number:06d}", "", "", record)
                plain.execute("INSERT INTO sheets VALUES (?, ?)", (f"{number:06d}", "\n".join(record.texts)))
        plain.commit()
        print(json.dumps({"sheets": count, "build_s": round(time.perf_counter() - start, 1),
                          "megabytes": round(path.stat().st_size / 1e6)}))  # fmt: skip
        like = "SELECT folder FROM sheets WHERE texts LIKE '%spindle%' AND texts LIKE '%14 1/2%' LIMIT 51"
        scan_ms = timed_ms(lambda: plain.execute(like).fetchall())
        rare = "SELECT folder FROM sheets WHERE texts LIKE '%no such word%' LIMIT 51"
        scan_ms = max(scan_ms, timed_ms(lambda: plain.execute(rare).fetchall()))
        for name, query in QUERIES.items():
            query_ms = timed_ms(lambda query=query: catalogue.find(query))
            hits = len(catalogue.find(query)[0])
            cpu_ms = timed_ms(lambda query=query: catalogue.find(query), time.process_time)
            figures = {"ms": query_ms, "cpu_ms": cpu_ms, "like_scan_ms": scan_ms, "times_faster": scan_ms / query_ms}
            rounded = {key: round(value, 2) for key, value in figures.items()}
            print(json.dumps({"query": name, "hits": hits, **rounded}))
        catalogue.close()
        plain.close()


if __name__ == "__main__":
    main()
