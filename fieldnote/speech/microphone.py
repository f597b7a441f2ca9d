"""The microphone, block by block, through PortAudio."""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from typing import Any

import numpy as np
import soxr

from fieldnote.errors import MissingPartError
from fieldnote.speech.engine import SAMPLE_RATE
from fieldnote.speech.quiet import quiet_libraries
from fieldnote.speech.sound import SILENT, Samples

BLOCK = 0.064
"""s a block, two steps of the voice detector: an utterance's end is seen soon after it."""

HELD = 60.0
"""s of sound held while the recogniser is busy; what comes beyond it is lost, and said to be."""

LOOK = 0.5
"""s without a block after which the device is looked at: one that was unplugged has stopped."""

UNHEARD = 8.0
"""s without a block from a device that seems to run; a machine that is very busy may hold it up."""

RETRY = 1.0
"""s between tries to open a device that has gone."""

ECHO = 0.3
"""s that the microphone stays deaf after the loudspeaker has ended: its buffers and the room."""

STILL = 5.0
"""s of nothing but digital silence since the device was opened after which it is said. Later
silence is not: the noise gate of a headset gives it in every pause."""

MEND = "Plug in a microphone, or name a device; `fieldnote hear FILE.wav` reads recordings."
GONE = "The microphone has stopped giving sound. Plug it in again, and listening goes on."
BACK = "The microphone is back."
LOST = "Some sound was lost because this machine was too busy. Say it again if it is missing."
MUTE = "The microphone gives nothing but silence. Is it switched on, and is it the right one?"

DEVICES = threading.RLock()
"""Held while PortAudio looks for devices anew, which would end what is being played."""


@dataclass(frozen=True, slots=True)
class Gap:
    """Sound is missing here, so that an utterance can't go on over it.

    told: what a person should know of it; empty for the read-back, which is left out on purpose.
    """

    told: str = ""


class Microphone:
    """Blocks of 16 kHz mono as they are spoken, and gaps. Use it in a ``with`` and iterate.

    A device that goes away is waited for: a gap says so, another one that it is back.

    Args:
        device: PortAudio's name or number of it; None for the system's default.
    """

    def __init__(self, device: str | int | None = None) -> None:
        self._device = int(device) if isinstance(device, str) and device.isdecimal() else device
        self._blocks: queue.SimpleQueue[Samples | Gap] = queue.SimpleQueue()
        self._stream: Any = None
        self._resampler = soxr.ResampleStream(SAMPLE_RATE, SAMPLE_RATE, 1, dtype="float32")
        self._deaf = 0
        self._deaf_until = 0.0
        self._missing = self._losing = False
        self._still: float | None = 0.0
        self._closed = threading.Event()

    def __enter__(self) -> Microphone:
        with ExitStack() as stack:
            stack.enter_context(quiet_libraries())
            self._open()
            self._stack = stack.pop_all()
        return self

    def __exit__(self, *_: object) -> None:
        self._closed.set()
        with DEVICES:
            self._stream.close(ignore_errors=True)
        self._stack.close()

    def _open(self) -> None:
        sounddevice = load_sounddevice()
        self._still = 0.0
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

    def _take(self, block: Any, frames: int, now: Any, status: Any) -> None:
        """Called by PortAudio in its own thread."""
        if self._deaf or time.monotonic() < self._deaf_until:
            self._missing = True
            return
        full = self._blocks.qsize() * BLOCK > HELD
        if status.input_overflow or full:
            if not self._losing:  # once for a whole stretch of it
                self._blocks.put(Gap(LOST))
        elif self._missing:
            self._blocks.put(Gap())
        self._losing = status.input_overflow or full
        self._missing = False
        if not full:
            self._blocks.put(np.array(block).mean(axis=1, dtype=np.float32))

    @contextmanager
    def deaf(self) -> Iterator[None]:
        """What is captured meanwhile, and a little longer, is dropped: the read-back must not hear
        itself."""
        self._deaf += 1
        try:
            yield
        finally:
            self._deaf_until = time.monotonic() + ECHO + float(self._stream.latency)
            self._deaf -= 1

    def __iter__(self) -> Iterator[Samples | Gap]:
        unheard = 0.0
        while not self._closed.is_set():
            try:
                block = self._blocks.get(timeout=LOOK)
            except queue.Empty:
                deaf = self._deaf or time.monotonic() < self._deaf_until + LOOK
                unheard = 0.0 if deaf else unheard + LOOK
                if self._stream.active and unheard < UNHEARD:
                    continue
                yield Gap(GONE)
                if self._open_again():
                    yield Gap(BACK)
                unheard = 0.0
                continue
            unheard = 0.0
            if isinstance(block, Gap):
                yield block
                continue
            if self._still is not None:
                silent = float(np.abs(block).max()) < SILENT
                self._still = self._still + BLOCK if silent else None
                if self._still is not None and self._still > STILL:
                    self._still = None
                    yield Gap(MUTE)
            yield np.clip(self._resampler.resample_chunk(block), -1, 1)

    def _open_again(self) -> bool:
        """Wait for the device. PortAudio must look for devices anew, or it finds the old ones."""
        sounddevice = load_sounddevice()
        with DEVICES:
            self._stream.close(ignore_errors=True)
        while not self._closed.wait(RETRY):
            with DEVICES, suppress(MissingPartError, sounddevice.PortAudioError):
                sounddevice._terminate()
                sounddevice._initialize()
                self._open()
                return True
        return False


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
