"""``python -m digitize.lettering.training``: glyphs, training, rounding, export, calibration, scores, in one go."""

import argparse
import time
from pathlib import Path

from digitize.lettering.network import MODEL, NetworkReader
from digitize.lettering.training import export, faces, heads, rounding, score

CALIBRATION_SEED, TEST_SEED = 7001, 9001


def main() -> None:
    """Run the whole recipe, or one step of it."""
    args = _arguments()
    if args.step in ("pack", "all") and not args.glyphs.exists():
        faces.pack(args.glyphs)
    if args.step == "regrow":
        from digitize.lettering.training.regrown import regrow

        regrow(args.model, args.glyphs, args.weights)
    if args.step in ("train", "all"):
        _train(args)
    if args.step == "heads":
        heads.refit(args.model, args.glyphs, args.seed, args.cases)
        export.add_facts(args.model, {"recipe": export.recipe_hash()})
    if args.step in ("score", "all"):
        _score(args)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m digitize.lettering.training", description=__doc__)
    parser.add_argument("step", nargs="?", default="all", choices=("pack", "regrow", "train", "heads", "score", "all"))
    parser.add_argument("--glyphs", type=Path, default=Path(".train/glyphs.npz"), help="packed faces")
    parser.add_argument("--seconds", type=float, default=540, help="time to train")
    parser.add_argument("--start", type=Path, help="weights to go on from")
    parser.add_argument("--part", type=float, nargs=2, default=(0.0, 1.0), help="part of the learning rate's cycle")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--test-seed", type=int, help="score unseen crops of this seed with the model's own calibration"
    )
    parser.add_argument("--weights", type=Path, default=Path(".train/weights.pt"), help="weights to write")
    parser.add_argument("--model", type=Path, default=MODEL, help="ONNX file to write or to score")
    parser.add_argument(
        "--cases",
        type=int,
        default=20_000,
        help="crops to calibrate on, and again to score, or to fit the output layer to",
    )
    return parser.parse_args()


def _train(args: argparse.Namespace) -> None:
    from digitize.lettering.training.train import Run, train

    run = Run(args.glyphs, args.seconds, args.weights, args.start, args.seed, (args.part[0], args.part[1]))
    state = {key: value.float().cpu().numpy() for key, value in train(run).items()}
    rounding.write(export.folded(state), args.glyphs, args.model, {})


def _score(args: argparse.Namespace) -> None:
    begun = time.monotonic()
    if args.test_seed is not None:
        _score_once(args)
        return
    apart = score.read_split(args.model, args.glyphs, "calibrate", CALIBRATION_SEED, args.cases)
    calibration = score.calibrated(apart)
    accept_at = score.accepting_threshold(apart, calibration)
    facts = {"temperature": calibration.temperature, "ceiling": calibration.ceiling, "accept_at": accept_at}
    export.add_facts(args.model, {key: repr(float(value)) for key, value in facts.items()})
    unseen = score.read_split(args.model, args.glyphs, "test", TEST_SEED, args.cases)
    scores = score.report(unseen, calibration, accept_at)
    score.written(scores, args.model.with_name("scores.json"))
    _tell(scores)
    print(f"scored in {time.monotonic() - begun:.0f} s", flush=True)


def _score_once(args: argparse.Namespace) -> None:
    """Scores of a test split of another seed than `TEST_SEED`, which has been scored after every training."""
    reader = NetworkReader(args.model)
    unseen = score.read_split(args.model, args.glyphs, "test", args.test_seed, args.cases)
    scores = score.report(unseen, reader.calibration, reader.accept_at)
    score.written(scores, args.model.with_name(f"scores-{args.test_seed}.json"))
    _tell(scores)


def _tell(scores: dict[str, object]) -> None:
    for key in ("calibration", "calibration_error", "accept_at", "accepted", "accepted_by_level", "level", "style"):
        print(key, scores[key])
    for key in ("level_kind", "group", "level_group", "face"):
        print(key, scores[key], flush=True)


if __name__ == "__main__":
    main()
