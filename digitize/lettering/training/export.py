"""The trained network as an ONNX file: normalisation folded into the weights, kernels kept in eight bits.

Kernels are widened when the model is loaded and all arithmetic is in float32; only the file is small.
"""

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import onnx
from numpy.typing import NDArray
from onnx import TensorProto, helper, numpy_helper

from digitize.lettering.frame import HEIGHT_PX
from digitize.lettering.stacks import LOWER_ALPHABET, UPPER_ALPHABET
from digitize.lettering.training.plan import FEATURES, HEADS, LAYERS, NORM_EPSILON, Layer

Real = NDArray[np.float32]
OPSET = 17
IR_VERSION = 9
EIGHT_BITS = 127.0
LEAST_SCALE = 1e-12  # an output whose kernel is all zero
FOLDER = Path(__file__).parent
RECIPE_MODULES = (
    "faces",
    "hand",
    "written",
    "free_rows",
    "phrases",
    "pieces",
    "manners",
    "setting",
    "clutter",
    "no_lettering",
    "damage",
    "legible",
    "inked",
    "scanned",
    "draw",
    "plan",
    "net",
    "stream",
    "passes",
    "source",
    "train",
    "regrown",
    "again",
    "averaged",
    "heads",
    "../stacks",
    "../frame",
)
RECIPE_PARTS = ("*.toml", "*.txt", *(f"{name}.py" for name in RECIPE_MODULES))


def recipe_hash() -> str:
    """SHA-256 over the names and bytes of the sources that decide what is drawn and how the network is trained."""
    digest = hashlib.sha256()
    for path in sorted(p.resolve() for part in RECIPE_PARTS for p in FOLDER.glob(part)):
        digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()


def export(weights: Mapping[str, Real], target: Path, metadata: Mapping[str, str]) -> None:
    """Write the model.

    Parameters
    ----------
    weights : mapping of str to ndarray
        The module's state, as float arrays.
    target : Path
        The .onnx file to write.
    metadata : mapping of str to str
        Further facts kept in the file.
    """
    graph = _Graph(weights)
    last = "picture"
    for layer in LAYERS:
        last = graph.layer(layer, last)
    last = graph.add("Squeeze", [last, graph.constant(np.array([2], np.int64))], "features")
    outputs = []
    for head, alphabet in zip(HEADS, (UPPER_ALPHABET, LOWER_ALPHABET), strict=True):
        graph.head(head, last)
        outputs.append(helper.make_tensor_value_info(head, TensorProto.FLOAT, ["n", "columns", 1 + len(alphabet)]))
    picture = helper.make_tensor_value_info("picture", TensorProto.FLOAT, ["n", 1, HEIGHT_PX, "width"])
    made = helper.make_graph(graph.nodes, "lettering", [picture], outputs, graph.initialisers)
    model = helper.make_model(made, opset_imports=[helper.make_opsetid("", OPSET)], ir_version=IR_VERSION)
    facts = {
        "recipe": recipe_hash(),
        "upper": json.dumps(UPPER_ALPHABET),
        "lower": json.dumps(LOWER_ALPHABET),
        **metadata,
    }
    helper.set_model_props(model, facts)
    onnx.checker.check_model(model, full_check=True)
    onnx.save(model, target)


def add_facts(model_file: Path, facts: Mapping[str, str]) -> None:
    """Replace or add facts in a model's metadata; keep a copy beside it for runtimes that don't give metadata."""
    model = onnx.load(model_file)
    known = {entry.key: entry.value for entry in model.metadata_props}
    helper.set_model_props(model, {**known, **facts})
    onnx.save(model, model_file)
    beside = json.dumps({**known, **facts}, indent=1) + "\n"
    model_file.with_suffix(".json").write_text(beside, encoding="utf-8")


class _Graph:
    def __init__(self, weights: Mapping[str, Real]) -> None:
        self.weights = weights
        self.nodes: list[onnx.NodeProto] = []
        self.initialisers: list[onnx.TensorProto] = []

    def add(self, operator: str, inputs: list[str], output: str, **attributes: Any) -> str:
        self.nodes.append(helper.make_node(operator, inputs, [output], name=output, **attributes))
        return output

    def constant(self, values: NDArray[np.int64]) -> str:
        name = f"constant{len(self.initialisers)}"
        self.initialisers.append(numpy_helper.from_array(values, name))
        return name

    def narrowed(self, name: str, values: Real) -> str:
        """A kernel stored as whole numbers of -127 to 127 and one scale for each output, multiplied when loaded."""
        scales = np.abs(values).max(axis=(1, 2, 3), keepdims=True) / EIGHT_BITS
        whole = np.rint(values / np.maximum(scales, LEAST_SCALE)).astype(np.int8)
        self.initialisers.append(numpy_helper.from_array(whole, f"{name}.whole"))
        self.initialisers.append(numpy_helper.from_array(scales.astype(np.float32), f"{name}.scales"))
        wide = self.add("Cast", [f"{name}.whole"], f"{name}.wide", to=TensorProto.FLOAT)
        return self.add("Mul", [wide, f"{name}.scales"], name)

    def halved(self, name: str, values: Real) -> str:
        """A weight stored in half precision and widened when the model is loaded."""
        self.initialisers.append(numpy_helper.from_array(values.astype(np.float16), f"{name}.half"))
        return self.add("Cast", [f"{name}.half"], name, to=TensorProto.FLOAT)

    def layer(self, layer: Layer, source: str) -> str:
        prefix = f"steps.{layer.name}"
        first = self._convolution(layer, f"{prefix}.first", source, layer.stride)
        first = self.add("Relu", [first], f"{layer.name}.first")
        if not layer.residual:
            return first
        second = self._convolution(layer, f"{prefix}.second", first, (1, 1))
        return self.add("Relu", [self.add("Add", [second, source], f"{layer.name}.sum")], f"{layer.name}.out")

    def head(self, name: str, source: str) -> None:
        kernel = self.halved(f"{name}.kernel", self.weights[f"{name}.weight"].reshape(-1, FEATURES, 1))
        bias = self.halved(f"{name}.bias", self.weights[f"{name}.bias"])
        logits = self.add("Conv", [source, kernel, bias], f"{name}.logits", kernel_shape=[1])
        turned = self.add("Transpose", [logits], f"{name}.turned", perm=[0, 2, 1])
        self.add("LogSoftmax", [turned], name, axis=2)

    def _convolution(self, layer: Layer, prefix: str, source: str, stride: tuple[int, int]) -> str:
        kernel, bias = _folded(self.weights, prefix)
        inputs = [source, self.narrowed(f"{prefix}.kernel", kernel), self.halved(f"{prefix}.bias", bias)]
        shape = {"kernel_shape": list(layer.kernel), "strides": list(stride), "dilations": [1, layer.reach]}
        return self.add("Conv", inputs, f"{prefix}.conv", **shape, pads=[*layer.padding, *layer.padding])


def _folded(weights: Mapping[str, Real], prefix: str) -> tuple[Real, Real]:
    """Kernel and bias of a convolution with its batch normalisation folded in."""
    gain = weights[f"{prefix}.norm.weight"] / np.sqrt(weights[f"{prefix}.norm.running_var"] + NORM_EPSILON)
    kernel = weights[f"{prefix}.conv.weight"] * gain[:, None, None, None]
    return kernel, weights[f"{prefix}.norm.bias"] - weights[f"{prefix}.norm.running_mean"] * gain
