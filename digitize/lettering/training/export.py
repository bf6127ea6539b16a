"""The trained network as an ONNX file, normalisation folded into the kernels, and the weights out of such a file."""

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import onnx
from onnx import helper, numpy_helper

from digitize.lettering.stacks import LOWER_ALPHABET, UPPER_ALPHABET
from digitize.lettering.training.graph import Graph, Narrow, Range, Real, convolutions
from digitize.lettering.training.plan import FEATURES, HEADS, NORM_EPSILON

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
    "graph",
    "net",
    "stream",
    "passes",
    "source",
    "train",
    "regrown",
    "again",
    "averaged",
    "heads",
    "met",
    "rounding",
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


def folded(state: Mapping[str, Real]) -> dict[str, Real]:
    """Kernels and biases, normalisation folded in, of a module's state given as float arrays."""
    made: dict[str, Real] = {}
    for name, *_ in convolutions():
        gain = state[f"{name}.norm.weight"] / np.sqrt(state[f"{name}.norm.running_var"] + NORM_EPSILON)
        made[f"{name}.kernel"] = state[f"{name}.conv.weight"] * gain[:, None, None, None]
        made[f"{name}.bias"] = state[f"{name}.norm.bias"] - state[f"{name}.norm.running_mean"] * gain
    for head in HEADS:
        made[f"{head}.kernel"] = state[f"{head}.weight"].reshape(-1, FEATURES, 1)
        made[f"{head}.bias"] = state[f"{head}.bias"]
    return made


def unpacked(model: onnx.ModelProto) -> dict[str, Real]:
    """What `folded` gave, as a model keeps it."""
    kept = {tensor.name: numpy_helper.to_array(tensor) for tensor in model.graph.initializer}
    made: dict[str, Real] = {}
    for name, *_ in convolutions():
        made[f"{name}.kernel"] = Narrow(kept[f"{name}.kernel.whole"], kept[f"{name}.kernel.scales"]).wide()
        made[f"{name}.bias"] = kept[f"{name}.bias.whole"] * kept[f"{name}.bias.scales"]
    for head in HEADS:
        for part in ("kernel", "bias"):
            made[f"{head}.{part}"] = kept[f"{head}.{part}.half"].astype(np.float32)
    return made


def in_float(weights: Mapping[str, Real]) -> onnx.ModelProto:
    """The network in float32, which gives as outputs all that is kept in eight bits later on."""
    return Graph(weights).model({})


def export(
    weights: Mapping[str, Real],
    kernels: Mapping[str, Narrow],
    ranges: Mapping[str, Range],
    target: Path,
    metadata: Mapping[str, str],
) -> None:
    """Write the model.

    Parameters
    ----------
    weights : mapping of str to ndarray
        Biases, and the kernels of both outputs, as `folded` names them.
    kernels : mapping of str to Narrow
        For each convolution, by its name.
    ranges : mapping of str to (float, float)
        Least and largest value of each output of `in_float`.
    target : Path
        The .onnx file to write.
    metadata : mapping of str to str
        Further facts kept in the file.
    """
    facts = {
        "recipe": recipe_hash(),
        "upper": json.dumps(UPPER_ALPHABET),
        "lower": json.dumps(LOWER_ALPHABET),
        **metadata,
    }
    onnx.save(Graph(weights, kernels, ranges).model(facts), target)


def add_facts(model_file: Path, facts: Mapping[str, str]) -> None:
    """Replace or add facts in a model's metadata; keep a copy beside it for runtimes that don't give metadata."""
    model = onnx.load(model_file)
    known = {entry.key: entry.value for entry in model.metadata_props}
    helper.set_model_props(model, {**known, **facts})
    onnx.save(model, model_file)
    beside = json.dumps({**known, **facts}, indent=1) + "\n"
    model_file.with_suffix(".json").write_text(beside, encoding="utf-8")
