"""What a person hears: tones and words, while the microphone is deaf to them."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import nullcontext

from fieldnote.errors import MissingPartError
from fieldnote.speech import Microphone, hush, say, tone


class Mouth:
    """Speaks one thing after the other, and returns when it is spoken.

    Args:
        microphone: the one that must not hear it. trouble: told once why nothing can be spoken,
        after which all goes on in silence.
    """

    def __init__(self, microphone: Microphone | None, trouble: Callable[[str], None]) -> None:
        self._microphone, self._trouble = microphone, trouble
        self._able = True

    def answer(self, words: str, before: str | None = None) -> None:
        """Say it, after its tone (of `TONES`) if it has one."""
        if not self._able or not (words or before):
            return
        with self._microphone.deaf() if self._microphone is not None else nullcontext():
            try:
                if before:
                    tone(before)
                if words:
                    say(words)
            except MissingPartError as missing:
                self._able = False
                self._trouble(str(missing))

    def ready(self) -> None:
        """The short tone for "speak now". The microphone hears on: speech may follow at once, and
        a tone is no word."""
        if self._able:
            try:
                tone("ready")
            except MissingPartError as missing:
                self._able = False
                self._trouble(str(missing))

    def hush(self) -> None:
        """End what is being said: the person wants to speak."""
        if self._able:
            hush()
