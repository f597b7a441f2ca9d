"""Samples that worker processes draw, kept in the accelerator's memory, so that training never
waits for them: it takes the files that are there and goes on with what it has."""

from __future__ import annotations

import contextlib
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import torch

from models.display import chunks

PATIENCE = 60.0
"""Seconds without a first sample after which a feed gives up."""
A_TURN = 24
"""Chunks taken in at a time, at most: so many must not hold training up."""


class Feed:
    """The store of one kind of sample that training draws from.

    Worker k draws from numpy's default generator seeded with (seed, k): the stream of each worker
    is fixed, the order in which their chunks arrive is not. With a `spool` nothing is drawn here:
    the chunks are those that others put into that folder.
    """

    def __init__(
        self,
        kind: str,
        workers: int,
        seed: int,
        capacity: int,
        device: torch.device,
        seconds: float,
        held: int,
        held_seed: int,
        easy: int = 0,
        spool: Path | None = None,
    ) -> None:
        self.made = 0
        self._capacity, self._device = capacity, device
        self._store: dict[str, torch.Tensor] = {}
        self._own = tempfile.TemporaryDirectory(prefix="display-", ignore_cleanup_errors=True)
        root = Path(self._own.name)
        self._folder = spool or root / "chunks"
        self._folder.mkdir(parents=True, exist_ok=True)
        self._held, self._held_count = root / "held", held
        self._held.mkdir()
        count = 32 if kind == "crop" else 8
        lasting = str(seconds + PATIENCE)
        jobs = [
            [kind, "--to", str(self._held), "--total", str(held), "--count", str(held // 8),
             "--seed", str(held_seed), "--seconds", lasting]
        ]  # fmt: skip
        if spool is None:
            jobs += [
                [kind, "--to", str(self._folder), "--count", str(count), "--easy", str(easy),
                 "--seed", str(seed), str(k), "--seconds", lasting]
                for k in range(workers)
            ]  # fmt: skip
        self._workers = [
            subprocess.Popen(
                [sys.executable, "-m", "models.display.chunks", *job],
                stdin=subprocess.DEVNULL,
                cwd=Path(__file__).parents[2],
            )
            for job in jobs
        ]

    def fill(self, least: int) -> None:
        """Wait until `least` samples are held."""
        start = time.monotonic()
        while self.made < least:
            if time.monotonic() - start > PATIENCE:
                if self.made:
                    return
                raise RuntimeError(f"No sample came in {PATIENCE:.0f} s: the workers don't work.")
            self.take_in()
            time.sleep(0.05)

    def take_in(self) -> None:
        """Move chunks that have arrived into the store; the oldest samples give way when it is
        full."""
        for path in list(self._folder.glob("*.chunk"))[:A_TURN]:
            with contextlib.suppress(FileNotFoundError):
                with path.open("rb") as source:
                    chunk = chunks.read(source)
                path.unlink()
                if chunk is not None:
                    self._keep(chunk)

    def _keep(self, chunk: chunks.Chunk) -> None:
        if not self._store:
            for name, rows in chunk.items():
                kind = torch.from_numpy(rows).dtype
                self._store[name] = torch.zeros(
                    (self._capacity, *rows.shape[1:]), dtype=kind, device=self._device
                )
        count = len(chunk["picture"])
        first = self.made % self._capacity
        for name, rows in chunk.items():
            fits = min(count, self._capacity - first)
            values = torch.from_numpy(rows)
            self._store[name][first : first + fits] = values[:fits].to(self._device)
            if fits < count:
                self._store[name][: count - fits] = values[fits:].to(self._device)
        self.made += count

    def batch(self, count: int) -> dict[str, torch.Tensor]:
        """`count` of the samples held, drawn at random."""
        rows = torch.randint(min(self.made, self._capacity), (count,), device=self._device)
        return {name: values[rows] for name, values in self._store.items()}

    def held(self) -> chunks.Chunk | None:
        """The samples that no training sees, once they all are drawn."""
        paths = sorted(self._held.glob("*.chunk"))
        if len(paths) < self._held_count // (self._held_count // 8):
            return None
        parts = []
        for path in paths:
            with path.open("rb") as source:
                parts.append(chunks.read(source))
        return {
            name: np.concatenate([part[name] for part in parts if part is not None])
            for name in parts[0] or {}
        }

    def close(self) -> None:
        """End the workers and take their files away."""
        for worker in self._workers:
            worker.kill()
        for worker in self._workers:
            worker.wait()
        self._own.cleanup()
