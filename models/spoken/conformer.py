"""The larger net, for the engine "readings": sound in, log-probabilities of phones out.

Convolution beside self-attention (Gulati et al., "Conformer", 2020). A second of sound takes about
5 ms of a laptop's core. The spectrogram is part of the net: whoever runs it hands over samples.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import torch
from torch import Tensor, nn
from torch.nn import functional

from .corpus import RATE
from .mfcc import WARPS, mel, warped
from .phones import PHONES

WINDOW, SHIFT, FFT = 400, 160, 512  # 25 ms, 10 ms
LOW, HIGH = 30.0, 7800.0
FLOOR = 1e-5  # of a utterance's mean energy: quieter is not told apart


@dataclass(frozen=True)
class Size:
    """bands: of the spectrogram. width: channels. blocks, heads, kernel: as in the paper."""

    bands: int = 80
    width: int = 192
    inner: int = 768
    blocks: int = 8
    heads: int = 4
    kernel: int = 15


SIZES = {"conformer": Size(), "witness": Size(bands=64, kernel=21)}
"""The two nets: alike in kind, unlike in what they look at, so that their errors differ."""


class Spectrogram(nn.Module):
    """(B, N) samples to (B, bands, 1 + (N - 400) // 160), each band's mean over time taken out.

    The Fourier transform is two convolutions: every runtime has those.
    """

    waves: Tensor
    triangles: Tensor
    banks: Tensor

    def __init__(self, bands: int) -> None:
        super().__init__()
        time = torch.arange(WINDOW, dtype=torch.float64)
        window = 0.5 - 0.5 * torch.cos(2 * math.pi * time / WINDOW)
        angle = 2 * math.pi / FFT * torch.arange(FFT // 2 + 1, dtype=torch.float64)[:, None] * time
        waves = torch.cat([torch.cos(angle) * window, torch.sin(angle) * window])
        self.register_buffer("waves", waves.float()[:, None], persistent=False)
        hertz = torch.arange(FFT // 2 + 1, dtype=torch.float64) * RATE / FFT
        ends = mel(torch.tensor([LOW, HIGH], dtype=torch.float64))
        edges = torch.linspace(float(ends[0]), float(ends[1]), bands + 2, dtype=torch.float64)
        left, centre, right = edges[:-2, None], edges[1:-1, None], edges[2:, None]
        banks = []
        for factor in WARPS:
            place = mel(warped(hertz, factor))[None]
            up, down = (place - left) / (centre - left), (right - place) / (right - centre)
            banks.append(torch.minimum(up, down).clamp_min(0.0).float())
        self.register_buffer("triangles", banks[WARPS.index(1.0)][..., None], persistent=False)
        self.register_buffer("banks", torch.stack(banks), persistent=False)

    def forward(self, samples: Tensor, warp: Tensor | None = None) -> Tensor:
        """`warp` (B,): indices into WARPS, as if other throats had spoken (training only)."""
        samples = samples - samples.mean(1, keepdim=True)
        power = samples.square().mean(1, keepdim=True)
        samples = samples / (power + 1e-10).sqrt()
        parts = functional.conv1d(samples[:, None], self.waves, stride=SHIFT).square()
        half = parts.shape[1] // 2
        power = parts[:, :half] + parts[:, half:]
        if warp is None:
            heard = functional.conv1d(power, self.triangles)
        else:
            heard = torch.bmm(self.banks[warp], power)
        bands = (heard + FLOOR * WINDOW).log()
        return (bands - bands.mean(2, keepdim=True)) / 2.0


class FeedForward(nn.Sequential):
    def __init__(self, size: Size, drop: float) -> None:
        super().__init__(
            nn.LayerNorm(size.width),
            nn.Linear(size.width, size.inner),
            nn.SiLU(),
            nn.Dropout(drop),
            nn.Linear(size.inner, size.width),
            nn.Dropout(drop),
        )


class Attention(nn.Module):
    def __init__(self, size: Size, drop: float) -> None:
        super().__init__()
        self.heads = size.heads
        self.norm = nn.LayerNorm(size.width)
        self.mix = nn.Linear(size.width, 3 * size.width)
        self.out = nn.Linear(size.width, size.width)
        self.drop = nn.Dropout(drop)

    def forward(self, x: Tensor) -> Tensor:
        batch, time, width = x.shape
        parts = self.mix(self.norm(x)).view(batch, time, 3, self.heads, width // self.heads)
        query, key, value = parts.permute(2, 0, 3, 1, 4)
        mixed = functional.scaled_dot_product_attention(query, key, value)
        done: Tensor = self.drop(self.out(mixed.transpose(1, 2).reshape(batch, time, width)))
        return done


class Convolution(nn.Module):
    def __init__(self, size: Size, drop: float) -> None:
        super().__init__()
        width = size.width
        self.norm = nn.LayerNorm(width)
        self.gate = nn.Linear(width, 2 * width)
        self.along = nn.Conv1d(width, width, size.kernel, padding=size.kernel // 2, groups=width)
        self.inner_norm = nn.LayerNorm(width)
        self.out = nn.Linear(width, width)
        self.drop = nn.Dropout(drop)

    def forward(self, x: Tensor) -> Tensor:
        x = functional.glu(self.gate(self.norm(x)), dim=-1)
        x = self.along(x.transpose(1, 2)).transpose(1, 2)
        done: Tensor = self.drop(self.out(functional.silu(self.inner_norm(x))))
        return done


class Block(nn.Module):
    def __init__(self, size: Size, drop: float) -> None:
        super().__init__()
        self.before, self.after = FeedForward(size, drop), FeedForward(size, drop)
        self.attention, self.convolution = Attention(size, drop), Convolution(size, drop)
        self.norm = nn.LayerNorm(size.width)

    def forward(self, x: Tensor) -> Tensor:
        x = x + 0.5 * self.before(x)
        x = x + self.attention(x)
        x = x + self.convolution(x)
        x = x + 0.5 * self.after(x)
        done: Tensor = self.norm(x)
        return done


class Conformer(nn.Module):
    """(B, N) samples at 16 kHz to (B, T, phones) log-probabilities, T one in 20 ms."""

    def __init__(self, size: Size | None = None, drop: float = 0.1) -> None:
        super().__init__()
        self.size = size = size or Size()
        self.spectrogram = Spectrogram(size.bands)
        self.entry = nn.Conv1d(size.bands, size.width, 5, stride=2, padding=2)
        self.second = nn.Conv1d(size.width, size.width, 3, padding=1)
        self.entry_norm = nn.LayerNorm(size.width)
        self.blocks = nn.ModuleList(Block(size, drop) for _ in range(size.blocks))
        self.output = nn.Linear(size.width, len(PHONES))
        self.halfway = nn.Linear(size.width, len(PHONES))  # supervised too, in training only

    def both(
        self, samples: Tensor, mask: Tensor | None = None, warp: Tensor | None = None
    ) -> tuple[Tensor, Tensor]:
        """The output, and what the middle of the net makes of it already (B, T, phones).

        mask: (B, bands, frames) zeros where the net must not look. warp: (B,) indices into WARPS,
        throats of other lengths (both in training only).
        """
        with torch.autocast(samples.device.type, enabled=False):
            bands = self.spectrogram(samples.float(), warp)
        if mask is not None:
            bands = bands * mask[:, :, : bands.shape[2]]
        x = functional.gelu(self.entry(bands))
        x = functional.gelu(self.second(x)).transpose(1, 2)
        x = self.entry_norm(x)
        middle = x
        for number, block in enumerate(self.blocks, 1):
            x = block(x)
            if number == len(self.blocks) // 2:
                middle = x
        return self.output(x).float().log_softmax(-1), self.halfway(middle).float().log_softmax(-1)

    def forward(self, samples: Tensor) -> Tensor:
        return self.both(samples)[0]
