"""The project's own Vosk model beside pocketsphinx, on voices and speakers kept out of training.

    python -m tests.bench.own_model MODEL --lexicon LEXICON.json --clips FOLDER [--clips FOLDER]

FOLDER holds shards of the recipe in models/spoken (stages `synth --unseen` and `digits`); real
digits are scored with a grammar of digits, everything else with all its words.
"""

from __future__ import annotations

import argparse
import json
import random
from pathlib import Path

from fieldnote.language import Grammar
from models.spoken.corpus import clips
from models.spoken.evaluate import (
    CONDITIONS,
    decoders,
    has_value,
    score,
)
from models.spoken.phrases import SPOKEN_DIGITS


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("model", type=Path)
    parser.add_argument("--lexicon", type=Path, required=True)
    parser.add_argument("--clips", type=Path, action="append", required=True)
    parser.add_argument("--voices", nargs="*", default=[], help="only voices that start with these")
    parser.add_argument("--most", type=int, default=60, help="utterances a voice engine")
    parser.add_argument("--alone", action="store_true", help="without pocketsphinx, which is slow")
    options = parser.parse_args()
    lexicon = {w: [tuple(p) for p in v] for w, v in json.loads(options.lexicon.read_text()).items()}
    full = decoders(options.model, lexicon, Grammar.build().words)
    digits = decoders(options.model, lexicon, SPOKEN_DIGITS)
    groups: dict[str, list] = {}
    for folder in options.clips:
        for samples, utterance in clips(folder):
            wanted = not options.voices or utterance.voice.startswith(tuple(options.voices))
            if wanted and has_value(utterance):
                real = utterance.voice.startswith("real/")
                name = utterance.voice if real else utterance.voice.split("/")[0]
                groups.setdefault(name, []).append((samples, utterance))
    for name, found in sorted(groups.items()):
        chosen = random.Random(1).sample(found, min(options.most, len(found)))
        for ratio in CONDITIONS:
            for engine, decode in (digits if name.startswith("real/") else full).items():
                if options.alone and engine == "pocketsphinx":
                    continue
                condition = "clean" if ratio is None else f"{ratio:g} dB"
                print(
                    f"{name:14} {condition:6} {engine:16} {score(decode, chosen, ratio)}",
                    flush=True,
                )


if __name__ == "__main__":
    main()
