"""Puts recorded clips together into training samples of one fixed length, and says what is in
them."""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from .corpus import Utterance
from .hmm import NEVER, Loop, Said
from .lexicon import Pronunciation
from .mfcc import RATE, WARPS
from .phones import GARBAGE, SILENCE, first_pdf, further_pdf

LENGTH = int(4.5 * RATE)
PIECES = 6  # clips in one sample at most
# A group with less than this is drawn more rarely, or its few clips are learnt by heart.
ENOUGH_HOURS = 0.25
MOST_POSITIONS = 128  # phones in one sample at most, variants and pauses counted
NEIGHBOURS = 8  # of one position at most
PAUSE = 0.5  # weight of a pause at a word's edge; the rest goes to none

Integers = NDArray[np.int64]


@dataclass(frozen=True)
class Batch:
    """What to play and what it says, as arrays for B samples.

    Attributes:
        source, length, place: (B, PIECES) first sample in the store, length in the store, place in
            the sample.
        speed: (B,) how much faster the clips are played.
        warp: (B,) indices into WARPS.
        before, after: (B, MOST_POSITIONS, NEIGHBOURS) neighbours in the numerator's graph.
        start, final: (B, MOST_POSITIONS) log weights.
        first, further: (B, MOST_POSITIONS) pdfs.
        cost: (B,) what the denominator charges for just these words; the numerator has no weights
            of its own.
    """

    source: Integers
    length: Integers
    place: Integers
    speed: NDArray[np.float32]
    warp: Integers
    before: Integers
    after: Integers
    start: NDArray[np.float32]
    final: NDArray[np.float32]
    first: Integers
    further: Integers
    cost: NDArray[np.float32]


def with_garbage(words: Sequence[str], lexicon: Mapping[str, object]) -> list[str]:
    """Words with every run of unknown ones replaced by one garbage word."""
    result: list[str] = []
    for word in words:
        known = word if word in lexicon else GARBAGE
        if known != GARBAGE or result[-1:] != [GARBAGE]:
            result.append(known)
    return result


def sample_graph(
    words: Sequence[str], lexicon: Mapping[str, Sequence[Pronunciation]]
) -> tuple[list[str], list[tuple[int, int]], list[int]]:
    """Phones of all positions, arcs (from, to) and end positions of what was said; -1 is the
    virtual start.

    A pause may stand at every word's edge. Every variant of a word is a path of its own.
    """
    phones: list[str] = []
    arcs: list[tuple[int, int]] = []
    exits = [-1]

    def pause() -> None:
        arcs.extend((e, len(phones)) for e in exits)
        exits.append(len(phones))
        phones.append(SILENCE)

    for word in words:
        pause()
        ends = []
        for variant in lexicon[word]:
            arcs.extend((e, len(phones)) for e in exits)
            begin = len(phones)
            phones.extend(variant)
            arcs.extend((p, p + 1) for p in range(begin, len(phones) - 1))
            ends.append(len(phones) - 1)
        exits = ends
    pause()
    return phones, arcs, [e for e in exits if e >= 0]


def loop_graph(
    lexicon: Mapping[str, Sequence[Pronunciation]], weights: Mapping[str, float], device: str
) -> Loop:
    """The denominator: a free loop over the lexicon as a prefix tree, with a pause allowed between
    words.

    `weights` are how often each word is said; a word's weight is shared by its variants.
    """
    children: list[dict[str, int]] = [{}]
    phones = [SILENCE]  # position 0 is the pause; node 0 of the tree is the root
    mass = [0.0]
    end = [0.0]
    for word, variants in lexicon.items():
        for variant in variants:
            weight = weights[word] / len(variants)
            node = 0
            mass[0] += weight
            for phone in variant:
                if phone not in children[node]:
                    children[node][phone] = len(phones)
                    children.append({})
                    phones.append(phone)
                    mass.append(0.0)
                    end.append(0.0)
                node = children[node][phone]
                mass[node] += weight
            end[node] += weight
    parent, weight, root = [0] * len(phones), [0.0] * len(phones), [0.0] * len(phones)
    for child in children[0].values():
        root[child] = mass[child] / mass[0]
    for node in range(1, len(phones)):
        for child in children[node].values():
            parent[child], weight[child] = node, mass[child] / mass[node]
    return Loop(
        torch.tensor(parent, device=device),
        torch.tensor(weight, device=device),
        torch.tensor(root, device=device),
        torch.tensor([e / m for e, m in zip(end, mass, strict=True)], device=device),
        torch.tensor(PAUSE, device=device),
        torch.tensor([first_pdf(p) for p in phones], device=device),
        torch.tensor([further_pdf(p) for p in phones], device=device),
    )


def numerator(batch: Batch, device: str) -> Said:
    """The batch's own graphs, on the device."""
    arrays = (batch.before, batch.after, batch.start, batch.final, batch.first, batch.further)
    return Said(*(torch.from_numpy(array).to(device) for array in arrays))


