"""PNG of eight bits that holds nothing but pixels behind its header, decoded in a third of Pillow's time.

libpng spends most of its own time on inflating. libdeflate does that in less than half, but knows nothing of PNG: what
it gives is packed again without compression, and libpng takes off the filters alone.
"""

import os
import struct
from pathlib import Path

import imagecodecs
import numpy as np
from numpy.typing import NDArray
from PIL import Image
from PIL.PngImagePlugin import PngImageFile

SIGNATURE = b"\x89PNG\r\n\x1a\n"
CHUNK_HEAD, LENGTH, CHECKSUM = struct.Struct(">I4s"), struct.Struct(">I"), struct.Struct(">I")
"""A PNG is its signature and chunks: length and kind, so many bytes, a checksum (ISO/IEC 15948, from memory)."""
HEADER, PIXELS, END = b"IHDR", b"IDAT", b"IEND"
CHANNELS = {"L": 1, "RGB": 3}
NO_COMPRESSION = 0


def read_plain_png(image: Image.Image) -> NDArray[np.uint8] | None:
    """Samples of a PNG that is nothing else; None of any other picture.

    Parameters
    ----------
    image : Image
        Opened, not decoded.

    Returns
    -------
    ndarray, uint8, shape (H, W) or (H, W, 3), or None

    Raises
    ------
    imagecodecs.DeflateError
        Where its bytes are damaged or cut short.
    """
    if not isinstance(image, PngImageFile) or "transparency" in image.info or image.info.get("interlace"):
        return None
    if image.mode not in CHANNELS or image.tile[0].args != image.mode:
        return None
    chunks = _chunks(Path(os.fsdecode(image.filename)).read_bytes())
    kinds = [kind for kind, _ in chunks]
    if not kinds or PIXELS not in kinds or kinds[kinds.index(PIXELS) :] != [PIXELS] * kinds.count(PIXELS) + [END]:
        return None
    size = image.height * (1 + image.width * CHANNELS[image.mode])  # each row begins with the number of its filter
    packed = b"".join(body for kind, body in chunks if kind == PIXELS)
    rows = imagecodecs.deflate_decode(packed, out=size)
    if len(rows) != size:
        return None
    return np.asarray(imagecodecs.png_decode(_written(chunks[0][1], rows)), np.uint8)


def _chunks(data: bytes) -> list[tuple[bytes, memoryview]]:
    """Kind and content of each chunk as far as the file holds them whole, up to its end."""
    at, chunks = len(SIGNATURE), list[tuple[bytes, memoryview]]()
    view = memoryview(data)
    while at + CHUNK_HEAD.size <= len(data) and not (chunks and chunks[-1][0] == END):
        length, kind = CHUNK_HEAD.unpack_from(data, at)
        first, at = at + CHUNK_HEAD.size, at + CHUNK_HEAD.size + length + CHECKSUM.size
        chunks.append((kind, view[first : first + length]))
    return chunks


def _written(header: memoryview, rows: bytes | bytearray) -> bytearray:
    """A PNG of filtered rows, without compression."""
    loose = imagecodecs.deflate_encode(rows, level=NO_COMPRESSION)
    written = bytearray(SIGNATURE + _chunk(HEADER, header) + CHUNK_HEAD.pack(len(loose), PIXELS))
    written += loose
    written += CHECKSUM.pack(imagecodecs.deflate_crc32(loose, imagecodecs.deflate_crc32(PIXELS)))
    written += _chunk(END, b"")
    return written


def _chunk(kind: bytes, body: bytes | memoryview) -> bytes:
    """A short chunk."""
    content = kind + bytes(body)
    return LENGTH.pack(len(body)) + content + CHECKSUM.pack(imagecodecs.deflate_crc32(content))
