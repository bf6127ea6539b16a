"""The files that the gear desk writes: the sheet for the bench and the drawing."""

import tempfile
from collections.abc import Callable
from pathlib import Path

from calibrate.errors import InputError
from digitize.dimensions.table import State
from digitize.gears.body import GivenBody
from digitize.gears.desk.bench_html import PAPERS_MM, sheet_html
from digitize.gears.desk.bench_pdf import sheet_pdf
from digitize.gears.desk.bench_sheet import bench_sheet
from digitize.gears.desk.gear_drawing import write_gear_drawing
from digitize.gears.desk.work import Work, workpiece
from digitize.gears.identifying.evidence import Evidence
from digitize.gears.identifying.finding import GearFinding
from digitize.gears.options import BenchInput

PAPER_OF_UNIT = {"in": "letter", "mm": "A4"}


def write_files(work: Work | None, typed: BenchInput, finding: GearFinding, unit: str) -> tuple[Path, ...]:
    """Write what was asked for; returns the paths.

    Raises
    ------
    InputError
        Where no tooth can be stated, or a name does not say what to write.
    """
    if typed.sheet is None and typed.dxf is None:
        return ()
    if work is None:
        raise InputError(_no_tooth(finding))
    paths = []
    if typed.sheet is not None:
        paths.append(_write_sheet(Path(typed.sheet), work, typed, finding, unit))
    if typed.dxf is not None:
        if Path(typed.dxf).suffix.lower() != ".dxf":
            raise InputError(f'The drawing\'s name "{typed.dxf}" must end in .dxf.')
        paths.append(_whole(Path(typed.dxf), lambda path: write_gear_drawing(path, work, unit)))
    return tuple(paths)


def _no_tooth(finding: GearFinding) -> str:
    if finding.kind != "spur":
        return f"Nothing is written: this is a {finding.kind} gear, and only spur gears are drawn."
    ask = f" {finding.measure_next[0]}" if finding.measure_next else ""
    return f"Nothing is written: pitch, pressure angle or form of the tooth is still open.{ask}"


def _write_sheet(path: Path, work: Work, typed: BenchInput, finding: GearFinding, unit: str) -> Path:
    paper = typed.paper or PAPER_OF_UNIT[unit]
    known = {name.lower(): name for name in PAPERS_MM}
    if paper.lower() not in known:
        raise InputError(f'The paper "{paper}" is unknown; it is A4 or letter.')
    sheet, paper = bench_sheet(work, finding, unit), known[paper.lower()]
    if path.suffix.lower() == ".pdf":
        return _whole(path, lambda each: _ignore(each.write_bytes(sheet_pdf(sheet, paper))))
    if path.suffix.lower() in (".html", ".htm"):
        return _whole(path, lambda each: _ignore(each.write_text(sheet_html(sheet, paper), encoding="utf-8")))
    raise InputError(f'The sheet\'s name "{path}" must end in .pdf or .html.')


def write_inspection(path: Path, finding: GearFinding | None, body: GivenBody, unit: str) -> bool:
    """Write the inspection sheet of a print's gear as a PDF on the unit's own paper, where the gear is agreed.

    Returns
    -------
    bool
        Whether it was written: never for a gear that is not agreed, or whose teeth are no known curve.
    """
    if finding is None or finding.state is not State.AGREED:
        return False
    work = workpiece(finding, Evidence(), body, BenchInput())
    if work is None:
        return False
    path.write_bytes(sheet_pdf(bench_sheet(work, finding, unit), PAPER_OF_UNIT[unit]))
    return True


def _ignore(_count: int) -> None:
    """Drop the count of what was written."""


def _whole(path: Path, write: Callable[[Path], None]) -> Path:
    """Write to a name beside it and rename: the file is there whole or not at all."""
    with tempfile.TemporaryDirectory(prefix=".writing-", dir=path.parent) as folder:
        staged = Path(folder) / path.name
        write(staged)
        staged.replace(path)
    return path
