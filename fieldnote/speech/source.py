"""Utterances from wherever sound comes: a file, a raw stream, a microphone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from fieldnote.speech.engine import SAMPLE_RATE
from fieldnote.speech.microphone import Microphone
from fieldnote.speech.segment import Utterance, split
from fieldnote.speech.sound import blocks, raw_blocks


def utterances(
    source: Path | str | BinaryIO | Microphone, rate: int = SAMPLE_RATE
) -> Iterator[Utterance]:
    """Each utterance as soon as it has ended.

    source: a sound file's path, a stream of raw 16-bit mono samples (rate: theirs, in Hz), or an
    opened `Microphone`.

    Raises:
        BadInputError: the file can't be read as sound.
        MissingPartError: the microphone has gone.
    """
    if isinstance(source, Microphone):
        yield from split(source)
    elif isinstance(source, (str, Path)):
        yield from split(blocks(source))
    else:
        yield from split(raw_blocks(source, rate))
