"""Whether readings on whole sheets are right as often as their probabilities say.

``python -m tests.bench.posterior FOLDER [FOLDER ...]``: folders that `tests.bench.cache` made. Each found block is
paired with the true lettering that it overlaps most. *Whole* ones hold nearly all of it. Of *cut* ones the finder left
some off, and a part of a figure may be read surely, and rightly as far as it goes: that is no fault of the probability,
but of what is believed afterwards. Printed for each: how many, the share read rightly, the mean probability, the
expected calibration error, and of readings at or above the model's accepting threshold how many there are and how many
are wrong. Surely wrong ones are told one by one.
"""

import argparse
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from digitize.lettering.network import MODEL, NetworkReader
from digitize.lettering.training.score import calibration_error
from tests.bench.cache import kept
from tests.bench.finder import level_quad, pairs_of
from tests.bench.plate_figures import plain

WHOLE_SHARE = 0.85
"""Of the true lettering's area that a block must hold."""


def held_share(block: NDArray[np.float64], truth: NDArray[np.float64]) -> float:
    """Share of the truth's area that lies in the block, both quads of shape (4, 2).

    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> held_share(square, square + (0.25, 0.0))
    0.75
    """
    held = Polygon(truth).convex_hull
    return float(held.intersection(Polygon(block).convex_hull).area / held.area)


def told(tops: Sequence[tuple[float, bool]], accept_at: float) -> str:
    """One line on readings, each its probability and whether it is right."""
    p, right = np.array([top[0] for top in tops]), np.array([top[1] for top in tops])
    taken = right[p >= accept_at]
    return (
        f"{len(tops)} read, right {right.mean():.4f}, mean probability {p.mean():.4f}, "
        f"calibration error {calibration_error(tops):.4f}, accepted {len(taken)}, wrong {np.count_nonzero(~taken)}"
    )


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="posterior", description=__doc__)
    parser.add_argument("folders", type=Path, nargs="+")
    accept_at = NetworkReader(MODEL).accept_at
    tops: dict[str, list[tuple[float, bool]]] = defaultdict(list)
    for folder in parser.parse_args(argv).folders:
        for found in kept(folder):
            texts = [text for text in found.texts if text.readings]
            blocks = [np.array(text.block.quad) for text in texts]
            truths = found.truth["texts"]
            quads = [level_quad(found.sheet, truth["quad_px"]) for truth in truths]
            for i, j in pairs_of(quads, blocks):
                best, said = texts[j].readings[0], truths[i]["text"]
                right = plain(best.text) == plain(said)
                held = "whole" if held_share(blocks[j], quads[i]) > WHOLE_SHARE else "cut"
                kind = "figures" if truths[i]["what"] == "dimension" else "other lettering"
                tops[f"{found.truth['level']} {kind}, {held}"].append((best.probability, right))
                if not right and best.probability >= accept_at:
                    print(f"{found.truth['name']}: {said!r} read {best.text!r} {best.probability:.4f}, {held}")
    for kind, readings in sorted(tops.items()):
        print(f"{kind}: {told(readings, accept_at)}")


if __name__ == "__main__":
    main()
