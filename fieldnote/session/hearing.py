"""The ear: from a microphone, a stream or a file to what is meant for the notebook.

Everything that is said counts; or, if the person wishes, only what is said while a key is pressed,
or behind a start word.
"""

from __future__ import annotations

import queue
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack
from dataclasses import replace

import numpy as np

from fieldnote.language import Context, speak
from fieldnote.session.ahead import REMEMBERED, Ahead
from fieldnote.session.interpret import NO_ENTRY, Heard, Listener
from fieldnote.session.mouth import Mouth
from fieldnote.session.notices import Growing, Listening, Notice
from fieldnote.session.talk_key import Push, TalkKey
from fieldnote.speech import (
    SAMPLE_RATE,
    Microphone,
    Segmenter,
    Utterance,
    level_warnings,
    utterances,
)
from fieldnote.speech.microphone import Gap
from fieldnote.speech.segment import CUT, HANGOVER, LEAD, LONGEST
from fieldnote.speech.sound import Samples
from fieldnote.speech.start_word import StartWord

AHEAD = 0.3
"""s of silence after which an utterance is interpreted as if it had ended."""

ENOUGH = 0.45
"""s of silence that end an utterance which is understood by then and complete."""

ATTENTION = 8.0
"""s in which the next utterance counts without the start word: after it, or after a question."""

PATIENCE = 8.0
"""s after a tap of the talk key in which something must be said."""

GRACE = 0.25
"""s still heard after the talk key is let go: people let go a little early."""

MOMENT = 0.05
"""s between looks whether somebody is still speaking."""

NOTHING = "Nothing was heard. Press the talk key and speak after the tone."

CUT_OFF = "A part of what you said is missing. Say it when nothing else is said."

Sound = Utterance | Notice | Growing | Listening


