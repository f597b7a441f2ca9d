"""Trains the net: clips are composed, distorted and turned into cepstra on the fly, nothing is
seen twice."""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

import numpy as np
import torch
from torch import Tensor

from .augment import augment
from .compose import Batches, Composer, loop_graph, numerator, play, with_garbage
from .corpus import Utterance, read_shard, shards
from .hmm import sequence_loss
from .lexicon import Pronunciation
from .mfcc import mfcc
from .network import Net, Shape

GROUPS = ("real", "kokoro", "espeak", "flite", "pico")


@dataclass(frozen=True)
class Settings:
    """Everything that decides the outcome, stored in the checkpoint.

    Attributes:
        minutes: length of the training; the learning rate follows the clock.
        batch: samples of 4.5 s a step.
        rate: highest learning rate.
        flat_share: share of the time that is trained by maximum likelihood only.
        flat: weight of maximum likelihood afterwards.
        without: voices left out (to be scored on).
        shares: how often each group of voices is drawn.
    """

    minutes: float = 6.0
    batch: int = 384
    rate: float = 5e-4
    flat_share: float = 0.3
    flat: float = 0.2
    drop: float = 0.05
    seed: int = 1
    workers: int = 3
    rescan: float = 45.0
    without: tuple[str, ...] = ()
    shape: Shape = field(default_factory=Shape)
    shares: Mapping[str, float] = field(
        default_factory=lambda: {
            "real": 0.2,
            "kokoro": 0.5,
            "espeak": 0.16,
            "flite": 0.08,
            "pico": 0.06,
        }
    )


class Store:
    """All recordings on the device, and where each utterance lies."""

    def __init__(self, folder: Path, device: str, without: Sequence[str]) -> None:
        self.folder, self.device, self.without = folder, device, set(without)
        self.sound = torch.zeros(1, dtype=torch.int16, device=device)
        self.groups: dict[str, list[Utterance]] = {group: [] for group in GROUPS}
        self._seen: set[Path] = set()

    def rescan(self) -> bool:
        """Load shards that were finished since the last call; tells whether there were any."""
        new = [path for path in shards(self.folder) if path not in self._seen]
        for path in new:
            self._seen.add(path)
            samples, utterances = read_shard(path)
            base = len(self.sound)
            pcm = torch.from_numpy((samples * 32767).clip(-32768, 32767).astype(np.int16)).to(
                self.device
            )
            self.sound = torch.cat([self.sound, pcm])
            for u in utterances:
                if u.voice not in self.without and u.length:
                    self.groups[u.voice.split("/")[0]].append(
                        Utterance(base + u.start, u.length, u.words, u.voice)
                    )
        return bool(new)

    def hours(self) -> dict[str, float]:
        return {
            g: round(sum(u.length for u in us) / 16000 / 3600, 2) for g, us in self.groups.items()
        }


def word_weights(
    store: Store, lexicon: Mapping[str, object], shares: Mapping[str, float]
) -> dict[str, float]:
    """How often each word is said in what the composer draws; unheard words count a little."""
    weights = dict.fromkeys(lexicon, 2e-4)
    for group, utterances in store.groups.items():
        counts = Counter(w for u in utterances for w in with_garbage(u.words, lexicon))
        total = sum(counts.values())
        for word, count in counts.items():
            weights[word] += shares.get(group, 0.0) * count / total
    return weights


def _first_batch_statistics(net: Net, cepstra: Tensor) -> None:
    flat = cepstra.reshape(-1, cepstra.shape[-1])
    net.shift.copy_(flat.mean(0))
    net.scale.copy_(1 / flat.std(0).clamp_min(1e-3))


