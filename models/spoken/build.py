"""From a checkpoint to a Vosk model's folder: no training, a few seconds.

A word that the product's list of pronunciations gains later is heard after this stage alone.
"""

from __future__ import annotations

import json
from pathlib import Path

from fieldnote.language import Grammar
from fieldnote.speech.pronunciations import pronunciations as listed

from .graph import Costs, Search, write_model
from .lexicon import lexicon
from .network import Net
from .nnet3 import model
from .train import load


def build(checkpoint: Path, folder: Path) -> dict[str, int]:
    """Write `folder` anew; gives the size in bytes of every file in it.

    Raises:
        ValueError: the checkpoint has the other net.
    """
    net, facts = load(checkpoint)
    if not isinstance(net, Net):
        raise ValueError(f"{checkpoint} has no net for vosk: train it by `train tdnn`")
    words = {*listed(), *Grammar.build(wide=True).words}
    sizes = write_model(folder, model(net), lexicon(words), Costs(), Search())
    (folder / "training.json").write_text(json.dumps(facts, indent=1, default=list) + "\n")
    return sizes
