"""Training: fresh batches as fast as the processors draw them, older ones again in between, until the time is up."""

import math
import os
import queue
import random
import threading
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import torch
from torch import Tensor, distributed, nn

from digitize.lettering.frame import HEIGHT_PX
from digitize.lettering.training.again import seen_again
from digitize.lettering.training.averaged import BATCHES, RunningMean, measure
from digitize.lettering.training.faces import load
from digitize.lettering.training.net import Network
from digitize.lettering.training.stream import WIDTHS_PX, Batch, batch_size, batches

PEAK_RATE = 3e-3
WEIGHT_DECAY = 0.02
WARM_SHARE = 0.06  # of the whole time, rising
WARM_STEPS = 200  # of each run: the optimiser begins without a past
MOST_KEPT = 8_000  # batches of 6 MB kept on the card for a second look
SEEN_AGAIN = 8  # looks at a batch after the first: the first of a run would else be seen the most, and learnt by heart
LONGEST_NORM = 5.0
REPORT_STEPS = 500
CLOCK_STEPS = 20  # steps at one learning rate, and from one note of the weights to the next
MEAN_FROM = 0.5  # of a run: the weights written are their mean from there to its end
FEWEST_KEPT = 50  # batches before older ones are taken again
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
    passes = _recorded(net)  # before any other thread touches the card, which would spoil the recording
    stream = batches(run.glyphs, run.seed * MOST_CARDS + card, workers)
    distributed.init_process_group("nccl", rank=card, world_size=cards)
    for value in net.state_dict().values():
        distributed.broadcast(value, 0)
    seen: Counter[str] = Counter()
    source = _Source(stream, seen)
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


def _loop(net: Network, passes: dict[int, nn.Module], source: "_Source", run: Run) -> RunningMean:
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
        loss = _loss(passes, source.take())
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


def _settled(mean: RunningMean, source: "_Source") -> Network:
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


class _Exposed(nn.Module):
    """From pictures (N, 64, W) uint8 to log-probabilities of both outputs, (W / 4, N, classes)."""

    def __init__(self, net: Network) -> None:
        super().__init__()
        self.net = net

    def forward(self, pictures: Tensor) -> tuple[Tensor, Tensor]:
        """In bfloat16, the log-probabilities in float32."""
        grey = pictures.unsqueeze(1).to(memory_format=torch.channels_last).float() / 255
        with torch.autocast("cuda", torch.bfloat16, cache_enabled=False):
            upper, lower = self.net(grey)
        return upper.float().permute(2, 0, 1).log_softmax(2), lower.float().permute(2, 0, 1).log_softmax(2)


def _recorded(net: Network) -> dict[int, nn.Module]:
    """The network recorded once for each width, since launching its many small steps takes longer than running them."""
    made: dict[int, nn.Module] = {}
    for width in WIDTHS_PX:
        pictures = torch.zeros((batch_size(width), HEIGHT_PX, width), dtype=torch.uint8, device="cuda")
        made[width] = torch.cuda.make_graphed_callables(_Exposed(net), (pictures,))
    return made


def _loss(passes: dict[int, nn.Module], batch: Batch) -> Tensor:
    upper, lower = passes[batch.pictures.shape[2]](batch.pictures)
    return _ctc(upper, batch.upper, batch.upper_lengths) + _ctc(lower, batch.lower, batch.lower_lengths)


def _ctc(scores: Tensor, targets: Tensor, lengths: Tensor) -> Tensor:
    columns = torch.full((scores.shape[1],), scores.shape[0], dtype=torch.long)
    loss = nn.functional.ctc_loss(scores, targets, columns, lengths, reduction="sum", zero_infinity=True)
    return loss / scores.shape[1]


class _Source:
    """Fresh batches when there are any, else an older one, slightly changed, each so often and no more."""

    def __init__(self, stream: Iterator[Batch], seen: Counter[str]) -> None:
        self._queue: queue.Queue[Batch] = queue.Queue(maxsize=64)
        self._kept: list[tuple[Batch, int]] = []  # with the times each may still be seen
        self._seen = seen
        self.fresh = self.drawn = 0
        threading.Thread(target=self._fill, args=(stream, torch.cuda.current_device()), daemon=True).start()

    def _fill(self, stream: Iterator[Batch], card: int) -> None:
        torch.cuda.set_device(card)  # each thread has its own
        # A stream of its own: on the common one each copy would wait for all work queued before it.
        copying = torch.cuda.Stream()
        for batch in stream:
            with torch.cuda.stream(copying):
                # Lengths stay behind: the loss wants them on the processor's side.
                moved = batch._replace(
                    **{k: getattr(batch, k).cuda(non_blocking=True) for k in ("pictures", "upper", "lower")}
                )
            copying.synchronize()
            self._queue.put(moved)

    def wait(self) -> None:
        """Until there are some batches to begin with."""
        while self._queue.qsize() < FEWEST_KEPT:
            time.sleep(0.1)

    def take(self) -> Batch:
        """A batch on the card."""
        try:
            batch = self._queue.get(block=len(self._kept) < FEWEST_KEPT)
        except queue.Empty:
            return self._again()
        self.fresh += 1
        self.drawn += len(batch.pictures)
        self._seen.update(batch.faces)
        if len(self._kept) < MOST_KEPT:
            self._kept.append((batch, SEEN_AGAIN))
        return batch

    def _again(self) -> Batch:
        place = random.randrange(len(self._kept))
        batch, left = self._kept[place]
        if left > 1:
            self._kept[place] = (batch, left - 1)
        else:
            self._kept[place] = self._kept[-1]
            self._kept.pop()
        return batch._replace(pictures=seen_again(batch.pictures))
