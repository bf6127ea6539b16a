"""Batches of training crops, drawn by many processes and grouped by width."""

import itertools
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import cv2
import numpy as np
import torch
from torch import Tensor
from torch.utils.data import DataLoader, IterableDataset, get_worker_info

from digitize.lettering.frame import HEIGHT_PX, STRIDE_PX
from digitize.lettering.stacks import LOWER_ALPHABET, UPPER_ALPHABET
from digitize.lettering.training.draw import Grey, Sample, sample, split_faces
from digitize.lettering.training.faces import load

WIDTHS_PX = (64, 96, 128, 160, 192, 256, 320, 448, 640, 1024)
COLUMNS_PER_BATCH = 512 * 192  # picture columns: keeps the work of a step even
NAMES_PER_BATCH = 64
UPPER_INDEX = {char: 1 + i for i, char in enumerate(UPPER_ALPHABET)}
LOWER_INDEX = {char: 1 + i for i, char in enumerate(LOWER_ALPHABET)}


class Batch(NamedTuple):
    """Pictures (N, 64, W) uint8 and padded targets of both outputs with their lengths."""

    pictures: Tensor
    upper: Tensor
    upper_lengths: Tensor
    lower: Tensor
    lower_lengths: Tensor
    faces: list[str]


class Stream(IterableDataset[Batch]):
    """Endless batches; every worker draws from its own seed."""

    def __init__(self, glyphs: Path, seed: int) -> None:
        self.glyphs, self.seed = glyphs, seed

    def __iter__(self) -> Iterator[Batch]:
        cv2.setNumThreads(1)
        worker = get_worker_info()
        rng = np.random.default_rng([self.seed, worker.id if worker else 0])
        faces = split_faces(load(self.glyphs), "train")
        waiting: dict[int, list[tuple[Sample, Grey]]] = {width: [] for width in WIDTHS_PX}
        while True:
            drawn = sample(rng, faces)
            picture = drawn.picture
            width = next((w for w in WIDTHS_PX if w >= picture.shape[1]), None)
            if width is None or not _fits(drawn, picture.shape[1]):
                continue
            waiting[width].append((drawn, picture))
            if len(waiting[width]) == batch_size(width):
                yield _batch(waiting[width], width)
                waiting[width] = []


def batches(glyphs: Path, seed: int, workers: int) -> Iterator[Batch]:
    """Batches as the workers finish them."""
    loader = DataLoader(Stream(glyphs, seed), batch_size=None, num_workers=workers, prefetch_factor=8, pin_memory=True)
    return iter(loader)


def batch_size(width: int) -> int:
    """Pictures to a batch of this width."""
    return COLUMNS_PER_BATCH // width


def _fits(drawn: Sample, width: int) -> bool:
    """Whether each output has columns enough: one to a character, and a blank between like neighbours."""
    for text in drawn.phrase.spelled():
        needed = len(text) + sum(a == b for a, b in itertools.pairwise(text))
        if needed > width // STRIDE_PX:
            return False
    return True


def _batch(samples: list[tuple[Sample, Grey]], width: int) -> Batch:
    pictures = np.zeros((len(samples), HEIGHT_PX, width), np.uint8)
    for row, (_, picture) in enumerate(samples):
        pictures[row, :, : picture.shape[1]] = picture
    spelled = [drawn.phrase.spelled() for drawn, _ in samples]
    upper, upper_lengths = _targets([s[0] for s in spelled], UPPER_INDEX)
    lower, lower_lengths = _targets([s[1] for s in spelled], LOWER_INDEX)
    faces = [drawn.face for drawn, _ in samples[:NAMES_PER_BATCH]]
    return Batch(torch.from_numpy(pictures), upper, upper_lengths, lower, lower_lengths, faces)


def _targets(texts: list[str], index: dict[str, int]) -> tuple[Tensor, Tensor]:
    lengths = torch.tensor([len(t) for t in texts], dtype=torch.long)
    padded = torch.zeros((len(texts), max(1, int(lengths.max()))), dtype=torch.long)
    for row, text in enumerate(texts):
        padded[row, : len(text)] = torch.tensor([index[c] for c in text], dtype=torch.long)
    return padded, lengths
