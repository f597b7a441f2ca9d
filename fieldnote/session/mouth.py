"""What a person hears: tones and words, while the microphone is deaf to them."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import nullcontext

import numpy as np

from fieldnote.errors import MissingPartError
from fieldnote.speech import Microphone, hush, spoken, tone
from fieldnote.speech.voice import play, tone_samples

TURN = 0.4
"""s within which sentences belong to one answer."""


class Mouth:
    """Speaks one thing after the other, and returns when it is spoken.

    Args:
        microphone: the one that must not hear it. trouble: told once why nothing can be spoken,
        after which all goes on in silence.
    """

    def __init__(self, microphone: Microphone | None, trouble: Callable[[str], None]) -> None:
        self._microphone, self._trouble = microphone, trouble
        self._able = True
        self._quiet_until = 0.0

    def answer(self, words: str, before: str | None = None) -> None:
        """Say it, after its tone (of `TONES`) if it has one."""
        if not self._able or not (words or before) or self._hushed():
            return
        try:
            parts = [tone_samples(before)] if before else []
            parts += [spoken(words)] if words else []
            with self._microphone.deaf() if self._microphone is not None else nullcontext():
                if not self._hushed():
                    play(np.concatenate(parts))
        except MissingPartError as missing:
            self._fail(missing)

    def ready(self) -> None:
        """The short tone for "speak now". The microphone hears on: speech may follow at once, and
        a tone is no word."""
        if self._able:
            try:
                tone("ready")
            except MissingPartError as missing:
                self._fail(missing)

    def hush(self) -> None:
        """End what is being said, and what was to follow it: the person wants to speak."""
        self._quiet_until = time.monotonic() + TURN
        if self._able:
            hush()

    def _hushed(self) -> bool:
        """Sentences of one turn follow each other closely, so that each keeps the next one off."""
        now = time.monotonic()
        if now >= self._quiet_until:
            return False
        self._quiet_until = now + TURN
        return True

    def _fail(self, missing: MissingPartError) -> None:
        self._able = False
        self._trouble(str(missing))
