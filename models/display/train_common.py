"""What the trainings share: their options, the learning rate's course, averaged weights,
checkpoints."""

from __future__ import annotations

import argparse
import copy
import math
import time
from pathlib import Path

import torch
from torch import nn


def arguments(description: str, workers: int, batch: int) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=description)
    parser.add_argument("--seconds", type=float, required=True, help="time to train for")
    parser.add_argument("--until", type=float, help="Unix time to end at, whatever --seconds says")
    parser.add_argument("--out", type=Path, required=True, help="folder for the checkpoint")
    parser.add_argument("--resume", type=Path, help="checkpoint to go on from")
    parser.add_argument("--workers", type=int, default=workers, help="processes that make samples")
    parser.add_argument("--batch", type=int, default=batch)
    parser.add_argument("--rate", type=float, default=2e-3, help="highest learning rate")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--capacity", type=int, help="samples kept at once")
    parser.add_argument("--spool", type=Path, help="folder into which others draw the samples")
    parser.add_argument(
        "--done", type=float, default=0.0, help="share of the rate's course that an earlier run did"
    )
    parser.add_argument("--held", type=int, help="samples held back for the figures on the way")
    return parser


def rate_at(share: float, highest: float) -> float:
    """Learning rate after a share of the time: a short rise, then half a cosine."""
    rise = 0.04
    if share < rise:
        return highest * (0.05 + 0.95 * share / rise)
    return highest * (0.5 * (1 + math.cos(math.pi * min(1.0, (share - rise) / (1 - rise)))) + 0.002)


def resume(net: nn.Module, path: Path) -> None:
    """Take over a checkpoint's averaged weights."""
    stored = torch.load(path, map_location="cpu", weights_only=True)["averaged"]
    net.load_state_dict({name: value.float() if value.is_floating_point() else value
                         for name, value in stored.items()})  # fmt: skip


class Course:
    """How far a training is: its share of the time, when to tell and when to save."""

    TELL, SAVE = 15.0, 60.0

    def __init__(self, options: argparse.Namespace) -> None:
        self.start = self._told = self._saved = time.monotonic()
        self.seconds = options.until - time.time() if options.until else options.seconds
        self.done = options.done

    @property
    def elapsed(self) -> float:
        return time.monotonic() - self.start

    @property
    def share(self) -> float:
        return self.done + (1 - self.done) * self.elapsed / self.seconds

    def telling(self) -> bool:
        if time.monotonic() - self._told < self.TELL:
            return False
        self._told = time.monotonic()
        return True

    def saving(self) -> bool:
        if time.monotonic() - self._saved < self.SAVE:
            return False
        self._saved = time.monotonic()
        return True


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


def save(path: Path, averaged: Averaged, facts: dict[str, object]) -> None:
    """Write the averaged weights; whole or not at all."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(".part")
    torch.save({"averaged": averaged.net.state_dict(), "facts": facts}, part)
    part.replace(path)
