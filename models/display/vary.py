"""Changes made to stored samples on the accelerator, fresh at each use, so that a drawn picture is
worth many: geometry, colour, noise, blur, compression."""

from __future__ import annotations

import math

import torch
from torch import Tensor
from torch.nn import functional

LUMINANCE = torch.tensor(
    [
        [16, 11, 10, 16, 24, 40, 51, 61],
        [12, 12, 14, 19, 26, 58, 60, 55],
        [14, 13, 16, 24, 40, 57, 69, 56],
        [14, 17, 22, 29, 51, 87, 80, 62],
        [18, 22, 37, 56, 68, 109, 103, 77],
        [24, 35, 55, 64, 81, 104, 113, 92],
        [49, 64, 78, 87, 103, 121, 120, 101],
        [72, 92, 95, 98, 112, 100, 103, 99],
    ],
    dtype=torch.float32,
)
"""Quantisation of luminance, ITU-T T.81 (JPEG), table K.1."""


class Chance:
    """Random numbers for a batch of n: shape (n, channels, 1, 1)."""

    def __init__(self, n: int, device: torch.device) -> None:
        self.n, self.device = n, device

    def spread(self, low: float, high: float, channels: int = 1) -> Tensor:
        return torch.rand((self.n, channels, 1, 1), device=self.device) * (high - low) + low

    def some(self, share: float) -> Tensor:
        return (torch.rand((self.n, 1, 1, 1), device=self.device) < share).float()


