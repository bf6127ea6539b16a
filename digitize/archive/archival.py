"""What a PDF needs beside its pages to be read in fifty years: the rules of PDF/A-2, level B (ISO 19005-2).

Built to those rules and checked by the tests as far as open tools can; no body has certified it.
"""

import struct
from functools import cache
from pathlib import Path

import pikepdf
from PIL import ImageCms

PART, LEVEL, VERSION = "2", "B", "1.7"
COLOURS = "sRGB IEC61966-2.1"
"""Name of the colour space in the registry of the International Color Consortium (from memory)."""
TOLD = ("/Title", "/Subject", "/Producer")
"""Entries of the document's information that are kept; times stand in the record of events."""
_DATE_AT, _DATE = 24, struct.pack(">6H", 2000, 1, 1, 0, 0, 0)
"""Where a profile says when it was made (ICC.1, 7.2, from memory), and what it says here: the same bytes each time."""


def make_archival(path: Path) -> None:
    """Declare a PDF to be PDF/A-2b and give it what that asks for: output intent, metadata, identifier.

    Parameters
    ----------
    path : Path
        A PDF without transparency, whose fonts are embedded; it is rewritten.
    """
    with pikepdf.open(path, allow_overwriting_input=True) as pdf:
        for key in set(pdf.docinfo.keys()) - set(TOLD):
            del pdf.docinfo[key]
        _describe(pdf)
        pdf.Root.OutputIntents = pikepdf.Array([_output_intent(pdf)])
        pdf.save(path, min_version=VERSION, deterministic_id=True)


def _describe(pdf: pikepdf.Pdf) -> None:
    """XMP metadata: what the document information says, in the same words, and which profile this is."""
    with pdf.open_metadata(set_pikepdf_as_editor=False) as metadata:
        metadata.load_from_docinfo(pdf.docinfo)
        metadata["pdfaid:part"], metadata["pdfaid:conformance"] = PART, LEVEL


def _output_intent(pdf: pikepdf.Pdf) -> pikepdf.Object:
    """What the grey of the picture means."""
    profile = pikepdf.Stream(pdf, srgb_profile())
    profile.N = len("RGB")
    return pdf.make_indirect(
        pikepdf.Dictionary(
            Type=pikepdf.Name.OutputIntent,
            S=pikepdf.Name.GTS_PDFA1,
            OutputConditionIdentifier=pikepdf.String(COLOURS),
            Info=pikepdf.String(COLOURS),
            DestOutputProfile=pdf.make_indirect(profile),
        )
    )


@cache
def srgb_profile() -> bytes:
    """The profile of sRGB, as the colour library makes it."""
    made = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return made[:_DATE_AT] + _DATE + made[_DATE_AT + len(_DATE) :]
