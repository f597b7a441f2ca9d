"""Sound files brought to the engines' form: 16 kHz, mono, float32."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from fieldnote.errors import BadInputError
from fieldnote.speech.engine import SAMPLE_RATE

Samples = NDArray[np.float32]

SLOWEST, FASTEST = 8_000, 192_000
"""Hz; below 8 kHz the consonants that tell thirteen from thirty are gone."""

BLOCK_SECONDS = 0.5

OPEN_ENDED = 0x7FFFF000
"""Programs that write WAV into a pipe can't know its length and promise this or more."""

SILENT = 10 ** (-70 / 20)
LOW = 10 ** (-45 / 20)
"""Peak of full scale: below SILENT is a closed microphone, below LOW one that is far away."""

CLIPPED = 0.999
CLIPPED_SHARE = 0.001
"""A sound is called clipped when this share of its samples stands at full scale."""


@dataclass(frozen=True, slots=True)
class Sound:
    """A whole sound file. samples: shape (n,), 16 kHz mono in [-1, 1]; warnings: for a person."""

    samples: Samples
    warnings: tuple[str, ...] = ()

    @property
    def seconds(self) -> float:
        return len(self.samples) / SAMPLE_RATE


def read_sound(path: Path | str) -> Sound:
    """The whole file at once; ``blocks`` is the way for long ones.

    Raises:
        BadInputError: no such file, no sound in it, cut off, or no sound file at all.
    """
    parts = list(blocks(path))
    samples = np.concatenate(parts) if parts else np.zeros(0, np.float32)
    return Sound(samples, level_warnings(samples))


def length(path: Path | str) -> float:
    """Seconds of sound in a file that `blocks` has read."""
    facts = soundfile.info(path)
    return round(float(facts.frames / facts.samplerate), 2)


def clip_bytes(samples: Samples) -> bytes:
    """The samples as a FLAC file: 16 kHz, mono, 16 bits."""
    file = io.BytesIO()
    soundfile.write(file, samples, SAMPLE_RATE, format="FLAC", subtype="PCM_16")
    return file.getvalue()


def blocks(path: Path | str) -> Iterator[Samples]:
    """The file piece by piece, so that an hour of it needs no more memory than a second.

    Raises:
        BadInputError: as `read_sound`; also when the file is cut off.
    """
    path = Path(path)
    if path.is_dir():
        raise BadInputError(f"{path}: this is a folder.", "Name the recordings in it.")
    if not path.is_file():
        raise BadInputError(f"{path}: there is no such file.", "Check the name and the folder.")
    if path.stat().st_size == 0:
        raise BadInputError(f"{path}: the file is empty.", "Record it again.")
    refuse_cut_off(path)
    try:
        with soundfile.SoundFile(path) as file:
            yield from resampled(path, file)
    except soundfile.LibsndfileError as fault:
        raise BadInputError(
            f"{path}: this is no sound file that can be read ({fault.error_string.rstrip('.')}).",
            "WAV and FLAC are read, 8 to 192 kHz, mono or stereo.",
        ) from fault


def resampled(
    name: Path | str, file: soundfile.SoundFile, seconds: float = BLOCK_SECONDS
) -> Iterator[Samples]:
    """An opened file or stream in blocks of so many seconds. name: what messages call it."""
    rate = file.samplerate
    if not SLOWEST <= rate <= FASTEST:
        raise BadInputError(
            f"{name}: {rate} samples a second is outside {SLOWEST} to {FASTEST}.",
            "Record at 16 kHz or more.",
        )
    if file.frames == 0:
        raise BadInputError(f"{name}: there is no sound in this file.", "Record it again.")
    resampler = soxr.ResampleStream(rate, SAMPLE_RATE, 1, dtype="float32")
    while len(block := file.read(int(rate * seconds), dtype="float32", always_2d=True)):
        yield np.clip(resampler.resample_chunk(mono(name, np.asarray(block, np.float32))), -1, 1)
    yield np.clip(resampler.resample_chunk(np.zeros(0, np.float32), last=True), -1, 1)


def refuse_cut_off(path: Path) -> None:
    """A WAV that promises more sound than it has was cut off; libsndfile reads it as if whole."""
    with path.open("rb") as file:
        if file.read(4) != b"RIFF" or file.read(8)[4:] != b"WAVE":
            return
        while len(head := file.read(8)) == 8:
            size = int.from_bytes(head[4:], "little")
            if head[:4] == b"data":
                there = path.stat().st_size - file.tell()
                if there < size < OPEN_ENDED:
                    raise BadInputError(
                        f"{path}: the file is cut off; {there} of {size} bytes of sound are there.",
                        "Record or copy it again.",
                    )
                return
            file.seek(size + size % 2, 1)


def mono(name: Path | str, block: NDArray[np.float32]) -> Samples:
    """Channels averaged; shape (n, channels) to (n,)."""
    samples: Samples = block.mean(axis=1)
    if not np.isfinite(samples).all():
        raise BadInputError(f"{name}: there are values in it that are no sound (NaN or infinite).")
    return samples


def is_silence(samples: Samples) -> bool:
    return not len(samples) or float(np.abs(samples).max()) < SILENT


def level_warnings(samples: Samples) -> tuple[str, ...]:
    """What a person should know of the level: silence, hardly any signal, clipping."""
    if is_silence(samples):
        return ("silence: nothing but silence was recorded; is the microphone switched on?",)
    if float(np.abs(samples).max()) < LOW:
        return ("low level: the sound is very faint; hold the microphone nearer",)
    if float((np.abs(samples) >= CLIPPED).mean()) > CLIPPED_SHARE:
        return ("clipping: the sound is overdriven; hold the microphone farther off",)
    return ()
