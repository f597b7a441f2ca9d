"""Sounds for the tests of the ear: espeak-ng's voice, and real people where Debian has them."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr
from numpy.typing import NDArray

REAL_PEOPLE = Path("/usr/share/pocketsphinx/test/data")
"""Of Debian's pocketsphinx-testdata: recordings that come with CMU PocketSphinx."""


@pytest.fixture(scope="session")
def spoken(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., NDArray[np.float32]]:
    """Words as sound, 16 kHz mono, by espeak-ng."""
    folder = tmp_path_factory.mktemp("spoken")

    def speak(text: str, voice: str = "en-us", speed: int = 150) -> NDArray[np.float32]:
        file = folder / "words.wav"
        command = ["espeak-ng", "-v", voice, "-s", str(speed), "-w", str(file), text]
        subprocess.run(command, check=True)
        samples, rate = soundfile.read(file, dtype="float32")
        return np.asarray(soxr.resample(samples, rate, 16_000), np.float32)

    return speak


@pytest.fixture(scope="session")
def real_people() -> Path:
    if not REAL_PEOPLE.is_dir():
        pytest.skip("apt install pocketsphinx-testdata brings the recordings of real people")
    return REAL_PEOPLE


def silence(seconds: float) -> NDArray[np.float32]:
    return np.zeros(round(seconds * 16_000), np.float32)
