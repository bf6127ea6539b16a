"""Training: fresh batches as fast as the processors draw them, older ones again in between, until the time is up."""

import math
import os
import queue
import random
import threading
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import torch
from torch import Tensor, nn

from digitize.lettering.frame import HEIGHT_PX
from digitize.lettering.training.again import seen_again
from digitize.lettering.training.faces import load
from digitize.lettering.training.net import Network
from digitize.lettering.training.stream import WIDTHS_PX, Batch, batch_size, batches

PEAK_RATE = 3e-3
WEIGHT_DECAY = 0.02
WARM_SHARE = 0.06  # of the whole time, rising
MOST_KEPT = 8_000  # batches of 6 MB kept on the card for a second look
LONGEST_NORM = 5.0
REPORT_STEPS = 500
WHOLE = (0.0, 1.0)


def train(
    glyphs: Path, seconds: float, out: Path, start: Path | None = None, seed: int = 1, part: tuple[float, float] = WHOLE
) -> Network:
    """Train for ``seconds``; save weights to ``out`` (a .pt file).

    Parameters
    ----------
    glyphs : Path
        Packed faces.
    seconds : float
    out : Path
    start : Path, optional
        Weights to go on from.
    seed : int
    part : tuple of float
        The part of the learning rate's cycle that this run goes through, so that a cycle may be spread over runs.

    Raises
    ------
    RuntimeError
        If some training face was never drawn.
    """
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = True
    net = Network().cuda().to(memory_format=torch.channels_last)
    optimiser = torch.optim.AdamW(
        net.parameters(), lr=PEAK_RATE, weight_decay=WEIGHT_DECAY, betas=(0.9, 0.98), fused=True
    )
    if start is not None:
        net.load_state_dict(_grown(torch.load(start, weights_only=True)["net"], net.state_dict()))
    net.train()
    passes = _recorded(net)  # before any other thread touches the card, which would spoil the recording
    seen: Counter[str] = Counter()
    source = _Source(batches(glyphs, seed, max(1, len(os.sched_getaffinity(0)) - 1)), seen)
    _loop(net, passes, optimiser, source, seconds, part)
    torch.save({"net": net.state_dict()}, out)
    missing = {face.name for face in load(glyphs) if face.split == "train"} - set(seen)
    if missing:
        raise RuntimeError(f"training faces never drawn: {sorted(missing)}")
    return net


def _grown(old: dict[str, Tensor], new: dict[str, Tensor]) -> dict[str, Tensor]:
    """Old weights, with fresh rows for characters that the alphabets have gained at their ends."""
    return {
        key: torch.cat([value.cuda(), new[key][len(value) :]]) if value.dim() else value for key, value in old.items()
    }


def _loop(
    net: Network,
    passes: dict[int, nn.Module],
    optimiser: torch.optim.Optimizer,
    source: "_Source",
    seconds: float,
    part: tuple[float, float],
) -> None:
    begun, step, total = time.monotonic(), 0, torch.zeros((), device="cuda")
    while (elapsed := time.monotonic() - begun) < seconds:
        for group in optimiser.param_groups:
            group["lr"] = PEAK_RATE * _rate(part[0] + (part[1] - part[0]) * elapsed / seconds)
        loss = _loss(passes, source.take())
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), LONGEST_NORM)
        optimiser.step()
        total += loss.detach()
        step += 1
        if step % REPORT_STEPS == 0:
            mean = total.item() / REPORT_STEPS
            print(
                f"{elapsed:5.0f} s  step {step}  fresh {source.fresh} ({source.drawn} crops)  loss {mean:.4f}",
                flush=True,
            )
            total.zero_()


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
    """Fresh batches when there are any, else an older one, slightly changed."""

    def __init__(self, stream: Iterator[Batch], seen: Counter[str]) -> None:
        self._queue: queue.Queue[Batch] = queue.Queue(maxsize=64)
        self._kept: list[Batch] = []
        self._seen = seen
        self.fresh = self.drawn = 0
        threading.Thread(target=self._fill, args=(stream,), daemon=True).start()

    def _fill(self, stream: Iterator[Batch]) -> None:
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

    def take(self) -> Batch:
        """A batch on the card."""
        try:
            batch = self._queue.get(block=len(self._kept) < 50)
        except queue.Empty:
            old = random.choice(self._kept)
            return old._replace(pictures=seen_again(old.pictures))
        self.fresh += 1
        self.drawn += len(batch.pictures)
        self._seen.update(batch.faces)
        if len(self._kept) < MOST_KEPT:
            self._kept.append(batch)
        else:
            self._kept[random.randrange(MOST_KEPT)] = batch
        return batch
