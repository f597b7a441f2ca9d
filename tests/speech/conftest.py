"""Sounds for the tests of the ear: espeak-ng's voice, and real people where Debian has them."""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from collections.abc import Callable, Iterator
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


@pytest.fixture
def sound_server(tmp_path: Path) -> Iterator[dict[str, str]]:
    """A PulseAudio of our own with a null sink; its monitor is the microphone."""
    if not shutil.which("pulseaudio") or not shutil.which("paplay"):
        pytest.skip("apt install pulseaudio pulseaudio-utils libasound2-plugins")
    home = tmp_path / "pulse"
    home.mkdir(mode=0o700)
    environment = {
        **os.environ,
        **{"HOME": str(home), "XDG_RUNTIME_DIR": str(home), "PULSE_RUNTIME_PATH": str(home)},
        **{"PULSE_SINK": "session", "PULSE_SOURCE": "session.monitor"},
        "PYTHONPATH": str(Path(__file__).parents[2]),
    }
    command = ["pulseaudio", "-n", "--exit-idle-time=-1", "--daemonize=no"]
    modules = ["module-native-protocol-unix", "module-null-sink sink_name=session rate=48000"]
    for module in modules:
        command += ["-L", module]
    server = subprocess.Popen(command, env=environment, stderr=subprocess.DEVNULL)
    try:
        for _ in range(50):
            asked = subprocess.run(["pactl", "info"], env=environment, capture_output=True)
            if asked.returncode == 0:
                break
            time.sleep(0.1)
        else:
            pytest.skip("PulseAudio doesn't start here")
        yield environment
    finally:
        server.terminate()
        server.wait()
