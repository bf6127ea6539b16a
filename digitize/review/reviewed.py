"""A sheet under review: what was found, what was said of it, and what follows from both."""

import tempfile
import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from calibrate import calibrate_sheet
from calibrate.errors import InputError
from calibrate.files.load import load_page
from calibrate.lengths import parse_length
from calibrate.scaling.known import KnownLength, with_known
from calibrate.sheet import LevelSheet, apply_homography
from digitize.dimensions.confirmed import Added, Confirmation, added_text
from digitize.dimensions.linking.entries import parse_or_none
from digitize.dimensions.linking.split_callouts import whole_texts
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Dimension, Reconciled, State
from digitize.found import NAME as FOUND
from digitize.found import Found, load, source_of, with_pictures
from digitize.gears.identifying.finding import GearFinding
from digitize.gears.identifying.from_sheet import gear_of_sheet
from digitize.lettering.grammar import parse
from digitize.lettering.text import TextBlock, Unit
from digitize.redraw.part import write_part
from digitize.redraw.report import OutlineKind, PartReport
from digitize.redraw.solving.parted_views import WholeViews, whole_views
from digitize.report.cautions import CAUTIONS
from digitize.report.frame import sheet_frame
from digitize.report.summary import gear_words, scale_words
from digitize.report.table import row
from digitize.report.write import write_results
from digitize.review.journal import NAME as JOURNAL
from digitize.review.journal import Journal, Said
from digitize.review.pictures import Pyramid, level_picture, pyramid
from digitize.review.statements import Add, Confirm, Known, Statement, Strike, statement, to_json
from digitize.strokes.primitives import Point

DOUBTFUL_FIRST = {State.DISPUTED: 0, State.UNREAD: 1, State.UNPROVEN: 2, State.AGREED: 3}
MOST_TEXTS = 3000
"""The fullest sheets carry some hundreds; tying figures to lines grows with the square of their number."""
MOST_CHANGES = 40
"""More changes than this are counted, not told one by one."""


@dataclass(frozen=True)
class Conclusion:
    """What follows from all that was said, at one version of the journal."""

    version: int
    whole: WholeViews
    gear: GearFinding | None
    part: PartReport
    said: tuple[Said, ...]

    @property
    def reconciled(self) -> Reconciled:
        """The figures, those of parted views joined."""
        return self.whole.reconciled


