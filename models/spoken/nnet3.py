"""Writes Kaldi's binary files: TransitionModel and nnet3, matrices with 8 bits a weight.

Follows the Write functions of Kaldi's classes (hmm/transition-model, nnet3/nnet-simple-component
and others, Apache-2.0), as far as this net needs them.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .network import BYPASS, SUBSAMPLING, Layer, Net
from .phones import PDF_COUNT, all_positioned, pdf

BINARY = b"\0B"
SMALL = 2000  # matrices below this many entries stay in floats


def token(text: str) -> bytes:
    return text.encode() + b" "


def integer(value: int) -> bytes:
    return b"\4" + struct.pack("<i", value)


def real(value: float) -> bytes:
    return b"\4" + struct.pack("<f", value)


def boolean(value: bool) -> bytes:
    return b"T" if value else b"F"


def integers(values: Sequence[int]) -> bytes:
    return integer(len(values)) + np.asarray(values, "<i4").tobytes()


def vector(values: ArrayLike) -> bytes:
    array = np.asarray(values, "<f4")
    return token("FV") + integer(len(array)) + array.tobytes()


def matrix(values: ArrayLike) -> bytes:
    """A matrix; large ones as Kaldi's one-byte compressed matrix (format "CM3": one range for all
    entries)."""
    array = np.ascontiguousarray(values, "<f4")
    rows, columns = array.shape
    if array.size < SMALL:
        return token("FM") + integer(rows) + integer(columns) + array.tobytes()
    low = float(array.min())
    span = float(array.max()) - low or 1.0
    steps = np.clip(np.round((array - low) / span * 255), 0, 255).astype("u1")
    return token("CM3") + struct.pack("<ffii", low, span, rows, columns) + steps.tobytes()


def _component(kind: str, body: bytes) -> bytes:
    return token(f"<{kind}>") + body + token(f"</{kind}>")


def _updatable(kind: str, body: bytes) -> bytes:
    head = token("<MaxChange>") + real(0.75) + token("<LearningRate>") + real(0.001)
    return _component(kind, head + body)


def fixed_affine(weights: ArrayLike, bias: ArrayLike) -> bytes:
    return _component(
        "FixedAffineComponent",
        token("<LinearParams>") + matrix(weights) + token("<BiasParams>") + vector(bias),
    )


def affine(weights: ArrayLike, bias: ArrayLike) -> bytes:
    return _updatable(
        "AffineComponent",
        token("<LinearParams>") + matrix(weights) + token("<BiasParams>") + vector(bias),
    )


def delayed(offsets: Sequence[int], weights: ArrayLike, bias: ArrayLike) -> bytes:
    """TdnnComponent: an affine map over the input at several time offsets; an empty bias means
    none."""
    return _updatable(
        "TdnnComponent",
        token("<TimeOffsets>")
        + integers(offsets)
        + token("<LinearParams>")
        + matrix(weights)
        + token("<BiasParams>")
        + vector(bias)
        + token("<OrthonormalConstraint>")
        + real(0.0)
        + token("<UseNaturalGradient>")
        + boolean(True)
        + token("<NumSamplesHistory>")
        + real(2000.0)
        + token("<AlphaInOut>")
        + real(4.0)
        + real(4.0)
        + token("<RankInOut>")
        + integer(20)
        + integer(80),
    )


def _elementwise(kind: str, dim: int) -> bytes:
    body = token("<Dim>") + integer(dim)
    for name in ("<ValueAvg>", "<DerivAvg>"):
        body += token(name) + vector([])
    body += (
        token("<Count>")
        + real(0.0)
        + token("<OderivRms>")
        + vector([])
        + token("<OderivCount>")
        + real(0.0)
    )
    body += token("<NumDimsSelfRepaired>") + real(0.0) + token("<NumDimsProcessed>") + real(0.0)
    return _component(kind, body)


def rectifier(dim: int) -> bytes:
    return _elementwise("RectifiedLinearComponent", dim)


def log_softmax(dim: int) -> bytes:
    return _elementwise("LogSoftmaxComponent", dim)


def identity(dim: int) -> bytes:
    return _component(
        "NoOpComponent", token("<Dim>") + integer(dim) + token("<BackpropScale>") + real(1.0)
    )


def norm(mean: ArrayLike, variance: ArrayLike, epsilon: float) -> bytes:
    dim = len(np.asarray(mean))
    return _component(
        "BatchNormComponent",
        token("<Dim>")
        + integer(dim)
        + token("<BlockDim>")
        + integer(dim)
        + token("<Epsilon>")
        + real(epsilon)
        + token("<TargetRms>")
        + real(1.0)
        + token("<TestMode>")
        + boolean(True)
        + token("<Count>")
        + real(1000.0)
        + token("<StatsMean>")
        + vector(mean)
        + token("<StatsVar>")
        + vector(variance),
    )


def _array(tensor: object) -> NDArray[np.float32]:
    return np.asarray(tensor.detach().cpu().float().numpy(), "<f4")  # type: ignore[attr-defined]


class _Graph:
    """Collects components and the lines that join them."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.components: list[tuple[str, bytes]] = []

    def add(self, name: str, source: str, blob: bytes) -> str:
        self.lines.append(f"component-node name={name} component={name} input={source}")
        self.components.append((name, blob))
        return name

    def add_norm(self, name: str, source: str, module: object) -> str:
        mean, variance = _array(module.running_mean), _array(module.running_var)  # type: ignore[attr-defined]
        return self.add(name, source, norm(mean, variance, module.eps))  # type: ignore[attr-defined]


