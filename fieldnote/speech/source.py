"""Utterances from wherever sound comes: a file, a stream, a microphone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from fieldnote.speech.microphone import Gap
from fieldnote.speech.segment import Segmenter, Utterance
from fieldnote.speech.sound import Samples, blocks


def utterances(source: Path | str | Iterable[Samples | Gap]) -> Iterator[Utterance]:
    """Each utterance as soon as it has ended.

    source: a sound file's path, an opened `Microphone`, or blocks of a stream.

    Raises:
        BadInputError: the file or stream can't be read as sound.
    """
    segmenter = Segmenter()
    for block in blocks(source) if isinstance(source, (str, Path)) else source:
        if isinstance(block, Gap):
            yield from segmenter.gap()
        else:
            yield from segmenter.feed(block)
    yield from segmenter.finish()
