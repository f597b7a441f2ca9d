"""Rooms, microphones, machines and telephone lines, for a whole batch on the GPU.

Every number here is a range to draw from, chosen to be wider than what a workshop brings. Nothing
is recorded: noises and rooms are made from random numbers.
"""

from __future__ import annotations

import math

import torch
from torch import Tensor

from .mfcc import RATE

FULL_SCALE = 32768.0
SILENT_SHARE = 0.08  # samples left without any noise, down to digital zero
NOISE_FLOOR_DB = (-1.0, 32.0)
GENTLE_DB = 20.0  # what is added to the lower end of the range at the very start
TELEPHONE_SHARE = 0.25
ROOM_SHARE = 0.4
ENGINE_SHARE = 0.35
PULSE_SHARE = 0.25


def uniform(generator: torch.Generator, shape: tuple[int, ...], low: float, high: float) -> Tensor:
    """Random numbers on the generator's device."""
    return low + (high - low) * torch.rand(shape, generator=generator, device=generator.device)


def chance(generator: torch.Generator, batch: int, share: float) -> Tensor:
    """(B, 1) of ones and zeros."""
    return (torch.rand((batch, 1), generator=generator, device=generator.device) < share).float()


def _smooth_curve(
    generator: torch.Generator, batch: int, points: int, size: int, spread_db: float
) -> Tensor:
    """(B, size) gains: `points` random levels, joined by straight lines in dB."""
    knots = (
        torch.randn((batch, 1, points), generator=generator, device=generator.device) * spread_db
    )
    curve = torch.nn.functional.interpolate(knots, size=size, mode="linear", align_corners=True)[
        :, 0
    ]
    return torch.pow(10.0, curve / 20)


def rooms(generator: torch.Generator, batch: int, length: int) -> Tensor:
    """(B, length) impulse responses: a direct sound, a few early reflections, an exponential
    tail."""
    time = torch.arange(length, device=generator.device) / RATE
    decay = uniform(generator, (batch, 1), 0.08, 0.6)  # seconds to fall by 60 dB
    tail = torch.randn((batch, length), generator=generator, device=generator.device) * torch.exp(
        -6.9 * time / decay
    )
    tail = tail / tail.square().sum(1, keepdim=True).sqrt()
    ratio = torch.pow(10.0, uniform(generator, (batch, 1), -14.0, 2.0) / 20)  # tail to direct sound
    response = tail * ratio
    for _ in range(3):
        delay = torch.randint(8, 400, (batch, 1), generator=generator, device=generator.device)
        response.scatter_add_(1, delay, uniform(generator, (batch, 1), -0.5, 0.5))
    response[:, 0] += 1.0
    dry = torch.zeros_like(response)
    dry[:, 0] = 1.0
    return torch.where(chance(generator, batch, ROOM_SHARE) > 0, response, dry)


def channel(generator: torch.Generator, speech: Tensor) -> Tensor:
    """Room, microphone and line, applied together in the frequency domain. (B, N) to (B, N)."""
    batch, length = speech.shape
    size = 1 << (length + 8000 - 1).bit_length()
    spectrum = torch.fft.rfft(speech, size) * torch.fft.rfft(rooms(generator, batch, 8000), size)
    gains = _smooth_curve(generator, batch, 10, spectrum.shape[1], 4.0)
    hertz = torch.linspace(0, RATE / 2, spectrum.shape[1], device=speech.device)
    phone = chance(generator, batch, TELEPHONE_SHARE)
    low = uniform(generator, (batch, 1), 20, 300) * torch.where(phone > 0, 1.0, 0.5)
    high = torch.where(
        phone > 0,
        uniform(generator, (batch, 1), 3200, 4000),
        uniform(generator, (batch, 1), 5000, 14000),
    )
    band = torch.sigmoid((hertz - low) / 15) * torch.sigmoid((high - hertz) / 60)
    return torch.fft.irfft(spectrum * gains * band, size)[:, :length]


def _coloured(generator: torch.Generator, batch: int, length: int) -> Tensor:
    """Noise with a random slope (white to brown) and a random spectral shape."""
    white = torch.randn((batch, length), generator=generator, device=generator.device)
    spectrum = torch.fft.rfft(white)
    bins = torch.arange(1, spectrum.shape[1] + 1, device=white.device)
    slope = torch.pow(bins[None], -uniform(generator, (batch, 1), 0.0, 1.0))
    return torch.fft.irfft(
        spectrum * slope * _smooth_curve(generator, batch, 12, spectrum.shape[1], 5.0), length
    )


