"""100,000 readings said in every way of ``spoken_forms`` (ours and num2words') and read back.

python -m tests.bench.language_round_trip [count]
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter

from fieldnote.language import UNITS, parse
from tests.language import spoken_forms


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    rng = random.Random(2)
    units = sorted(UNITS)
    said: Counter[str] = Counter()
    back: Counter[str] = Counter()
    other: Counter[str] = Counter()
    start = time.perf_counter()
    while said.total() < count:
        digits, unit = spoken_forms.random_digits(rng), rng.choice(units)
        form = rng.choice(spoken_forms.FORMS)
        words = form(digits, rng)
        if words is None:
            continue
        text = f"{words} {rng.choice(UNITS[unit].spoken)}"
        entry = parse(text)
        said[form.__name__] += 1
        if (entry.kind, entry.value, entry.unit) == ("reading", digits, unit):
            back[form.__name__] += 1
        else:
            wrong = entry.kind in ("reading", "bare", "series")
            other["another value" if wrong else "asked again"] += 1
            if other.total() <= 20:
                print(f"  {text} -> {entry.kind} {entry.value} {entry.unit} ({entry.reason})")
    for name in sorted(said):
        print(f"{name:16} {back[name]:7} of {said[name]:7} came back")
    took = time.perf_counter() - start
    print(f"{back.total()} of {said.total()}; the others: {dict(other)}; {took:.0f} s")


if __name__ == "__main__":
    main()
