"""What the technician hears: entries read back by espeak-ng, and short tones."""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Mapping

import numpy as np
import soundfile

from fieldnote.errors import BadInputError, MissingPartError
from fieldnote.speech.engine import SAMPLE_RATE
from fieldnote.speech.microphone import DEVICES, load_sounddevice
from fieldnote.speech.sound import Samples

PROGRAM = "espeak-ng"
ACCENT = "en-us"
WORDS_A_MINUTE = 165

TONES: Mapping[str, tuple[tuple[float, float], ...]] = {
    "good": ((880.0, 0.09), (1320.0, 0.12)),
    "alarm": ((330.0, 0.16), (0.0, 0.05), (247.0, 0.22)),
    "ask": ((660.0, 0.08), (0.0, 0.06), (660.0, 0.08), (0.0, 0.06), (660.0, 0.08)),
    "ready": ((1000.0, 0.06),),
}
"""Inside, outside, unclear, and "speak now". Pitch in Hz and length in s, one after the other; 0 Hz
is silence. They differ in number and direction as well as in pitch, so that they can be told apart
in noise and with poor hearing."""


def say(text: str) -> None:
    """Speaks and returns when it is done, so that the microphone can be opened afterwards.

    Raises:
        MissingPartError: no espeak-ng, or no loudspeaker.
    """
    play(spoken(text))


def spoken(text: str) -> Samples:
    """The text as sound, shape (n,), 16 kHz mono."""
    if shutil.which(PROGRAM) is None:
        raise MissingPartError(
            "Reading back needs the program espeak-ng.", "Install it: apt install espeak-ng"
        )
    command = [PROGRAM, "-v", ACCENT, "-s", str(WORDS_A_MINUTE), "--stdin", "--stdout"]
    result = subprocess.run(command, input=text.encode(), capture_output=True, check=False)
    if result.returncode or not result.stdout:
        reason = result.stderr.decode(errors="replace").strip()
        raise MissingPartError(
            f"espeak-ng could not speak ({reason}).", "Install it again: apt install espeak-ng"
        )
    import soxr

    samples, rate = soundfile.read(io.BytesIO(result.stdout), dtype="float32")
    return np.asarray(soxr.resample(samples, rate, SAMPLE_RATE), np.float32)


def tone(name: str) -> None:
    """Plays one of `TONES` and returns when it is done."""
    play(tone_samples(name))


def tone_samples(name: str) -> Samples:
    """A tone as sound, shape (n,), with soft edges so that it doesn't click."""
    if name not in TONES:
        raise BadInputError(f"“{name}”: there is no such tone.", f"Known: {', '.join(TONES)}.")
    parts = []
    for pitch, seconds in TONES[name]:
        time = np.arange(round(seconds * SAMPLE_RATE)) / SAMPLE_RATE
        edge = np.minimum(1, np.minimum(time, seconds - time) / 0.01)
        parts.append(0.4 * edge * np.sin(2 * np.pi * pitch * time))
    return np.concatenate(parts).astype(np.float32)


def play(samples: Samples) -> None:
    """Through the loudspeaker, to its end, or until `hush`.

    Raises:
        MissingPartError: there is no loudspeaker.
    """
    sounddevice = load_sounddevice()
    try:
        with DEVICES:
            sounddevice.play(samples, SAMPLE_RATE, blocking=True)
    except sounddevice.PortAudioError as fault:
        raise MissingPartError(
            f"No loudspeaker can be used ({fault}).", "Plug one in, or go on without read-back."
        ) from fault


def hush() -> None:
    """End what is being played."""
    load_sounddevice().stop()