def save(path: Path, net: Net, settings: Settings, facts: Mapping[str, object]) -> None:
    """Write a checkpoint; the file appears whole or not at all."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(".part")
    torch.save(
        {"state": net.state_dict(), "settings": asdict(settings), "facts": dict(facts)}, part
    )
    part.replace(path)


def load(path: Path) -> tuple[Net, dict[str, object]]:
    """Net in evaluation mode and the facts stored with it."""
    stored = torch.load(path, map_location="cpu", weights_only=True)
    shape = stored["settings"]["shape"]
    net = Net(
        Shape(shape["width"], shape["bottleneck"], tuple(shape["early"]), tuple(shape["late"]))
    )
    net.load_state_dict(stored["state"])
    return net.eval(), {**stored["facts"], "settings": stored["settings"]}


def train(
    folder: Path,
    out: Path,
    lexicon: Mapping[str, Sequence[Pronunciation]],
    settings: Settings,
    resume: Path | None = None,
) -> Path:
    """Train on the shards under `folder` (new ones are taken up as they appear); gives the
    checkpoint's path.

    With `resume` the weights start from that checkpoint and the maximum likelihood start is
    skipped.
    """
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(settings.seed)
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    generator = torch.Generator(device)
    generator.manual_seed(settings.seed)
    store = Store(folder, device, settings.without)
    store.rescan()
    print("hours of recordings:", store.hours(), flush=True)
    net = load(resume)[0] if resume else Net(settings.shape)
    net = net.to(device).train()
    optimiser = torch.optim.AdamW(
        net.parameters(), lr=settings.rate, weight_decay=1e-3, fused=device == "cuda"
    )
    denominator = loop_graph(lexicon, word_weights(store, lexicon, settings.shares), device)
    print(f"denominator: {len(denominator.root)} positions; device {device}", flush=True)
    began = scanned = saved = time.monotonic()
    step, heard, feed = 0, 0.0, None
    losses: list[Tensor] = []
    excess: list[Tensor] = []  # nats a sample above a net that never errs; the one figure to watch
    while (share := (time.monotonic() - began) / 60 / settings.minutes) < 1:
        if feed is None or (time.monotonic() - scanned > settings.rescan and store.rescan()):
            weights = word_weights(store, lexicon, settings.shares)
            composer = Composer(store.groups, settings.shares, lexicon, weights)
            batches = Batches(composer, settings.batch, settings.seed + step)
            feed = iter(
                torch.utils.data.DataLoader(
                    batches,
                    batch_size=None,
                    num_workers=settings.workers,
                    prefetch_factor=4 if settings.workers else None,
                )
            )
            denominator = loop_graph(lexicon, weights, device)
            if step:
                print(f"step {step}: took up new recordings: {store.hours()}", flush=True)
            scanned = time.monotonic()
        batch = next(feed)
        with torch.no_grad():
            speech = play(batch, store.sound)
            sound = augment(generator, speech, speech.roll(1, 0))
            cepstra = mfcc(sound, torch.from_numpy(batch.warp).to(device))
            if step == 0 and resume is None:
                _first_batch_statistics(net, cepstra)
        rise = min(1.0, (step + 1) / 150)
        for group in optimiser.param_groups:
            group["lr"] = settings.rate * rise * max(0.002, 0.5 * (1 + math.cos(math.pi * share)))
        sharp = 1.0 if resume else min(1.0, max(0.0, (share / settings.flat_share - 1) * 4))
        flat = settings.flat + (1 - settings.flat) * (1 - sharp)
        with torch.autocast(device, torch.bfloat16):
            scores = net(cepstra, settings.drop)
        loss = sequence_loss(scores, numerator(batch, device), denominator, flat=flat, sharp=sharp)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        optimiser.step()
        step += 1
        heard += settings.batch * speech.shape[1] / 16000 / 3600
        losses.append(loss.detach())
        excess.append(loss.detach() * scores.shape[1] + (sharp * float(batch.cost.mean())))
        if step % 20 == 0 or step < 4:
            mean, above = torch.stack(losses).mean().item(), torch.stack(excess).mean().item()
            losses, excess = [], []
            spent = time.monotonic() - began
            print(
                f"step {step} {spent:.0f} s ({100 * share:.0f} %) loss {mean:.4f} "
                f"excess {above:.2f} sharp {sharp:.2f} heard {heard:.0f} h",
                flush=True,
            )
            if time.monotonic() - saved > 20:
                saved = time.monotonic()
                save(out, net, settings, {"step": step, "hours": store.hours(), "heard": heard})
    spent = time.monotonic() - began
    save(
        out,
        net,
        settings,
        {"step": step, "hours": store.hours(), "heard": heard, "seconds": round(spent)},
    )
    print(f"{step} steps, {heard:.0f} h heard, {spent:.0f} s: {out}", flush=True)
    return out
