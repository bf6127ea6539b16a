"""The rules of ISO 19005-2 (PDF/A-2), level B, that a page of one picture and unseen text touches: a check of our own.

Clause numbers from memory of the standard and of the rule lists that open checkers publish.
"""

import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf
from fontTools.ttLib import TTFont
from PIL import ImageCms

ICC_SIGNATURE_AT, ICC_VERSION_AT, ICC_CLASS_AT = 36, 8, 12
LATEST_ICC = 4
SMALLEST_PT, LARGEST_PT = 3, 14_400
FORBIDDEN_IN_CATALOG = {"/AA": "6.5.2", "/OpenAction": "6.5.1", "/AcroForm": "6.4.1", "/Requirements": "6.11"}
KNOWN_FILTERS = {"/FlateDecode", "/DCTDecode", "/ASCII85Decode", "/ASCIIHexDecode", "/RunLengthDecode"}
WIDTH_SLACK = 1.0
"""Units of a thousandth of the type's size by which a stated width may be off (6.2.11.5)."""


def broken_rules(path: Path) -> list[str]:
    """Clause and rule for each that a file breaks; empty where none is."""
    content = path.read_bytes()
    with pikepdf.open(path) as pdf:
        return [
            *_file(content, pdf), *_intent(pdf), *_metadata(pdf), *_catalog(pdf), *_objects(pdf),
            *(rule for page in pdf.pages for rule in _page(page)),
        ]  # fmt: skip


def _file(content: bytes, pdf: pikepdf.Pdf) -> Iterator[str]:
    if not re.match(rb"%PDF-1\.[0-7]\r?\n%[\x80-\xff]{4}", content):
        yield "6.1.2: header and a comment of four bytes above 127"
    if "/ID" not in pdf.trailer or len(pdf.trailer.ID) != 2:
        yield "6.1.3: no document identifier"
    if pdf.is_encrypted:
        yield "6.1.3: encrypted"
    if not re.search(rb"%%EOF\r?\n?\Z", content):
        yield "6.1.3: data after the end of the file"


def _intent(pdf: pikepdf.Pdf) -> Iterator[str]:
    intents = [each for each in pdf.Root.get("/OutputIntents", []) if each.S == pikepdf.Name.GTS_PDFA1]
    if len(intents) != 1 or "/DestOutputProfile" not in intents[0] or "/OutputConditionIdentifier" not in intents[0]:
        yield "6.2.3: not one output intent with its profile"
        return
    profile = intents[0].DestOutputProfile
    data = profile.read_bytes()
    if data[ICC_SIGNATURE_AT : ICC_SIGNATURE_AT + 4] != b"acsp" or data[ICC_VERSION_AT] > LATEST_ICC:
        yield "6.2.3: the profile is none of ICC version 2 or 4"
    elif data[ICC_CLASS_AT : ICC_CLASS_AT + 4] not in (b"mntr", b"prtr"):
        yield "6.2.3: the profile is of no output device or screen"
    elif ImageCms.ImageCmsProfile(io.BytesIO(data)).profile.xcolor_space.strip() != "RGB" or profile.N != 3:
        yield "6.2.3: the number of channels is not the profile's"


def _metadata(pdf: pikepdf.Pdf) -> Iterator[str]:
    if "/Metadata" not in pdf.Root or pdf.Root.Metadata.Type != pikepdf.Name.Metadata:
        yield "6.6.2.1: no metadata stream in the catalog"
        return
    packet = pdf.Root.Metadata.read_bytes().decode("utf-8")
    if re.search(r"<\?xpacket[^>]*(bytes|encoding)=", packet):
        yield "6.6.2.1: the packet's header states bytes or encoding"
    told = pdf.open_metadata(set_pikepdf_as_editor=False)
    if (told.get("pdfaid:part"), told.get("pdfaid:conformance")) != ("2", "B"):
        yield "6.6.4: does not say that it is PDF/A-2, level B"
    same = {"/Title": "dc:title", "/Subject": "dc:description", "/Producer": "pdf:Producer"}
    for key, value in pdf.docinfo.items():
        if key not in same or str(told.get(same[key])) != str(value):
            yield f"6.1.5: {key} is not told in the metadata in the same words"


