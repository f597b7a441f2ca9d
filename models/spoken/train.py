"""Trains both nets by connectionist temporal classification (Graves et al. 2006).

Clips are composed and distorted on the fly, nothing is heard twice alike. `tdnn` is the net for
vosk, `conformer` the one of the engine "readings".
"""

from __future__ import annotations

import copy
import math
import time
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn

from .augment import augment
from .compose import Batch, Batches, Composer, play
from .conformer import SIZES, Conformer, Size
from .corpus import Utterance, read_shard, shards
from .exam import Exam
from .mfcc import COEFFICIENTS, mfcc
from .network import Net, Shape

GROUPS = ("real", "kokoro", "espeak", "flite", "pico", "rhvoice")
MIDDLE_SHARE = 0.3  # weight of the loss in the middle of the conformer
EXAM_SECONDS = 110.0  # from one exam to the next: it takes some seconds itself
MEMORY = 0.999  # of the running mean of the weights, which is what is kept


@dataclass(frozen=True)
class Settings:
    """Everything that decides the outcome, stored in the checkpoint.

    Attributes:
        net: tdnn, conformer or witness.
        minutes: length of the training; the learning rate follows the clock.
        rate: highest learning rate.
        seconds: sound in one batch.
        easy_share: share of the time in which the noise rises to its full range.
        without: voices left out (to be scored on).
        shares: how often each group of voices is drawn.
        admit: share of the time after which they are trained on too. What is stored just before
            that has ".before" in its name, and can be scored on them.
    """

    net: str = "tdnn"
    minutes: float = 6.0
    rate: float = 1e-3
    seconds: float = 1000.0
    easy_share: float = 0.2
    seed: int = 1
    workers: int = 3
    rescan: float = 45.0
    without: tuple[str, ...] = ()
    admit: float = 1.0
    shares: Mapping[str, float] = field(
        default_factory=lambda: {
            "real": 0.12,
            "kokoro": 0.46,
            "espeak": 0.2,
            "flite": 0.07,
            "pico": 0.05,
            "rhvoice": 0.1,
        }
    )


class Store:
    """All recordings on the device, and where each utterance lies."""

    def __init__(self, folder: Path, device: str, without: Sequence[str]) -> None:
        self.folder, self.device, self.without = folder, device, set(without)
        self.sound = torch.zeros(1, dtype=torch.int16, device=device)
        self.groups: dict[str, list[Utterance]] = {group: [] for group in GROUPS}
        self._seen: set[Path] = set()
        self._kept_out: list[Utterance] = []

    def rescan(self) -> bool:
        """Load shards that were finished since the last call; tells whether there were any."""
        new = [path for path in shards(self.folder) if path not in self._seen]
        parts = [self.sound]
        base = len(self.sound)
        for path in new:
            self._seen.add(path)
            samples, utterances = read_shard(path)
            parts.append(torch.from_numpy((samples * 32767).clip(-32768, 32767).astype(np.int16)))
            for u in utterances:
                if u.length and possible(u):
                    moved = Utterance(base + u.start, u.length, u.words, u.voice, u.phones)
                    out = u.voice in self.without
                    (self._kept_out if out else self.groups[u.voice.split("/")[0]]).append(moved)
            base += len(samples)
        self.sound = torch.cat([part.to(self.device) for part in parts])
        return bool(new)

    def admit(self) -> None:
        """From now on the voices that were left out count too."""
        for u in self._kept_out:
            self.groups[u.voice.split("/")[0]].append(u)
        self._kept_out, self.without = [], set()

    def hours(self) -> dict[str, float]:
        return {
            g: round(sum(u.length for u in us) / 16000 / 3600, 2) for g, us in self.groups.items()
        }


def possible(utterance: Utterance) -> bool:
    """Whether so many phones can be said in the time: 25 a second are more than anybody says."""
    return 0 < len(utterance.phones) < 25 * (utterance.length / 16000 + 0.1)