class ReviewedSheet:
    """One result folder under review.

    Parameters
    ----------
    folder : Path
        As `digitize sheet` wrote it.
    print_file : Path, optional
        Where the print is now, if it was moved since.

    Raises
    ------
    InputError
        The folder is no result, half deleted, or the print is gone or has changed.
    """

    def __init__(self, folder: Path, print_file: Path | None = None) -> None:
        record = folder / FOUND
        if not record.exists():
            raise InputError(f"{folder} holds no {FOUND}; run digitize sheet on the print again, with --out {folder}.")
        self.folder = folder
        self.found = load(record)
        if len(self.found.texts) > MOST_TEXTS:
            raise InputError(
                f"{folder.name} holds {len(self.found.texts)} pieces of lettering, more than a page of one sheet can; "
                "cut the scan into its sheets and digitize each."
            )
        self.source = _source(folder, print_file)
        self._page = load_page(self.source, self.found.sheet.page)
        if self._page.sha256 != self.found.sheet.sha256:
            raise InputError(f"{self.source.name} has changed since it was digitized; digitize it again.")
        self.journal = Journal(folder / JOURNAL, self.found.sheet.sha256, self.found.sheet.page)
        self._parse = parse_or_none(parse)
        self._texts = whole_texts(self.found.texts, self._parse)
        self._lock = threading.Lock()
        self._concluded: Conclusion | None = None
        self.listeners = 0
        """Pages in a browser that wait for news of this sheet."""

    @cached_property
    def pictures(self) -> Pyramid:
        """The level sheet at halving sizes."""
        sheet = self.found.sheet
        return pyramid(level_picture(self._page.pixels, sheet.level_from_source, sheet.grey.shape[:2]))

    def level(self, points: Sequence[Point]) -> list[Point]:
        """Source pixels to level pixels."""
        mapped = apply_homography(self.found.sheet.level_from_source, np.array(points, dtype=np.float64))
        return [(float(x), float(y)) for x, y in mapped]

    def conclude(self) -> Conclusion:
        """Reconcile, identify the gear and close the outlines with all that was said; kept until something is said."""
        with self._lock:
            version = self.journal.version()
            if self._concluded is None or self._concluded.version != version:
                self._concluded = self._work_out(version)
            return self._concluded

    def _work_out(self, version: int) -> Conclusion:
        said = self.journal.live()
        found = self._with_known(said)
        confirmations, added = self._spoken(said)
        reconciled = reconcile(found.sheet, found.strokes, found.texts, self._parse, confirmations, added)
        whole = whole_views(found.strokes, reconciled)
        gear = gear_of_sheet(whole.reconciled, whole.strokes, found.texts, found.teeth)
        return Conclusion(version, whole, gear, _part(found.sheet, whole, gear), said)

    def _with_known(self, said: Sequence[Said]) -> Found:
        lengths = []
        for each in said:
            match statement(each.body):
                case Known(first, second, text):
                    ends = np.array([first, second], dtype=np.float64)
                    lengths.append(KnownLength(parse_length(text, "known length"), ends))
        if not lengths:
            return self.found
        return replace(self.found, sheet=with_known(self.found.sheet, lengths))

    def _spoken(self, said: Sequence[Said]) -> tuple[tuple[Confirmation, ...], tuple[Added, ...]]:
        confirmations: list[Confirmation] = []
        added: list[Added] = []
        for each in said:
            match statement(each.body):
                case Confirm(place, text, whole):
                    confirmations.append(Confirmation(place, text, each.by, each.on, whole))
                case Strike(place):
                    confirmations.append(Confirmation(place, None, each.by, each.on))
                case Add(first, second, text):
                    ends = self.level([first, second])
                    added.append(Added(ends[0], ends[1], text, each.by, each.on))
        return tuple(confirmations), tuple(added)

    def block(self, text: int) -> TextBlock | None:
        """A piece of lettering, an added one too."""
        if 0 <= text < len(self._texts):
            return self._texts[text].block
        added = self._spoken(self.journal.live())[1]
        number = text - len(self._texts)
        if 0 <= number < len(added):
            return added_text(added[number], self.found.sheet.paper_mm_per_px).block
        return None

    def say(self, content: Mapping[str, Any], by: str, on: str, seen: int | None = None) -> list[str]:
        """Keep a statement and tell what it changed.

        Parameters
        ----------
        content : mapping
            From the page.
        by, on : str
            Who, and the ISO date.
        seen : int, optional
            Version of the journal that the person looked at.

        Raises
        ------
        InputError
            It can't be meant, or contradicts what the sheet allows; nothing is kept then.
        """
        meant = statement(content)
        before = self.conclude()
        self._check(meant, before)
        self._check_unseen(meant, before, seen)
        self.journal.say(to_json(meant), by, on)
        return changes(before, self.conclude())

    def _check(self, meant: Statement, before: Conclusion) -> None:
        if isinstance(meant, Confirm | Strike):
            if all(each.place != meant.place for each in before.reconciled.dimensions):
                raise InputError("That figure is no longer on the list; someone struck it out. Undo that first.")
        elif isinstance(meant, Known):
            ends = np.array([meant.first, meant.second], dtype=np.float64)
            with_known(self.found.sheet, [KnownLength(parse_length(meant.said, "known length"), ends)])

    def _check_unseen(self, meant: Statement, before: Conclusion, seen: int | None) -> None:
        """Refuse a word on a figure that someone else spoke of since the page was drawn."""
        if seen is None or seen >= before.version or not isinstance(meant, Confirm | Strike):
            return
        for each in before.said:
            other = statement(each.body)
            if each.version > seen and isinstance(other, Confirm | Strike) and other.place == meant.place:
                raise InputError(f"{each.by} spoke of this figure while you looked at it; look at it again first.")

    def undo(self) -> list[str]:
        """Take the last statement back and tell what changed."""
        before = self.conclude()
        return changes(before, self.conclude()) if self.journal.undo() else ["There is nothing to take back."]

    def redo(self) -> list[str]:
        """Say again what was taken back last and tell what changed."""
        before = self.conclude()
        return changes(before, self.conclude()) if self.journal.redo() else ["There is nothing to say again."]

    def export(self) -> list[Path]:
        """Write the files of the contract anew, with all that was said."""
        concluded = self.conclude()
        found = self._with_known(concluded.said)
        laid = found.sheet
        sheet = calibrate_sheet(self.source, laid.page, orientation_deg=laid.orientation_deg, over=laid.turned_over)
        pictured = with_pictures(found, sheet)
        record = {"review": [{"said": each.body, "by": each.by, "on": each.on} for each in concluded.said]}
        files, _part = write_results(
            self.folder, pictured, concluded.whole, concluded.gear, {}, keep_found=False, more=record
        )
        return files

    def content(self) -> dict[str, Any]:
        """All that the page shows, as JSON values."""
        concluded = self.conclude()
        width, height = self.pictures.size_px
        return {
            "version": concluded.version,
            "sheet": {
                "name": self.source.name,
                "page": self.found.sheet.page,
                "width_px": width,
                "height_px": height,
                "levels": len(self.pictures.levels),
                "unit": concluded.reconciled.unit.value,
                "title_block": concluded.reconciled.title_block,
                "source_from_level": np.linalg.inv(self.found.sheet.level_from_source).tolist(),
            },
            "rows": self._rows(concluded),
            "scale": scale_words(concluded.reconciled, self.found.sheet),
            "gear": gear_words(concluded.gear),
            "outlines": outline_words(concluded.part),
            "warnings": [*self.found.sheet.warnings, *concluded.reconciled.warnings],
            "cautions": list(CAUTIONS),
            "said": len(concluded.said),
            "undone": self.journal.undone(),
        }

    def _rows(self, concluded: Conclusion) -> list[dict[str, Any]]:
        ordered = sorted(
            concluded.reconciled.dimensions,
            key=lambda each: (each.confirmed_by is not None, DOUBTFUL_FIRST[each.state], each.place),
        )
        return [self._row(each, concluded.reconciled.unit) for each in ordered]

    def _row(self, dimension: Dimension, unit: Unit) -> dict[str, Any]:
        text = dimension.place[0]
        height = self._texts[text].block.height_px if text < len(self._texts) else None
        content = row(dimension, unit)
        content["place"] = list(dimension.place)
        content["quad"] = self.level(dimension.quad_px)
        content["height_px"] = height
        geometry = dimension.geometry
        content["ends"] = None if geometry is None else [geometry.first, geometry.second]
        return content


