"""Draw the museum's kept sheets again: ``python -m samples.collection`` writes samples/sheets and its index."""

import csv
import io
import json
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import img2pdf  # type: ignore[import-untyped]
import numpy as np
from PIL import Image

from samples.aging import EXPOSE, Scan
from samples.compose import finished, streams
from samples.pictures import encoded, image_options
from samples.truth import truth_record

HERE = Path(__file__).parent
SHEETS = HERE / "sheets"
GREYS = 8
JPEG_QUALITY = 62  # small, and as many archives kept their scans
INDEX = ("name", "file", "page", "level", "family", "trap", "about")


def entries() -> list[dict[str, Any]]:
    """The collection's list."""
    return list(tomllib.loads((HERE / "collection.toml").read_text(encoding="utf-8"))["sheet"])


def few_greys(scan: Scan) -> tuple[Image.Image, dict[str, Any]]:
    """The picture in eight greys."""
    step = 256 // GREYS
    index = Image.fromarray((scan.picture // step).astype(np.uint8)).convert("P")
    index.putpalette([v for k in range(GREYS) for v in (k * step + step // 2,) * 3])
    return index, {**image_options(scan), "bits": 4, "optimize": True}


def _keep(entry: dict[str, Any], scan: Scan, page: int) -> str:
    """Write the picture; returns the file's name."""
    if entry["keep"] == "few greys":
        image, options = few_greys(scan)
        image.save(SHEETS / f"{entry['name']}.png", **options)
        return f"{entry['name']}.png"
    if entry["keep"] in ("jpeg", "pdf"):
        scan = replace(scan, suffix=".jpg", quality=JPEG_QUALITY)
    data = encoded(scan)
    if entry["keep"] == "pdf":
        (SHEETS / f"{entry['name']}.pdf").write_bytes(_pdf(data))
        return f"{entry['name']}.pdf"
    name = str(entry.get("file", entry["name"] + scan.suffix))
    if page > 1:
        _append(SHEETS / name, data)
    else:
        (SHEETS / name).write_bytes(data)
    return name


def _pdf(data: bytes) -> bytes:
    """A PDF round a JPEG; the file is the same each time."""
    return bytes(img2pdf.convert(data, nodate=True))


def _append(path: Path, data: bytes) -> None:
    """Add a page to a TIFF."""
    with Image.open(path) as first, Image.open(io.BytesIO(data)) as page:
        first.load()
        options = {"dpi": first.info["dpi"]} if "dpi" in first.info else {}
        pages = [page.copy()]
        first.copy().save(path, compression="group4", save_all=True, append_images=pages, **options)


def main() -> None:
    """Draw all kept sheets and their index."""
    SHEETS.mkdir(exist_ok=True)
    rows, pages = [], dict[str, int]()
    for entry in entries():
        level, seed = entry["level"], entry["seed"]
        drawing = finished(level, seed, entry["family"], entry.get("traps", "none"))
        scan = EXPOSE[level](drawing, streams(level, seed).exposure)
        shared = str(entry.get("file", entry["name"]))
        pages[shared] = page = pages.get(shared, 0) + 1
        name = _keep(entry, scan, page)
        record = truth_record(drawing, scan.exposure, name=entry["name"], seed=seed, level=level, image=name, page=page)
        text = json.dumps(record, ensure_ascii=False, separators=(",", ":"))
        (SHEETS / f"{entry['name']}.truth.json").write_text(text + "\n", encoding="utf-8")
        rows.append([entry["name"], name, page, level, entry["family"], drawing.trap or "", entry["about"]])
        print(name)
    with (SHEETS / "index.csv").open("w", newline="", encoding="utf-8") as stream:
        csv.writer(stream, lineterminator="\n").writerows([INDEX, *rows])


if __name__ == "__main__":
    main()
