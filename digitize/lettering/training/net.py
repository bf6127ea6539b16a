"""The plan as a PyTorch module."""

import torch
from torch import Tensor, nn

from digitize.lettering.stacks import LOWER_ALPHABET, UPPER_ALPHABET
from digitize.lettering.training.plan import FEATURES, LAYERS, NORM_EPSILON, Layer

DROPOUT = 0.1


class Convolution(nn.Module):
    """Convolution and batch normalisation."""

    def __init__(self, layer: Layer, stride: tuple[int, int]) -> None:
        super().__init__()
        self.conv = nn.Conv2d(
            layer.inputs, layer.outputs, layer.kernel, stride, layer.padding, (1, layer.reach), bias=False
        )
        self.norm = nn.BatchNorm2d(layer.outputs, eps=NORM_EPSILON)

    def forward(self, x: Tensor) -> Tensor:
        """Without rectifier."""
        return self.norm(self.conv(x))


class Step(nn.Module):
    """One layer of the plan."""

    def __init__(self, layer: Layer) -> None:
        super().__init__()
        self.first = Convolution(layer, layer.stride)
        self.second = Convolution(layer, (1, 1)) if layer.residual else None

    def forward(self, x: Tensor) -> Tensor:
        """Rectified; a residual pair adds its input."""
        y = torch.relu(self.first(x))
        return y if self.second is None else torch.relu(self.second(y) + x)


class Network(nn.Module):
    """Grey pictures (N, 1, 64, W) to logits of both outputs, each (N, classes, W / 4); class 0 is the blank."""

    def __init__(self) -> None:
        super().__init__()
        self.steps = nn.ModuleDict({layer.name: Step(layer) for layer in LAYERS})
        self.drop = nn.Dropout1d(DROPOUT)
        self.upper = nn.Conv1d(FEATURES, 1 + len(UPPER_ALPHABET), 1)
        self.lower = nn.Conv1d(FEATURES, 1 + len(LOWER_ALPHABET), 1)

    def forward(self, x: Tensor) -> tuple[Tensor, Tensor]:
        """Logits of the upper and of the lower output."""
        for step in self.steps.values():
            x = step(x)
        x = self.drop(x.squeeze(2))
        return self.upper(x), self.lower(x)
