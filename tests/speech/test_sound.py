"""Sound files of all kinds come in as the same 16 kHz mono, and what is no sound is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from fieldnote.errors import BadInputError
from fieldnote.speech import clip_bytes, read_sound
from fieldnote.speech.sound import blocks

PITCH = 440.0


def tone(rate: int, seconds: float = 1.0, level: float = 0.5) -> NDArray[np.float64]:
    return level * np.sin(2 * np.pi * PITCH * np.arange(round(rate * seconds)) / rate)


@pytest.mark.parametrize("rate", [8_000, 11_025, 16_000, 22_050, 44_100, 48_000])
@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT"])
def test_every_format_gives_the_same_sound(
    tmp_path: Path, rate: int, channels: int, subtype: str
) -> None:
    """Against the tone itself, worked out at 16 kHz; 8 bits are exact to 1/128."""
    file = tmp_path / "tone.wav"
    soundfile.write(file, np.stack([tone(rate)] * channels, axis=1), rate, subtype=subtype)
    sound = read_sound(file)
    assert sound.seconds == pytest.approx(1.0, abs=0.001)
    middle = slice(1600, -1600)  # a resampler rings at the ends
    assert sound.samples[middle] == pytest.approx(tone(16_000)[middle], abs=0.012)
    assert sound.warnings == ()


def test_reading_in_blocks_is_reading_at_once(tmp_path: Path) -> None:
    file = tmp_path / "tone.wav"
    soundfile.write(file, tone(44_100, seconds=2.3), 44_100)
    assert np.array_equal(np.concatenate(list(blocks(file))), read_sound(file).samples)


def test_a_clip_comes_back_as_it_was(tmp_path: Path) -> None:
    file = tmp_path / "clip.flac"
    samples = (np.round(tone(16_000) * 32768) / 32768).astype(np.float32)
    file.write_bytes(clip_bytes(samples))
    assert np.array_equal(read_sound(file).samples, samples)


def whole_wav(folder: Path) -> bytes:
    file = folder / "whole.wav"
    soundfile.write(file, tone(16_000), 16_000)
    return file.read_bytes()


@pytest.mark.parametrize(
    ("damage", "message"),
    [
        (lambda whole: b"", "empty"),
        (lambda whole: b"ten point six ohms\n" * 20, "no sound file"),
        (lambda whole: whole[:44], "cut off"),
        (lambda whole: whole[: len(whole) // 2], "cut off"),
        (lambda whole: whole[:40] + bytes(4), "no sound in this file"),
    ],
)
def test_what_is_no_sound_is_refused(tmp_path: Path, damage, message: str) -> None:
    file = tmp_path / "bad.wav"
    file.write_bytes(damage(whole_wav(tmp_path)))
    with pytest.raises(BadInputError, match=message) as refusal:
        read_sound(file)
    assert str(file) in str(refusal.value)


def test_a_missing_file_is_named() -> None:
    with pytest.raises(BadInputError, match=r"nowhere\.wav"):
        read_sound("nowhere.wav")


def test_not_a_number_is_no_sound(tmp_path: Path) -> None:
    file = tmp_path / "nan.wav"
    soundfile.write(file, np.full(1600, np.nan), 16_000, subtype="FLOAT")
    with pytest.raises(BadInputError, match="NaN"):
        read_sound(file)


def test_a_wav_written_into_a_pipe_is_read(tmp_path: Path) -> None:
    """Programs that can't know the length yet write 0x7FFFF000 or more for it."""
    whole = bytearray(whole_wav(tmp_path))
    place = whole.index(b"data") + 4
    whole[place : place + 4] = (0x7FFFF000).to_bytes(4, "little")
    file = tmp_path / "piped.wav"
    file.write_bytes(whole)
    assert read_sound(file).seconds == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize(
    ("level", "warning"), [(0.0, "silence"), (0.003, "low level"), (3.0, "clipping")]
)
def test_levels_are_warned_of(tmp_path: Path, level: float, warning: str) -> None:
    file = tmp_path / "level.wav"
    soundfile.write(file, np.clip(tone(16_000, level=level), -1, 1), 16_000)
    (said,) = read_sound(file).warnings
    assert said.startswith(warning)