def _taps(conv: object) -> NDArray[np.float32]:
    """(out, in, taps) of a convolution as Kaldi's (out, taps * in)."""
    weights = _array(conv.weight)  # type: ignore[attr-defined]
    return np.ascontiguousarray(weights.transpose(0, 2, 1)).reshape(len(weights), -1)


def network(net: Net) -> bytes:
    """The nnet3 part of final.mdl, for `net` in evaluation mode."""
    graph = _Graph()
    width, dim_in = net.shape.width, len(net.shift)
    graph.lines.append(f"input-node name=input dim={dim_in}")
    scale, shift = _array(net.scale), _array(net.shift)
    x = graph.add("whiten", "input", fixed_affine(np.diag(scale), -shift * scale))
    around = f"Append(Offset({x}, -1), {x}, Offset({x}, 1))"
    x = graph.add("entry.affine", around, affine(_taps(net.entry), _array(net.entry.bias)))
    x = graph.add("entry.relu", x, rectifier(width))
    x = graph.add_norm("entry.norm", x, net.entry_norm)
    strides = [*net.shape.early, *(SUBSAMPLING * s for s in net.shape.late)]
    layers: list[Layer] = [*net.early, *net.late]  # type: ignore[list-item]
    for number, (stride, layer) in enumerate(zip(strides, layers, strict=True), 1):
        name = f"layer{number}"
        back, ahead = ([-stride, 0], [0, stride]) if stride else ([0], [0])
        y = graph.add(f"{name}.linear", x, delayed(back, _taps(layer.linear), []))
        y = graph.add(
            f"{name}.affine", y, delayed(ahead, _taps(layer.affine), _array(layer.affine.bias))
        )
        y = graph.add(f"{name}.relu", y, rectifier(width))
        y = graph.add_norm(f"{name}.norm", y, layer.norm)
        x = graph.add(f"{name}.sum", f"Sum(Scale({BYPASS}, {x}), {y})", identity(width))
    none = np.zeros(net.shape.bottleneck, "<f4")
    x = graph.add("squeeze", x, affine(_taps(net.squeeze), none))
    x = graph.add("spread.affine", x, affine(_taps(net.spread), _array(net.spread.bias)))
    x = graph.add("spread.relu", x, rectifier(width))
    x = graph.add_norm("spread.norm", x, net.spread_norm)
    pdfs = net.output.out_channels
    x = graph.add("output.affine", x, affine(_taps(net.output), _array(net.output.bias)))
    x = graph.add("output.log", x, log_softmax(pdfs))
    graph.lines.append(f"output-node name=output input={x} objective=linear")

    blob = token("<Nnet3>") + b"\n" + "\n".join(graph.lines).encode() + b"\n\n"
    blob += token("<NumComponents>") + integer(len(graph.components))
    for name, component in graph.components:
        blob += token("<ComponentName>") + token(name) + component
    context = net.shape.context
    blob += (
        token("</Nnet3>")
        + token("<LeftContext>")
        + integer(context)
        + token("<RightContext>")
        + integer(context)
    )
    return blob


def transition_ids() -> dict[str, tuple[int, int]]:
    """(loop, leave) transition ids by positioned phone name."""
    return {name: (2 * number - 1, 2 * number) for number, name in enumerate(all_positioned(), 1)}


def transitions() -> bytes:
    """The TransitionModel part of final.mdl: every phone is one state, which may be held.

    A held phone is scored by the same output as its first frame, as connectionist temporal
    classification has it.
    """
    names = all_positioned()
    numbers = list(range(1, len(names) + 1))
    blob = token("<TransitionModel>") + token("<Topology>") + integers(numbers)
    blob += integers([-1] + [0] * len(names))
    blob += integer(1) + integer(2)  # one kind of phone, with an emitting state and the final one
    blob += integer(0) + integer(2)  # state 0: its class of pdf, two transitions
    for target in (0, 1):
        blob += integer(target) + real(0.5)
    blob += integer(-1) + integer(0)
    blob += token("</Topology>") + token("<Triples>") + integer(len(names))
    for number, name in enumerate(names, 1):
        blob += integer(number) + integer(0) + integer(pdf(name))
    blob += token("</Triples>") + token("<LogProbs>")
    blob += vector([0.0] + [math.log(0.5)] * (2 * len(names)))
    return blob + token("</LogProbs>") + token("</TransitionModel>")


def model(net: Net, blank: float = 1.0) -> bytes:
    """Contents of am/final.mdl. `blank`: taken off the blank's log probability in every frame."""
    priors = np.ones(PDF_COUNT)
    priors[0] = math.exp(blank)
    return BINARY + transitions() + network(net) + token("<Priors>") + vector(priors)
