"""Evidence: whole or not at all, once, private, and the same samples."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path

import numpy as np
import pytest
import soundfile

from fieldnote.errors import BadInputError
from fieldnote.joblog import JobLog


def files(home: Path) -> list[Path]:
    return [path for path in (home / "evidence").rglob("*") if path.is_file()]


def test_evidence_is_named_by_its_hash_and_stored_once(log: JobLog, home: Path, tmp_path) -> None:
    picture = tmp_path / "p.JPG"
    picture.write_bytes(b"\xff\xd8" * 1000)
    first = log.keep(picture, ".JPG")
    again = log.keep(b"\xff\xd8" * 1000, ".jpg")
    assert first == again
    assert first.sha256 == hashlib.sha256(b"\xff\xd8" * 1000).hexdigest()
    assert first.size == 2000
    assert files(home) == [first.path]
    assert log.evidence(first.sha256) == first.path


def test_a_damaged_copy_is_put_right_when_the_file_comes_again(log: JobLog) -> None:
    kept = log.keep(b"sound", ".wav")
    kept.path.write_bytes(b"soung")
    assert log.keep(b"sound", ".wav").path.read_bytes() == b"sound"


def test_missing_empty_and_oddly_named_files_are_refused(log: JobLog, home, tmp_path) -> None:
    (tmp_path / "empty.wav").touch()
    with pytest.raises(BadInputError, match=r"none\.wav cannot be read: No such file"):
        log.keep(tmp_path / "none.wav", ".wav")
    with pytest.raises(BadInputError, match=r"empty\.wav is empty"):
        log.keep(tmp_path / "empty.wav", ".wav")
    with pytest.raises(BadInputError, match="cannot be read"):
        log.keep(tmp_path, ".wav")
    for suffix in ("", "wav", "./x", ".wav.exe", "../..", ".é"):
        with pytest.raises(BadInputError, match="not a file suffix"):
            log.keep(b"x", suffix)
    assert files(home) == []


def wav(subtype: str, channels: int = 1, rate: int = 16000) -> tuple[bytes, np.ndarray]:
    noise = np.random.default_rng(7).integers(-(2**31), 2**31, (3000, channels), dtype=np.int32)
    out = io.BytesIO()
    soundfile.write(out, noise, rate, format="WAV", subtype=subtype)
    samples, _ = soundfile.read(io.BytesIO(out.getvalue()), dtype="int32", always_2d=True)
    return out.getvalue(), samples


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24"])
@pytest.mark.parametrize(("channels", "rate"), [(1, 16000), (2, 44100)])
def test_whole_number_wav_becomes_flac_with_the_same_samples(
    log: JobLog, subtype: str, channels: int, rate: int
) -> None:
    data, samples = wav(subtype, channels, rate)
    kept = log.keep(data, ".wav", flac=True)
    assert kept.path.suffix == ".flac"
    assert hashlib.sha256(kept.path.read_bytes()).hexdigest() == kept.sha256
    decoded, got_rate = soundfile.read(kept.path, dtype="int32", always_2d=True)
    assert got_rate == rate
    assert np.array_equal(decoded, samples)
    assert log.keep(data, ".wav", flac=True) == kept


@pytest.mark.parametrize("subtype", ["FLOAT", "PCM_32", "ULAW"])
def test_wav_that_flac_cannot_hold_exactly_stays_as_given(log: JobLog, subtype: str) -> None:
    data, _ = wav(subtype)
    kept = log.keep(data, ".wav", flac=True)
    assert kept.path.suffix == ".wav"
    assert kept.path.read_bytes() == data


def test_a_broken_wav_stays_as_given(log: JobLog) -> None:
    assert log.keep(b"RIFF....WAVE", ".wav", flac=True).path.read_bytes() == b"RIFF....WAVE"


def test_a_file_of_another_kind_is_not_touched_by_flac(log: JobLog) -> None:
    assert log.keep(b"picture", ".png", flac=True).path.suffix == ".png"
