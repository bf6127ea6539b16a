"""The mean of what a training goes through at its end: it reads better than the last of it.

Weights that go on from one another wander about the floor of one valley of the loss; their mean lies nearer its lowest
place [1]_. What the normalisations meet is each network's own, and is measured anew for the mean.

References
----------
.. [1] P. Izmailov et al., Averaging weights leads to wider optima and better generalization, UAI 2018 (from memory).
"""

from collections.abc import Iterable, Mapping

import torch
from torch import Tensor, nn

from digitize.lettering.training.net import Network

BATCHES = 100  # some 40,000 crops, on which the normalisations of a mean are measured


class RunningMean:
    """Mean of a network's weights over the steps at which it was noted."""

    def __init__(self) -> None:
        self.count = 0
        self._mean: dict[str, Tensor] = {}

    def note(self, weights: Mapping[str, Tensor]) -> None:
        """Take the weights as they now are into the mean."""
        self.count += 1
        if self.count == 1:
            self._mean = {key: value.clone() for key, value in weights.items()}
        with torch.no_grad():
            for key, value in weights.items():
                if value.is_floating_point():
                    self._mean[key].lerp_(value, 1 / self.count)

    def network(self) -> Network:
        """A network of the mean weights; its normalisations are still to be measured."""
        net = Network().to(next(iter(self._mean.values())).device)
        net.load_state_dict(self._mean)
        return net


def measure(net: Network, pictures: Iterable[Tensor]) -> None:
    """Give every normalisation the mean and spread of what it meets in batches of pictures, (N, 64, W) uint8."""
    for part in net.modules():
        if isinstance(part, nn.BatchNorm2d):
            part.reset_running_stats()
            part.momentum = None  # the plain mean over all batches
    net.train()
    net.drop.eval()
    with torch.no_grad():
        for batch in pictures:
            net(batch.unsqueeze(1).float() / 255)
    net.eval()
