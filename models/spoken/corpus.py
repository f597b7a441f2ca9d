"""Recordings on disk: many utterances in one sound file, and a line of JSON for each."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE = 16000  # samples a second, everywhere

Samples = NDArray[np.float32]
Clip = tuple[Samples, Iterable[str], str, Iterable[str]]
BLOCK = 1 << 20  # soundfile hands long arrays to the Opus encoder in pieces of this size


@dataclass(frozen=True)
class Utterance:
    """One utterance inside a shard.

    Attributes:
        start, length: in samples at 16 kHz.
        words: what is said.
        voice: engine and voice, "kokoro/af_sky".
        phones: what the voice really says, in ARPAbet.
    """

    start: int
    length: int
    words: tuple[str, ...]
    voice: str
    phones: tuple[str, ...]


def write_shard(path: Path, clips: Iterable[Clip], *, lossless: bool = False) -> float:
    """Write `clips` (samples, words, voice, phones) as `path`.opus or .flac with `path`.jsonl.

    Gives their seconds.

    The index is written last: a shard without one is unfinished and is made again.
    """
    import soundfile

    path.parent.mkdir(parents=True, exist_ok=True)
    lines, start = [], 0
    pieces = []
    for samples, words, voice, phones in clips:
        said = Utterance(start, len(samples), tuple(words), voice, tuple(phones))
        lines.append(json.dumps(asdict(said)))
        start += len(samples)
        pieces.append(samples)
    sound = np.concatenate(pieces) if pieces else np.zeros(1, np.float32)
    kind = {"format": "FLAC"} if lossless else {"format": "OGG", "subtype": "OPUS"}
    with soundfile.SoundFile(
        path.with_suffix(".flac" if lossless else ".opus"),
        "w",
        RATE,
        1,
        compression_level=0.9,
        **kind,
    ) as file:
        for offset in range(0, len(sound), BLOCK):
            file.write(sound[offset : offset + BLOCK])
    path.with_suffix(".jsonl").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return start / RATE


def read_shard(index: Path) -> tuple[Samples, list[Utterance]]:
    """Samples and utterances of the shard whose .jsonl is `index`."""
    import soundfile

    sound = next(
        path for path in (index.with_suffix(".opus"), index.with_suffix(".flac")) if path.exists()
    )
    samples, _ = soundfile.read(sound, dtype="float32")
    rows = [json.loads(line) for line in index.read_text(encoding="utf-8").splitlines()]
    return samples, [
        Utterance(r["start"], r["length"], tuple(r["words"]), r["voice"], tuple(r["phones"]))
        for r in rows
    ]


def shards(folder: Path) -> list[Path]:
    """Indices of all finished shards under `folder`."""
    return sorted(folder.rglob("*.jsonl"))


def clips(folder: Path) -> Iterator[tuple[Samples, Utterance]]:
    """Every utterance under `folder` with its own samples."""
    for index in shards(folder):
        samples, utterances = read_shard(index)
        for u in utterances:
            yield samples[u.start : u.start + u.length], u
