"""The output layers alone, fitted again on any processor: enough for new words and manners, and no card is needed."""

import os
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import onnx
from numba import njit
from numpy.typing import NDArray
from onnx import helper, numpy_helper

from digitize.lettering.ctc import add_logs
from digitize.lettering.stacks import LOWER_ALPHABET, UPPER_ALPHABET
from digitize.lettering.training.draw import sample, split_faces
from digitize.lettering.training.faces import load
from digitize.lettering.training.plan import HEADS

Real = NDArray[np.float64]
CHUNK = 100
ROUNDS = 4  # times that each crop is seen
CROPS_PER_STEP = 64
PEAK_RATE = 2e-3
PULL = 1e-3  # towards the weights as they were: the other layers have not moved
WIDEST_PX = 1024
INDEX = tuple({char: 1 + place for place, char in enumerate(alphabet)} for alphabet in (UPPER_ALPHABET, LOWER_ALPHABET))


@dataclass(frozen=True)
class Crop:
    """What the layers before the outputs see of a crop, (columns, features), and the classes each should spell."""

    features: NDArray[np.float16]
    classes: tuple[NDArray[np.int64], ...]


def refit(model_file: Path, glyphs: Path, seed: int, count: int) -> None:
    """Fit the output layers of a model file to ``count`` fresh crops of the recipe, in place."""
    model = onnx.load(model_file)
    kept = {tensor.name: tensor for tensor in model.graph.initializer}
    crops = list(_crops(model_file, glyphs, seed, count))
    for place, head in enumerate(HEADS):
        kernel, bias = kept[f"{head}.kernel.half"], kept[f"{head}.bias.half"]
        wide = numpy_helper.to_array(kernel).astype(np.float64)[:, :, 0]
        start = np.column_stack([wide, numpy_helper.to_array(bias).astype(np.float64)])
        fitted = _fitted(crops, place, start, np.random.default_rng(seed))
        kernel.CopyFrom(numpy_helper.from_array(fitted[:, :-1, None].astype(np.float16), kernel.name))
        bias.CopyFrom(numpy_helper.from_array(fitted[:, -1].astype(np.float16), bias.name))
    onnx.checker.check_model(model, full_check=True)
    onnx.save(model, model_file)


def _crops(model_file: Path, glyphs: Path, seed: int, count: int) -> Iterator[Crop]:
    jobs = ((seed, chunk) for chunk in range(-(-count // CHUNK)))
    fresh = get_context("spawn")
    with ProcessPoolExecutor(os.cpu_count(), fresh, initializer=_open, initargs=(model_file, glyphs)) as pool:
        for crops in pool.map(_draw, jobs):
            yield from crops


def _open(model_file: Path, glyphs: Path) -> None:
    import onnxruntime

    cv2.setNumThreads(1)
    model = onnx.load(model_file)
    model.graph.output.append(helper.make_tensor_value_info("features", onnx.TensorProto.FLOAT, None))
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    session = onnxruntime.InferenceSession(model.SerializeToString(), options, providers=["CPUExecutionProvider"])
    _STATE["session"], _STATE["faces"] = session, split_faces(load(glyphs), "train")


def _draw(job: tuple[int, int]) -> list[Crop]:
    rng = np.random.default_rng([*job, 78])
    made: list[Crop] = []
    while len(made) < CHUNK:
        drawn = sample(rng, _STATE["faces"])
        picture = drawn.picture
        if picture.shape[1] > WIDEST_PX:
            continue
        grey = picture[None, None].astype(np.float32) / np.float32(255)
        features = _STATE["session"].run(["features"], {"picture": grey})[0][0]
        classes = tuple(
            np.array([index[char] for char in text], np.int64)
            for index, text in zip(INDEX, drawn.phrase.spelled(), strict=True)
        )
        made.append(Crop(features.T.astype(np.float16), classes))
    return made


_STATE: dict[str, Any] = {}


def _fitted(crops: list[Crop], head: int, start: Real, rng: np.random.Generator) -> Real:
    """Weights (classes, features and a bias), by Adam at a falling rate."""
    weights, mean, square = start.copy(), np.zeros_like(start), np.zeros_like(start)
    steps = ROUNDS * (len(crops) // CROPS_PER_STEP)
    for step in range(1, steps + 1):
        if step % max(1, steps // ROUNDS) == 1:
            order = rng.permutation(len(crops))
        first = CROPS_PER_STEP * ((step - 1) % (steps // ROUNDS))
        slope = PULL * (weights - start)
        for place in order[first : first + CROPS_PER_STEP]:
            slope += _slope(crops[place].features, crops[place].classes[head], weights) / CROPS_PER_STEP
        mean, square = 0.9 * mean + 0.1 * slope, 0.99 * square + 0.01 * slope**2
        rate = PEAK_RATE * 0.5 * (1 + np.cos(np.pi * step / steps))
        weights -= rate * (mean / (1 - 0.9**step)) / (np.sqrt(square / (1 - 0.99**step)) + 1e-6)
    return weights


def _slope(features: NDArray[np.float16], classes: NDArray[np.int64], weights: Real) -> Real:
    inputs = np.column_stack([features.astype(np.float64), np.ones(len(features))])
    logits = inputs @ weights.T
    logits -= logits.max(axis=1, keepdims=True)
    scores = logits - np.log(np.exp(logits).sum(axis=1, keepdims=True))
    return np.asarray(ctc_slope(scores, classes).T @ inputs, np.float64)


@njit(cache=True)
def ctc_slope(scores: Real, string: NDArray[np.int64]) -> Real:
    """Slope of minus the logarithm of a string's probability, with respect to the logits (columns, classes).

    It is each column's probabilities less the share of the string's paths that pass through each class there
    (Graves, Fernandez, Gomez, Schmidhuber 2006, equation 16).
    """
    columns, places = scores.shape[0], 2 * len(string) + 1
    classes = np.zeros(places, np.int64)
    classes[1::2] = string
    before, after = np.full((columns, places), -np.inf), np.full((columns, places), -np.inf)
    before[0, 0], after[columns - 1, places - 1] = scores[0, 0], 0.0
    if places > 1:
        before[0, 1], after[columns - 1, places - 2] = scores[0, classes[1]], 0.0
    for t in range(1, columns):
        for s in range(places):
            total = before[t - 1, s]
            if s > 0:
                total = add_logs(total, before[t - 1, s - 1])
            if s > 1 and s % 2 == 1 and classes[s] != classes[s - 2]:
                total = add_logs(total, before[t - 1, s - 2])
            before[t, s] = total + scores[t, classes[s]]
    for t in range(columns - 2, -1, -1):
        for s in range(places):
            total = after[t + 1, s] + scores[t + 1, classes[s]]
            if s + 1 < places:
                total = add_logs(total, after[t + 1, s + 1] + scores[t + 1, classes[s + 1]])
            if s + 2 < places and s % 2 == 1 and classes[s + 2] != classes[s]:
                total = add_logs(total, after[t + 1, s + 2] + scores[t + 1, classes[s + 2]])
            after[t, s] = total
    whole = before[columns - 1, places - 1]
    if places > 1:
        whole = add_logs(whole, before[columns - 1, places - 2])
    slope = np.exp(scores)
    if whole == -np.inf:  # more characters than columns
        return np.zeros_like(slope)
    for t in range(columns):
        for s in range(places):
            slope[t, classes[s]] -= np.exp(before[t, s] + after[t, s] - whole)
    return slope