def save(path: Path, net: nn.Module, settings: Settings, facts: Mapping[str, object]) -> None:
    """Write a checkpoint (16-bit weights); the file appears whole or not at all."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(".part")
    shape = asdict(net.shape if isinstance(net, Net) else net.size)  # type: ignore[call-overload]
    state = {k: v.half() if v.is_floating_point() else v for k, v in net.state_dict().items()}
    stored = {"state": state, "shape": shape, "settings": asdict(settings), "facts": dict(facts)}
    torch.save(stored, part)
    part.replace(path)


def load(path: Path) -> tuple[Net | Conformer, dict[str, object]]:
    """Net in evaluation mode and the facts stored with it."""
    stored = torch.load(path, map_location="cpu", weights_only=True)
    net: Net | Conformer
    if stored["settings"]["net"] == "tdnn":
        shape = stored["shape"]
        early, late = tuple(shape["early"]), tuple(shape["late"])
        net = Net(Shape(shape["width"], shape["bottleneck"], early, late))
    else:
        net = Conformer(Size(**stored["shape"]))
    net.load_state_dict({k: v.float() for k, v in stored["state"].items()})
    return net.eval(), {**stored["facts"], "settings": stored["settings"]}


def masks(generator: torch.Generator, batch: int, bands: int, frames: int) -> Tensor:
    """(B, bands, frames): two runs of bands and three of frames are hidden (SpecAugment)."""
    widest_bands = bands * 3 // 20
    device = generator.device
    mask = torch.ones(batch, bands, frames, device=device)
    for axis, count, widest in ((1, 2, widest_bands), (2, 3, 18)):
        places = torch.arange(mask.shape[axis], device=device)
        for _ in range(count):
            width = torch.randint(0, widest, (batch, 1), generator=generator, device=device)
            start = torch.rand((batch, 1), generator=generator, device=device) * len(places)
            kept = ((places < start) | (places >= start + width)).float()
            mask = mask * (kept[:, :, None] if axis == 1 else kept[:, None, :])
    return mask


class Trainer:
    """A net, its optimiser and the running mean of its weights."""

    def __init__(self, settings: Settings, device: str, resume: Path | None) -> None:
        fresh: Net | Conformer
        fresh = Net() if settings.net == "tdnn" else Conformer(SIZES[settings.net])
        self.net = (load(resume)[0] if resume else fresh).to(device).train()
        self.mean = copy.deepcopy(self.net)
        self.settings, self.device, self.step = settings, device, 0
        self.resumed = resume is not None
        self.generator = torch.Generator(device)
        self.generator.manual_seed(settings.seed)
        self.optimiser = torch.optim.AdamW(
            self.net.parameters(),
            lr=settings.rate,
            betas=(0.9, 0.98),
            weight_decay=1e-2,
            fused=device == "cuda",
        )

    def learn(self, batch: Batch, store: Tensor, share: float) -> Tensor:
        """One step; gives the loss of each phone said."""
        device, settings = self.device, self.settings
        with torch.no_grad():
            speech = play(batch, store)
            hard = 1.0 if self.resumed else min(1.0, share / settings.easy_share)
            sound = augment(self.generator, speech, speech.roll(1, 0), hard)
        phones, counts = (torch.from_numpy(a).to(device) for a in (batch.phones, batch.counts))
        rise = min(1.0, (self.step + 1) / 400)
        rate = settings.rate * rise * max(0.01, 0.5 * (1 + math.cos(math.pi * share)))
        for group in self.optimiser.param_groups:
            group["lr"] = rate
        warp = torch.from_numpy(batch.warp).to(device)
        with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
            if isinstance(self.net, Net):
                mask = masks(
                    self.generator, len(sound), COEFFICIENTS, 1 + (batch.size - 400) // 160
                )
                cepstra = mfcc(sound, warp, mask)
                if self.step == 0 and not self.resumed:
                    self._whiten(cepstra)
                outputs = [(1.0, self.net(cepstra, 0.05))]
            else:
                bands = self.net.size.bands
                mask = masks(self.generator, len(sound), bands, batch.size // 160 + 1)
                last, middle = self.net.both(sound / 32768, mask, warp)
                outputs = [(1.0, last), (MIDDLE_SHARE, middle)]
        losses = [(weight, self._loss(scores, phones, counts)) for weight, scores in outputs]
        loss = sum((w * one for w, one in losses), torch.zeros((), device=device))
        self.optimiser.zero_grad(set_to_none=True)
        loss.backward()  # type: ignore[no-untyped-call]
        torch.nn.utils.clip_grad_norm_(self.net.parameters(), 1.0)
        self.optimiser.step()
        self.step += 1
        self._remember()
        return losses[0][1].detach()

    def _loss(self, scores: Tensor, phones: Tensor, counts: Tensor) -> Tensor:
        lengths = torch.full_like(counts, scores.shape[1])
        each = nn.functional.ctc_loss(
            scores.transpose(0, 1), phones, lengths, counts, reduction="none", zero_infinity=True
        )
        return each.sum() / counts.sum()

    def _whiten(self, cepstra: Tensor) -> None:
        flat = cepstra.reshape(-1, cepstra.shape[-1])
        for net in (self.net, self.mean):
            assert isinstance(net, Net)
            net.shift.copy_(flat.mean(0))
            net.scale.copy_(1 / flat.std(0).clamp_min(1e-3))

    @torch.no_grad()
    def _remember(self) -> None:
        keep = min(MEMORY, (1 + self.step) / (20 + self.step))
        ours, theirs = list(self.mean.parameters()), list(self.net.parameters())
        torch._foreach_lerp_(ours, theirs, 1 - keep)
        for mine, its in zip(self.mean.buffers(), self.net.buffers(), strict=True):
            if mine.is_floating_point():
                mine.lerp_(its, 1 - keep)


def train(
    folder: Path,
    out: Path,
    settings: Settings,
    resume: Path | None = None,
    exam: Path | None = None,
) -> Path:
    """Train on the shards under `folder` (new ones are taken up as they appear).

    Gives the checkpoint's path; `exam` is a folder of shards to tell the error on, `resume` a
    checkpoint to go on from.
    """
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(settings.seed)
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    store = Store(folder, device, settings.without)
    store.rescan()
    print("hours of recordings:", store.hours(), "on", device, flush=True)
    trainer = Trainer(settings, device, resume)
    print(f"{sum(p.numel() for p in trainer.net.parameters()) / 1e6:.2f} million weights")
    test = Exam(exam, device) if exam and shards(exam) else None
    began = scanned = told = examined = time.monotonic()
    heard, feed, losses = 0.0, None, []
    while (share := (time.monotonic() - began) / 60 / settings.minutes) < 1:
        if store.without and share > settings.admit:
            save(out.with_suffix(".before.pt"), trainer.mean, settings, {"steps": trainer.step})
            store.admit()
            feed = None
        if feed is None or (time.monotonic() - scanned > settings.rescan and store.rescan()):
            batches = Batches(
                Composer(store.groups, settings.shares, settings.seconds),
                settings.seed + trainer.step,
            )
            feed = iter(
                torch.utils.data.DataLoader(
                    batches,
                    batch_size=None,
                    num_workers=settings.workers,
                    prefetch_factor=4 if settings.workers else None,
                )
            )
            scanned = time.monotonic()
        batch = next(feed)
        losses.append(trainer.learn(batch, store.sound, share))
        heard += len(batch.source) * batch.size / 16000 / 3600
        if trainer.step in (1, 10, 50) or time.monotonic() - told > 20:
            told = time.monotonic()
            mean = torch.stack(losses).mean().item()
            losses = []
            report = f"{trainer.step} steps, {told - began:.0f} s, loss {mean:.3f} a phone"
            if test and told - examined > EXAM_SECONDS:
                examined = told
                report += f", phone errors % {test.errors(trainer.mean)}"
            print(report, f"heard {heard:.0f} h, stored {store.hours()}", flush=True)
            save(out, trainer.mean, settings, {"steps": trainer.step, "hours": store.hours()})
    spent = round(time.monotonic() - began)
    facts = {"steps": trainer.step, "hours": store.hours(), "heard": heard, "seconds": spent}
    save(out, trainer.mean, settings, facts)
    print(f"{trainer.step} steps, {heard:.0f} h heard, {spent} s: {out}", flush=True)
    return out
