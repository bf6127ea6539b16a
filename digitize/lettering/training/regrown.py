"""Weights to go on from, out of a model file: the file holds less than training needs, and its own crops tell the rest.

Each convolution lies in the file rounded, with its normalisation folded in. What the normalisation took away and put
back is measured anew on crops of the recipe, so that the network starts as it was and yet can be trained.
"""

import itertools
from pathlib import Path

import numpy as np
import onnx
import torch
from numpy.typing import NDArray
from torch import Tensor

from digitize.lettering.training.export import unpacked
from digitize.lettering.training.net import Convolution, Network
from digitize.lettering.training.plan import HEADS
from digitize.lettering.training.stream import Stream

BATCHES = 12  # some 5,000 crops


def regrow(model: Path, glyphs: Path, target: Path) -> None:
    """Write the weights (a .pt file) of a model file that `digitize.lettering.training.export` wrote."""
    net = unfolded(model)
    net.eval()
    measure(net, [batch.pictures for batch in itertools.islice(Stream(glyphs, seed=0), BATCHES)])
    torch.save({"net": net.state_dict()}, target)


def unfolded(model: Path) -> Network:
    """The network with the file's kernels, its normalisations doing nothing but to add what is folded in."""
    kept = unpacked(onnx.load(model))
    net = Network()
    with torch.no_grad():
        for name, part in _convolutions(net):
            part.conv.weight.copy_(_tensor(kept[f"{name}.kernel"]))
            part.norm.bias.copy_(_tensor(kept[f"{name}.bias"]))
            part.norm.running_var.fill_(1 - part.norm.eps)
        for head in HEADS:
            layer = getattr(net, head)
            layer.weight.copy_(_tensor(kept[f"{head}.kernel"]))
            layer.bias.copy_(_tensor(kept[f"{head}.bias"]))
    return net


def measure(net: Network, pictures: list[Tensor]) -> None:
    """Give every normalisation the mean and spread that it meets in pictures, (N, 64, W) uint8; no output changes."""
    sums = {part: torch.zeros(3, part.conv.out_channels, dtype=torch.float64) for _, part in _convolutions(net)}

    def noting(part: Convolution) -> torch.utils.hooks.RemovableHandle:
        def note(_: object, __: object, output: Tensor) -> None:
            wide = output.double()
            places = torch.full((output.shape[1],), float(output[:, 0].numel()), dtype=torch.float64)
            sums[part] += torch.stack([places, wide.sum((0, 2, 3)), wide.square().sum((0, 2, 3))])

        return part.conv.register_forward_hook(note)

    hooks = [noting(part) for part in sums]
    with torch.no_grad():
        for picture in pictures:
            net(picture.unsqueeze(1).float() / 255)
        for part, (count, total, squares) in sums.items():
            mean = (total / count).float()
            spread = (squares / count - (total / count) ** 2).float()
            norm = part.norm
            norm.running_mean.copy_(mean)
            norm.running_var.copy_(spread)
            norm.weight.copy_((spread + norm.eps).sqrt())
            norm.bias += mean
    for hook in hooks:
        hook.remove()


def _convolutions(net: Network) -> list[tuple[str, Convolution]]:
    return [(name, part) for name, part in net.named_modules() if isinstance(part, Convolution)]


def _tensor(values: NDArray[np.float32]) -> Tensor:
    return torch.from_numpy(np.asarray(values, np.float32))
