"""A print's file becomes a page image.

The kind of a file is told by its first bytes, not by its name. Sizes are read and bounded before anything is decoded.
"""

import hashlib
import logging
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from calibrate.errors import InputError
from calibrate.files.decoded import Decoded, check_page
from calibrate.files.pdf_file import count_pdf, read_pdf
from calibrate.files.raster_file import read_jpeg, read_jpeg_2000, read_png
from calibrate.files.square_pixels import with_square_pixels
from calibrate.files.tiff_file import count_tiff, read_tiff
from calibrate.sheet import PageImage

_T = TypeVar("_T")

HEAD_BYTES = 1024
"""A PDF's mark may stand anywhere in the first kilobyte (ISO 32000 notes on readers, from memory)."""


@dataclass(frozen=True)
class _Kind:
    """A kind of file: its name in words, how its pages are counted, how one is read."""

    name: str
    count: Callable[[Path], int]
    read: Callable[[Path, int], Decoded]


def _one(_: Path) -> int:
    return 1


_TIFF = _Kind("TIFF", count_tiff, read_tiff)
_PDF = _Kind("PDF", count_pdf, read_pdf)
_PNG = _Kind("PNG", _one, read_png)
_JPEG = _Kind("JPEG", _one, read_jpeg)
_JPEG_2000 = _Kind("JPEG 2000", _one, read_jpeg_2000)

_MARKS: tuple[tuple[bytes, _Kind], ...] = (
    (b"II*\0", _TIFF),
    (b"MM\0*", _TIFF),
    (b"II+\0", _TIFF),
    (b"MM\0+", _TIFF),
    (b"\x89PNG\r\n\x1a\n", _PNG),
    (b"\xff\xd8\xff", _JPEG),
    (b"\0\0\0\x0cjP  \r\n\x87\n", _JPEG_2000),
    (b"\xff\x4f\xff\x51", _JPEG_2000),
)


def page_count(path: Path | str) -> int:
    """Count a file's pages.

    Raises
    ------
    InputError
        Where the file can't be opened or is of no kind that is read.
    """
    path = Path(path)
    kind = _kind_of(path)
    return _guarded(kind, path, lambda: kind.count(path))


def load_page(path: Path | str, page: int = 1) -> PageImage:
    """Load one page.

    Parameters
    ----------
    path : Path or str
        TIFF, PNG, JPEG, JPEG 2000 or PDF.
    page : int
        1-based.

    Returns
    -------
    PageImage
        In the source frame: any turn that the file asks for is applied, and oblong pixels are made square. Colour is
        kept, deeper samples become 8-bit.

    Raises
    ------
    InputError
        File missing, empty, damaged, locked, too large, of another kind, or without that page.
    """
    path = Path(path)
    kind = _kind_of(path)
    if page < 1:
        check_page(page, page_count(path))
    decoded = _guarded(kind, path, lambda: kind.read(path, page))
    return with_square_pixels(
        PageImage(decoded.pixels, path, _sha256(path), page, decoded.page_count, decoded.resolution, decoded.focus)
    )


def _kind_of(path: Path) -> _Kind:
    if path.is_dir():
        raise InputError(f"{path} is a folder; give the file of one print.")
    try:
        with path.open("rb") as file:
            head = file.read(HEAD_BYTES)
    except OSError as error:
        raise InputError(f"{path} can't be opened ({error.strerror}); check the name.") from error
    if not head:
        raise InputError(f"{path.name} is empty (zero bytes); copy or scan it again.")
    for mark, kind in _MARKS:
        if head.startswith(mark):
            return kind
    if b"%PDF-" in head:
        return _PDF
    raise InputError(f"{path.name} is not a TIFF, PNG, JPEG, JPEG 2000 or PDF file; give a scan in one of these.")


def _guarded(kind: _Kind, path: Path, work: Callable[[], _T]) -> _T:
    tifffile_log = logging.getLogger("tifffile")
    was_disabled, tifffile_log.disabled = tifffile_log.disabled, True
    try:
        return work()
    except InputError as error:
        raise InputError(f"{path.name}: {error}") from error
    except Exception as error:  # foreign decoders raise anything on damaged bytes
        sentence = f"{path.name} is damaged or cut short and can't be read as {kind.name}; copy or scan it again."
        raise InputError(sentence) from error
    finally:
        tifffile_log.disabled = was_disabled


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
