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

from digitize.lettering.training.faces import load
from digitize.lettering.training.net import Network
from digitize.lettering.training.stream import Batch, batches

PEAK_RATE = 3e-3
WEIGHT_DECAY = 0.02
WARM_SHARE = 0.06  # of the whole time, rising
MOST_KEPT = 16_000  # batches of 3 MB kept on the card for a second look
LONGEST_NORM = 5.0
REPORT_STEPS = 500


def train(
    glyphs: Path, seconds: float, out: Path, start: Path | None = None, seed: int = 1, peak: float = PEAK_RATE
) -> Network:
    """Train for ``seconds``; save weights and optimiser to ``out`` (a .pt file).

    Raises
    ------
    RuntimeError
        If some training face was never drawn.
    """
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = True
    net = Network().cuda().to(memory_format=torch.channels_last)
    optimiser = torch.optim.AdamW(net.parameters(), lr=peak, weight_decay=WEIGHT_DECAY, betas=(0.9, 0.98), fused=True)
    if start is not None:
        net.load_state_dict(torch.load(start, weights_only=True)["net"])
    seen: Counter[str] = Counter()
    source = _Source(batches(glyphs, seed, max(1, len(os.sched_getaffinity(0)) - 1)), seen)
    _loop(net, optimiser, source, seconds, peak)
    torch.save({"net": net.state_dict(), "optimiser": optimiser.state_dict()}, out)
    missing = {face.name for face in load(glyphs) if face.split == "train"} - set(seen)
    if missing:
        raise RuntimeError(f"training faces never drawn: {sorted(missing)}")
    return net


def _loop(net: Network, optimiser: torch.optim.Optimizer, source: "_Source", seconds: float, peak: float) -> None:
    begun, step, total = time.monotonic(), 0, torch.zeros((), device="cuda")
    net.train()
    while (elapsed := time.monotonic() - begun) < seconds:
        for group in optimiser.param_groups:
            group["lr"] = peak * _rate(elapsed / seconds)
        loss = _loss(net, source.take())
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


def _loss(net: Network, batch: Batch) -> Tensor:
    pictures = batch.pictures.unsqueeze(1).to(memory_format=torch.channels_last).float() / 255
    with torch.autocast("cuda", torch.bfloat16):
        upper, lower = net(pictures)
    return _ctc(upper, batch.upper, batch.upper_lengths) + _ctc(lower, batch.lower, batch.lower_lengths)


def _ctc(logits: Tensor, targets: Tensor, lengths: Tensor) -> Tensor:
    scores = logits.float().permute(2, 0, 1).log_softmax(2)
    columns = torch.full((scores.shape[1],), scores.shape[0], dtype=torch.long, device="cuda")
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
                moved = Batch(*(t.cuda(non_blocking=True) for t in batch[:5]), batch.faces)
            copying.synchronize()
            self._queue.put(moved)

    def take(self) -> Batch:
        """A batch on the card."""
        try:
            batch = self._queue.get(block=len(self._kept) < 50)
        except queue.Empty:
            return _changed(random.choice(self._kept))
        self.fresh += 1
        self.drawn += len(batch.pictures)
        self._seen.update(batch.faces)
        if len(self._kept) < MOST_KEPT:
            self._kept.append(batch)
        else:
            self._kept[random.randrange(MOST_KEPT)] = batch
        return batch


def _changed(batch: Batch) -> Batch:
    """Another exposure of the same crops: contrast, noise, a shift by a pixel or two."""
    pictures = batch.pictures.float()
    shape = (len(pictures), 1, 1)
    gain = torch.empty(shape, device="cuda").uniform_(0.8, 1.15)
    sigma = torch.empty(shape, device="cuda").uniform_(0, 12)
    pictures = pictures * gain + torch.randn_like(pictures) * sigma
    pictures = torch.roll(pictures, (random.randint(-2, 2), random.randint(0, 3)), (1, 2))
    return batch._replace(pictures=pictures.clamp(0, 255).to(torch.uint8))
