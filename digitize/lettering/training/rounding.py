"""Kernels in seven bits: each weight is rounded so that it makes up for what rounding those before it has changed.

What counts is a convolution's sums, not its weights. The inputs of a sum go together, so that the error made in one
weight can be taken back in those that are still to be rounded, by least squares over what the layer meets [1]_. Rounded
one by one, seven bits change three times as much of what the network says.

References
----------
.. [1] B. Hassibi, D. G. Stork, Second order derivatives for network pruning: optimal brain surgeon, 1993; for rounding:
   E. Frantar et al., GPTQ, 2023 (both from memory).
"""

from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from digitize.lettering.training.export import export
from digitize.lettering.training.graph import LARGEST_WEIGHT, LEAST_SCALE, Narrow, Real, convolutions
from digitize.lettering.training.met import met

EVEN_SHARE = 0.01  # of the inputs' mean square, added to each: inputs that were never met have no weight to be found


def write(weights: Mapping[str, Real], glyphs: Path, target: Path, metadata: Mapping[str, str]) -> None:
    """Round a network by crops of the recipe and write it as an ONNX file.

    Parameters
    ----------
    weights : mapping of str to ndarray
        What `digitize.lettering.training.export.folded` gave.
    glyphs : Path
        Packed faces.
    target : Path
        The .onnx file to write.
    metadata : mapping of str to str
        Further facts kept in the file.
    """
    seen = met(weights, glyphs)
    kernels: dict[str, Narrow] = {}
    others = dict(weights)
    for name, *_ in convolutions():
        kernel = others.pop(f"{name}.kernel")
        kernels[name] = rounded(kernel, seen.products[name])
        lost = (kernel - kernels[name].wide()).reshape(len(kernel), -1) @ seen.means[name]
        others[f"{name}.bias"] = (others[f"{name}.bias"] + lost).astype(np.float32)
    export(others, kernels, seen.ranges, target, metadata)


def rounded(kernel: Real, products: NDArray[np.float64]) -> Narrow:
    """A kernel in whole numbers of seven bits.

    Parameters
    ----------
    kernel : ndarray, shape (outputs, inputs, rows, columns)
    products : ndarray, shape (inputs * rows * columns, inputs * rows * columns)
        Mean products of what the kernel is laid on.
    """
    flat = kernel.reshape(len(kernel), -1)
    scales = np.maximum(np.abs(flat).max(axis=1) / LARGEST_WEIGHT, LEAST_SCALE).astype(np.float32)
    order = np.argsort(-np.diag(products), kind="stable")  # what weighs most is rounded while most can make up for it
    even = EVEN_SHARE * np.trace(products) / len(products) * np.eye(len(products))
    passed_on = np.linalg.cholesky(np.linalg.inv((products + even)[np.ix_(order, order)])).T
    left = flat[:, order] / scales[:, None].astype(np.float64)
    whole = np.empty_like(left)
    for place in range(len(order)):
        whole[:, place] = np.clip(np.rint(left[:, place]), -LARGEST_WEIGHT, LARGEST_WEIGHT)
        error = (left[:, place] - whole[:, place]) / passed_on[place, place]
        left[:, place + 1 :] -= error[:, None] * passed_on[place, place + 1 :]
    made = np.empty(flat.shape, np.int8)
    made[:, order] = whole
    return Narrow(made.reshape(kernel.shape), scales)
