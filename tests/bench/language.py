"""Numbers read out of the labelled utterances, and the time it takes, beside three peers.

    python -m tests.bench.language [corpus.txt | held_out.txt]

Peers: whisper's English text normaliser, text2num and quantulum3, each given the same text and
asked
for the numbers alone: right when it finds exactly the numbers of the label. They were made for
other
jobs; the table shows what the job needs, not which library is good.
"""

from __future__ import annotations

import importlib
import re
import statistics
import sys
import time
from collections.abc import Callable
from decimal import Decimal, InvalidOperation

from fieldnote.language import parse
from tests.language import corpus

Numbers = list[Decimal]
_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?|-?\.[0-9]+")


def ours(text: str) -> Numbers:
    entry = parse(text)
    if entry.kind not in ("reading", "bare", "series"):
        return []
    return [Decimal(value) for value in (entry.values or (entry.value or "0",))]


def _numbers_in(text: str) -> Numbers:
    return [Decimal(found) for found in _NUMBER.findall(text.replace(",", ""))]


def whisper_peer() -> Callable[[str], Numbers]:
    normaliser = importlib.import_module("whisper_normalizer.english").EnglishTextNormalizer()
    return lambda text: _numbers_in(normaliser(text))


def text2num_peer() -> Callable[[str], Numbers]:
    alpha2digit = importlib.import_module("text_to_num").alpha2digit
    return lambda text: _numbers_in(alpha2digit(text, "en"))


def quantulum_peer() -> Callable[[str], Numbers]:
    parser = importlib.import_module("quantulum3.parser")

    def find(text: str) -> Numbers:
        try:
            return [Decimal(repr(found.value)) for found in parser.parse(text)]
        except (InvalidOperation, ValueError, KeyError, IndexError, AttributeError, TypeError):
            return []

    return find


PEERS = {
    "whisper normaliser": whisper_peer,
    "text2num": text2num_peer,
    "quantulum3": quantulum_peer,
}


def main() -> None:
    name = sys.argv[1] if len(sys.argv) > 1 else "corpus.txt"
    cases = corpus.read(name)
    wanted = [case for case in cases if case.kind in ("reading", "bare", "series")]
    refused = [case for case in cases if case.kind in corpus.VALUELESS]
    right = [not corpus.differences(parse(case.text), case) for case in cases]
    print(f"{name}: {len(cases)} utterances; {sum(right)} right in every field that is labelled")
    invented = sum(corpus.invented(parse(case.text), case) for case in cases)
    print(f"values that were not said: {invented}\n")
    print(
        f"{'':20} {'number right':>15} {'value where none':>17} {'median ms':>10} {'worst ms':>9}"
    )
    readers: dict[str, Callable[[str], Numbers]] = {"fieldnote": ours}
    for peer, load in PEERS.items():
        try:
            readers[peer] = load()
        except ImportError:
            print(f"{peer:20} not installed")
    for reader, read in readers.items():
        read("twelve volts")  # tables and models loaded
        hits = sum(
            read(case.text) == [Decimal(v) for v in str(case.expected["value"]).split()]
            for case in wanted
        )
        wrong = sum(bool(read(case.text)) for case in refused)
        times = []
        for case in cases:
            start = time.perf_counter()
            read(case.text)
            times.append((time.perf_counter() - start) * 1000)
        print(
            f"{reader:20} {hits:6} = {hits / len(wanted):6.1%} {wrong:8} = "
            f"{wrong / len(refused):6.1%}"
            f" {statistics.median(times):10.3f} {max(times):9.2f}"
        )


if __name__ == "__main__":
    main()
