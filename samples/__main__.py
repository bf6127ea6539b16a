"""Draw sample sheets: ``python -m samples --level clean --seeds 0:10 --out DIR``."""

import argparse
import json
from pathlib import Path

from samples.aging import EXPOSE, Bending, Scan
from samples.bends import KINDS
from samples.compose import FAMILIES, MANNERS, finished, streams
from samples.damage import HARMS, damaged
from samples.figures import FIGURES
from samples.museum import open_office
from samples.pictures import encoded
from samples.scale_bars import with_bar
from samples.truth import truth_record


def seed_range(text: str) -> range:
    """Seeds of "first:last", the last one left out, or of a single number."""
    first, _, last = text.partition(":")
    return range(int(first), int(last)) if last else range(int(first), int(first) + 1)


def make_sheet(
    level: str,
    seed: int,
    out: Path,
    family: str | None = None,
    trap_mode: str = "mixed",
    bend: str | None = None,
    harm: str | None = None,
    manner: str = "office",
    bar: bool = False,
    style: str = "mixed",
) -> Path:
    """Draw, age and save one sheet with its truth; returns the picture's path."""
    drawing = finished(level, seed, family, trap_mode, manner, style)
    if bar:
        drawing = with_bar(drawing, level, seed, open_office(streams(level, seed).office).style.hand)
    source = streams(level, seed)
    bending = None if bend is None else Bending(bend, source.bending)
    scan: Scan = EXPOSE[level](drawing, source.exposure, bending)
    if harm is not None:
        scan = damaged(harm, seed, drawing, scan)
    said = style if style != "mixed" else None, manner if manner != "office" else None, "bar" if bar else None
    name = "-".join(part for part in (level, said[0], bend, harm, *said[1:], f"{seed:05d}") if part is not None)
    out.mkdir(parents=True, exist_ok=True)
    path = out / (name + scan.suffix)
    path.write_bytes(encoded(scan))
    record = truth_record(drawing, scan.exposure, name=name, seed=seed, level=level, image=path.name)
    (out / f"{name}.truth.json").write_text(json.dumps(record, ensure_ascii=False, indent=1), encoding="utf-8")
    return path


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="samples", description=__doc__)
    parser.add_argument("--level", choices=tuple(EXPOSE), default="clean")
    parser.add_argument("--seeds", type=seed_range, default=range(1), help="first:last, last not included")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--family", choices=tuple(FAMILIES), default=None)
    parser.add_argument("--traps", choices=("all", "none", "mixed"), default="mixed")
    parser.add_argument("--bend", choices=("none", *KINDS), default="none", help="paper that doesn't lie flat")
    parser.add_argument("--damage", choices=("none", *HARMS), default="none", help="one harm more, such as a gutter")
    parser.add_argument(
        "--manner", choices=MANNERS, default="office", help="plate: arrowheads by hand, dashed lines, as in old books"
    )
    parser.add_argument("--bar", action="store_true", help="a drawn scale bar besides, where there is room")
    parser.add_argument("--figures", choices=FIGURES, default="mixed", help="sheets dense in one style of figure")
    options = parser.parse_args(argv)
    harm = None if options.damage == "none" else options.damage
    bend = None if options.bend == "none" else options.bend
    for seed in options.seeds:
        sheet = options.level, seed, options.out, options.family, options.traps, bend, harm, options.manner
        print(make_sheet(*sheet, bar=options.bar, style=options.figures))


if __name__ == "__main__":
    main()
