"""Scores of a model on faces and hands that training never saw, and its calibration on a split of its own."""

import json
import os
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from multiprocessing import get_context
from operator import attrgetter
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from scipy.stats import beta

from digitize.lettering.meaning.spelling import one_spelling, without_idle_spaces
from digitize.lettering.network import Calibration, NetworkReader
from digitize.lettering.training.draw import sample, split_faces
from digitize.lettering.training.faces import load

CHUNK = 250
TEMPERATURES = np.geomspace(0.5, 4.0, 61)
SAID = 0.5
SURE = 0.999
THRESHOLDS = (0.5, 0.9, 0.97, 0.99, 0.995, 0.998, 0.999, 0.9995, 0.9998)
WRONG_SHARE = 1e-3  # the most that may be wrong among accepted readings
BINS = 15


@dataclass(frozen=True)
class Case:
    """One crop's truth and the raw probabilities of the strings found in it."""

    text: str
    style: str
    group: str
    face: str
    level: str
    raw: dict[str, float]


def read_split(model: Path, glyphs: Path, split: str, seed: int, count: int, level: str | None = None) -> list[Case]:
    """Draw ``count`` crops of a split and read them, on all processors."""
    chunks = range(-(-count // CHUNK))
    fresh = get_context("spawn")  # a forked process would inherit the card's state
    with ProcessPoolExecutor(os.cpu_count(), fresh, initializer=_open, initargs=(model, glyphs, split, level)) as pool:
        return [case for cases in pool.map(_read_chunk, ((seed, chunk) for chunk in chunks)) for case in cases]


def calibrated(cases: Sequence[Case]) -> Calibration:
    """Temperature of least loss, then the ceiling from the surest readings, counted pessimistically.

    Only readings that are likelier than all others together tell the temperature. What is less likely decides nothing
    later on, and there is so much more to lose by it that it would set the temperature for all.
    """
    said = [case for case in cases if max(case.raw.values(), default=0.0) >= SAID]
    temperature = min(TEMPERATURES, key=lambda t: _loss(said, Calibration(float(t))))
    trial = Calibration(float(temperature))
    tops = [(p, right) for p, right in _tops(cases, trial) if p > SURE]
    wrong = sum(not right for _, right in tops)
    return Calibration(float(temperature), 1.0 - (wrong + 1) / (len(tops) + 2))


def accepting_threshold(cases: Sequence[Case], calibration: Calibration) -> float:
    """Lowest probability above which at most `WRONG_SHARE` of readings are wrong, counting two more than are seen."""
    tops = sorted(_tops(cases, calibration), reverse=True)
    wrong, threshold = 2, 1.0
    for count, (p, right) in enumerate(tops, start=1):
        wrong += not right
        if wrong / count <= WRONG_SHARE:
            threshold = p
    return threshold


def report(cases: Sequence[Case], calibration: Calibration, accept_at: float) -> dict[str, object]:
    """All scores as plain values; ``accept_at`` is the threshold fixed on another split."""
    tops = _tops(cases, calibration)
    return {
        "count": len(cases),
        "calibration": asdict(calibration),
        "calibration_error": calibration_error(tops),
        "thresholds": {str(t): _accepted(tops, t) for t in THRESHOLDS},
        "accept_at": accept_at,
        "accepted": _accepted(tops, accept_at),
        "accepted_by_level": _accepted_by(cases, calibration, accept_at, "level"),
        "accepted_by_style": _accepted_by(cases, calibration, accept_at, "style"),
        **{key: _exact_by(cases, calibration, attrgetter(key)) for key in ("level", "style", "group", "face")},
        "level_style": _exact_by(cases, calibration, lambda c: f"{c.level} {c.style}"),
        "level_group": _exact_by(cases, calibration, lambda c: f"{c.level} {c.group}"),
        "level_kind": _exact_by(cases, calibration, lambda c: f"{c.level} {_KINDS.get(c.group, 'lettering')}"),
    }


def written(report_: dict[str, object], target: Path) -> None:
    """Keep scores as JSON."""
    target.write_text(json.dumps(report_, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def _open(model: Path, glyphs: Path, split: str, level: str | None) -> None:
    cv2.setNumThreads(1)
    _STATE["reader"] = NetworkReader(model, threads=1)
    _STATE["faces"] = split_faces(load(glyphs), split)
    _STATE["level"] = level


def _read_chunk(job: tuple[int, int]) -> list[Case]:
    rng = np.random.default_rng([*job, 77])
    drawn = [sample(rng, _STATE["faces"], _STATE["level"]) for _ in range(CHUNK)]
    raws = _STATE["reader"].raw([s.crop for s in drawn], [s.layout for s in drawn])
    texts = [one_spelling(s.phrase.text) for s in drawn]
    return [
        Case(text, s.phrase.style, s.group, s.face, s.level, raw)
        for text, s, raw in zip(texts, drawn, raws, strict=True)
    ]


_STATE: dict[str, Any] = {}


_KINDS = {"hand": "handwriting", "none": "none"}
"""What is no technical lettering: faces made after handwriting, and crops of nothing written."""


def _ranked(case: Case, calibration: Calibration) -> list[tuple[str, float]]:
    return sorted(calibration.applied(case.raw).items(), key=lambda item: -item[1])


def _tops(cases: Iterable[Case], calibration: Calibration) -> list[tuple[float, bool]]:
    """Probability of each best reading and whether it is right; rejected crops have none."""
    made = []
    for case in cases:
        ranked = _ranked(case, calibration)
        if ranked and ranked[0][0]:
            made.append((ranked[0][1], ranked[0][0] == case.text))
    return made


def _loss(cases: Sequence[Case], calibration: Calibration) -> float:
    """Mean of the negative logarithm of the truth's calibrated probability."""
    least = 1e-9
    return -float(np.mean([np.log(max(least, calibration.applied(c.raw).get(c.text, 0.0))) for c in cases]))


def calibration_error(tops: Sequence[tuple[float, bool]]) -> float:
    """Mean distance of the probabilities told from the shares that are right, over `BINS` classes of probability."""
    p, right = np.array([t[0] for t in tops]), np.array([t[1] for t in tops], float)
    places = np.minimum((p * BINS).astype(int), BINS - 1)
    gaps = [abs(p[places == b].mean() - right[places == b].mean()) * (places == b).mean() for b in set(places)]
    return float(sum(gaps))


def _accepted(tops: Sequence[tuple[float, bool]], threshold: float) -> dict[str, float]:
    """Share and count of accepted readings, and how many are wrong, with the upper end of the 95 % interval of
    Clopper and Pearson."""
    taken = [right for p, right in tops if p >= threshold]
    wrong = sum(not right for right in taken)
    return {
        "accepted": len(taken) / max(1, len(tops)),
        "wrong": wrong,
        "wrong_share": wrong / max(1, len(taken)),
        "wrong_share_at_most": float(beta.ppf(0.975, wrong + 1, len(taken) - wrong)) if wrong < len(taken) else 1.0,
        "of": len(taken),
    }


def _accepted_by(
    cases: Sequence[Case], calibration: Calibration, threshold: float, key: str
) -> dict[str, dict[str, float]]:
    groups = _grouped(cases, attrgetter(key))
    return {name: _accepted(_tops(part, calibration), threshold) for name, part in groups}


def _grouped(cases: Iterable[Case], key: Callable[[Case], str]) -> list[tuple[str, list[Case]]]:
    groups: dict[str, list[Case]] = {}
    for case in cases:
        groups.setdefault(key(case), []).append(case)
    return sorted(groups.items())


def _exact_by(
    cases: Sequence[Case], calibration: Calibration, key: Callable[[Case], str]
) -> dict[str, dict[str, float]]:
    made = {}
    for name, part in _grouped(cases, key):
        ranked = [(c.text, [text for text, _ in _ranked(c, calibration)][:5] or [""]) for c in part]
        exact = sum(texts[0] == truth for truth, texts in ranked) / len(part)
        among = sum(truth in texts for truth, texts in ranked) / len(part)
        but_spaces = sum(without_idle_spaces(texts[0]) == without_idle_spaces(truth) for truth, texts in ranked) / len(
            part
        )
        made[name] = {
            "count": len(part),
            "exact": round(exact, 4),
            "exact_but_idle_spaces": round(but_spaces, 4),
            "among_five": round(among, 4),
        }
    return made
