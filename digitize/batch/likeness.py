"""Sheets that are the same: by their bytes, or by what is written on them."""

import json
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

from digitize.batch.jobs import Job

TABLE = "dimensions.json"
LEAST_VALUES = 5
"""Fewer values alike may be chance."""
ALIKE = 0.7
"""Share of values in common, of all that either sheet has."""


@dataclass(frozen=True)
class Pair:
    """Two folders that hold the same sheet, and why that is thought."""

    first: str
    second: str
    why: str


def same_bytes(jobs: Sequence[Job]) -> Iterator[Pair]:
    """Pages of files that are equal to the last byte."""
    first: dict[tuple[str, int], Job] = {}
    for job in jobs:
        earlier = first.setdefault((job.sha256, job.page), job)
        if earlier is not job:
            yield Pair(earlier.folder, job.folder, "the files are the same, byte for byte")


def same_content(folders: Sequence[str], out: Path) -> Iterator[Pair]:
    """Sheets that were scanned twice: nearly all their values are alike."""
    written = {folder: _values(out / folder / TABLE) for folder in folders}
    by_value: dict[tuple[str, str], list[str]] = {}
    for folder, values in written.items():
        if sum(values.values()) >= LEAST_VALUES:
            for value in values:
                by_value.setdefault(value, []).append(folder)
    shared: Counter[tuple[str, str]] = Counter()
    for sharing in by_value.values():
        shared.update(combinations(sorted(sharing), 2))
    for (one, other), count in sorted(shared.items()):
        both, either = written[one] & written[other], written[one] | written[other]
        if count >= LEAST_VALUES and sum(both.values()) >= ALIKE * sum(either.values()):
            yield Pair(one, other, f"{sum(both.values())} of {sum(either.values())} values are alike")


def _values(table: Path) -> Counter[tuple[str, str]]:
    try:
        rows = json.loads(table.read_text(encoding="utf-8"))["dimensions"]
        return Counter((row["kind"], row["text"]) for row in rows if row["value"] is not None)
    except (OSError, ValueError, KeyError, TypeError):
        return Counter()
