"""Drills, threads, keys, sheets, scale notes and abbreviations: the tables a print refers to.

In: a designation as it stands on a print. Out: a frozen row with exact lengths and the source it was taken from, or
None where no table has it: what the tables do not hold is never made up.

The tables are the CSV files in this folder. ``source`` holds ids of ``sources.csv``; ``provenance`` is ``seen``,
``memory`` (to be checked before it is relied on) or ``derived``.
"""

from digitize.standards.drill_sizes import Drill, drill, drills
from digitize.standards.key_sizes import (
    Key,
    KeyDepths,
    WoodruffKey,
    inch_key_depths,
    key_for_shaft,
    parallel_keys,
    woodruff_key,
    woodruff_keys,
)
from digitize.standards.paper import (
    Abbreviation,
    LineWidth,
    ScaleNote,
    SheetSize,
    abbreviations,
    line_widths,
    nearest_line_widths,
    scale_note,
    scale_notes,
    sheet_sizes,
)
from digitize.standards.tables import INCH_MM, Source, sources
from digitize.standards.thread_names import thread, threads
from digitize.standards.thread_sizes import Thread, thread_table

__all__ = [
    "INCH_MM",
    "Abbreviation",
    "Drill",
    "Key",
    "KeyDepths",
    "LineWidth",
    "ScaleNote",
    "SheetSize",
    "Source",
    "Thread",
    "WoodruffKey",
    "abbreviations",
    "drill",
    "drills",
    "inch_key_depths",
    "key_for_shaft",
    "line_widths",
    "nearest_line_widths",
    "parallel_keys",
    "scale_note",
    "scale_notes",
    "sheet_sizes",
    "sources",
    "thread",
    "thread_table",
    "threads",
    "woodruff_key",
    "woodruff_keys",
]
