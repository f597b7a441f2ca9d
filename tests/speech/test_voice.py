"""Read-back and tones: sound comes out, or it is said why not."""

from __future__ import annotations

import shutil
from itertools import combinations

import numpy as np
import pytest
import sounddevice

from fieldnote.errors import BadInputError, MissingPartError
from fieldnote.speech import TONES, Microphone, say, spoken, tone
from fieldnote.speech.voice import tone_samples


def test_words_become_sound() -> None:
    short, long = spoken("eight amps"), spoken("ten point six ohms, inside the limits")
    assert 0.3 < len(short) / 16_000 < 2
    assert len(long) > len(short)
    assert np.abs(long).max() > 0.1


def test_words_that_look_like_options_are_spoken() -> None:
    assert len(spoken("--version")) > 4000


def test_no_program_is_said_with_the_mend(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    assert shutil.which("espeak-ng") is None
    with pytest.raises(MissingPartError, match="apt install espeak-ng"):
        spoken("eight amps")


def test_tones_differ_in_length_and_pitch() -> None:
    for one, other in combinations(TONES, 2):
        assert TONES[one] != TONES[other]
        assert len(tone_samples(one)) != len(tone_samples(other))


def test_tones_do_not_click() -> None:
    for name in TONES:
        samples = tone_samples(name)
        assert abs(samples[0]) < 0.01
        assert abs(samples[-1]) < 0.01


def test_an_unknown_tone_is_named() -> None:
    with pytest.raises(BadInputError, match="fanfare"):
        tone("fanfare")


no_sound = pytest.mark.skipif(
    len(sounddevice.query_devices()) > 0, reason="there is a sound device here"
)


@no_sound
def test_no_loudspeaker_is_said() -> None:
    with pytest.raises(MissingPartError, match="loudspeaker"):
        say("eight amps")


@no_sound
def test_no_microphone_is_said() -> None:
    with pytest.raises(MissingPartError, match="microphone"), Microphone():
        pass
