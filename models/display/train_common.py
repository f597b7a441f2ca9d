"""What both trainings share: the learning rate's course, averaged weights, checkpoints, photometric
changes."""

from __future__ import annotations

import argparse
import copy
import math
from pathlib import Path

import torch
from torch import Tensor, nn


def arguments(description: str, workers: int, batch: int) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=description)
    parser.add_argument("--seconds", type=float, required=True, help="time to train for")
    parser.add_argument("--out", type=Path, required=True, help="folder for the checkpoint")
    parser.add_argument("--resume", type=Path, help="checkpoint to go on from")
    parser.add_argument("--workers", type=int, default=workers, help="processes that make samples")
    parser.add_argument("--batch", type=int, default=batch)
    parser.add_argument("--rate", type=float, default=2e-3, help="highest learning rate")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--capacity", type=int, help="samples kept at once")
    parser.add_argument("--held", type=int, help="samples held back for the figures on the way")
    return parser.parse_args()


def rate_at(share: float, highest: float) -> float:
    """Learning rate after a share of the time: a short rise, then half a cosine."""
    rise = 0.04
    if share < rise:
        return highest * (0.05 + 0.95 * share / rise)
    return highest * (0.5 * (1 + math.cos(math.pi * min(1.0, (share - rise) / (1 - rise)))) + 0.002)


class Averaged:
    """Exponential average of a network's weights and batch statistics."""

    def __init__(self, net: nn.Module, keep: float = 0.9985) -> None:
        self.net = copy.deepcopy(net).eval()
        self.keep, self.steps = keep, 0
        self._mine = [
            value for value in self.net.state_dict().values() if value.dtype.is_floating_point
        ]

    @torch.no_grad()
    def update(self, net: nn.Module) -> None:
        self.steps += 1
        keep = min(self.keep, (1 + self.steps) / (10 + self.steps))
        theirs = [value for value in net.state_dict().values() if value.dtype.is_floating_point]
        torch._foreach_lerp_(self._mine, theirs, 1 - keep)


def photometric(pictures: Tensor) -> Tensor:
    """Cheap changes of colour and noise on (n, 3, h, w) pictures in 0..255, fresh at each use of a
    sample."""
    n = len(pictures)
    device = pictures.device

    def spread(low: float, high: float, channels: int = 1) -> Tensor:
        return torch.rand((n, channels, 1, 1), device=device) * (high - low) + low

    def some(share: float) -> Tensor:
        return (torch.rand((n, 1, 1, 1), device=device) < share).float()

    x = pictures / 255
    order = torch.stack([torch.randperm(3, device=device) for _ in range(8)])[
        torch.randint(8, (n,), device=device)
    ]
    swapped = x.gather(1, order[:, :, None, None].expand_as(x))
    use = some(0.25)
    x = x + use * (swapped - x)
    x = x.clamp(1e-4, 1) ** (1 + some(0.5) * (spread(0.6, 1.6) - 1))
    x = x * (1 + some(0.5) * (spread(0.75, 1.25, 3) - 1)) + some(0.3) * spread(-0.08, 0.12)
    grey = x.mean(1, keepdim=True)
    x = x + some(0.2) * spread(0.2, 1.0) * (grey - x)
    x = x + some(0.06) * (1 - 2 * x)  # negative
    soft = nn.functional.avg_pool2d(x, 3, 1, 1, count_include_pad=False)
    x = x + some(0.15) * spread(0.3, 1.0) * (soft - x)
    x = x + some(0.4) * spread(0, 0.05) * torch.randn_like(x)
    return x.clamp(0, 1.05) * 255


def save(path: Path, net: nn.Module, averaged: Averaged, facts: dict[str, object]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(".part")
    torch.save(
        {"net": net.state_dict(), "averaged": averaged.net.state_dict(), "facts": facts}, part
    )
    part.replace(path)
