"""The network's plan as an ONNX graph: in float32, or with all sums before the outputs in whole numbers.

What runs through the network is kept as whole numbers of 0 to 255, kernels as whole numbers of seven bits; the outputs
alone are computed in float32. A processor may add two products in sixteen bits, and older ones cut off what is larger:
2 x 255 x 64 is not, so that every processor comes to the same sums.
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
import onnx
from numpy.typing import NDArray
from onnx import TensorProto, helper, numpy_helper

from digitize.lettering.frame import HEIGHT_PX
from digitize.lettering.stacks import LOWER_ALPHABET, UPPER_ALPHABET
from digitize.lettering.training.plan import HEADS, LAYERS, Layer

Real = NDArray[np.float32]
Range = tuple[float, float]
OPSET = 17
IR_VERSION = 9
LARGEST_WEIGHT = 64  # see above
LARGEST_LEVEL = 255
PICTURE_RANGE = (0.0, 1.0)  # of grey levels divided by 255: eight bits hold the picture as it is
LEAST_SCALE = 1e-12  # a value that is always nought


class Narrow(NamedTuple):
    """A kernel in whole numbers (outputs, inputs, rows, columns), and what one of them is worth at each output."""

    whole: NDArray[np.int8]
    scales: Real

    def wide(self) -> Real:
        """The kernel that it stands for."""
        return np.asarray(self.whole * self.scales[:, None, None, None], np.float32)


class Made(NamedTuple):
    """A convolution of the network: its name in the module's state, and the name of the value that it is laid on."""

    name: str
    layer: Layer
    source: str
    stride: tuple[int, int]


def convolutions() -> list[Made]:
    """All convolutions before the outputs, in order."""
    made, source = [], "picture"
    for layer in LAYERS:
        made.append(Made(f"steps.{layer.name}.first", layer, source, layer.stride))
        source = f"{layer.name}.first"
        if layer.residual:
            made.append(Made(f"steps.{layer.name}.second", layer, source, (1, 1)))
            source = f"{layer.name}.out"
    return made


