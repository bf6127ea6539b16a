"""A reader that reads no crop twice: on a sheet the same one comes up as a block, as a rival and in a second look."""

from collections.abc import Sequence
from typing import Protocol

from calibrate.sheet import GreyImage
from digitize.lettering.text import Layout, Reading


class Reader(Protocol):
    """Something that reads level crops of single blocks."""

    @property
    def name(self) -> str:
        """What the reader is called in the record of evidence."""
        ...

    def read(self, crops: Sequence[GreyImage], layouts: Sequence[Layout]) -> list[tuple[Reading, ...]]:
        """Readings of each crop, best first, with probabilities of the whole string; none where it is no lettering."""
        ...


class ReadOnce:
    """Another reader, which is asked only for crops that it has not read before.

    Parameters
    ----------
    reader : Reader
    """

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        self._read: dict[tuple[Layout, tuple[int, ...], bytes], tuple[Reading, ...]] = {}

    @property
    def name(self) -> str:
        """What the reader is called in the record of evidence."""
        return self._reader.name

    def read(self, crops: Sequence[GreyImage], layouts: Sequence[Layout]) -> list[tuple[Reading, ...]]:
        """Readings of each crop, best first."""
        keys = [(layout, crop.shape, crop.tobytes()) for crop, layout in zip(crops, layouts, strict=True)]
        new = {key: crop for key, crop in zip(keys, crops, strict=True) if key not in self._read}
        readings = self._reader.read(list(new.values()), [layout for layout, _, _ in new]) if new else []
        self._read.update(zip(new, readings, strict=True))
        return [self._read[key] for key in keys]
