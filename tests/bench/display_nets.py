"""The display nets alone: time on one core beside a peer runtime, and how often they read right.

    python -m tests.bench.display_nets [FOLDER]

OpenCV's dnn, which the product uses, is timed next to onnxruntime on the same input in the same
run. FOLDER holds labelled photos (labels.csv); without it only drawn pictures, from a seed that no
training used, are counted.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import onnxruntime
from rich.console import Console
from rich.progress import track
from rich.table import Table

from models.display import decode, evaluate, samples

WEIGHTS = Path(decode.__file__).parent
SHAPES = {
    "reader, 1 view": ("reader", (1, 3, samples.READER_HEIGHT, samples.READER_WIDTH)),
    "reader, 5 views": ("reader", (5, 3, samples.READER_HEIGHT, samples.READER_WIDTH)),
    "reader2, 1 view": ("reader2", (1, 3, samples.READER_HEIGHT, samples.READER_WIDTH)),
    "finder, 384 px": ("finder", (1, 3, 288, 384)),
    "finder, 704 px": ("finder", (1, 3, 544, 704)),
}


def milliseconds(run: Callable[[], object], rounds: int = 9) -> float:
    """Median CPU time of a call."""
    run()
    times = []
    for _ in range(rounds):
        start = time.process_time()
        run()
        times.append((time.process_time() - start) * 1e3)
    return float(np.median(times))


def timings() -> Table:
    table = Table(
        "net", "OpenCV dnn, ms", "onnxruntime, ms", "largest difference", title="One core"
    )
    settings = onnxruntime.SessionOptions()
    settings.intra_op_num_threads = settings.inter_op_num_threads = 1
    rng = np.random.default_rng(0)
    for name, (net, shape) in SHAPES.items():
        path = WEIGHTS / f"{net}.onnx"
        if not path.is_file():
            continue
        values = rng.normal(size=shape).astype(np.float32)
        ours = decode.network(path)
        peer = onnxruntime.InferenceSession(path, settings, providers=["CPUExecutionProvider"])

        def forward(ours: cv2.dnn.Net = ours, values: np.ndarray = values) -> np.ndarray:
            ours.setInput(values)
            return ours.forward()

        def peer_forward(
            peer: onnxruntime.InferenceSession = peer, values: np.ndarray = values
        ) -> np.ndarray:
            return peer.run(None, {"x": values})[0]

        gap = float(np.abs(forward() - peer_forward()).max())
        table.add_row(
            name, f"{milliseconds(forward):.1f}", f"{milliseconds(peer_forward):.1f}", f"{gap:.1e}"
        )
    return table


def drawn(count: int, seed: int) -> Table:
    """Held-back crops, some of them too blurred for anyone to read: each reader, and what both read
    alike."""
    paths = [path for name in ("reader", "reader2") if (path := WEIGHTS / f"{name}.onnx").is_file()]
    readers = [decode.network(path) for path in paths]
    rng = np.random.default_rng(seed)
    rows = []
    for _ in track(range(count), "drawn crops"):
        crop = samples.crop(rng, 0.8)
        rows.append((crop.text, [decode.read(reader, crop.picture) for reader in readers]))
    table = Table("drawn crops", "reader", "exact", "without the point", "surest", "right of those")
    for place, path in enumerate(paths):
        found = [(wanted, reads[place].text, reads[place].confidence) for wanted, reads in rows]
        table.add_row(str(count), path.stem, *_shares(found, surest=0.6))
    if len(paths) == 2:
        alike = [
            (wanted, one.text, one.confidence * other.confidence * (one.text == other.text))
            for wanted, (one, other) in rows
        ]
        table.add_row(str(count), "both alike", *_shares(alike, surest=0.36))
    return table


def _shares(found: list[tuple[str, str, float]], surest: float) -> list[str]:
    """Exact, exact without the point, share at `surest` confidence or more, and right of those."""
    sure = [(wanted, text) for wanted, text, confidence in found if confidence >= surest]
    exact = sum(wanted == text for wanted, text, _ in found) / len(found)
    digits = sum(wanted.replace(".", "") == text.replace(".", "") for wanted, text, _ in found)
    right = sum(wanted == text for wanted, text in sure) / max(len(sure), 1)
    return [f"{v:.3f}" for v in (exact, digits / len(found), len(sure) / len(found), right)]


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path, nargs="?")
    parser.add_argument("--drawn", type=int, default=300)
    options = parser.parse_args()
    cv2.setNumThreads(1)
    console = Console()
    console.print(timings())
    console.print(drawn(options.drawn, seed=20_003))
    if options.folder is None:
        console.print("No folder of labelled photos given: only drawn pictures were counted.")
        return
    evaluate.report(evaluate.measure(options.folder, WEIGHTS))


if __name__ == "__main__":
    main()
