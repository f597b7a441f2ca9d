"""Sound that comes through a pipe is the same sound, as soon as it comes, whatever its form."""

from __future__ import annotations

import io
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

import numpy as np
import pytest
import soundfile

from fieldnote.errors import BadInputError
from fieldnote.speech import StreamForm, stream_blocks
from tests.speech.test_sound import tone

BYTES = {
    "8": lambda wave: np.round(wave * 127 + 128).astype("u1").tobytes(),
    "16": lambda wave: (wave * 32767).astype("<i2").tobytes(),
    "24": lambda wave: b"".join(
        int(value).to_bytes(3, "little", signed=True) for value in (wave * 8388607).ravel()
    ),
    "32": lambda wave: (wave * 2147483647).astype("<i4").tobytes(),
    "float": lambda wave: wave.astype("<f4").tobytes(),
}


@contextmanager
def pipe_of(content: bytes) -> Iterator[BinaryIO]:
    """The reading end of a pipe into which another thread writes."""
    reading, writing = os.pipe()

    def write() -> None:
        with os.fdopen(writing, "wb") as out:
            out.write(content)

    writer = threading.Thread(target=write)
    writer.start()
    with os.fdopen(reading, "rb") as stream:
        yield stream
        stream.read()
    writer.join()


@pytest.mark.parametrize("rate", [8_000, 16_000, 44_100, 48_000])
@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("depth", list(BYTES))
def test_raw_samples_of_every_form(rate: int, channels: int, depth: str) -> None:
    """Against the tone itself, worked out at 16 kHz; 8 bits are exact to 1/128."""
    wave = np.stack([tone(rate)] * channels, axis=1)
    with pipe_of(BYTES[depth](wave)) as stream:
        form = StreamForm.read(f"{rate}:{channels}:{depth}")
        heard = np.concatenate(list(stream_blocks(stream, form)))
    middle = slice(1600, -1600)
    assert len(heard) == pytest.approx(16_000, abs=16)
    assert heard[middle] == pytest.approx(tone(16_000)[middle], abs=0.012)


def test_a_wav_tells_its_form_itself(tmp_path: Path) -> None:
    file = tmp_path / "tone.wav"
    soundfile.write(file, np.stack([tone(44_100)] * 2, axis=1), 44_100, subtype="PCM_24")
    with pipe_of(file.read_bytes()) as stream:
        heard = np.concatenate(list(stream_blocks(stream, None)))
    assert heard[1600:-1600] == pytest.approx(tone(16_000)[1600:-1600], abs=0.001)


def test_sound_is_given_before_the_stream_ends() -> None:
    reading, writing = os.pipe()
    with os.fdopen(reading, "rb") as stream:
        os.write(writing, BYTES["16"](tone(16_000, seconds=0.5)))
        first = next(iter(stream_blocks(stream, StreamForm(16_000))))
        os.close(writing)
    assert len(first) > 0


def test_half_a_sample_at_the_end_is_left() -> None:
    with pipe_of(BYTES["16"](tone(16_000)) + b"\x01") as stream:
        heard = np.concatenate(list(stream_blocks(stream, StreamForm(16_000))))
    assert len(heard) == 16_000


def test_forms_are_read() -> None:
    assert StreamForm.read("WAV") is None
    assert StreamForm.read("48000") == StreamForm(48_000, 1, "16")
    assert StreamForm.read("8000:2") == StreamForm(8_000, 2, "16")
    assert StreamForm.read("22050:1:float") == StreamForm(22_050, 1, "float")


@pytest.mark.parametrize("text", ["", "mp3", "1000", "16000:0", "16000:1:12", "16000:1:16:2", "-1"])
def test_what_is_no_form_is_refused(text: str) -> None:
    with pytest.raises(BadInputError, match="16000:1:16"):
        StreamForm.read(text)


def test_words_are_no_sound() -> None:
    with pipe_of(b"ten point six ohms\n") as stream, pytest.raises(BadInputError, match="no sound"):
        list(stream_blocks(stream, None))


def test_not_a_number_is_no_sound() -> None:
    wrong = np.full(1600, np.nan, "<f4").tobytes()
    form = StreamForm(16_000, 1, "float")
    with pipe_of(wrong) as stream, pytest.raises(BadInputError, match="NaN"):
        list(stream_blocks(stream, form))


def test_a_stream_without_a_pipe_is_refused() -> None:
    main, end = os.openpty()
    with os.fdopen(end, "rb") as terminal, pytest.raises(BadInputError, match="standard input"):
        list(stream_blocks(terminal, StreamForm(16_000)))
    os.close(main)


def test_an_empty_stream_has_no_sound() -> None:
    assert not sum(map(len, stream_blocks_of(b"")))


def stream_blocks_of(content: bytes) -> list[np.ndarray]:
    with pipe_of(content) as stream:
        return list(stream_blocks(stream, StreamForm(16_000)))


def test_the_stream_needs_a_descriptor() -> None:
    with pytest.raises(io.UnsupportedOperation):
        list(stream_blocks(io.BytesIO(b""), StreamForm(16_000)))
