"""The network's plan: its layers in order, without any framework.

Convolutions only. Rows are folded away in steps of two until one is left; columns are folded to a quarter. Two outputs
read each column: what stands in the row and on top of stacks, and what stands below in stacks. The layers along the row
reach ever farther, to some three figure heights on either side: word spaces and leading ones are judged by the rest of
the row.
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
    reach: int = 1  # columns from one tap of the kernel to the next

    @property
    def padding(self) -> tuple[int, int]:
        """Rows and columns added on either side; none over the height that is being collapsed."""
        return (0, 0) if self.collapse else (self.kernel[0] // 2, self.reach * (self.kernel[1] // 2))


def _pair(name: str, channels: int) -> Layer:
    return Layer(name, channels, channels, (3, 3), residual=True)


def _along(name: str, channels: int, reach: int) -> Layer:
    return Layer(name, channels, channels, (1, 3), residual=True, reach=reach)


LAYERS = (
    Layer("stem", 1, 24, (3, 3), (2, 2)),
    Layer("down1", 24, 64, (3, 3), (2, 2)),
    _pair("pair1", 64),
    Layer("down2", 64, 96, (3, 3), (2, 1)),
    _pair("pair2", 96),
    _pair("pair2b", 96),
    Layer("down3", 96, 160, (3, 3), (2, 1)),
    _pair("pair3", 160),
    Layer("collapse", 160, 256, (4, 1), collapse=True),
    _along("row1", 256, 1),
    _along("row2", 256, 2),
    _along("row3", 256, 4),
    _along("row4", 256, 1),
)
HEADS = ("upper", "lower")
FEATURES = LAYERS[-1].outputs
NORM_EPSILON = 1e-5