def _engine(generator: torch.Generator, batch: int, length: int) -> Tensor:
    """A rotating machine: harmonics of a wandering fundamental between 12 and 220 Hz."""
    base = torch.pow(10.0, uniform(generator, (batch, 1), math.log10(12), math.log10(220)))
    wander = _smooth_curve(generator, batch, 6, length, 0.3)
    phase = 2 * math.pi * torch.cumsum(base * wander / RATE, 1)
    sound = torch.zeros_like(phase)
    fall = uniform(generator, (batch, 1), 0.4, 1.4)
    for harmonic in range(1, 41):
        level = uniform(generator, (batch, 1), 0.2, 1.0) * harmonic**-fall
        sound += level * torch.sin(harmonic * phase + uniform(generator, (batch, 1), 0, 6.28))
    return sound


def _unit(sound: Tensor) -> Tensor:
    return sound / sound.square().mean(1, keepdim=True).sqrt().clamp_min(1e-6)


def noise(generator: torch.Generator, batch: int, length: int) -> Tensor:
    """(B, N) machine noise of unit power: hiss and rumble, engines, strokes of a compressor,
    knocks."""
    sound = _unit(_coloured(generator, batch, length))
    engine = _unit(_engine(generator, batch, length))
    sound = sound + engine * chance(generator, batch, ENGINE_SHARE) * uniform(
        generator, (batch, 1), 0.3, 3.0
    )
    time = torch.arange(length, device=generator.device) / RATE
    rate = uniform(generator, (batch, 1), 1.0, 30.0)
    stroke = torch.sin(2 * math.pi * rate * time + uniform(generator, (batch, 1), 0, 6.28))
    depth = uniform(generator, (batch, 1), 0.3, 0.95) * chance(generator, batch, PULSE_SHARE)
    sound = sound * (1 + depth * torch.tanh(uniform(generator, (batch, 1), 1, 8) * stroke))
    knocks = (
        torch.rand((batch, length), generator=generator, device=generator.device) < 1.5 / RATE
    ).float()
    ring = torch.exp(-time[:2000] * 120) * torch.sin(2 * math.pi * 900 * time[:2000])
    size = 1 << (length + 2000 - 1).bit_length()
    knocks = torch.fft.irfft(torch.fft.rfft(knocks, size) * torch.fft.rfft(ring, size), size)[
        :, :length
    ]
    return _unit(
        sound
        + 15 * knocks * chance(generator, batch, 0.15) * uniform(generator, (batch, 1), 0.2, 2.0)
    )


def augment(
    generator: torch.Generator, speech: Tensor, background: Tensor, hard: float = 1.0
) -> Tensor:
    """A batch as microphones would deliver it.

    Args:
        generator: source of all randomness, on the device of `speech`.
        speech: (B, N) float32, clean, any level; silence is exactly zero.
        background: (B, N) other people's speech, laid under some samples.
        hard: 0 (little noise) to 1 (all of the range); a net starts sooner if this rises slowly.

    Returns:
        (B, N) in 16-bit steps, as float32.
    """
    batch, length = speech.shape
    speech = channel(generator, speech)
    active = (
        (speech.abs() > 0.01 * speech.abs().amax(1, keepdim=True))
        .float()
        .sum(1, keepdim=True)
        .clamp_min(1)
    )
    power = (speech.square().sum(1, keepdim=True) / active).clamp_min(1e-10).sqrt()
    quiet = torch.where(power > 1e-4, 1 / power, 1.0)
    speech = speech * quiet  # unit power while somebody speaks
    low, high = NOISE_FLOOR_DB
    ratio = uniform(generator, (batch, 1), low + GENTLE_DB * (1 - hard), high)
    under = noise(generator, batch, length) * torch.pow(10.0, -ratio / 20)
    under = under * (1 - chance(generator, batch, SILENT_SHARE))
    babble = _unit(background) * torch.pow(10.0, -uniform(generator, (batch, 1), 12, 30) / 20)
    mixed = speech + under + babble * chance(generator, batch, 0.12 * hard)
    level = torch.pow(10.0, uniform(generator, (batch, 1), -48, -14) / 20) * FULL_SCALE
    drive = 1 + chance(generator, batch, 0.06 * hard) * uniform(generator, (batch, 1), 1, 5)
    loud = mixed * level * drive
    limit = FULL_SCALE * torch.where(drive > 1, 8 * level / FULL_SCALE, 1.0).clamp_max(1.0)
    return torch.minimum(torch.maximum(loud, -limit), limit - 1).round()