class Graph:
    """Builds the graph: ``weights`` are floats; in whole numbers where ``kernels`` and ``ranges`` are given."""

    def __init__(
        self,
        weights: Mapping[str, Real],
        kernels: Mapping[str, Narrow] | None = None,
        ranges: Mapping[str, Range] | None = None,
    ) -> None:
        self.weights, self.kernels, self.ranges = weights, kernels, ranges
        self.nodes: list[onnx.NodeProto] = []
        self.initialisers: list[onnx.TensorProto] = []
        self.outputs: list[onnx.ValueInfoProto] = []
        self.scales: dict[str, float] = {}

    def model(self, facts: Mapping[str, str]) -> onnx.ModelProto:
        last = "picture" if self.ranges is None else self.rounded("picture", PICTURE_RANGE)
        for layer in LAYERS:
            last = self.layer(layer, last)
        last = self.add("Squeeze", [last, self.constant("rows", np.array([2], np.int64))], "features")
        for head, alphabet in zip(HEADS, (UPPER_ALPHABET, LOWER_ALPHABET), strict=True):
            self.head(head, last)
            self.output(head, ["n", "columns", 1 + len(alphabet)])
        picture = helper.make_tensor_value_info("picture", TensorProto.FLOAT, ["n", 1, HEIGHT_PX, "width"])
        made = helper.make_graph(self.nodes, "lettering", [picture], self.outputs, self.initialisers)
        model = helper.make_model(made, opset_imports=[helper.make_opsetid("", OPSET)], ir_version=IR_VERSION)
        helper.set_model_props(model, dict(facts))
        onnx.checker.check_model(model, full_check=True)
        return model

    def add(self, operator: str, inputs: list[str], output: str, **attributes: Any) -> str:
        self.nodes.append(helper.make_node(operator, inputs, [output], name=output, **attributes))
        return output

    def constant(self, name: str, values: NDArray[Any]) -> str:
        self.initialisers.append(numpy_helper.from_array(values, name))
        return name

    def output(self, name: str, shape: Sequence[str | int | None]) -> None:
        self.outputs.append(helper.make_tensor_value_info(name, TensorProto.FLOAT, shape))

    def layer(self, layer: Layer, source: str) -> str:
        first = self.rectified(self.convolution(layer, "first", source, layer.stride), f"{layer.name}.first")
        if not layer.residual:
            return first
        second = self.kept(self.convolution(layer, "second", first, (1, 1)))
        return self.rectified(self.add("Add", [second, source], f"{layer.name}.sum"), f"{layer.name}.out")

    def convolution(self, layer: Layer, part: str, source: str, stride: tuple[int, int]) -> str:
        name = f"steps.{layer.name}.{part}"
        inputs = [source, *self.narrowed(name, source)]
        shape = {"kernel_shape": list(layer.kernel), "strides": list(stride), "dilations": [1, layer.reach]}
        return self.add("Conv", inputs, f"{name}.conv", **shape, pads=[*layer.padding, *layer.padding])

    def head(self, name: str, source: str) -> None:
        kernel, bias = self.halved(f"{name}.kernel"), self.halved(f"{name}.bias")
        logits = self.add("Conv", [source, kernel, bias], f"{name}.logits", kernel_shape=[1])
        turned = self.add("Transpose", [logits], f"{name}.turned", perm=[0, 2, 1])
        self.add("LogSoftmax", [turned], name, axis=2)

    def rectified(self, source: str, name: str) -> str:
        """What is negative becomes nought: in whole numbers by itself, since none stands for less."""
        if self.ranges is None:
            return self.kept(self.add("Relu", [source], name))
        return self.rounded(source, (0.0, self.ranges[name][1]))

    def kept(self, name: str) -> str:
        """A value of the network, brought to eight bits or, where its range is still to be found, told."""
        if self.ranges is None:
            self.output(name, [None] * 4)
            return name
        return self.rounded(name, self.ranges[name])

    def rounded(self, name: str, limits: Range) -> str:
        """A value brought to whole numbers of 0 to 255 and back; all that lies beyond its range is brought to it."""
        low, high = min(0.0, limits[0]), max(0.0, limits[1])  # nought is kept as it is: convolutions pad with it
        scale = max((high - low) / LARGEST_LEVEL, LEAST_SCALE)
        by = [
            self.constant(f"{name}.scale", np.array(scale, np.float32)),
            self.constant(f"{name}.nought", np.array(round(-low / scale), np.uint8)),
        ]
        whole = self.add("QuantizeLinear", [name, *by], f"{name}.whole")
        back = self.add("DequantizeLinear", [whole, *by], f"{name}.back")
        self.scales[back] = float(np.float32(scale))
        return back

    def narrowed(self, name: str, source: str) -> list[str]:
        """Kernel and bias, each kept as whole numbers and one scale for each output."""
        if self.kernels is None:
            return [self.constant(f"{name}.{part}", self.weights[f"{name}.{part}"]) for part in ("kernel", "bias")]
        whole, scales = self.kernels[name]
        steps = scales * np.float32(self.scales[source])  # of a product, so that the bias can be added to whole sums
        bias = np.rint(self.weights[f"{name}.bias"] / steps).astype(np.int32)
        return [self.widened(f"{name}.kernel", whole, scales), self.widened(f"{name}.bias", bias, steps)]

    def widened(self, name: str, whole: NDArray[Any], scales: Real) -> str:
        parts = [
            self.constant(f"{name}.whole", whole),
            self.constant(f"{name}.scales", scales),
            self.constant(f"{name}.noughts", np.zeros(len(scales), whole.dtype)),
        ]
        return self.add("DequantizeLinear", parts, name, axis=0)

    def halved(self, name: str) -> str:
        """A weight kept in half precision and widened when the model is loaded."""
        half = self.constant(f"{name}.half", self.weights[name].astype(np.float16))
        return self.add("Cast", [half], name, to=TensorProto.FLOAT)
