"""Sample depths and channels of all kinds become 8-bit grey or RGB."""

import numpy as np
from numpy.typing import NDArray

from calibrate.errors import InputError

WHITE = 255
RGB_CHANNELS = 3
SHALLOWEST_BITS = 8
LOOK_STEP = 16
"""Every sixteenth row and column shows most colour at once."""


def to_eight_bit(samples: NDArray[np.generic], *, white_is_zero: bool = False) -> NDArray[np.uint8]:
    """Reduce samples to 8 bits.

    A 16-bit file may hold fewer real bits (10, 12, 14): the full scale is the smallest power of two, less one,
    that holds the brightest sample.

    Parameters
    ----------
    samples : ndarray of bool, unsigned integers or floats, any shape
        Floats run from 0 to their maximum.
    white_is_zero : bool
        True where 0 means white.

    Returns
    -------
    ndarray, uint8, same shape

    Raises
    ------
    InputError
        For signed or complex samples, which no scan has.

    Examples
    --------
    >>> to_eight_bit(np.array([0, 4095], dtype=np.uint16)).tolist()
    [0, 255]
    """
    if samples.dtype == np.bool_:
        eight = samples.astype(np.uint8) * np.uint8(WHITE)
    elif samples.dtype == np.uint8:
        eight = samples.astype(np.uint8, copy=False)
    elif samples.dtype.kind in "uf":
        eight = _scaled(samples)
    else:
        raise InputError(f"The picture's samples are of the kind {samples.dtype}, which no scan has; save it as 8-bit.")
    return np.subtract(np.uint8(WHITE), eight) if white_is_zero else eight


def _scaled(samples: NDArray[np.generic]) -> NDArray[np.uint8]:
    values = np.nan_to_num(samples) if samples.dtype.kind == "f" else samples
    brightest = float(values.max(initial=0))
    if samples.dtype.kind == "u":
        bits = max(SHALLOWEST_BITS, int(brightest).bit_length())
        brightest = float(2**bits - 1)
    scale = np.float32(WHITE / brightest if brightest > 0 else 0.0)
    eight = np.empty(values.shape, np.uint8)
    for row in range(len(values)):  # a row at a time keeps the float copy small
        eight[row] = np.clip(values[row].astype(np.float32) * scale + np.float32(0.5), 0, WHITE)
    return eight


def over_white(colour: NDArray[np.uint8], alpha: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Lay a partly transparent picture on white paper.

    Parameters
    ----------
    colour : ndarray, uint8, shape (H, W) or (H, W, C)
    alpha : ndarray, uint8, shape (H, W)
        0 transparent, 255 opaque.
    """
    if alpha.min(initial=WHITE) == WHITE:
        return colour
    weight = alpha.astype(np.uint16)
    if colour.ndim == RGB_CHANNELS:
        weight = weight[..., None]
    mixed = (colour * weight + WHITE * (WHITE - weight) + WHITE // 2) // WHITE
    return mixed.astype(np.uint8)


def without_idle_colour(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Reduce RGB to grey where the three channels are the same everywhere; otherwise give it back."""
    has_colour = pixels.ndim == RGB_CHANNELS and pixels.shape[2] == RGB_CHANNELS
    if has_colour and all(_is_grey(part) for part in (pixels[::LOOK_STEP, ::LOOK_STEP], pixels)):
        return np.ascontiguousarray(pixels[..., 0])
    return np.ascontiguousarray(pixels)


def _is_grey(pixels: NDArray[np.uint8]) -> bool:
    red, green, blue = (pixels[..., c] for c in range(RGB_CHANNELS))
    return np.array_equal(red, green) and np.array_equal(green, blue)


def upright(pixels: NDArray[np.uint8], orientation: int) -> NDArray[np.uint8]:
    """Apply the orientation tag of EXIF and TIFF (274), values 1 to 8; others leave the picture as it is."""
    turns = {2: (0, True), 3: (2, False), 4: (2, True), 5: (3, True), 6: (3, False), 7: (1, True), 8: (1, False)}
    quarters, mirrored = turns.get(orientation, (0, False))
    if orientation in (5, 7):
        # Transposed pictures: mirror first, then turn.
        return np.ascontiguousarray(np.rot90(pixels[:, ::-1], {5: 1, 7: 3}[orientation]))
    turned_pixels = np.rot90(pixels, quarters)
    return np.ascontiguousarray(turned_pixels[:, ::-1] if mirrored else turned_pixels)


def exchanges_axes(orientation: int) -> bool:
    """Tell whether an orientation tag exchanges rows and columns."""
    return orientation in (5, 6, 7, 8)
