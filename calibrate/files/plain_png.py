"""PNG of eight bits that holds nothing but pixels behind its header, decoded in a fraction of libpng's time.

libpng spends most of its time on inflating. libdeflate does that in less than half of it, but knows nothing of PNG: the
five filters that a PNG's rows went through (ISO/IEC 15948, clause 9) are undone here.
"""

import os
import struct
from pathlib import Path

import imagecodecs
import numpy as np
from numba import njit
from numpy.typing import NDArray
from PIL import Image
from PIL.PngImagePlugin import PngImageFile

SIGNATURE = b"\x89PNG\r\n\x1a\n"
CHUNK_HEAD, CHECKSUM_BYTES = struct.Struct(">I4s"), 4
"""A PNG is its signature and chunks: length and kind, so many bytes, a checksum (ISO/IEC 15948, clause 5)."""
PIXELS, END = b"IDAT", b"IEND"
CHANNELS = {"L": 1, "RGB": 3}


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
    if PIXELS not in kinds or kinds[kinds.index(PIXELS) :] != [PIXELS] * kinds.count(PIXELS) + [END]:
        return None
    channels = CHANNELS[image.mode]
    size = image.height * (1 + image.width * channels)  # each row begins with the number of its filter
    packed = b"".join(body for kind, body in chunks if kind == PIXELS)
    rows = np.frombuffer(imagecodecs.deflate_decode(packed, out=size), np.uint8)
    if len(rows) != size:
        return None
    samples = np.empty((image.height, image.width * channels), np.uint8)
    if not _unfiltered(rows.reshape(image.height, -1), channels, samples):
        return None
    return samples if channels == 1 else samples.reshape(image.height, image.width, channels)


def _chunks(data: bytes) -> list[tuple[bytes, memoryview]]:
    """Kind and content of each chunk as far as the file holds them whole, up to its end."""
    at, chunks = len(SIGNATURE), list[tuple[bytes, memoryview]]()
    view = memoryview(data)
    while at + CHUNK_HEAD.size <= len(data) and not (chunks and chunks[-1][0] == END):
        length, kind = CHUNK_HEAD.unpack_from(data, at)
        first, at = at + CHUNK_HEAD.size, at + CHUNK_HEAD.size + length + CHECKSUM_BYTES
        chunks.append((kind, view[first : first + length]))
    return chunks


@njit(cache=True)
def _unfiltered(rows: NDArray[np.uint8], step: int, samples: NDArray[np.uint8]) -> bool:
    """Undo each row's filter, its first byte; False where some row names none of the five.

    ``step`` is how many bytes a pixel has: the byte as far to the left is of the same channel.
    """
    height, width = samples.shape
    above = np.zeros(width, np.uint8)
    for y in range(height):
        kind, row, out = rows[y, 0], rows[y, 1:], samples[y]
        if kind == 0:
            out[:] = row
        elif kind == 1:
            out[:step] = row[:step]
            for i in range(step, width):
                out[i] = row[i] + out[i - step]
        elif kind == 2:
            for i in range(width):
                out[i] = row[i] + above[i]
        elif kind == 3:
            for i in range(step):
                out[i] = row[i] + above[i] // 2
            for i in range(step, width):
                out[i] = row[i] + (np.int32(out[i - step]) + np.int32(above[i])) // 2
        elif kind == 4:
            for i in range(step):
                out[i] = row[i] + above[i]
            for i in range(step, width):
                out[i] = row[i] + _nearest(np.int32(out[i - step]), np.int32(above[i]), np.int32(above[i - step]))
        else:
            return False
        above = out
    return True


@njit(cache=True, inline="always")
def _nearest(left: np.int32, above: np.int32, corner: np.int32) -> np.int32:
    """Of three neighbours the one nearest to left + above - corner; of equals the first (Paeth)."""
    off_left, off_above, off_corner = abs(above - corner), abs(left - corner), abs(left + above - 2 * corner)
    if off_left <= off_above and off_left <= off_corner:
        return left
    return above if off_above <= off_corner else corner
