"""Runs an ONNX file through torch, so that a voice made for processors speaks on a GPU.

As many operators as Kokoro's file needs. Matrices with 8 bits are used as the real numbers that
they stand for, and what a layer is given isn't rounded to 8 bits on its way.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional

Attributes = Mapping[str, Any]
TYPES = {1: torch.float32, 6: torch.int32, 7: torch.int64, 9: torch.bool, 10: torch.float16}
"""ONNX's numbers of element types."""


def _value(attribute: Any) -> Any:
    """What an attribute holds; its kind is a number of ONNX's AttributeProto."""
    if attribute.type in (6, 7):  # lists of reals, of whole numbers
        return list(attribute.floats if attribute.type == 6 else attribute.ints)
    kinds = {1: "f", 2: "i", 3: "s", 4: "t"}
    return getattr(attribute, kinds[attribute.type])


def _unary(operation: Callable[[Tensor], Tensor]) -> Any:
    return lambda self, attributes, x: operation(x)


def _binary(operation: Callable[[Tensor, Tensor], Tensor]) -> Any:
    return lambda self, attributes, one, other: operation(*self._together(one, other))


class Network:
    """A file's graph, ready to run.

    Args:
        path: of the ONNX file.
        device: where tensors live; shapes and indices stay on the host.
    """

    def __init__(self, path: Path, device: str) -> None:
        import onnx
        from onnx import numpy_helper

        model = onnx.load(str(path))
        self.device = device
        self._constants: dict[str, Tensor] = {}
        for entry in model.graph.initializer:
            self._constants[entry.name] = self._constant(numpy_helper.to_array(entry))
        self._nodes = []
        for node in model.graph.node:
            attributes = {a.name: _value(a) for a in node.attribute}
            if node.op_type == "Constant":
                value = numpy_helper.to_array(attributes["value"])
                self._constants[node.output[0]] = self._constant(value)
                continue
            if node.op_type == "ConstantOfShape":
                attributes["value"] = numpy_helper.to_array(attributes["value"]).item()
            run = getattr(self, f"_{node.op_type}")
            self._nodes.append((run, tuple(node.input), tuple(node.output), attributes))
        self._outputs = [value.name for value in model.graph.output]
        self._last: dict[str, int] = {}
        for place, (_, inputs, _, _) in enumerate(self._nodes):
            self._last.update(dict.fromkeys(inputs, place))
        self._lstms: dict[str, torch.nn.LSTM] = {}

    def _constant(self, array: np.ndarray[Any, Any]) -> Tensor:
        if array.dtype in (np.uint8, np.int8):
            array = array.astype(np.float32)
        tensor = torch.from_numpy(np.array(array))
        return tensor.to(self.device) if tensor.is_floating_point() else tensor

    @torch.inference_mode()
    def __call__(self, feeds: Mapping[str, Tensor]) -> list[Tensor]:
        """Outputs in the graph's order."""
        values: dict[str, Tensor] = {**self._constants, **feeds}
        for place, (run, inputs, outputs, attributes) in enumerate(self._nodes):
            given = [values[name] if name else None for name in inputs]
            made = run(attributes, *given)
            made = made if isinstance(made, tuple) else (made,)
            values.update(zip(outputs, made, strict=False))
            for name in inputs:
                if self._last[name] == place and name not in self._constants:
                    values.pop(name, None)
        return [values[name] for name in self._outputs]

    def _together(self, one: Tensor, other: Tensor) -> tuple[Tensor, Tensor]:
        if one.device != other.device:
            one, other = one.to(self.device), other.to(self.device)
        return one, other

    # --- numbers ---

    _Mul, _Add, _Sub = _binary(torch.mul), _binary(torch.add), _binary(torch.sub)
    _Equal, _Less, _Greater = _binary(torch.eq), _binary(torch.lt), _binary(torch.gt)
    _GreaterOrEqual, _And = _binary(torch.ge), _binary(torch.logical_and)
    _Pow, _MatMul = _binary(torch.pow), _binary(torch.matmul)
    _Sqrt, _Floor, _Sin, _Cos = map(_unary, (torch.sqrt, torch.floor, torch.sin, torch.cos))
    _Exp, _Atan, _Tanh = _unary(torch.exp), _unary(torch.atan), _unary(torch.tanh)
    _Sigmoid, _Round = _unary(torch.sigmoid), _unary(torch.round)

    def _Div(self, _: Attributes, one: Tensor, other: Tensor) -> Tensor:
        one, other = self._together(one, other)
        if one.is_floating_point() or other.is_floating_point():
            return (one / other).nan_to_num(0.0)  # the phase of silence is 0 / 0
        return torch.div(one, other, rounding_mode="trunc")

    def _FastGelu(self, _: Attributes, x: Tensor, bias: Tensor) -> Tensor:
        return functional.gelu(x + bias, approximate="tanh")

    def _LeakyRelu(self, at: Attributes, x: Tensor) -> Tensor:
        return functional.leaky_relu(x, at["alpha"])

    def _Softmax(self, at: Attributes, x: Tensor) -> Tensor:
        return x.softmax(at["axis"])

    def _Clip(self, _: Attributes, x: Tensor, low: Tensor, high: Tensor | None) -> Tensor:
        return x.clamp(low.item(), None if high is None else high.item())

    def _Cast(self, at: Attributes, x: Tensor) -> Tensor:
        return x.to(TYPES[at["to"]])

    def _LayerNormalization(self, at: Attributes, x: Tensor, w: Tensor, b: Tensor) -> Tensor:
        return functional.layer_norm(x, x.shape[-1:], w, b, at["epsilon"])

    def _SkipLayerNormalization(
        self, at: Attributes, x: Tensor, skip: Tensor, w: Tensor, b: Tensor, bias: Any = None
    ) -> Tensor:
        both = x + skip if bias is None else x + skip + bias
        return functional.layer_norm(both, x.shape[-1:], w, b, at["epsilon"])

    def _ReduceMean(self, at: Attributes, x: Tensor, axes: Tensor) -> Tensor:
        return x.mean(axes.tolist(), keepdim=bool(at["keepdims"]))

    def _ReduceSum(self, at: Attributes, x: Tensor, axes: Tensor) -> Tensor:
        return x.sum(axes.tolist(), keepdim=bool(at["keepdims"]))

    def _CumSum(self, _: Attributes, x: Tensor, axis: Tensor) -> Tensor:
        return x.cumsum(int(axis))

    # --- 8-bit numbers, as the real ones behind them ---

    def _DynamicQuantizeLinear(self, _: Attributes, x: Tensor) -> tuple[Tensor, ...]:
        return x, torch.ones((), device=x.device), torch.zeros((), device=x.device)

    def _DequantizeLinear(self, _: Attributes, x: Tensor, scale: Tensor, zero: Tensor) -> Tensor:
        return (x - zero) * scale

    def _MatMulInteger(self, _: Attributes, a: Tensor, b: Tensor, az: Any, bz: Tensor) -> Tensor:
        return a @ (b - bz)

    def _ConvInteger(self, at: Attributes, x: Tensor, w: Tensor, xz: Any, wz: Tensor) -> Tensor:
        return self._Conv(at, x, w - wz)

    def _DynamicQuantizeLSTM(self, at: Attributes, x: Tensor, *given: Any) -> tuple[Tensor, ...]:
        w, r, bias, _, h, c, _, w_scale, w_zero, r_scale, r_zero = given
        size, key = at["hidden_size"], str(w.data_ptr())
        if key not in self._lstms:
            lstm = torch.nn.LSTM(x.shape[2], size, bidirectional=True).to(self.device)

            def gates(matrix: Tensor) -> Tensor:  # ONNX: input, output, forget, cell
                i, o, f, cell = matrix.chunk(4)
                return torch.cat([i, f, cell, o])

            for way, name in enumerate(("", "_reverse")):
                for part, m, scale, zero in (
                    ("ih", w, w_scale, w_zero),
                    ("hh", r, r_scale, r_zero),
                ):
                    real = ((m[way] - zero.reshape(-1)[0]) * scale.reshape(-1)[0]).T
                    getattr(lstm, f"weight_{part}_l0{name}").data = gates(real).contiguous()
                    half = bias[way, : 4 * size] if part == "ih" else bias[way, 4 * size :]
                    getattr(lstm, f"bias_{part}_l0{name}").data = gates(half).contiguous()
            self._lstms[key] = lstm.eval()
        done, (h, c) = self._lstms[key](x, (h.to(x.device), c.to(x.device)))
        return done.view(*done.shape[:2], 2, size).transpose(1, 2), h, c

    # --- convolutions and sound ---

    def _Conv(self, at: Attributes, x: Tensor, w: Tensor, bias: Tensor | None = None) -> Tensor:
        left, right = at["pads"]
        if left != right:
            x, left = functional.pad(x, (left, right)), 0
        return functional.conv1d(
            x, w, bias, at["strides"], left, at["dilations"], groups=at["group"]
        )

    def _ConvTranspose(
        self, at: Attributes, x: Tensor, w: Tensor, bias: Tensor | None = None
    ) -> Tensor:
        extra = at.get("output_padding", [0])
        return functional.conv_transpose1d(
            x, w, bias, at["strides"], at["pads"][:1], extra, at["group"], at["dilations"]
        )

    def _Resize(self, at: Attributes, x: Tensor, _: Any, scales: Tensor) -> Tensor:
        factor = float(scales.reshape(-1)[-1])
        if at["mode"] == b"nearest":
            return functional.interpolate(x, scale_factor=factor, mode="nearest")
        return functional.interpolate(
            x, scale_factor=factor, mode="linear", align_corners=False, recompute_scale_factor=False
        )

    def _Pad(self, at: Attributes, x: Tensor, pads: Tensor) -> Tensor:
        sizes = pads.tolist()
        ends = (sizes[x.dim() - 1], sizes[-1])
        lifted = x if x.dim() > 1 else x[None]
        padded = functional.pad(lifted, ends, mode=at["mode"].decode())
        return padded if x.dim() > 1 else padded[0]

    def _STFT(self, _: Attributes, x: Tensor, step: Tensor, window: Tensor, size: Tensor) -> Tensor:
        signal = x[..., 0] if x.dim() == 3 else x
        frames = signal.unfold(1, int(size), int(step)) * window.to(x.device)
        return torch.view_as_real(torch.fft.rfft(frames))

    # --- shapes and places ---

    def _Shape(self, _: Attributes, x: Tensor) -> Tensor:
        return torch.tensor(x.shape)

    def _Gather(self, at: Attributes, x: Tensor, index: Tensor) -> Tensor:
        axis = at.get("axis", 0)
        flat = index.reshape(-1).to(x.device).long()
        flat = torch.where(flat < 0, flat + x.shape[axis], flat)
        found = x.index_select(axis, flat)
        return found.reshape((*x.shape[:axis], *index.shape, *x.shape[axis + 1 :]))

    def _Split(self, at: Attributes, x: Tensor, sizes: Tensor) -> tuple[Tensor, ...]:
        return x.split(sizes.tolist(), at["axis"])

    def _Unsqueeze(self, _: Attributes, x: Tensor, axes: Tensor) -> Tensor:
        for axis in sorted(axes.reshape(-1).tolist()):
            x = x.unsqueeze(axis)
        return x

    def _Squeeze(self, _: Attributes, x: Tensor, axes: Tensor) -> Tensor:
        return x.squeeze(tuple(axes.reshape(-1).tolist()))

    def _Transpose(self, at: Attributes, x: Tensor) -> Tensor:
        return x.permute(at["perm"])

    def _Concat(self, at: Attributes, *parts: Tensor) -> Tensor:
        if len({part.device for part in parts}) > 1:
            parts = tuple(part.to(self.device) for part in parts)
        return torch.cat(parts, at["axis"])

    def _Slice(self, _: Attributes, x: Tensor, *given: Tensor | None) -> Tensor:
        starts, ends, *rest = ([] if t is None else t.reshape(-1).tolist() for t in given)
        axes = rest[0] if rest else range(len(starts))
        steps = rest[1] if len(rest) > 1 and rest[1] else [1] * len(starts)
        parts: list[slice] = [slice(None)] * x.dim()
        for start, end, axis, step in zip(starts, ends, axes, steps, strict=True):
            parts[axis] = slice(start, end, step)
        return x[tuple(parts)]

    def _ConstantOfShape(self, at: Attributes, shape: Tensor) -> Tensor:
        made = torch.full(shape.tolist(), at["value"])
        return made.to(self.device) if made.is_floating_point() else made

    def _Where(self, _: Attributes, which: Tensor, one: Tensor, other: Tensor) -> Tensor:
        one, other = self._together(one, other)
        return torch.where(which.to(one.device), one, other)

    def _Expand(self, _: Attributes, x: Tensor, shape: Tensor) -> Tensor:
        return x * torch.ones(shape.tolist(), dtype=x.dtype, device=x.device)

    def _Reshape(self, _: Attributes, x: Tensor, shape: Tensor) -> Tensor:
        sizes = [x.shape[i] if s == 0 else s for i, s in enumerate(shape.tolist())]
        return x.reshape(sizes)

    def _Range(self, _: Attributes, start: Tensor, end: Tensor, step: Tensor) -> Tensor:
        made = torch.arange(start.item(), end.item(), step.item(), dtype=start.dtype)
        return made.to(self.device)

    def _FusedMatMul(self, at: Attributes, one: Tensor, other: Tensor) -> Tensor:
        return (one.transpose(-1, -2) if at["transA"] else one) @ other * at["alpha"]

    def _NonZero(self, _: Attributes, x: Tensor) -> Tensor:
        return torch.stack(x.nonzero(as_tuple=True))

    def _ScatterND(self, _: Attributes, x: Tensor, index: Tensor, updates: Tensor) -> Tensor:
        made = x.clone()
        made[tuple(index.to(x.device).unbind(-1))] = updates.to(x.device)
        return made
