"""Noise for the speech benchmarks: pink noise, and an engine idling beside the technician."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
Samples = NDArray[np.float32]

FRAME = 320
ACTIVE = 1e-3
"""Frames within 30 dB of the loudest count as speech when its level is measured."""


def pink(count: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Equal power an octave above 30 Hz, of unit power; shape (count,)."""
    frequencies = np.fft.rfftfreq(count, 1 / RATE)
    spectrum = rng.standard_normal((2, len(frequencies))).T @ np.array([1, 1j])
    spectrum /= np.sqrt(np.maximum(frequencies, 30))
    return unit(np.fft.irfft(spectrum, count))


def engine(count: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Harmonics of a wandering firing rate of 20 to 45 Hz, beating, in broadband hiss."""
    wander = np.cumsum(rng.standard_normal(count // FRAME + 2))
    wander = np.interp(np.arange(count) / FRAME, np.arange(len(wander)), wander)
    firing = rng.uniform(20, 45) * (1 + 0.01 * np.tanh(wander / 20))
    phase = 2 * np.pi * np.cumsum(firing) / RATE
    tones = np.zeros(count)
    for harmonic in range(1, 70):
        level = rng.uniform(0.4, 1) / harmonic**0.75
        tones += level * np.sin(harmonic * phase + rng.uniform(0, 2 * np.pi))
    beat = 1 + 0.3 * np.sin(phase / 2)
    return unit((0.75 * unit(tones) + 0.66 * pink(count, rng)) * beat)


def unit(noise: NDArray[np.float64]) -> NDArray[np.float64]:
    return noise / np.sqrt(np.mean(noise**2))


def in_noise(speech: Samples, decibels: float | None, seed: int, lead: float = 0.3) -> Samples:
    """Speech with noise so many dB below its active level; None for a clean room's faint hiss.

    lead: s of noise before and after, as a recording has them.
    """
    rng = np.random.default_rng(seed)
    padded = np.pad(speech.astype(np.float64), round(lead * RATE))
    frames = padded[: len(padded) // FRAME * FRAME].reshape(-1, FRAME)
    power = (frames**2).mean(axis=1)
    level = np.sqrt(power[power > power.max() * ACTIVE].mean())
    kind = engine if rng.random() < 0.5 else pink
    ratio = 50.0 if decibels is None else decibels
    mixed = padded + kind(len(padded), rng) * level * 10 ** (-ratio / 20)
    peak = np.abs(mixed).max()
    return (mixed * min(1.0, 0.98 / peak)).astype(np.float32)
