"""What the network meets on crops of the recipe: how far its values reach, and how the inputs of a sum go together."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from digitize.lettering.training.draw import sample, split_faces
from digitize.lettering.training.export import in_float
from digitize.lettering.training.faces import load
from digitize.lettering.training.graph import Range, Real, convolutions
from digitize.lettering.training.plan import HEADS, Layer

CROPS = 1_000
PLACES = 200  # of each crop, at which a convolution's inputs are noted
SEED = 79
WIDEST_PX = 1024
REACHED = 0.9  # of crops lie within a range: what few exceed is cut off, and all others are kept in finer steps


@dataclass(frozen=True)
class Met:
    """What was met.

    Attributes
    ----------
    ranges : mapping of str to (float, float)
        Least and largest value of each output of `digitize.lettering.training.export.in_float`, in most crops.
    products : mapping of str to ndarray, shape (inputs, inputs)
        For each convolution, the mean products of any two of the values that its kernel is laid on.
    means : mapping of str to ndarray, shape (inputs,)
        Their means.
    """

    ranges: dict[str, Range]
    products: dict[str, NDArray[np.float64]]
    means: dict[str, NDArray[np.float64]]


def met(weights: Mapping[str, Real], glyphs: Path, count: int = CROPS) -> Met:
    """Run the float network over ``count`` crops of training faces.

    Parameters
    ----------
    weights : mapping of str to ndarray
        What `digitize.lettering.training.export.folded` gave.
    glyphs : Path
        Packed faces.
    count : int
    """
    import onnxruntime

    session = onnxruntime.InferenceSession(in_float(weights).SerializeToString(), providers=["CPUExecutionProvider"])
    names = [output.name for output in session.get_outputs() if output.name not in HEADS]
    reached: defaultdict[str, list[Range]] = defaultdict(list)
    sums: defaultdict[str, Any] = defaultdict(float)
    products: defaultdict[str, Any] = defaultdict(float)
    places: defaultdict[str, int] = defaultdict(int)
    rng = np.random.default_rng(SEED)
    for picture in _pictures(rng, glyphs, count):
        grey = picture[None, None].astype(np.float32) / np.float32(255)
        values = dict(zip(names, session.run(names, {"picture": grey}), strict=True))
        for name in names:
            reached[name].append((float(values[name].min()), float(values[name].max())))
        values["picture"] = grey
        for name, layer, source, stride in convolutions():
            inputs = _laid_on(values[source][0], layer, stride, rng)
            products[name] += (inputs.T @ inputs).astype(np.float64)
            sums[name] += inputs.sum(axis=0, dtype=np.float64)
            places[name] += len(inputs)
    return Met(
        {name: _mostly(np.array(each)) for name, each in reached.items()},
        {name: total / places[name] for name, total in products.items()},
        {name: total / places[name] for name, total in sums.items()},
    )


def _mostly(reached: NDArray[np.float64]) -> Range:
    return float(np.quantile(reached[:, 0], 1 - REACHED)), float(np.quantile(reached[:, 1], REACHED))


def _pictures(rng: np.random.Generator, glyphs: Path, count: int) -> Iterator[NDArray[np.uint8]]:
    cv2.setNumThreads(1)
    faces = split_faces(load(glyphs), "train")
    while count:
        picture = sample(rng, faces).picture
        if picture.shape[1] <= WIDEST_PX:
            count -= 1
            yield picture


def _laid_on(values: Real, layer: Layer, stride: tuple[int, int], rng: np.random.Generator) -> Real:
    """What a kernel lies on at some places of a value (channels, H, W): (places, channels * kernel rows * columns)."""
    (above, beside), (tall, wide) = layer.padding, layer.kernel
    padded = np.pad(values, ((0, 0), (above, above), (beside, beside)))
    rows = (padded.shape[1] - tall) // stride[0] + 1
    columns = (padded.shape[2] - layer.reach * (wide - 1) - 1) // stride[1] + 1
    at = rng.permutation(rows * columns)[:PLACES]
    down = (at // columns * stride[0])[:, None, None] + np.arange(tall)[:, None]
    along = (at % columns * stride[1])[:, None, None] + layer.reach * np.arange(wide)
    return np.asarray(padded[:, down, along].transpose(1, 0, 2, 3).reshape(len(at), -1), np.float32)
