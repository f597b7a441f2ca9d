"""Samples by the chunk, as arrays. Run as a program it draws chunks into files until its time is up
(`python -m models.display.chunks crop --seed 7 --to FOLDER --seconds 60`); trainings start one such
process for each core, or share one set of them.

Files, not pipes: a file is there whole or not at all, nobody waits for anybody, and a process that
dies takes nothing with it.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import time
from collections.abc import Callable
from pathlib import Path
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


def hand_out(chunk: Chunk, name: str, folders: list[Path], most: int) -> bool:
    """Put a chunk into each folder that holds fewer than `most`; False if all of them are full."""
    hungry = [folder for folder in folders if sum(1 for _ in folder.iterdir()) < most]
    if not hungry:
        return False
    part = folders[0].parent / f"{name}.part"
    with part.open("wb") as out:
        write(out, chunk)
    for folder in hungry:
        os.link(part, folder / f"{name}.chunk")
    part.unlink()
    return True


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kind", choices=MAKERS)
    parser.add_argument("--seed", type=int, nargs="+", required=True)
    parser.add_argument("--to", type=Path, nargs="+", required=True, help="folders, one a training")
    parser.add_argument("--seconds", type=float, required=True, help="time to draw for")
    parser.add_argument("--total", type=int, default=10**9, help="samples after which it ends")
    parser.add_argument("--count", type=int, default=32, help="samples a chunk")
    parser.add_argument("--most", type=int, default=200, help="chunks a folder may hold")
    parser.add_argument(
        "--easy", type=int, default=0, help="samples over which the severity rises to its full"
    )
    parser.add_argument("--severity", type=float, default=0.8)
    options = parser.parse_args()
    cv2.setNumThreads(1)
    end, parent = time.monotonic() + options.seconds, os.getppid()
    rng, made = np.random.default_rng(options.seed), 0
    for folder in options.to:
        folder.mkdir(parents=True, exist_ok=True)
    with contextlib.suppress(
        KeyboardInterrupt, FileNotFoundError
    ):  # the folders went: training over
        while made < options.total:
            share = min(1.0, 0.35 + made / options.easy) if options.easy else 1.0
            chunk = MAKERS[options.kind](rng, options.count, options.severity * share)
            name = "-".join(str(part) for part in [*options.seed, f"{made:08d}"])
            while True:
                if time.monotonic() > end or os.getppid() != parent:
                    return
                if hand_out(chunk, name, options.to, options.most):
                    break
                time.sleep(0.1)
            made += options.count


if __name__ == "__main__":
    main()
