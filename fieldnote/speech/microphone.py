"""The microphone, block by block, through PortAudio."""

from __future__ import annotations

import queue
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
import soxr

from fieldnote.errors import MissingPartError
from fieldnote.speech.engine import SAMPLE_RATE
from fieldnote.speech.sound import Samples

BLOCK = 0.1
"""s a block: short enough for partial words, long enough not to load the machine."""

UNHEARD = 5.0
"""s without a block from a running device: it was unplugged or taken by another program."""

MEND = "Plug in a microphone, or name a device; `fieldnote hear FILE.wav` reads recordings."


class Microphone:
    """Blocks of 16 kHz mono as they are spoken. Use it in a ``with`` and iterate.

    lost: how often sound was lost because this program was too slow for the device (overrun).
    """

    def __init__(self, device: str | int | None = None) -> None:
        self._device = device
        self._blocks: queue.SimpleQueue[Samples] = queue.SimpleQueue()
        self._stream: Any = None
        self._listening = True
        self.lost = 0

    def __enter__(self) -> Microphone:
        sounddevice = load_sounddevice()
        try:
            facts = sounddevice.query_devices(self._device, "input")
            rate = int(facts["default_samplerate"])
            self._resampler = soxr.ResampleStream(rate, SAMPLE_RATE, 1, dtype="float32")
            self._stream = sounddevice.InputStream(
                device=self._device,
                samplerate=rate,
                blocksize=int(rate * BLOCK),
                channels=min(2, int(facts["max_input_channels"])),
                dtype="float32",
                callback=self._take,
            )
            self._stream.start()
        except (sounddevice.PortAudioError, ValueError) as fault:
            raise MissingPartError(f"No microphone can be used ({fault}).", MEND) from fault
        return self

    def __exit__(self, *_: object) -> None:
        self._stream.close()

    def _take(self, block: Any, frames: int, time: Any, status: Any) -> None:
        """Called by PortAudio in its own thread."""
        if not self._listening:
            return
        if status.input_overflow:
            self.lost += 1
        self._blocks.put(np.array(block).mean(axis=1, dtype=np.float32))

    @contextmanager
    def deaf(self) -> Iterator[None]:
        """What is captured meanwhile is dropped: the read-back must not hear itself."""
        self._listening = False
        try:
            yield
        finally:
            self._listening = True

    def __iter__(self) -> Iterator[Samples]:
        while True:
            try:
                block = self._blocks.get(timeout=UNHEARD)
            except queue.Empty:
                raise MissingPartError(
                    "The microphone has stopped giving sound; what was said before is kept.", MEND
                ) from None
            yield np.clip(self._resampler.resample_chunk(block), -1, 1)


def load_sounddevice() -> Any:
    """sounddevice, or the reason why there is none: it needs the system's PortAudio library."""
    try:
        import sounddevice
    except (ImportError, OSError):
        raise MissingPartError(
            "Microphone and loudspeaker need PortAudio.",
            "Install it: apt install libportaudio2 && pip install sounddevice",
        ) from None
    return sounddevice
