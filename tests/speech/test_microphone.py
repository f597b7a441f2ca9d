"""A session through a virtual microphone: PulseAudio plays it, the product's own code listens."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.speech.conftest import silence

LISTENER = """
import json, sys
from fieldnote.session.interpret import Listener
from fieldnote.language import Grammar
from fieldnote.speech import Microphone, engines, utterances

listener = Listener(engines(Grammar.build(), ["phoneme"]))
with Microphone("pulse") as microphone:
    print("listening", flush=True)
    for utterance in utterances(microphone):
        heard = listener.interpret(utterance.samples)
        said = [one.text for one in heard.opinion.hypotheses[0].alternatives]
        print(json.dumps([heard.opinion.hypotheses[0].text, *said]), flush=True)
"""


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


def test_what_is_played_is_heard(sound_server: dict[str, str], spoken, tmp_path: Path) -> None:
    file = tmp_path / "session.wav"
    parts = [silence(0.5), spoken("ten point six ohms"), silence(1.5), spoken("twelve volts")]
    soundfile.write(file, np.concatenate([*parts, silence(1.5)]), 16_000)
    listener = subprocess.Popen(
        [sys.executable, "-c", LISTENER],
        env=sound_server,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert listener.stdout is not None
        assert listener.stderr is not None
        assert listener.stdout.readline() == "listening\n", listener.stderr.read()[-2000:]
        subprocess.run(["paplay", str(file)], env=sound_server, check=True)
        first = json.loads(listener.stdout.readline())
        second = json.loads(listener.stdout.readline())
    finally:
        listener.kill()
        listener.wait()
    assert "ten point six ohms" in first
    assert "twelve volts" in second
