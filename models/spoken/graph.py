"""Lays out a Vosk model directory: acoustic model, decoding graph, word list and settings.

vosk composes graph/HCLr.fst (phones and lexicon, ready for look-ahead) with a grammar given at
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
from dataclasses import dataclass
from pathlib import Path

from .lexicon import Pronunciation
from .mfcc import COEFFICIENTS, HIGH, LOW
from .network import SUBSAMPLING
from .nnet3 import transition_ids
from .phones import ARPABET, BLANK, GARBAGE, SILENCE, all_positioned, positioned

MFCC_CONF = f"""--use-energy=false
--num-mel-bins={COEFFICIENTS}
--num-ceps={COEFFICIENTS}
--low-freq={LOW:g}
--high-freq={HIGH:g}
--dither=0
--allow-downsample=true
--allow-upsample=true
"""


@dataclass(frozen=True)
class Costs:
    """Costs in the graph, natural logarithms.

    Attributes:
        word: of every word of the vocabulary.
        variant: of any pronunciation but a word's first, besides.
        garbage: of the garbage word, once.
        garbage_phone: of each phone in it.
    """

    word: float = 0.0
    variant: float = 0.7
    garbage: float = 2.0
    garbage_phone: float = 2.0


@dataclass(frozen=True)
class Search:
    """Settings of vosk's search.

    Attributes:
        scale: weight of the net's log probabilities against the costs.
        beam: paths that are worse than the best by more are dropped.
        lattice_beam: the same for what alternatives and confidences are made of.
        most: states kept in a frame.
    """

    scale: float = 1.0
    beam: float = 13.0
    lattice_beam: float = 6.0
    most: int = 3000

    def conf(self) -> str:
        """As vosk's conf/model.conf has it."""
        return f"""--min-active=200
--max-active={self.most}
--beam={self.beam:g}
--lattice-beam={self.lattice_beam:g}
--acoustic-scale={self.scale:g}
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
    """Arcs of the transducer from transition ids to words, as lines for fstcompile."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self._states = 0
        self._ids = transition_ids()

    def state(self) -> int:
        self._states += 1
        return self._states - 1

    def arc(
        self, source: int, target: int, label: int = 0, word: int = 0, cost: float = 0.0
    ) -> None:
        self.lines.append(f"{source} {target} {label} {word} {cost:g}")

    def end(self, state: int) -> None:
        self.lines.append(f"{state} 0")

    def hold(self, name: str) -> int:
        """A new state in which phone `name` is held: each frame of it after the first."""
        state = self.state()
        self.arc(state, state, self._ids[name][0])
        return state

    def enter(self, source: int, target: int, name: str, word: int = 0, cost: float = 0.0) -> None:
        """The first frame of phone `name`, from `source` to the state that holds it."""
        self.arc(source, target, self._ids[name][1], word, cost)


@dataclass(frozen=True)
class _Place:
    """Where a phone has been said: `held`, still in it; `after`, in the blank that follows it."""

    held: int
    after: int