class Ear:
    """Iterate for utterances, notices and growing words; `interpret` tells what they mean.

    Args:
        source: a `Microphone`, which is opened with the ear, or blocks of a stream or file.
        listener: interprets. context: of the current step.
        recorded: a file's blocks to hear first; all of it counts.
        live: whether the sound comes as it is spoken, so that thinking ahead saves time.
        talk_key: listen only while it is pressed. start_word: … or to what follows this word.
        aloud: whether answers are spoken. words: whether growing words are wanted.
    """

    def __init__(
        self,
        source: Microphone | Iterable[Samples],
        listener: Listener,
        context: Callable[[], Context],
        *,
        recorded: Iterable[Samples] = (),
        live: bool = True,
        talk_key: TalkKey | None = None,
        start_word: str | None = None,
        aloud: bool = False,
        words: bool = False,
    ) -> None:
        self._source, self._recorded = source, recorded
        self._key, self._words, self._live = talk_key, words, live
        word = StartWord(start_word, listener.engines) if start_word else None
        self._ahead = Ahead(listener, context, word)
        self._open_to_all = word is None and talk_key is None
        microphone = source if isinstance(source, Microphone) else None
        self._mouth = Mouth(microphone, self.tell) if aloud else None
        self._stack = ExitStack()
        self._notices: queue.SimpleQueue[Notice] = queue.SimpleQueue()
        self._segmenter = Segmenter()
        self._ring: deque[Samples] = deque()
        self._pressed: list[Samples] = []
        self._grace = 0.0
        self._answered = False
        self._attend = False
        self._attentive_until = 0.0
        self._speaks_bound = not self._open_to_all
        self._cut: deque[Samples] = deque(maxlen=REMEMBERED)
        self._shown = ""
        self._warned: tuple[str, ...] = ()

    def __enter__(self) -> Ear:
        if isinstance(self._source, Microphone):
            self._stack.enter_context(self._source)
        return self

    def __exit__(self, *_: object) -> None:
        self._stack.close()
        self._ahead.close()

    # ------------------------------------------------------------ for whoever takes what is heard

    def interpret(self, samples: Samples, context: Context) -> Heard:
        """What was said in an utterance of this ear; known already where it was thought ahead.

        Of one that was cut off nothing is sure: "one hundred" may have been going on.
        """
        heard = self._ahead.interpret(samples, context)
        if any(samples is cut for cut in self._cut) and heard.entry.kind not in NO_ENTRY:
            entry = heard.entry
            reason = f"did you say {speak(entry)}?"
            return replace(heard, entry=replace(entry, kind="unclear", command=None, reason=reason))
        return heard

    def answer(self, words: str, before: str | None) -> None:
        """Say it aloud, after its tone; nobody is interrupted. A question may be answered without
        the start word."""
        if before == "ask":
            self._attend = True
        if self._mouth is not None:
            deadline = time.monotonic() + LONGEST
            while self._speaking and time.monotonic() < deadline:
                time.sleep(MOMENT)
            self._mouth.answer(words, before)

    def pressed(self) -> None:
        """The talk key was pressed: whatever is being said aloud ends, and the ear listens."""
        if self._mouth is not None:
            self._mouth.hush()
        if self._key is not None:
            self._key.press()

    def tell(self, text: str) -> None:
        """Have a notice come with the sound."""
        self._notices.put(Notice(text))

    # ------------------------------------------------------------ listening

    def __iter__(self) -> Iterator[Sound]:
        yield from utterances(self._recorded)
        for block in self._source:
            while not self._notices.empty():
                yield self._notices.get()
            if self._attend:
                self._attend = False
                self._attentive_until = self._segmenter.position + ATTENTION
            if isinstance(block, Gap):
                yield from self._gap(block)
            elif self._key is not None:
                yield from self._by_key(block, self._key)
            else:
                yield from self._feed(block)
        for utterance in self._segmenter.finish():
            yield from self._ended(utterance)

    def _gap(self, gap: Gap) -> Iterator[Sound]:
        """What was said before it counts; nothing is put together over it."""
        for utterance in self._segmenter.gap():
            yield from self._ended(utterance)
        self._ahead.drop()
        self._ring.clear()
        if gap.told:
            yield Notice(gap.told)

    def _by_key(self, block: Samples, key: TalkKey) -> Iterator[Sound]:
        push = key.push
        if push is not Push.UP and not self._pressed:
            yield from self._key_down()
        if push is Push.UP and not self._pressed:
            self._remember(block)
            if self._ahead.start_word is not None:
                yield from self._feed(block)
            return
        self._pressed.append(block)
        self._segmenter.hangover = HANGOVER if push is Push.TAPPED else None
        for sound in self._feed(block):
            self._answered = self._answered or isinstance(sound, Utterance)
            yield sound
        if push is Push.TAPPED and (self._answered or self._waited() > PATIENCE):
            key.done()
            yield from self._key_up(held=False)
        elif push is Push.UP:
            self._grace += len(block) / SAMPLE_RATE
            if self._grace >= GRACE:
                last = self._segmenter.close()
                if last is not None:
                    self._answered = True
                    yield from self._ended(replace(last, cut=last.cut or last.quiet < CUT))
                yield from self._key_up(held=True)

    def _key_down(self) -> Iterator[Sound]:
        """Begin with what was said just before: people speak a little early."""
        self._grace, self._answered = 0.0, False
        self._pressed = list(self._ring) or [np.zeros(0, np.float32)]
        self._ring.clear()
        if self._ahead.start_word is None:
            self._segmenter.restart()
            for earlier in self._pressed:
                yield from self._feed(earlier)
        else:  # it has been listened to all the time, for the word
            self._ahead.drop()
            self._speaks_bound = False
        if self._mouth is not None:
            self._mouth.ready()
        yield Listening()

    def _key_up(self, *, held: bool) -> Iterator[Sound]:
        whole = np.concatenate(self._pressed)
        self._pressed = []
        self._segmenter.hangover = HANGOVER
        yield Growing("")
        if self._answered:
            return
        warnings = level_warnings(whole)
        if held and not warnings:
            # No voice was found in it, but somebody meant it to be heard.
            seconds = len(whole) / SAMPLE_RATE
            end = self._segmenter.position
            yield Utterance(whole, round(end - seconds, 3), round(end, 3))
            return
        yield Notice(warnings[0] if warnings else NOTHING)

    def _waited(self) -> float:
        if self._segmenter.speaking:
            return 0.0
        return sum(map(len, self._pressed)) / SAMPLE_RATE

    def _remember(self, block: Samples) -> None:
        self._ring.append(block)
        while sum(map(len, self._ring)) - len(self._ring[0]) > LEAD * SAMPLE_RATE:
            self._ring.popleft()

    @property
    def _speaking(self) -> bool:
        """Whether somebody is saying something that may be meant for us."""
        meant = not self._speaks_bound or self._open_to_all
        return self._live and (bool(self._pressed) or (self._segmenter.speaking and meant))

    @property
    def _bound(self) -> bool:
        """Whether what is said now counts only behind the start word."""
        attentive = self._segmenter.position < self._attentive_until
        return not (self._open_to_all or self._pressed or attentive)

    def _feed(self, block: Samples) -> Iterator[Sound]:
        segmenter = self._segmenter
        was_speaking = segmenter.speaking
        for utterance in segmenter.feed(block):
            yield from self._ended(utterance)
        if not segmenter.speaking:
            return
        if not was_speaking:
            self._speaks_bound = self._bound
        if not self._live:
            return
        bound = self._speaks_bound
        if not self._ahead.begun and segmenter.quiet >= AHEAD and self._ahead.idle:
            self._ahead.begin(segmenter.so_far, segmenter.quiet, bound=bound)
        elif self._ahead.begun and segmenter.quiet < AHEAD:
            self._ahead.drop()
        if segmenter.hangover is not None and segmenter.quiet >= ENOUGH and self._ahead.complete:
            last = segmenter.close()
            if last is not None:
                yield from self._ended(last)
        elif self._words and not bound and segmenter.quiet == 0.0:
            yield from self._grown(self._ahead.words_so_far(segmenter.so_far))

    def _grown(self, words: str | None) -> Iterator[Sound]:
        if words and words != self._shown:
            self._shown = words
            yield Growing(words)

    def _ended(self, utterance: Utterance) -> Iterator[Sound]:
        if self._shown:
            self._shown = ""
            yield Growing("")
        if not self._live and not self._speaks_bound:
            yield from self._given(utterance)
            return
        part = self._ahead.taken(utterance, bound=self._speaks_bound)
        if part is None:
            return  # chatter: nobody spoke to us, and nothing of it is kept
        if not len(part.samples):
            self._attentive_until = self._segmenter.position + ATTENTION
            if self._mouth is not None:
                self._mouth.ready()
            yield Listening()
            return
        yield from self._given(part)

    def _given(self, utterance: Utterance) -> Iterator[Sound]:
        self._attentive_until = 0.0
        if utterance.cut:
            self._cut.append(utterance.samples)
            yield Notice(CUT_OFF)
        yield utterance
        if utterance.warnings and utterance.warnings != self._warned:
            yield from map(Notice, utterance.warnings)
        self._warned = utterance.warnings
