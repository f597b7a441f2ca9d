"""An ear and a mouth for the guided job: a file or the microphone, and answers aloud."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

from fieldnote.speech import Microphone, Utterance, say, tone, utterances


class Ear:
    """Iterate for utterances; `answer` speaks, and the microphone is deaf meanwhile.

    Args:
        sound: a file to hear first. microphone: whether to go on with the microphone.
        aloud: whether answers are spoken at all.
    """

    def __init__(self, sound: Path | None, *, microphone: bool, aloud: bool) -> None:
        self._sound, self._aloud = sound, aloud
        self._microphone = Microphone() if microphone else None
        self._stack = ExitStack()

    def __enter__(self) -> Ear:
        if self._microphone is not None:
            self._stack.enter_context(self._microphone)
        return self

    def __exit__(self, *_: object) -> None:
        self._stack.close()

    def __iter__(self) -> Iterator[Utterance]:
        if self._sound is not None:
            yield from utterances(self._sound)
        if self._microphone is not None:
            yield from utterances(self._microphone)

    def answer(self, words: str, before: str | None) -> None:
        """Say it, after its tone if it has one; silent where nothing is to be aloud."""
        if not self._aloud or self._microphone is None:
            return
        with self._microphone.deaf():
            if before:
                tone(before)
            say(words)