def _catalog(pdf: pikepdf.Pdf) -> Iterator[str]:
    yield from (f"{clause}: {key} in the catalog" for key, clause in FORBIDDEN_IN_CATALOG.items() if key in pdf.Root)
    names = pdf.Root.get("/Names", {})
    if "/JavaScript" in names:
        yield "6.5.1: JavaScript"
    if "/EmbeddedFiles" in names:
        yield "6.8: embedded files"


def _objects(pdf: pikepdf.Pdf) -> Iterator[str]:
    for each in pdf.objects:
        if isinstance(each, pikepdf.Stream):
            filters = each.get("/Filter", [])
            names = {str(filters)} if isinstance(filters, pikepdf.Name) else {str(name) for name in filters}
            if names - KNOWN_FILTERS:
                yield f"6.1.7.2: filter {names - KNOWN_FILTERS}"
            if {"/F", "/FFilter", "/FDecodeParms"} & set(each.keys()):
                yield "6.1.7.1: a stream's bytes lie in another file"


def _page(page: pikepdf.Page) -> Iterator[str]:
    sides = [float(page.MediaBox[2] - page.MediaBox[0]), float(page.MediaBox[3] - page.MediaBox[1])]
    if not all(SMALLEST_PT <= side <= LARGEST_PT for side in sides):
        yield f"6.1.13: a page of {sides} points"
    if "/Group" in page.obj and "/OutputIntents" not in page.obj:
        yield "6.2.10: a transparency group whose colours the page does not settle"
    if "/Annots" in page.obj or "/AA" in page.obj or "/PresSteps" in page.obj:
        yield "6.3, 6.5.2, 6.10: annotations, actions or steps"
    for state in page.Resources.get("/ExtGState", {}).values():
        if float(state.get("/CA", 1)) < 1 or float(state.get("/ca", 1)) < 1 or state.get("/SMask", "/None") != "/None":
            yield "6.2.10: transparent"
    for picture in page.Resources.get("/XObject", {}).values():
        yield from _picture(picture)
    shown = _shown(page)
    for name, font in page.Resources.get("/Font", {}).items():
        yield from _font(font, shown.get(name, set()))


def _picture(picture: Any) -> Iterator[str]:
    if picture.get("/Interpolate", False) or "/Alternates" in picture or "/OPI" in picture:
        yield "6.2.8.1: Interpolate, Alternates or OPI"
    if "/SMask" in picture or "/Mask" in picture:
        yield "6.2.10: a mask"
    if picture.ColorSpace not in (pikepdf.Name.DeviceGray, pikepdf.Name.DeviceRGB):
        yield f"6.2.4: colour space {picture.ColorSpace}, which the output intent does not settle"


def _shown(page: pikepdf.Page) -> dict[str, set[int]]:
    """Codes that each font shows."""
    shown: dict[str, set[int]] = {}
    font = ""
    for operands, operator in pikepdf.parse_content_stream(page):
        if str(operator) == "Tf":
            font = str(operands[0])
        elif str(operator) == "Tj":
            shown.setdefault(font, set()).update(bytes(operands[0]))
        elif str(operator) in ("TJ", "'", '"'):
            raise AssertionError(f"the check does not know {operator}")
    return shown


def _font(font: Any, codes: set[int]) -> Iterator[str]:
    if font.Subtype != pikepdf.Name.TrueType or "/FontFile2" not in font.get("/FontDescriptor", {}):
        yield f"6.2.11.4.1: {font.get('/BaseFont')} is not embedded as the TrueType font that it says it is"
        return
    program = TTFont(io.BytesIO(font.FontDescriptor.FontFile2.read_bytes()))
    symbolic = bool(int(font.FontDescriptor.Flags) & 4)
    if not symbolic or "/Encoding" in font or len(program["cmap"].tables) != 1:
        yield "6.2.11.6: a symbolic font has no encoding and one character map"
        return
    glyphs, scale = program["cmap"].tables[0].cmap, 1000 / program["head"].unitsPerEm
    for code in sorted(codes):
        glyph = glyphs.get(code, ".notdef")
        if glyph == ".notdef" or program.getGlyphID(glyph) == 0:
            yield f"6.2.11.8: code {code} shows no glyph"
            continue
        stated = float(font.Widths[code - int(font.FirstChar)])
        if abs(stated - program["hmtx"][glyph][0] * scale) > WIDTH_SLACK:
            yield f"6.2.11.5: width of code {code}"
