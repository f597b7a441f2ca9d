"""Samples made by worker processes and kept in the accelerator's memory, so that training never
waits for them."""

from __future__ import annotations

import contextlib
import queue
import subprocess
import sys
import threading
import time
from pathlib import Path

import torch

from models.display import chunks

PATIENCE = 60.0
"""Seconds without a new sample after which a feed gives up."""


class Feed:
    """Workers of one kind of sample and the store that training draws from.

    Worker k draws from numpy's default generator seeded with (seed, k): the stream of each worker
    is fixed, the order in which their chunks arrive is not.
    """

    def __init__(
        self,
        kind: str,
        workers: int,
        seed: int,
        capacity: int,
        device: torch.device,
        count: int,
        easy: int = 0,
    ) -> None:
        self.made = 0
        self._capacity, self._device = capacity, device
        self._store: dict[str, torch.Tensor] = {}
        self._arrived: queue.Queue[chunks.Chunk] = queue.Queue(maxsize=max(8, 512 // count))
        self._workers = [
            subprocess.Popen(
                [
                    sys.executable,
                    "-m",
                    "models.display.chunks",
                    kind,
                    "--count",
                    str(count),
                    "--easy",
                    str(easy),
                    "--seed",
                    str(seed),
                    str(k),
                ],
                stdout=subprocess.PIPE,
                cwd=Path(__file__).parents[2],
            )
            for k in range(workers)
        ]
        self._receivers: list[threading.Thread] = []
        for worker in self._workers:
            receiver = threading.Thread(target=self._receive, args=(worker,), daemon=True)
            receiver.start()
            self._receivers.append(receiver)

    def _receive(self, worker: subprocess.Popen[bytes]) -> None:
        assert worker.stdout is not None
        while (chunk := chunks.read(worker.stdout)) is not None:  # type: ignore[arg-type]
            self._arrived.put(chunk)

    def fill(self, least: int) -> None:
        """Wait until `least` samples are held."""
        start = time.monotonic()
        while self.made < least:
            if time.monotonic() - start > PATIENCE:
                raise RuntimeError(
                    f"Only {self.made} samples came in {PATIENCE:.0f} s: the workers don't work."
                )
            self.take_in()
            time.sleep(0.05)

    def take_in(self) -> None:
        """Move what has arrived into the store; the oldest samples give way when it is full."""
        while True:
            try:
                chunk = self._arrived.get_nowait()
            except queue.Empty:
                return
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

    def close(self) -> None:
        """End the workers and the threads that listen to them."""
        for worker in self._workers:
            worker.kill()
        while any(receiver.is_alive() for receiver in self._receivers):
            with contextlib.suppress(queue.Empty):
                self._arrived.get(timeout=0.05)
        for worker in self._workers:
            worker.wait()
