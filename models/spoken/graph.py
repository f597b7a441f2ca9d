"""Lays out a Vosk model directory: acoustic model, decoding graph, word list and settings.

vosk composes graph/HCLr.fst (phone HMMs and lexicon, ready for look-ahead) with a grammar given at
run time, or with graph/Gr.fst (here: a loop over all words). The lexicon is small and its topology
uniform, so HCLr is written directly; Debian's OpenFst tools (libfst-tools, Apache-2.0) bring it
into the form that vosk reads.
"""

from __future__ import annotations

import math
import os
import shutil
import subprocess
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from .lexicon import Pronunciation
from .mfcc import COEFFICIENTS, HIGH, LOW
from .network import SUBSAMPLING
from .nnet3 import transition_ids
from .phones import GARBAGE, SILENCE, all_positioned, positioned

MFCC_CONF = f"""--use-energy=false
--num-mel-bins={COEFFICIENTS}
--num-ceps={COEFFICIENTS}
--low-freq={LOW:g}
--high-freq={HIGH:g}
--dither=0
--allow-downsample=true
--allow-upsample=true
"""
MODEL_CONF = f"""--min-active=200
--max-active=3000
--beam=13.0
--lattice-beam=3.0
--acoustic-scale=1.0
--frame-subsampling-factor={SUBSAMPLING}
--endpoint.silence-phones=1
--endpoint.rule2.min-trailing-silence=0.5
--endpoint.rule3.min-trailing-silence=1.0
--endpoint.rule4.min-trailing-silence=2.0
"""


class MissingToolError(RuntimeError):
    """An OpenFst program is not installed."""


def _plugins() -> dict[str, str]:
    """Environment in which OpenFst finds its plug-ins (Debian keeps them out of the loader's
    path)."""
    folders = [str(folder) for folder in Path("/usr/lib").glob("*/fst/*") if folder.is_dir()]
    return {
        **os.environ,
        "LD_LIBRARY_PATH": os.pathsep.join([*folders, os.environ.get("LD_LIBRARY_PATH", "")]),
    }


def _pipe(commands: Sequence[Sequence[str]], source: Path, target: Path) -> None:
    """Run `commands` as one pipe from `source` into `target`."""
    data = source.read_bytes()
    for command in commands:
        if shutil.which(command[0]) is None:
            raise MissingToolError(
                f"{command[0]} is missing: apt install libfst-tools libfst22-plugins-base"
            )
        done = subprocess.run(command, input=data, capture_output=True, check=False, env=_plugins())
        if done.returncode:
            raise RuntimeError(f"{' '.join(command)}: {done.stderr.decode().strip()}")
        data = done.stdout
    target.write_bytes(data)


class _Arcs:
    """Arcs of the transducer from transition ids to words."""

    LOOP, READY, PAUSE = 0, 1, 2

    def __init__(self) -> None:
        self.lines: list[str] = []
        self._states = 3
        self._ids = transition_ids()

    def arc(
        self, source: int, target: int, label: int = 0, word: int = 0, cost: float = 0.0
    ) -> None:
        self.lines.append(f"{source} {target} {label} {word} {cost:g}")

    def phone(
        self, source: int, name: str, word: int = 0, cost: float = 0.0, target: int | None = None
    ) -> int:
        """Append one phone after state `source`; gives the state in which it is held."""
        loop, leave = self._ids[name]
        if target is None:
            target, self._states = self._states, self._states + 1
        self.arc(source, target, leave, word, cost)
        self.arc(target, target, loop)
        return target


