"""A stream of sound from another program: ``arecord | fieldnote``, or a network's raw samples."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

import soundfile

from fieldnote.errors import BadInputError
from fieldnote.speech.sound import FASTEST, SLOWEST, Samples, resampled

DEPTHS = {"8": "PCM_U8", "16": "PCM_16", "24": "PCM_24", "32": "PCM_32", "float": "FLOAT"}
"""Bits a sample, by what libsndfile calls them; 8 bits are unsigned, as in WAV."""

MOST_CHANNELS = 8

NAME = "standard input"

WAYS = "wav (the stream tells its form itself), or RATE:CHANNELS:BITS, for instance 16000:1:16"

DELAY = 0.1
"""s of sound read at a time: a longer piece would be heard later, a shorter one costs more."""


@dataclass(frozen=True, slots=True)
class StreamForm:
    """How raw samples lie in a stream, little-endian. rate: Hz. depth: a key of `DEPTHS`."""

    rate: int
    channels: int = 1
    depth: str = "16"

    @classmethod
    def read(cls, text: str) -> StreamForm | None:
        """The form named by an option; None for "wav": the stream's head tells it.

        Raises:
            BadInputError: it is neither.
        """
        if text.strip().lower() == "wav":
            return None
        given = text.split(":")
        rate, channels, depth, *more = [*given, *("", "1", "16")[len(given) :]]
        good = rate.isdecimal() and channels.isdecimal() and depth in DEPTHS and not more
        if not (good and SLOWEST <= int(rate) <= FASTEST and 1 <= int(channels) <= MOST_CHANNELS):
            raise BadInputError(
                f"“{text}” is no form of a sound stream.",
                f"Write {WAYS}; {SLOWEST} to {FASTEST} Hz, 1 to {MOST_CHANNELS} channels, "
                f"{', '.join(DEPTHS)} bits.",
            )
        return cls(int(rate), int(channels), depth)


def stream_blocks(stream: BinaryIO, form: StreamForm | None) -> Iterator[Samples]:
    """What comes through a pipe, as it comes: 16 kHz mono, shape (n,).

    stream: with a file descriptor. form: None for WAV or AU, whose head tells it.

    Raises:
        BadInputError: it is no sound, or holds values that are none.
    """
    if stream.isatty():
        raise BadInputError(
            "Nothing is fed to standard input.",
            "Pipe sound into it: arecord -t raw … | fieldnote …",
        )
    try:
        with opened(stream, form) as file:
            yield from resampled(NAME, file, DELAY)
    except soundfile.LibsndfileError as fault:
        raise BadInputError(
            f"{NAME}: this is no sound stream ({fault.error_string.rstrip('.')}).",
            f"Name its form: {WAYS}.",
        ) from fault


def opened(stream: BinaryIO, form: StreamForm | None) -> soundfile.SoundFile:
    if form is None:
        return soundfile.SoundFile(stream.fileno(), closefd=False)
    return soundfile.SoundFile(
        stream.fileno(),
        samplerate=form.rate,
        channels=form.channels,
        format="RAW",
        subtype=DEPTHS[form.depth],
        endian="LITTLE",
        closefd=False,
    )
