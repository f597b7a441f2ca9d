"""Kaldi's MFCC (conf/mfcc.conf) for a whole batch on the GPU, with the vocal tract's length as an
option.

Follows the definition in Kaldi's documentation ("Feature extraction"); a test holds it against
kaldi-native-fbank.
"""

from __future__ import annotations

import math
from functools import cache

import torch
from torch import Tensor

from .corpus import RATE

WINDOW = 400  # 25 ms
SHIFT = 160  # 10 ms
FFT = 512
COEFFICIENTS = 40
LOW, HIGH = 20.0, 7600.0
LIFTER = 22.0
PREEMPHASIS = 0.97
FLOOR = 1.1920929e-07  # Kaldi's: the float32 epsilon
# Lengths of the throat, 1.0 is in the middle.
WARPS = tuple(round(0.88 + 0.02 * step, 2) for step in range(13))


def mel(hertz: Tensor) -> Tensor:
    return 1127.0 * torch.log1p(hertz / 700.0)


def warped(hertz: Tensor, factor: float) -> Tensor:
    """Frequencies seen through another vocal tract: scaled in the middle, the ends kept (piecewise
    linear)."""
    knee = 5500.0 / max(factor, 1.0)
    slope = (HIGH - knee * factor) / (HIGH - knee)
    return torch.where(hertz < knee, hertz * factor, knee * factor + (hertz - knee) * slope)


@cache
def _banks(device: torch.device) -> Tensor:
    """(warps, FFT/2 + 1, bins) triangles in mel."""
    bins = torch.arange(FFT // 2 + 1, dtype=torch.float64) * RATE / FFT
    edges = torch.linspace(
        float(mel(torch.tensor(LOW, dtype=torch.float64))),
        float(mel(torch.tensor(HIGH, dtype=torch.float64))),
        COEFFICIENTS + 2,
        dtype=torch.float64,
    )
    left, centre, right = edges[:-2], edges[1:-1], edges[2:]
    banks = []
    for factor in WARPS:
        place = mel(warped(bins, factor))[:, None]
        up, down = (place - left) / (centre - left), (right - place) / (right - centre)
        triangle = torch.minimum(up, down).clamp_min(0.0)
        triangle[-1] = 0.0  # Kaldi leaves the Nyquist bin out
        banks.append(triangle)
    return torch.stack(banks).float().to(device)


@cache
def _window(device: torch.device) -> Tensor:
    hann = 0.5 - 0.5 * torch.cos(
        2 * math.pi * torch.arange(WINDOW, dtype=torch.float64) / (WINDOW - 1)
    )
    return hann.pow(0.85).float().to(device)  # Povey's window


@cache
def _cosines(device: torch.device) -> Tensor:
    """(bins, coefficients): orthonormal DCT-II with Kaldi's lifter folded in."""
    n = torch.arange(COEFFICIENTS, dtype=torch.float64)
    table = torch.cos(math.pi / COEFFICIENTS * (n[:, None] + 0.5) * n) * math.sqrt(
        2.0 / COEFFICIENTS
    )
    table[:, 0] = math.sqrt(1.0 / COEFFICIENTS)
    lifter = 1.0 + 0.5 * LIFTER * torch.sin(math.pi * n / LIFTER)
    return (table * lifter).float().to(device)


def mfcc(samples: Tensor, warp: Tensor | None = None, mask: Tensor | None = None) -> Tensor:
    """Cepstra of a batch.

    Args:
        samples: (B, N) at 16 kHz in 16-bit units (-32768 to 32767), float32.
        warp: (B,) indices into WARPS, or None for no warping.
        mask: (B, bins, frames) zeros where each bin's mean stands instead (training only).

    Returns:
        (B, 1 + (N - 400) // 160, 40), float32.
    """
    frames = samples.unfold(1, WINDOW, SHIFT)
    frames = frames - frames.mean(-1, keepdim=True)
    before = torch.cat([frames[..., :1], frames[..., :-1]], -1)
    frames = (frames - PREEMPHASIS * before) * _window(samples.device)
    power = torch.fft.rfft(frames, FFT).abs().square()
    banks = _banks(samples.device)
    plain = banks[WARPS.index(1.0)]
    energies = power @ plain if warp is None else torch.bmm(power, banks[warp])
    levels = energies.clamp_min(FLOOR).log()
    if mask is not None:
        levels = torch.lerp(levels.mean(1, keepdim=True), levels, mask.transpose(1, 2))
    return levels @ _cosines(samples.device)
