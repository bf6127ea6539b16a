"""The network's plan: its layers in order, without any framework.

Convolutions only. Rows are folded away in steps of two until one is left; columns are folded to a quarter. Two outputs
read each column: what stands in the row and on top of stacks, and what stands below in stacks.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Layer:
    """A convolution with batch normalisation and a rectifier, or a residual pair of such convolutions."""

    name: str
    inputs: int
    outputs: int
    kernel: tuple[int, int]
    stride: tuple[int, int] = (1, 1)
    residual: bool = False
    collapse: bool = False

    @property
    def padding(self) -> tuple[int, int]:
        """Rows and columns added on either side; none over the height that is being collapsed."""
        return (0, 0) if self.collapse else (self.kernel[0] // 2, self.kernel[1] // 2)


def _pair(name: str, channels: int, kernel: tuple[int, int] = (3, 3)) -> Layer:
    return Layer(name, channels, channels, kernel, residual=True)


LAYERS = (
    Layer("stem", 1, 24, (3, 3), (2, 2)),
    Layer("down1", 24, 48, (3, 3), (2, 2)),
    _pair("pair1", 48),
    Layer("down2", 48, 80, (3, 3), (2, 1)),
    _pair("pair2", 80),
    Layer("down3", 80, 128, (3, 3), (2, 1)),
    _pair("pair3", 128),
    Layer("collapse", 128, 192, (4, 1), collapse=True),
    _pair("row1", 192, (1, 3)),
    _pair("row2", 192, (1, 3)),
    _pair("row3", 192, (1, 3)),
)
HEADS = ("upper", "lower")
FEATURES = LAYERS[-1].outputs
NORM_EPSILON = 1e-5
