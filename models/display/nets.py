"""The networks. Layers are those that OpenCV's dnn runs: convolution, ReLU, addition, nearest
resize."""

from __future__ import annotations

import torch
from torch import Tensor, nn

from models.display.text import ALPHABET

CTC_CLASSES = len(ALPHABET) + 1
READER_CHANNELS = CTC_CLASSES + 3
"""CTC logits, then the point-after logit, then the digit's top and bottom as shares of the crop's
height."""
FINDER_CHANNELS = 8
"""Reading logit, unit logit, log distances left, top, right, bottom (in 16 px), cos, sin."""


def _conv(
    into: int,
    out: int,
    kernel: int | tuple[int, int] = 3,
    stride: int | tuple[int, int] = 1,
    dilation: int = 1,
) -> nn.Sequential:
    k = (kernel, kernel) if isinstance(kernel, int) else kernel
    padding = (k[0] // 2 * (dilation if k[0] > 1 and k[1] == k[0] else 1), k[1] // 2 * dilation)
    return nn.Sequential(
        nn.Conv2d(
            into,
            out,
            k,
            stride,
            padding,
            dilation=(dilation if k[0] == k[1] else 1, dilation),
            bias=False,
        ),
        nn.BatchNorm2d(out),
        nn.ReLU(inplace=True),
    )


class Residual(nn.Module):
    def __init__(self, width: int, kernel: int | tuple[int, int] = 3, dilation: int = 1) -> None:
        super().__init__()
        self.first = _conv(width, width, kernel, dilation=dilation)
        self.second = _conv(width, width, kernel, dilation=dilation)

    def forward(self, x: Tensor) -> Tensor:
        return x + self.second(self.first(x))


class Reader(nn.Module):
    """(n, 3, 48, 320) → (n, READER_CHANNELS, 80)."""

    def __init__(self) -> None:
        super().__init__()
        self.body = nn.Sequential(
            _conv(3, 24, 3, 2),  # 24 × 160
            _conv(24, 32),
            _conv(32, 56, 3, 2),  # 12 × 80
            Residual(56),
            _conv(56, 96, 3, (2, 1)),  # 6 × 80
            Residual(96),
            _conv(96, 144, 3, (2, 1)),  # 3 × 80
            Residual(144),
        )
        self.squeeze = nn.Sequential(
            nn.Conv2d(144, 192, (3, 1), bias=False), nn.BatchNorm2d(192), nn.ReLU(inplace=True)
        )
        self.along = nn.ModuleList([_conv(192, 192, (1, 5), dilation=d) for d in (1, 2, 4, 8)])
        self.head = nn.Conv2d(192, READER_CHANNELS, 1)

    def forward(self, x: Tensor) -> Tensor:
        x = self.squeeze(self.body(x))
        for layer in self.along:
            x = x + layer(x)
        return self.head(x).squeeze(2)


class SecondReader(nn.Module):
    """A reader with the same input and output as `Reader` and another build, so that the two err
    differently: no early loss of height, and neighbours seen through a coarser level, not by
    dilation."""

    def __init__(self) -> None:
        super().__init__()
        self.body = nn.Sequential(
            _conv(3, 32, 5, 2),  # 24 × 160
            Residual(32),
            _conv(32, 64, 3, 2),  # 12 × 80
            Residual(64),
            Residual(64),
            _conv(64, 96, 3, (2, 1)),  # 6 × 80
            Residual(96),
            Residual(96),
        )
        self.squeeze = nn.Sequential(
            nn.Conv2d(96, 208, (6, 1), bias=False), nn.BatchNorm2d(208), nn.ReLU(inplace=True)
        )
        self.near = Residual(208, (1, 3))
        self.middle = nn.Sequential(_conv(208, 208, (1, 3), (1, 2)), Residual(208, (1, 3)))
        self.far = nn.Sequential(_conv(208, 176, (1, 3), (1, 2)), Residual(176, (1, 3)))
        self.up = nn.ModuleList([nn.Conv2d(176, 208, 1), nn.Conv2d(208, 208, 1)])
        self.merge = _conv(208, 208, (1, 3))
        self.head = nn.Conv2d(208, READER_CHANNELS, 1)

    def forward(self, x: Tensor) -> Tensor:
        near = self.near(self.squeeze(self.body(x)))
        half = self.middle(near)
        quarter = self.far(half)
        y = half + _wider(self.up[0](quarter))
        y = near + _wider(self.up[1](y))
        return self.head(y + self.merge(y)).squeeze(2)


def _wider(x: Tensor) -> Tensor:
    return nn.functional.interpolate(x, scale_factor=(1.0, 2.0), mode="nearest")


READERS: dict[str, type[nn.Module]] = {"reader": Reader, "reader2": SecondReader}


class Finder(nn.Module):
    """(n, 3, H, W) → (n, FINDER_CHANNELS, H/4, W/4); H and W multiples of 32."""

    def __init__(self, width: int = 48) -> None:
        super().__init__()
        self.stem = nn.Sequential(_conv(3, 16, 3, 2), _conv(16, 32, 3, 2), _conv(32, 32))  # /4
        self.eighth = nn.Sequential(_conv(32, 64, 3, 2), Residual(64))
        self.sixteenth = nn.Sequential(_conv(64, 96, 3, 2), Residual(96), Residual(96, dilation=2))
        self.deep = nn.Sequential(
            _conv(96, 144, 3, 2),
            Residual(144),
            Residual(144, dilation=2),
            Residual(144, dilation=3),
        )
        self.lateral = nn.ModuleList([nn.Conv2d(c, width, 1) for c in (32, 64, 96, 144)])
        self.smooth = nn.ModuleList([_conv(width, width) for _ in range(3)])
        self.head = nn.Sequential(_conv(width, width), nn.Conv2d(width, FINDER_CHANNELS, 1))
        with torch.no_grad():
            self.head[1].bias[:2] = -3.0  # most cells are neither reading nor unit

    def forward(self, x: Tensor) -> Tensor:
        quarter = self.stem(x)
        eighth = self.eighth(quarter)
        sixteenth = self.sixteenth(eighth)
        deep = self.deep(sixteenth)
        y = self.lateral[3](deep)
        for level, features in ((2, sixteenth), (1, eighth), (0, quarter)):
            y = nn.functional.interpolate(y, scale_factor=2.0, mode="nearest") + self.lateral[
                level
            ](features)
            y = self.smooth[level](y)
        return self.head(y)


def export(net: nn.Module, example: Tensor, path: str, dynamic: dict[int, str]) -> None:
    """Write a network as ONNX with batch norm folded in."""
    net = net.eval().float().cpu().to(memory_format=torch.contiguous_format)
    torch.onnx.export(
        net,
        (example,),
        path,
        input_names=["x"],
        output_names=["y"],
        opset_version=17,
        dynamo=False,
        dynamic_axes={"x": {0: "n"} | dynamic, "y": {0: "n"} | dynamic},
    )
