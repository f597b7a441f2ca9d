"""Time of a verdict with the meter's uncertainty, beside a plain comparison by pint in floats.

Run: ``python -m tests.bench.judging``. The peer does less: no uncertainty, no margin, binary
floats. It also counts how often each refuses a reading that lies exactly on its limit.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import pint

from fieldnote.acceptance import Quantity, Window, judge
from fieldnote.procedure import load_register

ROUNDS = 2000


def median_time(action: Callable[[int], object]) -> float:
    """Median of `ROUNDS` calls, in µs."""
    action(0)  # imports and caches
    times = []
    for i in range(ROUNDS):
        start = time.perf_counter()
        action(i)
        times.append(time.perf_counter() - start)
    return statistics.median(times) * 1e6


def main() -> None:
    meter = load_register().instrument("bench-meter").accuracy
    assert meter is not None
    window = Window.plus_minus("0.1", "0.0040", "kOhm")
    registry = pint.UnitRegistry()
    low, high = 0.096 * registry.kiloohm, 0.104 * registry.kiloohm

    def ours(i: int) -> object:
        quantity = Quantity(f"{96 + i % 9}.0", "Ohm")
        return judge(quantity, window, meter.uncertainty(quantity))

    def peer(i: int) -> object:
        return low <= float(f"{96 + i % 9}.0") * registry.ohm <= high

    print(f"verdict with uncertainty, margin and rule: {median_time(ours):6.1f} µs")
    print(f"pint, comparison in floats alone:          {median_time(peer):6.1f} µs")

    refused = {"we": 0, "pint in floats": 0}
    for tenths in range(1, 1000):
        limit = f"{tenths / 10:.1f}"
        verdict = judge(Quantity(f"{tenths * 100}", "mV"), Window.at_most(limit, "V"))
        floats = (tenths * 100) * registry.millivolt <= float(limit) * registry.volt
        refused["we"] += verdict.result != "pass"
        refused["pint in floats"] += not floats
    print(f"of 999 readings exactly on a limit (mV against V) refused: {refused}")


if __name__ == "__main__":
    main()
