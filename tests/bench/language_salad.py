"""200,000 lines of word salad: no crash, no line over 10 ms, and how much of it is taken for a
value.

python -m tests.bench.language_salad [count]
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter, defaultdict

from fieldnote.language import parse
from tests.language import salad


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200_000
    rng = random.Random(3)
    bowl = salad.words()
    kinds: Counter[str] = Counter()
    classes: Counter[str] = Counter()
    examples: dict[str, list[str]] = defaultdict(list)
    slow: list[tuple[float, str]] = []
    total = 0.0
    parse("pin four to ground ten point six ohms")  # tables are made on first use
    for _ in range(count):
        text = salad.toss(bowl, rng)
        start = time.process_time()
        entry = parse(text)
        took = time.process_time() - start
        total += took
        if took > 0.01:
            slow.append((took, text))
        kinds[entry.kind] += 1
        if entry.kind in ("reading", "bare", "series"):
            reason = salad.why(text, entry)
            classes[reason] += 1
            if len(examples[reason]) < 5:
                examples[reason].append(f"{text}  ->  {entry.value} {entry.unit or ''}")
    print(f"{count} lines, {total / count * 1000:.3f} ms of processor time each on average")
    print(f"over 10 ms: {len(slow)}", *(f"\n  {t * 1000:.1f} ms: {text}" for t, text in slow[:5]))
    for kind, number in kinds.most_common():
        print(f"{kind:8} {number:7} = {number / count:6.2%}")
    for reason, number in classes.most_common():
        print(f"{reason}: {number} = {number / count:.2%}")
        print(*(f"   {example}" for example in examples[reason]), sep="\n")


if __name__ == "__main__":
    main()