def lexicon_arcs(
    lexicon: Mapping[str, Sequence[Pronunciation]], numbers: Mapping[str, int], garbage_cost: float
) -> list[str]:
    """HCL as lines for fstcompile: a prefix tree of the words with a pause allowed around each.

    `garbage_cost` is paid for every garbage word; it moves the balance between rejecting and
    accepting.
    """
    arcs = _Arcs()
    arcs.arc(_Arcs.LOOP, _Arcs.READY)
    arcs.phone(_Arcs.LOOP, SILENCE, target=_Arcs.PAUSE)
    arcs.arc(_Arcs.PAUSE, _Arcs.READY)
    _, pause = transition_ids()[SILENCE]
    prefixes: dict[tuple[str, ...], int] = {(): _Arcs.READY}
    for word, variants in lexicon.items():
        for variant in variants:
            names = positioned(variant)
            for length, name in enumerate(names[:-1]):
                before, after = tuple(names[:length]), tuple(names[: length + 1])
                if after not in prefixes:
                    prefixes[after] = arcs.phone(prefixes[before], name)
            cost = garbage_cost if word == GARBAGE else 0.0
            end = arcs.phone(prefixes[tuple(names[:-1])], names[-1], numbers[word], cost)
            arcs.arc(end, _Arcs.READY)
            arcs.arc(end, _Arcs.PAUSE, pause)
    return [*arcs.lines, f"{_Arcs.READY} 0"]


def write_graph(
    folder: Path, lexicon: Mapping[str, Sequence[Pronunciation]], garbage_cost: float
) -> None:
    """Write `folder`/graph. Raises MissingToolError where OpenFst's programs are absent."""
    graph = folder / "graph"
    (graph / "phones").mkdir(parents=True, exist_ok=True)
    names = all_positioned()
    place = {"B": "begin", "I": "internal", "E": "end", "S": "singleton"}
    boundary = [
        f"{number} {'nonword' if name == SILENCE else place[name[-1]]}"
        for number, name in enumerate(names, 1)
    ]
    (graph / "phones" / "word_boundary.int").write_text("\n".join(boundary) + "\n")
    symbols = ["<eps> 0", *(f"{name} {number}" for number, name in enumerate(names, 1))]
    (graph / "phones.txt").write_text("\n".join(symbols) + "\n")
    (graph / "disambig_tid.int").write_text(f"{2 * len(names) + 1}\n")

    words = [*lexicon, "#0", "<s>", "</s>"]
    numbers = {word: number for number, word in enumerate(words, 1)}
    with tempfile.TemporaryDirectory() as scratch:
        text, relabel = Path(scratch, "hcl.txt"), Path(scratch, "relabel")
        text.write_text("\n".join(lexicon_arcs(lexicon, numbers, garbage_cost)) + "\n")
        _pipe(
            [
                ["fstcompile"],
                ["fstarcsort", "--sort_type=olabel"],
                ["fstconvert", "--fst_type=olabel_lookahead", f"--save_relabel_opairs={relabel}"],
            ],
            text,
            graph / "HCLr.fst",
        )
        moved = dict(
            map(int, line.split()) for line in relabel.read_text().splitlines() if line.strip()
        )
        free = iter(range(max(moved.values()) + 1, max(moved.values()) + 1 + len(words)))
        final = {
            word: moved[number] if number in moved else next(free)
            for word, number in numbers.items()
        }
        table = [
            "<eps> 0",
            *(f"{word} {final[word]}" for word in sorted(final, key=lambda w: final[w])),
        ]
        (graph / "words.txt").write_text("\n".join(table) + "\n")
        cost = math.log(len(lexicon) + 1)
        loop = [f"0 0 {final[word]} {final[word]} {cost:g}" for word in lexicon]
        text.write_text("\n".join([*loop, f"0 {cost:g}"]) + "\n")
        _pipe(
            [
                ["fstcompile"],
                ["fstarcsort", "--sort_type=ilabel"],
                ["fstconvert", "--fst_type=const"],
            ],
            text,
            graph / "Gr.fst",
        )


def write_model(
    folder: Path,
    acoustic: bytes,
    lexicon: Mapping[str, Sequence[Pronunciation]],
    garbage_cost: float = 0.0,
) -> dict[str, int]:
    """Write the whole directory; gives the size in bytes of every file in it."""
    for part in ("am", "conf"):
        (folder / part).mkdir(parents=True, exist_ok=True)
    (folder / "am" / "final.mdl").write_bytes(acoustic)
    (folder / "conf" / "mfcc.conf").write_text(MFCC_CONF)
    (folder / "conf" / "model.conf").write_text(MODEL_CONF)
    write_graph(folder, lexicon, garbage_cost)
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {str(path.relative_to(folder)): path.stat().st_size for path in files}
