"""Training: fresh batches as fast as the processors draw them, older ones again in between, until the time is up."""

import math
import os
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import torch
from torch import Tensor, distributed, nn

from digitize.lettering.training.averaged import BATCHES, RunningMean, measure
from digitize.lettering.training.faces import load
from digitize.lettering.training.net import Network
from digitize.lettering.training.passes import loss_of, recorded
from digitize.lettering.training.source import Source
from digitize.lettering.training.stream import batches

PEAK_RATE = 3e-3
WEIGHT_DECAY = 0.02
WARM_SHARE = 0.06  # of the whole time, rising
WARM_STEPS = 200  # of each run: the optimiser begins without a past
LONGEST_NORM = 5.0
REPORT_STEPS = 500
CLOCK_STEPS = 20  # steps at one learning rate, and from one note of the weights to the next
MEAN_FROM = 0.5  # of a run: the weights written are their mean from there to its end
MOST_CARDS = 64  # keeps the seeds of runs apart
WHOLE = (0.0, 1.0)


@dataclass(frozen=True)
class Run:
    """What one training is to do.

    Attributes
    ----------
    glyphs : Path
        Packed faces.
    seconds : float
    out : Path
        Weights to write (a .pt file).
    start : Path or None
        Weights to go on from.
    seed : int
    part : tuple of float
        The part of the learning rate's cycle that this run goes through, so that a cycle may be spread over runs.
    """

    glyphs: Path
    seconds: float
    out: Path
    start: Path | None = None
    seed: int = 1
    part: tuple[float, float] = WHOLE


def train(run: Run) -> dict[str, Tensor]:
    """Train on every card there is, one process to a card; give the weights.

    Raises
    ------
    RuntimeError
        If some training face was never drawn.
    """
    cards = torch.cuda.device_count()
    os.environ.setdefault("MASTER_ADDR", "127.0.0.1")
    os.environ.setdefault("MASTER_PORT", "29500")
    torch.multiprocessing.spawn(_on_card, (cards, run), cards)
    saved: dict[str, Tensor] = torch.load(run.out, weights_only=True)["net"]
    return saved


def _on_card(card: int, cards: int, run: Run) -> None:
    torch.cuda.set_device(card)
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = True
    workers = max(1, len(os.sched_getaffinity(0)) // cards - 1)
    net = Network().cuda().to(memory_format=torch.channels_last)
    if run.start is not None:
        saved = torch.load(run.start, weights_only=True, map_location="cuda")["net"]
        net.load_state_dict(_grown(saved, net.state_dict()))
    net.train()
    passes = recorded(net)  # before any other thread touches the card, which would spoil the recording
    stream = batches(run.glyphs, run.seed * MOST_CARDS + card, workers)
    distributed.init_process_group("nccl", rank=card, world_size=cards)
    for value in net.state_dict().values():
        distributed.broadcast(value, 0)
    seen: Counter[str] = Counter()
    source = Source(stream, seen)
    mean = _loop(net, passes, source, run)
    if card == 0:
        _keep(_settled(mean, source), run.out)
        missing = {face.name for face in load(run.glyphs) if face.split == "train"} - set(seen)
        if missing:
            raise RuntimeError(f"training faces never drawn: {sorted(missing)}")
    distributed.barrier()
    distributed.destroy_process_group()


def _grown(old: dict[str, Tensor], new: dict[str, Tensor]) -> dict[str, Tensor]:
    """Old weights, with fresh rows for characters that the alphabets have gained at their ends."""
    return {
        key: torch.cat([value.cuda(), new[key][len(value) :]]) if value.dim() else value for key, value in old.items()
    }


def _loop(net: Network, passes: dict[int, nn.Module], source: Source, run: Run) -> RunningMean:
    """Steps on all cards at once until the first card's time is up; gives the mean of the weights at the end."""
    weights = list(net.parameters())
    optimiser = torch.optim.AdamW(weights, lr=PEAK_RATE, weight_decay=WEIGHT_DECAY, betas=(0.9, 0.98), fused=True)
    source.wait()
    begun, step, total = time.monotonic(), 0, torch.zeros((), device="cuda")
    done, mean = torch.zeros((), device="cuda"), RunningMean()
    while True:
        if step % CLOCK_STEPS == 0:  # one clock for all cards: they must step at the same rate and stop together
            done.fill_((time.monotonic() - begun) / run.seconds)
            distributed.broadcast(done, 0)
            share = done.item()
            if share >= MEAN_FROM:
                mean.note(net.state_dict())
            if share >= 1:
                return mean
            place = run.part[0] + (run.part[1] - run.part[0]) * share
            for group in optimiser.param_groups:
                group["lr"] = PEAK_RATE * _rate(place) * min(1.0, step / WARM_STEPS)
        loss = loss_of(passes, source.take())
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        _averaged(weights)
        nn.utils.clip_grad_norm_(weights, LONGEST_NORM)
        optimiser.step()
        total += loss.detach()
        step += 1
        if step % REPORT_STEPS == 0:
            lately, elapsed = total.item() / REPORT_STEPS, share * run.seconds
            print(
                f"{elapsed:5.0f} s  step {step}  fresh {source.fresh} ({source.drawn} crops)  loss {lately:.4f}",
                flush=True,
            )
            total.zero_()
            if distributed.get_rank() == 0:
                _keep(net, run.out)


def _settled(mean: RunningMean, source: Source) -> Network:
    """The network of the mean weights, its normalisations measured on fresh crops."""
    net = mean.network()
    measure(net, (source.take().pictures for _ in range(BATCHES)))
    return net


def _keep(net: Network, target: Path) -> None:
    """Write the weights, now and then too, so that a run which is cut off may be gone on with."""
    whole = target.with_suffix(".part")
    torch.save({"net": net.state_dict()}, whole)
    whole.replace(target)


def _averaged(weights: list[nn.Parameter]) -> None:
    """Bring every card's slopes to their mean."""
    slopes = [weight.grad for weight in weights if weight.grad is not None]
    flat = torch.cat([slope.flatten() for slope in slopes])
    distributed.all_reduce(flat, distributed.ReduceOp.AVG)
    for slope, mean in zip(slopes, flat.split([slope.numel() for slope in slopes]), strict=True):
        slope.copy_(mean.view_as(slope))


def _rate(done: float) -> float:
    """One cycle: a linear rise, then half a cosine to nothing."""
    if done < WARM_SHARE:
        return done / WARM_SHARE
    return 0.5 * (1 + math.cos(math.pi * min(1.0, (done - WARM_SHARE) / (1 - WARM_SHARE))))
