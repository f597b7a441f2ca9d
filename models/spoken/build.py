"""From a checkpoint to a Vosk model's folder: no training, a few seconds.

A word that the product's list of pronunciations gains later is heard after this stage alone.
"""

from __future__ import annotations

import json
from pathlib import Path

from fieldnote.language import Context, Grammar
from fieldnote.procedure import load, shipped
from fieldnote.speech.pronunciations import Pronunciation, pronunciation
from fieldnote.speech.pronunciations import pronunciations as listed

from .graph import Costs, Search, write_model
from .lexicon import pronunciations
from .network import Net
from .nnet3 import model
from .train import load as load_net


def build(checkpoint: Path, folder: Path) -> dict[str, int]:
    """Write `folder` anew; gives the size in bytes of every file in it.

    Raises:
        ValueError: the checkpoint has the other net.
    """
    net, facts = load_net(checkpoint)
    if not isinstance(net, Net):
        raise ValueError(f"{checkpoint} has no net for vosk: train it by `train tdnn`")
    sizes = write_model(folder, model(net), spoken_words(), Costs(), Search())
    (folder / "training.json").write_text(json.dumps(facts, indent=1, default=list) + "\n")
    return sizes


def spoken_words() -> dict[str, list[Pronunciation]]:
    """All that may be said: the list of pronunciations, the wide grammar, the names in the shipped
    procedures. A name in no dictionary is said as espeak-ng says it."""
    labels = {label for name in shipped() for step in load(name).steps for label in step.labels}
    grammar = Grammar.build(Context(labels=tuple(sorted(labels))), wide=True)
    words = sorted({*listed(), *grammar.words})
    return {word: ways for word in words if (ways := _ways(word))}


def _ways(word: str) -> list[Pronunciation]:
    try:
        return pronunciations(word)
    except KeyError:
        return list(pronunciation(word))
