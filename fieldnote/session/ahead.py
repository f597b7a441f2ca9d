"""Understanding ahead: what was said is interpreted while the silence behind it is still running.

An utterance has ended when nothing was said for a while, and a person waits for that while and for
the interpretation. Here the second begins within the first; if speech goes on, it is thrown away.
All of it runs in one worker, since engines keep what they heard last.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace

from fieldnote.language import Context
from fieldnote.session.interpret import Heard, Listener
from fieldnote.speech import SAMPLE_RATE, Engine, Utterance
from fieldnote.speech.sound import Samples
from fieldnote.speech.start_word import StartWord

QUICK = ("readings", "witness", "vosk", "phoneme")
"""Engines that can tell words of a growing utterance, the best first. Whisper is slow."""

SPARE = 3.0
"""Words so far are asked for again after this many times the time that the last asking took."""

OFTEN = 0.35
"""s between two askings at least."""

SOMETHING = 0.25
"""s of sound behind the start word below which nothing but it was said."""

COMPLETE = frozenset({"reading", "open", "short"})
"""Kinds of entry to which nothing is usually added; a bare number still waits for its unit."""

REMEMBERED = 8


@dataclass(frozen=True, slots=True)
class Thought:
    """What was made of an utterance. begins: sample behind the start word, 0 without one.

    called: whether the start word was said, or wasn't needed. heard: None where nothing followed.
    """

    called: bool
    context: Context
    begins: int = 0
    heard: Heard | None = None


class Ahead:
    """Fed by the ear's thread with what has been said so far; asked by it at the end.

    Args:
        listener: interprets. context: of the current step. start_word: for an open microphone.
    """

    def __init__(
        self,
        listener: Listener,
        context: Callable[[], Context],
        start_word: StartWord | None = None,
    ) -> None:
        self._listener, self._context, self.start_word = listener, context, start_word
        by_name = {engine.name: engine for engine in listener.engines}
        self._quick: Engine | None = next((by_name[n] for n in QUICK if n in by_name), None)
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="ear")
        self._thought: Future[Thought] | None = None
        self._stale: Future[Thought] | None = None
        self._words: Future[str] | None = None
        self._words_next = 0.0
        self._known: deque[tuple[Samples, Context, Heard]] = deque(maxlen=REMEMBERED)

    def close(self) -> None:
        self._worker.shutdown(wait=True, cancel_futures=True)

    # ------------------------------------------------------------ by the ear's thread

    @property
    def begun(self) -> bool:
        return self._thought is not None

    @property
    def idle(self) -> bool:
        """Whether nothing is being worked at that was thrown away: on a machine that is slow or
        busy such work would pile up, and delay what counts."""
        return self._stale is None or self._stale.done()

    def begin(self, samples: Samples, quiet: float, *, bound: bool) -> None:
        """Interpret what may be the whole utterance. quiet: s of silence at its end.

        bound: whether it counts only behind the start word.
        """
        context = self._context()
        self._thought = self._worker.submit(self._think, samples, quiet, context, bound)

    def drop(self) -> None:
        """Speech goes on: what was made of it so far is no use."""
        if self._thought is not None:
            if not self._thought.cancel():
                self._stale = self._thought
            self._thought = None

    @property
    def complete(self) -> bool:
        """Whether it is understood by now, and nothing is usually added to it."""
        thought = self._thought
        if thought is None or not thought.done() or thought.exception() is not None:
            return False
        heard = thought.result().heard
        return heard is not None and heard.entry.kind in COMPLETE

    def taken(self, utterance: Utterance, *, bound: bool) -> Utterance | None:
        """The part of an ended utterance that counts; None where nothing does.

        An empty one (no samples) stands for the start word alone.
        """
        if not self.begun:
            self.begin(utterance.samples, utterance.quiet, bound=bound)
        assert self._thought is not None
        future, self._thought = self._thought, None
        thought = future.result()
        if not thought.called:
            return None
        begins = thought.begins if thought.heard is not None else len(utterance.samples)
        start = round(utterance.start + begins / SAMPLE_RATE, 3)
        part = replace(utterance, samples=utterance.samples[begins:], start=start)
        if thought.heard is not None:
            self._known.append((part.samples, thought.context, thought.heard))
        return part

    def words_so_far(self, samples: Samples) -> str | None:
        """Words of the utterance that is being spoken, when there are new ones; never waits."""
        said = None
        if self._words is not None:
            if not self._words.done():
                return None
            said = self._words.result() if self._words.exception() is None else None
            self._words = None
        if self._quick is not None and self.idle and time.monotonic() >= self._words_next:
            self._words = self._worker.submit(self._hear_quickly, samples)
        return said

    # ------------------------------------------------------------ by whoever takes the utterance

    def interpret(self, samples: Samples, context: Context) -> Heard:
        """As `Listener.interpret`: known already, unless the step has changed meanwhile."""
        for known, at, heard in self._known:
            if known is samples and at == context:
                return heard
        return self._worker.submit(self._listener.interpret, samples, context).result()

    # ------------------------------------------------------------ in the worker

    def _think(self, samples: Samples, quiet: float, context: Context, bound: bool) -> Thought:
        begins = 0
        if bound and self.start_word is not None:
            spotted = self.start_word.find(samples)
            if spotted is None:
                return Thought(False, context)
            begins = self.start_word.behind(spotted)
            if len(samples) - begins < (quiet + SOMETHING) * SAMPLE_RATE:
                return Thought(True, context)
        return Thought(True, context, begins, self._listener.interpret(samples[begins:], context))

    def _hear_quickly(self, samples: Samples) -> str:
        begun = time.monotonic()
        assert self._quick is not None
        text = self._quick.hear(samples).text
        now = time.monotonic()
        self._words_next = now + max(OFTEN, SPARE * (now - begun))
        return text