class _Lexicon:
    """Words as a prefix tree of phones, closed to a loop over words.

    What connectionist temporal classification asks for is kept: between any two phones there may
    be blank frames, and between the same phone twice there must be. So there is one place to go
    on from after a word for each phone that it may end in, and one after a pause.
    """

    def __init__(self, costs: Costs) -> None:
        self._arcs = _Arcs()
        self._costs = costs
        start = self._arcs.state()
        self._arcs.arc(start, first := self._arcs.state())  # fstcompile starts where line 1 does
        pause = self._arcs.hold(SILENCE)
        self._ready = {phone: self._arcs.state() for phone in ARPABET}
        for state in (first, *self._ready.values()):
            self._arcs.enter(state, pause, SILENCE)
        self._between = {None: first, SILENCE: pause, **self._ready}
        for state in self._between.values():
            self._arcs.end(state)
        self._prefixes: dict[tuple[str, ...], _Place] = {}

    def lines(self) -> list[str]:
        return self._arcs.lines

    def add(self, phones: Pronunciation, word: int, cost: float) -> None:
        """One pronunciation of a word."""
        names = positioned(phones)
        for length in range(1, len(names)):
            prefix = tuple(names[:length])
            if prefix not in self._prefixes:
                self._prefixes[prefix] = self._inside(phones, names, length - 1)
        last = self._arcs.hold(names[-1])
        self._follow(phones, names, len(names) - 1, last, word, cost)
        self._arcs.arc(last, self._ready[phones[-1]])

    def _inside(self, phones: Pronunciation, names: list[str], place: int) -> _Place:
        held, after = self._arcs.hold(names[place]), self._arcs.hold(BLANK)
        self._arcs.enter(held, after, BLANK)
        self._follow(phones, names, place, held)
        return _Place(held, after)

    def _follow(
        self,
        phones: Pronunciation,
        names: list[str],
        place: int,
        target: int,
        word: int = 0,
        cost: float = 0.0,
    ) -> None:
        """Arcs to `target`, which holds the phone at `place`, from all that may come before."""
        if place == 0:
            for before, state in self._between.items():
                if before != phones[0]:
                    self._arcs.enter(state, target, names[0], word, cost)
            return
        prefix = self._prefixes[tuple(names[:place])]
        if phones[place - 1] != phones[place]:
            self._arcs.enter(prefix.held, target, names[place], word, cost)
        self._arcs.enter(prefix.after, target, names[place], word, cost)

    def add_garbage(self, word: int) -> None:
        """A word of any two or more phones."""
        each, whole = self._costs.garbage_phone, self._costs.garbage
        begin, inside, last = (
            {phone: self._arcs.hold(f"{phone}_{mark}") for phone in ARPABET} for mark in "BIE"
        )
        blank = self._arcs.hold(BLANK)
        after = {None: blank, **{phone: self._arcs.state() for phone in ARPABET}}
        for phone in ARPABET:
            for before, state in self._between.items():
                if before != phone:
                    self._arcs.enter(state, begin[phone], f"{phone}_B", word, whole + each)
            for held in (begin[phone], inside[phone]):
                self._arcs.arc(held, after[phone])
                self._arcs.enter(held, blank, BLANK)
            self._arcs.arc(last[phone], self._ready[phone])
            for before, state in after.items():
                if before != phone:
                    self._arcs.enter(state, inside[phone], f"{phone}_I", cost=each)
                    self._arcs.enter(state, last[phone], f"{phone}_E", cost=each)


def lexicon_arcs(
    lexicon: Mapping[str, Sequence[Pronunciation]], numbers: Mapping[str, int], costs: Costs
) -> list[str]:
    """HCL as lines for fstcompile; `numbers` has the garbage word too."""
    arcs = _Lexicon(costs)
    for word, variants in lexicon.items():
        for place, variant in enumerate(variants):
            arcs.add(variant, numbers[word], costs.word + (costs.variant if place else 0.0))
    arcs.add_garbage(numbers[GARBAGE])
    return arcs.lines()


def write_graph(folder: Path, lexicon: Mapping[str, Sequence[Pronunciation]], costs: Costs) -> None:
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

    lexicon = {word: variants for word, variants in lexicon.items() if word != GARBAGE}
    words = [*lexicon, GARBAGE, "#0", "<s>", "</s>"]
    numbers = {word: number for number, word in enumerate(words, 1)}
    with tempfile.TemporaryDirectory() as scratch:
        text, relabel = Path(scratch, "hcl.txt"), Path(scratch, "relabel")
        text.write_text("\n".join(lexicon_arcs(lexicon, numbers, costs)) + "\n")
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
        cost = math.log(len(lexicon) + 2)
        loop = [f"0 0 {final[word]} {final[word]} {cost:g}" for word in (*lexicon, GARBAGE)]
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
    costs: Costs | None = None,
    search: Search | None = None,
) -> dict[str, int]:
    """Write the whole directory; gives the size in bytes of every file in it."""
    for part in ("am", "conf"):
        (folder / part).mkdir(parents=True, exist_ok=True)
    (folder / "am" / "final.mdl").write_bytes(acoustic)
    (folder / "conf" / "mfcc.conf").write_text(MFCC_CONF)
    (folder / "conf" / "model.conf").write_text((search or Search()).conf())
    write_graph(folder, lexicon, costs or Costs())
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {str(path.relative_to(folder)): path.stat().st_size for path in files}
