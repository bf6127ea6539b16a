"""Our own reader of drawing-office figures: a small convolutional network, run on onnxruntime or on OpenCV."""

import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from threading import Lock

import cv2
import numpy as np
from numpy.typing import NDArray

from digitize.lettering.ctc import best_strings
from digitize.lettering.frame import framed
from digitize.lettering.meaning.spelling import one_spelling
from digitize.lettering.stacks import END, START, canonical
from digitize.lettering.text import Layout, Reading

Grey = NDArray[np.uint8]
Real = NDArray[np.float32]
MODEL = Path(__file__).parent / "model" / "lettering.onnx"
THREADS = 1  # pages run side by side; threads that wait for each other cost a tenth of the processor more
MOST_READINGS = 5
BATCH_COLUMNS = 4096  # picture columns run at once: keeps memory small
UPPER_BEAMS, LOWER_BEAMS = 12, 6
LEAST_PROBABILITY = 1e-12
NEGLIGIBLE_LOG = -16.0  # natural logarithm of a probability not worth listing


@dataclass(frozen=True)
class Calibration:
    """How raw probabilities become ones to be believed, fixed on a split of its own.

    Each raw probability is raised to 1/temperature, all are brought to sum to one, and ``ceiling`` is the most that any
    reading is given: the share of right readings among those the network is surest of.
    """

    temperature: float = 1.0
    ceiling: float = 1.0

    def applied(self, raw: Mapping[str, float]) -> dict[str, float]:
        """Calibrated probabilities of strings, the rest of the probability left to strings not listed."""
        rest = max(LEAST_PROBABILITY, 1.0 - sum(raw.values()))
        powers = {text: max(p, LEAST_PROBABILITY) ** (1 / self.temperature) for text, p in raw.items()}
        total = sum(powers.values()) + rest ** (1 / self.temperature)
        return {text: self.ceiling * power / total for text, power in powers.items()}


class NetworkReader:
    """Reads crops of single blocks.

    Parameters
    ----------
    model : Path
        The ONNX file; the one in the package by default.
    threads : int
        Processors to use.

    Attributes
    ----------
    accept_at : float
        Probability from which, on the calibration's own split, no more than one in a thousand readings was wrong: a
        figure of the reader alone. The stages after it accept nothing at any probability: what only its reading
        speaks for stays unproven.
    """

    name = "network"

    def __init__(self, model: Path = MODEL, threads: int = THREADS) -> None:
        self._run, facts = _runtime(model, threads)
        self._upper, self._lower = json.loads(facts["upper"]), json.loads(facts["lower"])
        self.accept_at = float(facts.get("accept_at", "1"))
        self.calibration = Calibration(float(facts.get("temperature", "1")), float(facts.get("ceiling", "1")))

    def read(self, crops: Sequence[Grey], layouts: Sequence[Layout]) -> list[tuple[Reading, ...]]:
        """Read each crop.

        Parameters
        ----------
        crops : sequence of ndarray, uint8
            Upright, dark on light, about 0.3 figure heights of margin.
        layouts : sequence of Layout

        Returns
        -------
        list of tuple of Reading
            Five best at most, best first; none for a crop that most probably holds no writing.
        """
        return [_readings(self.calibration.applied(raw)) for raw in self.raw(crops, layouts)]

    def raw(self, crops: Sequence[Grey], layouts: Sequence[Layout]) -> list[dict[str, float]]:
        """Uncalibrated probabilities of whole strings, for each crop; the empty string means no writing."""
        pictures = [framed(crop, layout) for crop, layout in zip(crops, layouts, strict=True)]
        found: list[dict[str, float]] = [{} for _ in pictures]
        for places in _batches(pictures):
            stacked = np.stack([pictures[i] for i in places])[:, None].astype(np.float32) / np.float32(255)
            upper, lower = self._run(stacked)
            for row, place in enumerate(places):
                found[place] = self._strings(upper[row], lower[row])
        return found

    def _strings(self, upper: Real, lower: Real) -> dict[str, float]:
        """Join both outputs' strings; probabilities of different spellings of one text add up."""
        joined: dict[str, float] = {}
        below = [(_spelled(low, self._lower), p) for low, p in best_strings(lower, LOWER_BEAMS)]
        for classes, top_log in best_strings(upper, UPPER_BEAMS):
            top = _spelled(classes, self._upper)
            stacks = top.count(END)
            for low, low_log in below:
                if stacks == low.count(START) and top_log + low_log > NEGLIGIBLE_LOG:
                    text = canonical(top, low)
                    if text is not None:
                        text = one_spelling(text)
                        joined[text] = joined.get(text, 0.0) + math.exp(top_log + low_log)
        return joined


def _spelled(classes: Sequence[int], alphabet: str) -> str:
    return "".join([alphabet[c - 1] for c in classes])


def _readings(probabilities: Mapping[str, float]) -> tuple[Reading, ...]:
    ranked = sorted(probabilities.items(), key=lambda item: -item[1])
    if not ranked or not ranked[0][0]:
        return ()
    return tuple(Reading(text, p) for text, p in ranked if text)[:MOST_READINGS]


def _batches(pictures: Sequence[Grey]) -> list[list[int]]:
    """Places of pictures of one width, few enough to run at once."""
    by_width: dict[int, list[int]] = {}
    for place, picture in enumerate(pictures):
        by_width.setdefault(picture.shape[1], []).append(place)
    made = []
    for width, places in by_width.items():
        size = max(1, BATCH_COLUMNS // width)
        made += [places[i : i + size] for i in range(0, len(places), size)]
    return made


Run = Callable[[Real], tuple[Real, Real]]


def _runtime(model: Path, threads: int) -> tuple[Run, dict[str, str]]:
    """Open the model on onnxruntime, or on OpenCV where that is not installed."""
    try:
        import onnxruntime
    except ImportError:
        return _opencv(model), _facts(model)
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = threads
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")  # idle threads would burn a processor
    session = onnxruntime.InferenceSession(str(model), options, providers=["CPUExecutionProvider"])

    def run(pictures: Real) -> tuple[Real, Real]:
        upper, lower = session.run(["upper", "lower"], {"picture": pictures})
        return upper, lower

    return run, dict(session.get_modelmeta().custom_metadata_map)


def _opencv(model: Path) -> Run:
    net, one_at_a_time = cv2.dnn.readNetFromONNX(str(model)), Lock()

    def run(pictures: Real) -> tuple[Real, Real]:
        with one_at_a_time:
            net.setInput(pictures)
            upper, lower = net.forward(["upper", "lower"])
        return np.asarray(upper, np.float32), np.asarray(lower, np.float32)

    return run


def _facts(model: Path) -> dict[str, str]:
    """The metadata written beside the model, for a runtime that does not give it."""
    facts: dict[str, str] = json.loads(model.with_suffix(".json").read_text(encoding="utf-8"))
    return facts
