"""Batches for one card: fresh ones as they are drawn, and in between older ones in another hand and exposure."""

import queue
import random
import threading
import time
from collections import Counter
from collections.abc import Iterator

import torch

from digitize.lettering.training.again import seen_again
from digitize.lettering.training.stream import Batch

MOST_KEPT = 8_000  # batches of 6 MB kept on the card for a second look
SEEN_AGAIN = 8  # looks at a batch after the first: the first of a run would else be seen the most, and learnt by heart
FEWEST_KEPT = 50  # batches before older ones are taken again
MOST_WAITING = 64  # batches on the card that have not been seen yet


class Source:
    """Fresh batches when there are any, else an older one, slightly changed, each so often and no more."""

    def __init__(self, stream: Iterator[Batch], seen: Counter[str]) -> None:
        self._queue: queue.Queue[Batch] = queue.Queue(maxsize=MOST_WAITING)
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
