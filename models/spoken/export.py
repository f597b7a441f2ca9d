"""The larger net as one ONNX file, its matrices with 8 bits a weight."""

from __future__ import annotations

import tempfile
from pathlib import Path

import torch
from torch import Tensor, nn

from .conformer import Conformer
from .phones import PHONES
from .train import load


class _Plain(nn.Module):
    def __init__(self, net: Conformer) -> None:
        super().__init__()
        self.net = net

    def forward(self, waveform: Tensor) -> Tensor:
        done: Tensor = self.net(waveform)
        return done


def write_onnx(checkpoint: Path, out: Path, *, quantise: bool = True) -> int:
    """Write `out`; gives its size in bytes.

    Input `waveform` (1, N) float32 in -1 to 1 at 16 kHz; output `log_probs` (1, T, phones), one row
    in 20 ms, the symbols' names in the file's metadata.
    """
    import onnx
    from onnxruntime.quantization import QuantType, quantize_dynamic

    net, _ = load(checkpoint)
    if not isinstance(net, Conformer):
        raise ValueError(f"{checkpoint} holds the net for vosk; this export is for the conformer")
    out.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        plain = Path(scratch, "plain.onnx")
        torch.onnx.export(
            _Plain(net),
            (torch.zeros(1, 16000),),
            str(plain),
            input_names=["waveform"],
            output_names=["log_probs"],
            dynamic_axes={"waveform": {1: "samples"}, "log_probs": {1: "frames"}},
            opset_version=17,
            dynamo=False,
        )
        made = plain
        if quantise:
            made = Path(scratch, "small.onnx")
            quantize_dynamic(
                plain, made, weight_type=QuantType.QInt8, op_types_to_quantize=["MatMul"]
            )
        model = onnx.load(made)
        entry = model.metadata_props.add()
        entry.key, entry.value = "symbols", " ".join(PHONES)
        onnx.save(model, out)
    return out.stat().st_size
