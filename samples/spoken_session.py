"""Speaks the demo's utterances with synthetic voices and lays engine noise under them.

Needs Debian's flite. Nobody's voice is recorded; the sentences are invented.
"""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

RATE = 16_000


def speak(text: str, voice: str, pace: float = 1.05) -> NDArray[np.float64]:
    """One utterance by a flite voice, 16 kHz mono in [-1, 1], without leading silence."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "said.wav"
        stretch = ["--setf", f"duration_stretch={pace}"]
        subprocess.run(
            ["flite", "-voice", voice, *stretch, "-t", text, "-o", str(file)],
            check=True,
            capture_output=True,
        )
        samples, rate = soundfile.read(file)
    samples = soxr.resample(samples, rate, RATE)
    loud = np.flatnonzero(np.abs(samples) > 0.02 * np.abs(samples).max())
    return np.asarray(samples[loud[0] : loud[-1]] * (0.45 / np.abs(samples).max()))


def engine_noise(count: int, random: np.random.Generator) -> NDArray[np.float64]:
    """An idling engine: harmonics of a firing rate that wanders, over pink noise; rms 1."""
    time = np.arange(count) / RATE
    phase = 2 * np.pi * np.cumsum(31 + 0.8 * np.sin(2 * np.pi * 0.6 * time)) / RATE
    hum = sum(np.sin(k * phase + random.uniform(0, 6.3)) / k**0.8 for k in range(1, 40))
    spectrum = np.fft.rfft(random.normal(size=count))
    spectrum[1:] /= np.sqrt(np.arange(1, len(spectrum)))
    pink = np.fft.irfft(spectrum, count)
    mixed = hum / np.std(hum) + pink / np.std(pink)
    return np.asarray(mixed / np.std(mixed))


def session(
    utterances: list[str], voice: str, seed: int, snr_db: float = 22.0
) -> NDArray[np.float64]:
    """Utterances in a row with pauses of 1.0 to 1.8 s, under engine noise at `snr_db`."""
    random = np.random.default_rng(seed)
    parts = [np.zeros(int(0.7 * RATE))]
    for text in utterances:
        parts += [speak(text, voice), np.zeros(int(random.uniform(1.0, 1.8) * RATE))]
    speech = np.concatenate(parts)
    level = np.sqrt(np.mean(speech[np.abs(speech) > 0.02] ** 2)) * 10 ** (-snr_db / 20)
    return np.clip(speech + level * engine_noise(len(speech), random), -1, 1)
