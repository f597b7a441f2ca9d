"""Phone errors on voices that are never trained on, told while a net is in training."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn

from .corpus import RATE, Samples, clips
from .lexicon import distance
from .mfcc import mfcc
from .network import Net
from .phones import INDEX, SILENCE


def spelled(log_probs: Tensor) -> list[list[int]]:
    """(B, T, phones) to the likeliest phones of each, repeats and blanks taken out."""
    best = log_probs.argmax(-1).cpu()
    return [[int(p) for p in torch.unique_consecutive(row) if p != INDEX[SILENCE]] for row in best]


def over_pink(samples: Samples, ratio: float | None, rng: np.random.Generator) -> Samples:
    """An utterance with pauses around it, `ratio` dB above pink noise (None: 60 dB)."""
    padded = np.concatenate([np.zeros(RATE * 2 // 5), samples, np.zeros(RATE * 3 // 5)])
    padded = 0.3 * padded / max(np.abs(padded).max(), 1e-6)
    speech = np.sqrt(np.mean(np.square(padded[np.abs(padded) > 0.003])))
    spectrum = np.fft.rfft(rng.standard_normal(len(padded)))
    noise = np.fft.irfft(spectrum * np.arange(1, len(spectrum) + 1) ** -0.5, len(padded))
    level = speech / noise.std() * 10 ** (-(60.0 if ratio is None else ratio) / 20)
    return np.clip(padded + level * noise, -1, 1).astype(np.float32)


class Exam:
    """Phone error rate on voices that are never trained on: clean and at 10 dB.

    Args:
        most: clips, drawn from all under `folder`. engine: only those of its voices.
    """

    def __init__(self, folder: Path, device: str, most: int = 160, engine: str = "") -> None:
        chosen = [
            (samples, said)
            for samples, said in clips(folder)
            if said.voice.startswith(engine) and 0.4 * RATE < len(samples) < 5 * RATE
        ]
        chosen = [chosen[i] for i in np.random.default_rng(3).permutation(len(chosen))[:most]]
        self.phones = [[INDEX[p] for p in u.phones] for _, u in chosen]
        self.device = device
        self.sounds = {
            ratio: [over_pink(samples, ratio, np.random.default_rng(5)) for samples, _ in chosen]
            for ratio in (None, 10.0)
        }

    @torch.no_grad()
    def errors(self, net: nn.Module) -> dict[str, float]:
        net.eval()
        result = {}
        for ratio, sounds in self.sounds.items():
            wrong = count = 0
            for sound, phones in zip(sounds, self.phones, strict=True):
                heard = spelled(run(net, torch.from_numpy(sound)[None].to(self.device) * 32768))
                wrong, count = wrong + distance(phones, heard[0]), count + len(phones)
            result["clean" if ratio is None else f"{ratio:.0f} dB"] = round(100 * wrong / count, 1)
        net.train()
        return result


def run(net: nn.Module, sound: Tensor) -> Tensor:
    """(B, N) in 16-bit steps to (B, T, phones) log-probabilities."""
    found: Tensor = net(mfcc(sound)) if isinstance(net, Net) else net(sound / 32768)
    return found


class Exported(nn.Module):
    """A net as it is shipped: the ONNX file, asked like the net that it was made of."""

    def __init__(self, path: Path) -> None:
        import onnxruntime

        super().__init__()
        self._session = onnxruntime.InferenceSession(str(path))

    def forward(self, samples: Tensor) -> Tensor:
        return torch.from_numpy(self._session.run(None, {"waveform": samples.numpy()})[0])
