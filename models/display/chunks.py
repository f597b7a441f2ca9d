"""Samples by the chunk, as arrays. Run as a program it writes chunks to its standard output until
it is stopped: the trainings start one such process for each core (`python -m models.display.chunks
crop --seed 7 --count 64`).
"""

from __future__ import annotations

import argparse
import contextlib
import json
import sys
from collections.abc import Callable
from typing import BinaryIO

import cv2
import numpy as np

from models.display import samples
from models.display.text import ALPHABET

Chunk = dict[str, np.ndarray]


def crop_chunk(rng: np.random.Generator, count: int, severity: float) -> Chunk:
    """`count` reader samples: pictures as `samples.fit` gives them, widths, and labels padded to
    LONGEST."""
    most = samples.LONGEST
    chunk: Chunk = {
        "picture": np.zeros((count, samples.READER_HEIGHT, samples.READER_WIDTH, 3), np.uint8),
        "width": np.zeros(count, np.int32),
        "label": np.zeros((count, most), np.uint8),
        "places": np.zeros((count, most, 3), np.float32),
    }
    for row in range(count):
        made = samples.crop(rng, severity)
        chunk["picture"][row], chunk["width"][row] = samples.fit(made.picture)
        length = len(made.text)
        chunk["label"][row, :length] = [ALPHABET.index(char) + 1 for char in made.text]
        chunk["places"][row, :length] = np.stack([made.xs, made.tops, made.bottoms], 1)
    return chunk


def scene_chunk(rng: np.random.Generator, count: int, severity: float) -> Chunk:
    """`count` finder samples: pictures, quads and their kinds."""
    made = [samples.scene(rng, severity) for _ in range(count)]
    return {
        "picture": np.stack([scene.picture for scene in made]),
        "quads": np.stack([scene.quads for scene in made]),
        "kinds": np.stack([scene.kinds for scene in made]),
    }


MAKERS: dict[str, Callable[[np.random.Generator, int, float], Chunk]] = {
    "crop": crop_chunk,
    "scene": scene_chunk,
}


def write(out: BinaryIO, chunk: Chunk) -> None:
    """A line of JSON that tells names, types and shapes, then the arrays' bytes."""
    head = [(name, rows.dtype.str, rows.shape) for name, rows in chunk.items()]
    out.write(json.dumps(head).encode() + b"\n")
    for rows in chunk.values():
        out.write(np.ascontiguousarray(rows).data.cast("B"))
    out.flush()


def read(source: BinaryIO) -> Chunk | None:
    """The next chunk, or None at the end."""
    line = source.readline()
    if not line:
        return None
    chunk: Chunk = {}
    for name, kind, shape in json.loads(line):
        rows = np.empty(shape, np.dtype(kind))
        if source.readinto(memoryview(rows).cast("B")) != rows.nbytes:  # type: ignore[attr-defined]
            return None
        chunk[name] = rows
    return chunk


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kind", choices=MAKERS)
    parser.add_argument("--seed", type=int, nargs="+", required=True)
    parser.add_argument("--count", type=int, default=64, help="samples a chunk")
    parser.add_argument(
        "--easy", type=int, default=0, help="samples over which the severity rises to its full"
    )
    parser.add_argument("--severity", type=float, default=0.8)
    options = parser.parse_args()
    cv2.setNumThreads(1)
    rng, made = np.random.default_rng(options.seed), 0
    with contextlib.suppress(BrokenPipeError, KeyboardInterrupt):
        while True:
            share = min(1.0, 0.35 + made / options.easy) if options.easy else 1.0
            write(
                sys.stdout.buffer,
                MAKERS[options.kind](rng, options.count, options.severity * share),
            )
            made += options.count


if __name__ == "__main__":
    main()
