"""Another hand and another exposure of crops that were drawn before: shape, weight, sharpness and dirt, on the card."""

import math

import torch
from torch import Tensor, nn

SLIGHT = torch.tensor([[0.05, 0.09, 0.03], [0.03, 0.04, 0.04]])  # standard deviations of the affine change
WAVE_PX = 0.8  # standard deviation of the waves that bend the lettering
SHORTEST_PX, LONGEST_PX = 24.0, 120.0  # wave lengths
SOFT_PX = 1.2
SHARES = {"heavier": 0.25, "lighter": 0.15, "softer": 0.25, "harder": 0.15, "stained": 0.25, "grainy": 0.3}


def seen_again(pictures: Tensor) -> Tensor:
    """Pictures (N, 64, W) uint8, ink 255, changed each in its own way."""
    grey = pictures.unsqueeze(1).float() / 255
    count, _, rows, columns = grey.shape
    grey = nn.functional.grid_sample(grey, _bent(count, rows, columns), align_corners=False)
    grey = grey + _some(count, "heavier", 0.0, 0.7) * (nn.functional.max_pool2d(grey, 3, 1, 1) - grey)
    grey = grey + _some(count, "lighter", 0.0, 0.3) * (-nn.functional.max_pool2d(-grey, 3, 1, 1) - grey)
    grey = grey + _some(count, "softer", 0.2, 1.0) * (_softened(grey) - grey)
    grey = grey + _some(count, "harder", 1.0, 1.0) * (_hardened(grey) - grey)
    grey = grey * _between((count, 1, 1, 1), 0.75, 1.2)
    stain = torch.rand((count, 1, rows // 8, columns // 8), device=grey.device) - 0.5
    grey = grey + _some(count, "stained", 0.0, 0.4) * nn.functional.interpolate(stain, (rows, columns), mode="bilinear")
    grain = torch.randn((count, 1, rows // 2, columns // 2), device=grey.device)
    grey = grey + _some(count, "grainy", 0.0, 0.06) * nn.functional.interpolate(grain, (rows, columns), mode="bilinear")
    grey = grey + torch.randn_like(grey) * _between((count, 1, 1, 1), -0.05, 0.055).clamp_min(0)
    return (grey.clamp(0, 1) * 255).to(torch.uint8).squeeze(1)


def _between(shape: tuple[int, ...], low: float, high: float) -> Tensor:
    return torch.empty(shape, device="cuda").uniform_(low, high)


def _some(count: int, change: str, low: float, high: float) -> Tensor:
    """How much of a change each picture gets: most get none."""
    chosen = _between((count, 1, 1, 1), 0.0, 1.0) < SHARES[change]
    return _between((count, 1, 1, 1), low, high) * chosen


def _softened(grey: Tensor) -> Tensor:
    at = torch.arange(-2, 3, device=grey.device, dtype=torch.float32)
    line = torch.exp(-(at**2) / (2 * SOFT_PX**2))
    line = line / line.sum()
    wide = nn.functional.conv2d(grey, line.view(1, 1, 1, 5), padding=(0, 2))
    return nn.functional.conv2d(wide, line.view(1, 1, 5, 1), padding=(2, 0))


def _hardened(grey: Tensor) -> Tensor:
    """Nearly two levels; the cut lies low enough to keep a faint full stop."""
    count = len(grey)
    return torch.sigmoid((grey - _between((count, 1, 1, 1), 0.28, 0.45)) * _between((count, 1, 1, 1), 8.0, 20.0))


def _bent(count: int, rows: int, columns: int) -> Tensor:
    """Sampling grid of a slight affine change and one wave for each picture, in coordinates of -1 to 1."""
    change = torch.randn((count, 2, 3), device="cuda") * SLIGHT.to("cuda")
    change[:, 0, 1] *= rows / columns
    change[:, 0, 2] *= rows / columns
    change[:, 1, 0] *= min(1.0, columns / rows, 2 * rows / columns)
    change[:, 0, 0] += 1
    change[:, 1, 1] += 1
    grid = nn.functional.affine_grid(change, [count, 1, rows, columns], align_corners=False)
    half = torch.tensor([columns / 2, rows / 2], device="cuda")
    turn = 2 * math.pi / _between((count, 1, 1), SHORTEST_PX, LONGEST_PX)
    way = _between((count, 1, 1), 0.0, 2 * math.pi)
    along = grid[..., 0] * half[0] * torch.cos(way) + grid[..., 1] * half[1] * torch.sin(way)
    wave = torch.sin(along * turn + _between((count, 1, 1), 0.0, 2 * math.pi))
    size = torch.randn((count, 1, 1, 2), device="cuda") * WAVE_PX / half
    return grid + wave.unsqueeze(-1) * size
