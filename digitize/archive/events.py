"""What happened to a print, after the manner of PREMIS 3.0 (objects, agents, events), in plain JSON.

Types of events are those of the PREMIS vocabulary: creation, modification, ingestion, message digest calculation.
"""

import datetime
import hashlib
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from digitize.archive.plan import Plan
from digitize.archive.record import SHEET
from digitize.report.provenance import versions
from digitize.review.journal import Said

NAME = "events.json"
SCHEMA = "events/1"
PROGRAM = "tracecloth"
MASTER = "master"
ALGORITHMS = ("sha256", "sha512")


def events(payload: Path, plan: Plan, said: Sequence[tuple[Said, ...]], made_from: str) -> dict[str, Any]:
    """The record of one bag as JSON values.

    Parameters
    ----------
    payload : Path
        Folder that holds all files of the bag but this record.
    plan : Plan
    said : sequence of tuple of Said
        Statements of the review, page by page.
    made_from : str
        `plan.fingerprint` of what the bag was made from.
    """
    objects = [_object(path, payload, plan) for path in sorted(payload.rglob("*")) if path.is_file()]
    now = _utc(datetime.datetime.now(datetime.UTC))
    people = sorted({each.by for page in said for each in page})
    digests = {"type": "message digest calculation", "when": now, "agent": PROGRAM, "algorithms": list(ALGORITHMS)}
    return {
        "schema": SCHEMA,
        "made_from": made_from,
        "objects": objects,
        "agents": [
            {"name": PROGRAM, "type": "software", "versions": versions()},
            *({"name": name, "type": "person"} for name in people),
        ],
        "events": [
            *(_creation(plan, index, objects) for index in range(len(plan.pages))),
            *(_review(plan, index, each) for index, page in enumerate(said) for each in page),
            {"type": "ingestion", "when": now, "agent": PROGRAM, "objects": [each["name"] for each in objects]},
            digests | {"objects": [each["name"] for each in objects]},
        ],
    }


def _object(path: Path, payload: Path, plan: Plan) -> dict[str, Any]:
    name = path.relative_to(payload).as_posix()
    master = name.startswith(f"{MASTER}/")
    content: dict[str, Any] = {"name": name, "role": "master" if master else "derivative", "bytes": path.stat().st_size}
    for algorithm in ALGORITHMS:
        with path.open("rb") as stream:
            content[algorithm] = hashlib.file_digest(stream, algorithm).hexdigest()
    return content | ({"original_name": plan.file} if master else {"from": plan.sha256})


def _creation(plan: Plan, index: int, objects: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """How a page was digitized, by the versions its result states."""
    page = plan.pages[index]
    record = json.loads((page.folder / SHEET).read_text(encoding="utf-8"))
    written = datetime.datetime.fromtimestamp((page.folder / SHEET).stat().st_mtime, datetime.UTC)
    start = f"{page.place}/" if page.place else ""
    made = [each["name"] for each in objects if each["role"] != "master" and each["name"].startswith(start)]
    return {
        "type": "creation",
        "when": _utc(written),
        "when_is": f"the time of {SHEET}",
        "agent": PROGRAM,
        "page": page.number,
        "versions": record.get("versions", {}),
        "objects": made,
    }


def _review(plan: Plan, index: int, said: Said) -> dict[str, Any]:
    page = plan.pages[index]
    return {
        "type": "modification",
        "when": said.on,
        "agent": said.by,
        "page": page.number,
        "number": said.number,
        "statement": said.body,
    }


def _utc(when: datetime.datetime) -> str:
    return when.isoformat(timespec="seconds")
