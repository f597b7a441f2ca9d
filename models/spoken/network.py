"""A factorised time-delay net (TDNN-F, Povey et al. 2018) that Kaldi's nnet3 can run frame by
frame."""

from __future__ import annotations

from dataclasses import dataclass

import torch
from torch import Tensor, nn
from torch.nn import functional

from .mfcc import COEFFICIENTS
from .phones import PDF_COUNT

SUBSAMPLING = 3  # one output for three frames of 10 ms
BYPASS = 0.66


@dataclass(frozen=True)
class Shape:
    """Sizes of the net.

    Attributes:
        width: channels of every layer.
        bottleneck: channels of each layer's linear part.
        early: strides, in frames of 10 ms, of the layers at the full rate.
        late: strides, in outputs of 30 ms (0: no context), of the layers at a third of the rate.
    """

    width: int = 704
    bottleneck: int = 128
    early: tuple[int, ...] = (1, 1, 1)
    late: tuple[int, ...] = (0, 1, 1, 1, 1, 1, 1, 1, 1)

    @property
    def context(self) -> int:
        """Frames that the net looks to each side."""
        return 1 + sum(self.early) + SUBSAMPLING * sum(self.late)


class Layer(nn.Module):
    """Linear bottleneck over (t - stride, t), affine over (t, t + stride), rectifier, norm,
    bypass."""

    def __init__(self, width: int, bottleneck: int, stride: int) -> None:
        super().__init__()
        self.stride = stride
        taps = 2 if stride else 1
        self.linear = nn.Conv1d(width, bottleneck, taps, dilation=max(stride, 1), bias=False)
        self.affine = nn.Conv1d(bottleneck, width, taps, dilation=max(stride, 1))
        self.norm = nn.BatchNorm1d(width, affine=False, eps=1e-3)

    def forward(self, x: Tensor) -> Tensor:
        new: Tensor = self.norm(functional.relu(self.affine(self.linear(x))))
        if self.stride:
            x = x[:, :, self.stride : -self.stride]
        return BYPASS * x + new


class Net(nn.Module):
    """Cepstra in, log probabilities of the pdfs out.

    `shift` and `scale` (40) whiten the cepstra; they are measured once on training data and stay
    fixed.
    """

    shift: Tensor
    scale: Tensor

    def __init__(self, shape: Shape | None = None) -> None:
        super().__init__()
        self.shape = shape = shape or Shape()
        self.register_buffer("shift", torch.zeros(COEFFICIENTS))
        self.register_buffer("scale", torch.ones(COEFFICIENTS))
        self.entry = nn.Conv1d(COEFFICIENTS, shape.width, 3)
        self.entry_norm = nn.BatchNorm1d(shape.width, affine=False, eps=1e-3)
        self.early = nn.ModuleList(Layer(shape.width, shape.bottleneck, s) for s in shape.early)
        self.late = nn.ModuleList(Layer(shape.width, shape.bottleneck, s) for s in shape.late)
        self.squeeze = nn.Conv1d(shape.width, shape.bottleneck, 1, bias=False)
        self.spread = nn.Conv1d(shape.bottleneck, shape.width, 1)
        self.spread_norm = nn.BatchNorm1d(shape.width, affine=False, eps=1e-3)
        self.output = nn.Conv1d(shape.width, PDF_COUNT, 1)

    def forward(self, cepstra: Tensor, drop: float = 0.0) -> Tensor:
        """(B, T, 40) raw cepstra to (B, ceil(T / 3), pdfs), float32 log probabilities.

        `drop` is the share of channels silenced for a whole utterance (training only).
        """
        context = self.shape.context
        x = ((cepstra - self.shift) * self.scale).transpose(1, 2)
        x = functional.pad(x, (context, context), mode="replicate")
        x = self.entry_norm(functional.relu(self.entry(x)))
        for layer in self.early:
            x = layer(x)
        x = x[:, :, ::SUBSAMPLING]
        for layer in self.late:
            x = layer(x)
            if drop and self.training:
                x = functional.dropout1d(x, drop)
        x = self.squeeze(x)
        x = self.spread_norm(functional.relu(self.spread(x)))
        return self.output(x).transpose(1, 2).float().log_softmax(-1)
