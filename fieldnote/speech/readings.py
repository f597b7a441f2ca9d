"""Our own phone nets, trained in noise on spoken readings: ARPAbet, 50 frames a second.

There are two, so that two can agree: "witness" differs in size, in what it looks at and in the
chance of its training. Recipe and model card stand in ``models/``.
"""

from __future__ import annotations

from functools import cached_property
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldnote.speech.engine import SAMPLE_RATE
from fieldnote.speech.phone_engine import PhoneEngine
from fieldnote.speech.phone_net import PHONES, Heard, Scores, Symbols
from fieldnote.speech.sound import Samples
from fieldnote.weights import weights

if TYPE_CHECKING:
    from fieldnote.language import Grammar

NETS = {name: f"readings/{name}.onnx" for name in ("readings", "witness")}
"""The nets' files, as `weights` finds them, by the names of their engines."""

BLANK = 0
"""The net's first symbol; the phonemes follow it in the order of PHONES."""


class ReadingsNet:
    """The net in a file. Input "waveform", (1, samples), 16 kHz; output "log_probs", (1, frames,
    1 + phonemes)."""

    hop = 0.02
    symbols = Symbols(BLANK, (BLANK,), tuple((1 + place,) for place in range(len(PHONES))))

    def __init__(self, model: Path, threads: int = 1) -> None:
        self.classes = {name: place for place, name in enumerate(PHONES)}
        self.habits: dict[str, tuple[str, ...]] = {}
        self._model, self._threads = model, threads

    @cached_property
    def _session(self) -> Any:
        onnxruntime: Any = import_module("onnxruntime")
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = self._threads
        options.inter_op_num_threads = 1
        return onnxruntime.InferenceSession(
            str(self._model), sess_options=options, providers=["CPUExecutionProvider"]
        )

    def listen(self, samples: Samples) -> Heard:
        return self.symbols.heard(self.log_probs(samples))

    def log_probs(self, samples: Samples) -> Scores:
        """The net's output for one utterance, shape (frames, symbols)."""
        wave = np.ascontiguousarray(samples, np.float32)
        if len(wave) < SAMPLE_RATE // 20:
            return np.zeros((0, 1 + len(PHONES)), np.float32)
        (log_probs,) = self._session.run(["log_probs"], {"waveform": wave[None]})
        return np.asarray(log_probs[0], np.float32)


class ReadingsEngine(PhoneEngine):
    """One of our acoustic models behind our search."""

    def __init__(self, grammar: Grammar, name: str = "readings") -> None:
        super().__init__(name, ReadingsNet(weights(NETS[name])), grammar)