def _source(folder: Path, print_file: Path | None) -> Path:
    source = print_file or source_of(folder / FOUND)
    if not source.exists():
        raise InputError(f"The print {source.name} is not where it was; say where it is now with --print.")
    return source


def _part(sheet: LevelSheet, whole: WholeViews, gear: GearFinding | None) -> PartReport:
    frame = sheet_frame(sheet, whole.reconciled)
    unit = Unit.INCH if whole.reconciled.unit is Unit.INCH else Unit.MM
    with tempfile.TemporaryDirectory() as folder:
        return write_part(Path(folder) / "part.dxf", whole.strokes, whole.reconciled, gear, frame, unit)


def outline_words(part: PartReport) -> str:
    """How many outlines close, and how many of them the agreed figures settle."""
    closed = [each for each in part.outlines if each.kind is not OutlineKind.CUT]
    if not closed:
        return "no outline closes yet"
    settled = sum(each.determined for each in closed)
    return f"{len(closed)} outlines close, {settled} of them settled by the agreed figures"


def changes(before: Conclusion, after: Conclusion) -> list[str]:
    """What a statement changed, in words."""
    old = {each.place: each for each in before.reconciled.dimensions}
    new = {each.place: each for each in after.reconciled.dimensions}
    words = [_change(old.get(place), each) for place, each in new.items() if _differs(old.get(place), each)]
    words += [f"{each.text or each.id} is no dimension any more" for place, each in old.items() if place not in new]
    if len(words) > MOST_CHANGES:
        words = [f"{len(words)} figures changed their state or value"]
    scales = [bool(each.reconciled.scales and each.reconciled.scales[0].known) for each in (before, after)]
    if scales[0] != scales[1]:
        words.append("The scale is known now." if scales[1] else "The scale is no longer known.")
    for name, was, now in (
        ("Gear", gear_words(before.gear), gear_words(after.gear)),
        ("Outlines", outline_words(before.part), outline_words(after.part)),
    ):
        if was != now:
            words.append(f"{name}: {now}")
    return words


def _differs(was: Dimension | None, now: Dimension) -> bool:
    return was is None or (was.state, was.value, was.confirmed_by) != (now.state, now.value, now.confirmed_by)


def _change(was: Dimension | None, now: Dimension) -> str:
    said = f" by {now.confirmed_by}" if now.confirmed_by else ""
    if was is None:
        return f"{now.text}: put in{said}, {now.state.value}"
    before = f"{was.text} ({was.state.value})" if was.text != now.text else was.state.value
    return f"{now.text}: {before} to {now.state.value}{said}"
