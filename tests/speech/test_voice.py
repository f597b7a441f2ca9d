"""Read-back and tones: sound comes out, or it is said why not."""

from __future__ import annotations

import shutil
from itertools import combinations, islice

import numpy as np
import pytest
import sounddevice

from fieldnote.errors import BadInputError, MissingPartError
from fieldnote.session.mouth import Mouth
from fieldnote.speech import TONES, Gap, Microphone, say, spoken, tone
from fieldnote.speech.microphone import BLOCK, HELD, LOST
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


@no_sound
def test_without_a_loudspeaker_it_is_said_once_and_goes_on() -> None:
    told: list[str] = []
    mouth = Mouth(None, told.append)
    for _ in range(3):
        mouth.answer("eight amps", "good")
        mouth.ready()
    mouth.hush()
    assert len(told) == 1
    assert "loudspeaker" in told[0]


def test_without_a_voice_it_is_said_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    told: list[str] = []
    mouth = Mouth(None, told.append)
    mouth.answer("eight amps")
    mouth.answer("nine bar")
    assert len(told) == 1
    assert "espeak-ng" in told[0]


def test_sound_that_was_lost_is_said() -> None:
    """An overrun as PortAudio tells it, with its own flags; then a recogniser that never comes."""
    microphone = Microphone()
    quiet = np.full((1024, 2), 0.01, np.float32)
    fine, overrun = sounddevice.CallbackFlags(0), sounddevice.CallbackFlags(2)
    assert overrun.input_overflow
    for flags in (fine, overrun, fine):
        microphone._take(quiet, 1024, None, flags)
    found = list(islice(microphone, 4))
    assert [one for one in found if isinstance(one, Gap)] == [Gap(LOST)]
    assert isinstance(found[1], Gap), "where it is missing"
    for _ in range(round(HELD / BLOCK) + 10):
        microphone._take(quiet, 1024, None, fine)
    waiting = int(HELD / BLOCK) + 2
    later = list(islice(microphone, waiting))
    assert [one for one in later if isinstance(one, Gap)] == [Gap(LOST)], "once"
    assert sum(len(one) for one in later if not isinstance(one, Gap)) / 16_000 > HELD - 1


def test_a_deaf_microphone_hears_nothing_and_leaves_a_gap() -> None:
    microphone = Microphone()
    loud, fine = np.full((1024, 1), 0.5, np.float32), sounddevice.CallbackFlags(0)
    microphone._take(loud, 1024, None, fine)
    microphone._deaf += 1
    microphone._take(loud, 1024, None, fine)
    microphone._deaf -= 1
    microphone._take(loud, 1024, None, fine)
    before, gap, behind = islice(microphone, 3)
    assert gap == Gap()
    assert len(before) > 0
    assert len(behind) > 0
