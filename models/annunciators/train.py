"""Trains the annunciator net: `python -m models.annunciators.train models/annunciators/words.onnx`.

Needs torch and onnx, which the product does not.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator

import numpy as np
import torch
from torch import nn

from fieldnote.photo.symbols import SPELLINGS
from fieldnote.photo.word_input import HEIGHT, WIDTH, prepared
from models.annunciators.samples import KEPT_APART, TRAINED, fonts, sample


def net() -> nn.Sequential:
    """(n, 1, 24, 64) → (n, classes) logits; plain layers that OpenCV's dnn runs."""

    def block(into: int, out: int, stride: int) -> list[nn.Module]:
        return [nn.Conv2d(into, out, 3, stride, 1, bias=False), nn.BatchNorm2d(out), nn.ReLU()]

    layers = [*block(1, 16, 1), *block(16, 32, 2), *block(32, 48, 2), *block(48, 64, 2)]
    return nn.Sequential(
        *layers, nn.Dropout(0.1), nn.Flatten(), nn.Linear(64 * 3 * 8, len(SPELLINGS))
    )


Batch = tuple[torch.Tensor, torch.Tensor]


def batch(rng: np.random.Generator, patterns: tuple[str, ...], count: int) -> Batch:
    paths = fonts(patterns)
    pairs = [sample(rng, paths) for _ in range(count)]
    images = np.stack([prepared(image)[None] for image, _ in pairs])
    return torch.from_numpy(images), torch.tensor([label for _, label in pairs])


def _pool(rng: np.random.Generator, size: int) -> Iterator[Batch]:
    images, labels = batch(rng, TRAINED, size)
    while True:
        for part in torch.randperm(size).split(128):
            yield images[part], labels[part]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out")
    parser.add_argument("--samples", type=int, default=40_000)
    parser.add_argument("--epochs", type=int, default=12)
    parser.add_argument("--seed", type=int, default=20)
    given = parser.parse_args()
    torch.manual_seed(given.seed)
    torch.set_num_threads(1)
    rng = np.random.default_rng(given.seed)
    started = time.time()
    stream = _pool(rng, given.samples)
    apart = batch(np.random.default_rng(given.seed + 1), KEPT_APART, 4_000)
    model = net()
    steps = given.epochs * given.samples // 128
    optimiser = torch.optim.AdamW(model.parameters(), 2e-3, weight_decay=1e-3)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, 4e-3, steps)
    loss_of = nn.CrossEntropyLoss(label_smoothing=0.02)
    for step in range(steps):
        images, labels = next(stream)
        loss = loss_of(model(images), labels)
        optimiser.zero_grad()
        loss.backward()
        optimiser.step()
        schedule.step()
        if step % 1000 == 999 or step == steps - 1:
            model.eval()
            with torch.no_grad():
                right = (model(apart[0]).argmax(1) == apart[1]).float().mean().item()
            model.train()
            print(f"{time.time() - started:5.0f} s, step {step + 1}: {right:.3f} of words in fonts "
                  "kept apart are right", flush=True)  # fmt: skip
    model.eval()
    torch.onnx.export(
        model, (torch.zeros(1, 1, HEIGHT, WIDTH),), given.out, input_names=["x"],
        output_names=["y"], dynamic_axes={"x": {0: "n"}, "y": {0: "n"}}, dynamo=False,
    )  # fmt: skip


if __name__ == "__main__":
    main()