class Composer:
    """Draws samples.

    Args:
        utterances: by group ("real", "kokoro", ...); starts count in the store that holds all
            sound.
        shares: how often a group is drawn; groups without utterances are left out.
        lexicon: of all known words.
        weights: how often each word is said, as in `loop_graph`.
    """

    def __init__(
        self,
        utterances: Mapping[str, Sequence[Utterance]],
        shares: Mapping[str, float],
        lexicon: Mapping[str, Sequence[Pronunciation]],
        weights: Mapping[str, float],
    ) -> None:
        fits = {g: [u for u in us if u.length < 0.93 * LENGTH] for g, us in utterances.items()}
        self.groups = {g: us for g, us in fits.items() if us and shares.get(g)}
        hours = {g: sum(u.length for u in us) / RATE / 3600 for g, us in self.groups.items()}
        self.shares = [shares[g] * min(1.0, hours[g] / ENOUGH_HOURS) for g in self.groups]
        self.lexicon = lexicon
        total = sum(weights.values())
        self._cost = {
            word: math.log(total * len(lexicon[word]) / weight) for word, weight in weights.items()
        }
        self.speakers: dict[str, list[Utterance]] = {}
        for u in self.groups.get("real", []):
            self.speakers.setdefault(u.voice, []).append(u)

    def _clips(self, rng: random.Random) -> list[Utterance]:
        if rng.random() < 0.04:
            return []
        group = rng.choices(list(self.groups), self.shares)[0]
        if group == "real":
            one = self.speakers[rng.choice(list(self.speakers))]
            count = rng.choice([1, 1, 2, 3, 4, 5])
            clips = [rng.choice(one) for _ in range(count)]
            others = [g for g in self.groups if g != "real"]
            if others and rng.random() < 0.2:  # a real number with a synthetic unit, or the like
                clips.insert(rng.choice([0, count]), rng.choice(self.groups[rng.choice(others)]))
            return clips
        clips = [rng.choice(self.groups[group])]
        while len(clips) < 3 and clips[-1].length < 1.3 * RATE and rng.random() < 0.5:
            clips.append(rng.choice(self.groups[group]))
        return clips

    def _one(self, rng: random.Random) -> tuple[list[tuple[int, int, int]], float, list[str]]:
        """Pieces (source, length, place), speed and words."""
        speed = rng.uniform(0.9, 1.12)
        place = int(RATE * rng.uniform(0.04, 0.6))
        pieces, words = [], []
        for u in self._clips(rng)[:PIECES]:
            end = place + int(u.length / speed)
            if end > LENGTH:
                break
            pieces.append((u.start, u.length, place))
            words += u.words
            longest = 0.12 if rng.random() < 0.5 else 0.5
            place = end + int(RATE * rng.uniform(0.0, longest))
        return pieces, speed, words

    def batch(self, rng: random.Random, size: int) -> Batch:
        """`size` samples that have a sound, known phones and room for them."""
        shape = (size, PIECES)
        source, length, place = (
            np.zeros(shape, np.int64),
            np.zeros(shape, np.int64),
            np.zeros(shape, np.int64),
        )
        plane = (size, MOST_POSITIONS)
        first, further = np.zeros(plane, np.int64), np.zeros(plane, np.int64)
        start, final = np.full(plane, NEVER, np.float32), np.full(plane, NEVER, np.float32)
        before = np.full((*plane, NEIGHBOURS), MOST_POSITIONS, np.int64)
        after = before.copy()
        speed, cost = np.zeros(size, np.float32), np.zeros(size, np.float32)
        row = 0
        while row < size:
            pieces, speed[row], said = self._one(rng)
            words = with_garbage(said, self.lexicon)
            phones, arcs, ends = sample_graph(words, self.lexicon)
            into, out = Counter(b for a, b in arcs if a >= 0), Counter(a for a, b in arcs if a >= 0)
            if (
                len(phones) > MOST_POSITIONS
                or max([*into.values(), *out.values()], default=0) > NEIGHBOURS
            ):
                continue
            for a, b in arcs:
                if a < 0:
                    start[row, b] = 0.0
                else:
                    into[b] -= 1
                    out[a] -= 1
                    before[row, b, into[b]] = a
                    after[row, a, out[a]] = b
            for column, piece in enumerate(pieces):
                source[row, column], length[row, column], place[row, column] = piece
            first[row, : len(phones)] = [first_pdf(p) for p in phones]
            further[row, : len(phones)] = [further_pdf(p) for p in phones]
            final[row, ends] = 0.0
            cost[row] = sum(self._cost[word] for word in words) - (len(words) + 1) * math.log(PAUSE)
            row += 1
        warp = np.array([rng.randrange(len(WARPS)) for _ in range(size)], np.int64)
        return Batch(
            source, length, place, speed, warp, before, after, start, final, first, further, cost
        )


class Batches(torch.utils.data.IterableDataset[Batch]):
    """An endless stream of batches for torch's DataLoader; every worker has its own randomness."""

    def __init__(self, composer: Composer, size: int, seed: int) -> None:
        self.composer, self.size, self.seed = composer, size, seed

    def __iter__(self) -> Iterator[Batch]:
        worker = torch.utils.data.get_worker_info()
        rng = random.Random(self.seed * 1000 + (worker.id if worker else 0))
        while True:
            yield self.composer.batch(rng, self.size)


def play(batch: Batch, store: Tensor) -> Tensor:
    """(B, LENGTH) float32 in [-1, 1]: the batch's clips at their places, each with its own
    loudness.

    `store` holds all recordings end to end as int16 on the device.
    """
    device = store.device
    source, length, place = (
        torch.from_numpy(a).to(device) for a in (batch.source, batch.length, batch.place)
    )
    speed = torch.from_numpy(batch.speed).to(device)[:, None]
    time = torch.arange(LENGTH, device=device)
    sound = torch.zeros(len(source), LENGTH, device=device)
    for piece in range(source.shape[1]):
        if not int(length[:, piece].max()):
            break
        exact = (time - place[:, piece : piece + 1]) * speed
        whole = exact.floor().long()
        inside = (whole >= 0) & (whole < length[:, piece : piece + 1] - 1)
        index = (source[:, piece : piece + 1] + whole).clamp(0, len(store) - 2)
        part = exact - whole
        value = store[index].float() * (1 - part) + store[index + 1].float() * part
        sound += torch.where(inside, value, 0.0)
    return sound / 32768
