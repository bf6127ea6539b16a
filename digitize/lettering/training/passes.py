"""The network's passes over batches, recorded on the card, and what a batch costs: the loss of both outputs."""

import torch
from torch import Tensor, nn

from digitize.lettering.frame import HEIGHT_PX
from digitize.lettering.training.net import Network
from digitize.lettering.training.stream import WIDTHS_PX, Batch, batch_size


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


def recorded(net: Network) -> dict[int, nn.Module]:
    """The network recorded once for each width, since launching its many small steps takes longer than running them."""
    made: dict[int, nn.Module] = {}
    for width in WIDTHS_PX:
        pictures = torch.zeros((batch_size(width), HEIGHT_PX, width), dtype=torch.uint8, device="cuda")
        made[width] = torch.cuda.make_graphed_callables(_Exposed(net), (pictures,))
    return made


def loss_of(passes: dict[int, nn.Module], batch: Batch) -> Tensor:
    upper, lower = passes[batch.pictures.shape[2]](batch.pictures)
    return _ctc(upper, batch.upper, batch.upper_lengths) + _ctc(lower, batch.lower, batch.lower_lengths)


def _ctc(scores: Tensor, targets: Tensor, lengths: Tensor) -> Tensor:
    columns = torch.full((scores.shape[1],), scores.shape[0], dtype=torch.long)
    loss = nn.functional.ctc_loss(scores, targets, columns, lengths, reduction="sum", zero_infinity=True)
    return loss / scores.shape[1]
