"""Puts recorded clips together into training samples of one length, and says what is in them."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from .corpus import RATE, Utterance
from .mfcc import WARPS
from .phones import INDEX

LENGTHS = (2.4, 3.2, 4.4, 5.6)
"""Seconds of the samples of one batch. Several, so that no net gets used to one."""
PIECES = 6  # clips in one sample at most
# A group with less than this is drawn more rarely, or its few clips are learnt by heart.
ENOUGH_HOURS = 0.5
EMPTY = 0.03  # share of samples in which nobody speaks

Integers = NDArray[np.int64]


@dataclass(frozen=True)
class Batch:
    """What to play and what it says, as arrays for B samples.

    Attributes:
        size: samples of sound in each.
        source, length, place: (B, PIECES) first sample in the store, length in the store, place in
            the sample.
        speed: (B,) how much faster the clips are played.
        warp: (B,) indices into WARPS.
        phones: all numbers of the phones said, one sample behind the other; counts: (B,) how many
            of them are each one's.
    """

    size: int
    source: Integers
    length: Integers
    place: Integers
    speed: NDArray[np.float32]
    warp: Integers
    phones: Integers
    counts: Integers


class Composer:
    """Draws samples.

    Args:
        utterances: by group ("real", "kokoro", ...); starts count in the store that holds all
            sound.
        shares: how often a group is drawn; groups without utterances are left out.
        seconds: sound in one batch: of shorter samples there are more.
    """

    def __init__(
        self,
        utterances: Mapping[str, Sequence[Utterance]],
        shares: Mapping[str, float],
        seconds: float,
    ) -> None:
        self.seconds = seconds
        self.groups = {g: list(us) for g, us in utterances.items() if us and shares.get(g)}
        hours = {g: sum(u.length for u in us) / RATE / 3600 for g, us in self.groups.items()}
        self.shares = [shares[g] * min(1.0, hours[g] / ENOUGH_HOURS) for g in self.groups]
        self.speakers: dict[str, list[Utterance]] = {}
        for u in self.groups.get("real", []):
            self.speakers.setdefault(u.voice, []).append(u)

    def _clips(self, rng: random.Random, room: int) -> list[Utterance]:
        """Clips for one sample, about as many as it has room for."""
        if rng.random() < EMPTY:
            return []
        group = rng.choices(list(self.groups), self.shares)[0]
        if group == "real":
            one = self.speakers[rng.choice(list(self.speakers))]
            clips = [rng.choice(one) for _ in range(rng.choice([1, 2, 3, 4, 5]))]
            others = [g for g in self.groups if g != "real"]
            if others and rng.random() < 0.2:  # a real number with a synthetic unit, or the like
                clips.insert(rng.choice([0, len(clips)]), self._other(rng, others, room))
            return clips
        clips = [self._other(rng, [group], room)]
        while len(clips) < 4 and rng.random() < 0.6:
            clips.append(self._other(rng, [group], room))
        return clips

    def _other(self, rng: random.Random, groups: Sequence[str], room: int) -> Utterance:
        """A clip of one of `groups` that fits into `room`, if one is met soon."""
        clip = rng.choice(self.groups[rng.choice(groups)])
        for _ in range(4):
            if clip.length < 0.9 * room:
                break
            clip = rng.choice(self.groups[rng.choice(groups)])
        return clip

    def batch(self, rng: random.Random) -> Batch:
        seconds = rng.choice(LENGTHS)
        size, room = int(self.seconds / seconds), int(seconds * RATE)
        shape = (size, PIECES)
        source, length, place = (np.zeros(shape, np.int64) for _ in range(3))
        speed = np.array([rng.uniform(0.86, 1.18) for _ in range(size)], np.float32)
        counts = np.zeros(size, np.int64)
        phones: list[int] = []
        for row in range(size):
            at = int(RATE * rng.uniform(0.0, 0.5))
            column = 0
            for u in self._clips(rng, room)[:PIECES]:
                end = at + int(u.length / speed[row])
                if end > room:
                    continue
                source[row, column], length[row, column], place[row, column] = (
                    u.start,
                    u.length,
                    at,
                )
                phones += [INDEX[p] for p in u.phones]
                counts[row] += len(u.phones)
                column += 1
                at = end + int(RATE * rng.uniform(0.0, 0.12 if rng.random() < 0.5 else 0.6))
        warp = np.array([rng.randrange(len(WARPS)) for _ in range(size)], np.int64)
        spoken = np.array(phones, np.int64)
        return Batch(room, source, length, place, speed, warp, spoken, counts)


class Batches(torch.utils.data.IterableDataset[Batch]):
    """An endless stream of batches for torch's DataLoader; every worker has its own randomness."""

    def __init__(self, composer: Composer, seed: int) -> None:
        self.composer, self.seed = composer, seed

    def __iter__(self) -> Iterator[Batch]:
        worker = torch.utils.data.get_worker_info()
        rng = random.Random(self.seed * 1000 + (worker.id if worker else 0))
        while True:
            yield self.composer.batch(rng)


def play(batch: Batch, store: Tensor) -> Tensor:
    """(B, size) float32 in [-1, 1]: the batch's clips at their places.

    `store` holds all recordings end to end as int16 on the device.
    """
    device = store.device
    source, length, place = (
        torch.from_numpy(a).to(device) for a in (batch.source, batch.length, batch.place)
    )
    speed = torch.from_numpy(batch.speed).to(device)[:, None]
    time = torch.arange(batch.size, device=device)
    sound = torch.zeros(len(source), batch.size, device=device)
    for piece in range(int((batch.length > 0).sum(1).max(initial=0))):
        exact = (time - place[:, piece : piece + 1]) * speed
        whole = exact.floor().long()
        inside = (whole >= 0) & (whole < length[:, piece : piece + 1] - 1)
        index = (source[:, piece : piece + 1] + whole).clamp(0, len(store) - 2)
        part = exact - whole
        value = store[index].float() * (1 - part) + store[index + 1].float() * part
        sound += torch.where(inside, value, 0.0)
    return sound / 32768