def compressed(x: Tensor, strength: Tensor) -> Tensor:
    """Pictures (n, 3, h, w) in 0..1 with their 8 × 8 blocks quantised as JPEG does; strength (n, 1,
    1, 1) scales the table, 0 changes nothing. h and w are multiples of 8."""
    n, c, h, w = x.shape
    k = torch.arange(8, device=x.device, dtype=torch.float32)
    basis = torch.cos((2 * k[None] + 1) * k[:, None] * math.pi / 16) * 0.5
    basis[0] *= 2**-0.5
    blocks = x.view(n, c, h // 8, 8, w // 8, 8).permute(0, 1, 2, 4, 3, 5) * 255
    waves = basis @ blocks @ basis.T
    step = (LUMINANCE.to(x.device) * strength.view(n, 1, 1, 1, 1, 1)).clamp(min=0.01)
    waves = (waves / step).round() * step
    back = (basis.T @ waves @ basis).permute(0, 1, 2, 4, 3, 5).reshape(n, c, h, w) / 255
    return torch.where(strength > 0, back, x)


def photometric(pictures: Tensor, grey_share: float = 0.2) -> Tensor:
    """Changes of colour, focus, noise and compression on (n, 3, h, w) pictures in 0..255."""
    n, device = len(pictures), pictures.device
    chance = Chance(n, device)
    spread, some = chance.spread, chance.some
    x = pictures / 255
    order = torch.stack([torch.randperm(3, device=device) for _ in range(8)])[
        torch.randint(8, (n,), device=device)
    ]
    swapped = x.gather(1, order[:, :, None, None].expand_as(x))
    x = x + some(0.25) * (swapped - x)
    x = x.clamp(1e-4, 1) ** (1 + some(0.5) * (spread(0.6, 1.6) - 1))
    x = x * (1 + some(0.5) * (spread(0.75, 1.25, 3) - 1)) + some(0.3) * spread(-0.08, 0.12)
    grey = x.mean(1, keepdim=True)
    x = x + some(grey_share) * spread(0.2, 1.0) * (grey - x)
    x = x + some(0.06) * (1 - 2 * x)  # negative
    mean = x.mean((1, 2, 3), keepdim=True)
    x = mean + (1 + some(0.25) * (spread(0.45, 1.2) - 1)) * (x - mean)  # faint
    soft = functional.avg_pool2d(x, 3, 1, 1, count_include_pad=False)
    x = x + some(0.22) * spread(0.3, 1.0) * (soft - x)
    for shape in ((1, 5), (5, 1), (5, 5)):  # shaken one way or the other, out of focus
        soft = functional.avg_pool2d(
            x, shape, 1, (shape[0] // 2, shape[1] // 2), count_include_pad=False
        )
        x = x + some(0.05) * spread(0.3, 1.0) * (soft - x)
    soft = functional.avg_pool2d(x, 3, 1, 1, count_include_pad=False)
    x = x + some(0.12) * spread(0.3, 1.2) * (x - soft)  # sharpened
    x = x + some(0.4) * spread(0, 0.05) * torch.randn_like(x)
    x = compressed(x.clamp(0, 1), some(0.25) * spread(0.2, 2.2))
    return x.clamp(0, 1.05) * 255


@torch.no_grad()
def shifted(batch: dict[str, Tensor], pictures: Tensor) -> tuple[dict[str, Tensor], Tensor]:
    """Crops (n, 3, 48, 320) stretched, slanted, tilted and cut anew, with their labels' places.

    A change that would cut off more of an end character than the crop already does, or squeeze
    characters into fewer than 9 px each, is not made. A few crops are put on their heads and lose
    their text where it can't be read that way up: they teach that this is no reading.
    """
    n, _, high, wide = pictures.shape
    device = pictures.device
    label, places = batch["label"], batch["places"]
    width = batch["width"].float()
    present = label > 0

    def uniform(low: float, high: float) -> Tensor:
        return torch.rand(n, device=device) * (high - low) + low

    def sometimes(share: float, value: Tensor) -> Tensor:
        return torch.where(torch.rand(n, device=device) < share, value, torch.zeros_like(value))

    sx = sometimes(0.7, torch.randn(n, device=device) * 0.16).clamp(-0.45, 0.45).exp()
    sy = sometimes(0.5, uniform(-0.16, 0.12)).exp()
    across = sometimes(0.6, uniform(-0.5, 0.5) * high)
    down = sometimes(0.5, uniform(-0.07, 0.07) * high)
    slant = sometimes(0.4, torch.randn(n, device=device) * 0.09)
    rise = sometimes(0.4, uniform(-0.09, 0.09) * high) * 2 / width

    def moved(
        sx: Tensor, sy: Tensor, across: Tensor, down: Tensor, slant: Tensor, rise: Tensor
    ) -> tuple[Tensor, Tensor, Tensor]:
        new_width = (width * sx).round().clamp(16, wide)
        at = torch.stack(
            [places[..., 0] * width[:, None]] * 3, -1
        ) - width[:, None, None] / 2  # fmt: skip
        heights = torch.stack(
            [places[..., 1:].mean(-1), places[..., 1], places[..., 2]], -1
        ) * high - high / 2  # fmt: skip
        det = (1 - slant * rise)[:, None, None]
        u = (at - slant[:, None, None] * heights) / det
        v = (heights - rise[:, None, None] * at) / det
        x = new_width[:, None, None] / 2 + (u - across[:, None, None]) * (
            new_width / width
        )[:, None, None]  # fmt: skip
        y = high / 2 + (v - down[:, None, None]) * sy[:, None, None]
        return new_width, x[..., 0], y

    new_width, x, _ = moved(sx, sy, across, down, slant, rise)
    before = places[..., 0] * width[:, None]
    size = (places[..., 2] - places[..., 1]).clamp(0.2, 1.2) * high
    room = torch.minimum(torch.minimum(before, width[:, None] - before), 0.3 * size)
    fits = torch.minimum(x, new_width[:, None] - x) >= room * sx[:, None]
    fits = (fits | ~present).all(1) & (new_width >= 9 * present.sum(1))
    one, zero = torch.ones_like(sx), torch.zeros_like(sx)
    sx, sy = torch.where(fits, sx, one), torch.where(fits, sy, one)
    across, down, slant, rise = (
        torch.where(fits, value, zero) for value in (across, down, slant, rise)
    )
    new_width, x, y = moved(sx, sy, across, down, slant, rise)

    mark = torch.zeros(21, dtype=torch.bool, device=device)
    mark[[4, 5, 8]] = True  # 3, 4 and 7 read the other way up are no digits
    turned = (mark[label.long()].any(1) & (present.sum(1) >= 3)) & (
        torch.rand(n, device=device) < 0.025
    )
    column = torch.arange(wide, device=device) + 0.5
    row = torch.arange(high, device=device) + 0.5
    xo = torch.where(turned[:, None], new_width[:, None] - column, column.expand(n, wide))
    yo = torch.where(turned[:, None], high - row, row.expand(n, high))
    u = (xo - new_width[:, None] / 2) * (width / new_width)[:, None] + across[:, None]
    v = (yo - high / 2) / sy[:, None] + down[:, None]
    x_in = width[:, None, None] / 2 + u[:, None, :] + slant[:, None, None] * v[:, :, None]
    y_in = high / 2 + v[:, :, None] + rise[:, None, None] * u[:, None, :]
    x_in = torch.minimum(x_in.clamp(min=0.5), (width - 0.5)[:, None, None])
    grid = torch.stack([x_in * 2 / wide - 1, y_in * 2 / high - 1], -1)
    seen = functional.grid_sample(pictures, grid, padding_mode="border", align_corners=False)
    kept = torch.where(turned[:, None], 0, label)
    put = torch.stack([x / new_width[:, None], y[..., 1] / high, y[..., 2] / high], -1)
    return {"label": kept, "places": put, "width": new_width}, seen
