"""A log of many jobs: does appending, searching and starting stay as quick as on the first day?

    python -m tests.bench.joblog_scale [--jobs 20000] [--readings 50] [--home FOLDER]

Prints figures; asserts none. The peer is a plain ``sqlite3`` table with one index that takes the
same bytes with the same durability (WAL, synchronous=FULL, a commit each), turn by turn in the same
run on the same disk. ``--home`` keeps the log made, and takes up one made before. All data is
invented.
"""

from __future__ import annotations

import argparse
import random
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from rich.progress import track

from fieldnote.joblog import Index, JobLog

START = datetime(2021, 1, 4, 7, 0, tzinfo=UTC)
ASSETS = ("bilge pump", "cold store", "lift pump", "deck crane", "ballast sender", "bow winch")
PARTS = (
    "coil",
    "winding",
    "sender",
    "gland",
    "bearing",
    "relay",
    "fuse",
    "terminal",
    "seal",
    "lug",
)
WORDS = ("worn", "weeping", "loose", "corroded", "cleaned", "tight", "noisy", "cracked", "bent")
QUANTITIES = (
    ("resistance", "Ohm", 0.2, 900),
    ("voltage", "V", 0, 690),
    ("current", "A", 0, 63),
    ("temperature", "Cel", -30, 140),
    ("pressure", "bar", 0, 16),
    ("torque", "N.m", 1, 90),
)


def reading(luck: random.Random, point: int) -> tuple[dict[str, object], Index]:
    quantity, unit, low, high = QUANTITIES[point % len(QUANTITIES)]
    digits = f"{luck.uniform(low, high):.2f}"
    label = f"{PARTS[point % len(PARTS)]} {point}"
    verdict = luck.choices(("pass", "fail", "indeterminate"), (94, 4, 2))[0]
    heard = f"{label} {digits} {unit} {luck.choice(WORDS)}"
    body: dict[str, object] = {
        "entry": {"kind": "reading", "value": digits, "unit": unit, "label": label, "text": heard},
        "step": f"step-{point}",
        "source": {"how": "voice", "file": "a.wav", "engine": "e", "confidence": "0.97"},
        "window": {"unit": unit, "lower": str(low), "upper": str(high)},
        "verdict": {"result": verdict, "margin": "0.40", "unit": unit, "rule": "simple"},
        "meter": "bench-meter",
    }
    return body, Index(quantity, float(digits), unit)


def facts(number: int) -> dict[str, object]:
    serial = number % 400
    return {
        "asset": f"{ASSETS[serial % len(ASSETS)]} {serial}",
        "serial": f"SN-{serial:05}",
        "complaint": "trips when warm",
        "technician": "A. Example",
    }


def build(log: JobLog, jobs: int, readings: int) -> float:
    """Fill the log, 50 jobs to a transaction; records a second."""
    luck = random.Random(8)
    begun = time.perf_counter()
    for first in track(range(0, jobs, 50), description=f"{jobs} jobs"):
        with log._db.writing():  # many at once, only to have a large log to measure on
            for number in range(first, min(first + 50, jobs)):
                at = START + timedelta(hours=2 * number)
                ref = log.start_job(facts(number), at=at, ref=f"job-{number}").ref
                for point in range(readings):
                    body, index = reading(luck, point)
                    seconds = timedelta(seconds=30 * point)
                    log.append(ref, "reading", body, at=at + seconds, index=index)
    return jobs * readings / (time.perf_counter() - begun)


class Plain:
    """The peer: one table, one index, nothing else."""

    def __init__(self, path: Path) -> None:
        self.connection = sqlite3.connect(path, isolation_level=None)
        for pragma in ("journal_mode = WAL", "synchronous = FULL"):
            self.connection.execute(f"PRAGMA {pragma}")
        self.connection.execute(
            "CREATE TABLE t (id INTEGER PRIMARY KEY, job INT, number INT, content BLOB)"
        )
        self.connection.execute("CREATE INDEX i ON t (job, number)")

    def insert(self, number: int, content: bytes) -> None:
        self.connection.execute("BEGIN IMMEDIATE")
        self.connection.execute(
            "INSERT INTO t (job, number, content) VALUES (1, ?, ?)", (number, content)
        )
        self.connection.execute("COMMIT")


def microseconds_each(action: Callable[[], object]) -> float:
    begun = time.perf_counter()
    action()
    return (time.perf_counter() - begun) * 1e6


def appending(large: JobLog, folder: Path, rounds: int = 1500) -> None:
    """The large log, a new log and the peer take turns, so that all meet the same disk."""
    luck = random.Random(9)
    plain = Plain(folder / "plain.db")
    new = JobLog.open(folder / "new")
    times: dict[str, list[float]] = {"plain sqlite3": [], "new log": [], "large log": []}
    refs = {}
    for name, log in (("new log", new), ("large log", large)):
        refs[name] = log.start_job(facts(1), at=START).ref
    cpu = dict.fromkeys(times, 0.0)
    content = b"x" * 750  # as long as such a record's canonical JSON
    for number in range(rounds):
        body, index = reading(luck, number % 50)
        for name in times:
            before, begun = time.process_time(), time.perf_counter()
            if name == "plain sqlite3":
                plain.insert(number, content)
            else:
                log = new if name == "new log" else large
                log.append(refs[name], "reading", body, at=START, index=index)
            times[name].append((time.perf_counter() - begun) * 1e6)
            cpu[name] += time.process_time() - before
    base = statistics.mean(times["plain sqlite3"])
    print(f"\nappending one reading, {rounds} each in turn, durable (microseconds)")
    for name, taken in times.items():
        mean = statistics.mean(taken)
        print(
            f"  {name:14} mean {mean:7.0f}  median {statistics.median(taken):7.0f}"
            f"  of which processor {cpu[name] / rounds * 1e6:5.0f}  x plain {mean / base:.2f}"
        )
    new.close()


def searching(log: JobLog, rounds: int = 25) -> None:
    luck = random.Random(10)

    def serial() -> str:
        return f"SN-{luck.randrange(400):05}"

    def ohms() -> dict[str, object]:
        return {"quantity": "resistance", "unit": "Ohm"}

    searches: dict[str, Callable[[], object]] = {
        "a common word": lambda: log.search(luck.choice(WORDS)),
        "two words": lambda: log.search(f"{luck.choice(PARTS)} {luck.choice(WORDS)}"),
        "a serial as a word": lambda: log.search(serial()),
        "a word on one serial": lambda: log.search(luck.choice(WORDS), serial=serial()),
        "all of one serial": lambda: log.search(serial=serial()),
        "over 12 ohms on one serial": lambda: log.search(serial=serial(), at_least=12, **ohms()),
        "over 12 ohms": lambda: log.search(at_least=12, **ohms()),
        "over 899.9 ohms (rare)": lambda: log.search(at_least=899.9, **ohms()),
        "failures": lambda: log.search(verdict="fail"),
        "failures on one asset": lambda: log.search(verdict="fail", asset="bilge pump 6"),
        "one label": lambda: log.search(label=f"coil {10 * luck.randrange(5)}"),
        "a day, a quantity": lambda: log.search(
            quantity="voltage",
            since=(day := START + timedelta(days=luck.randrange(400))),
            until=day + timedelta(days=1),
        ),
        "nothing there": lambda: log.search("zzyzx"),
        "history of one point": lambda: log.history("coil 20", serial=serial()),
        "one job shown": lambda: log.standing(f"job-{luck.randrange(100)}"),
        "verify one job": lambda: log.verify(f"job-{luck.randrange(100)}"),
    }
    print(f"\nsearching, 100 hits at most, {rounds} each (milliseconds)")
    for name, action in searches.items():
        taken = [microseconds_each(action) / 1e3 for _ in range(rounds)]
        print(f"  {name:28} median {statistics.median(taken):7.1f}  worst {max(taken):7.1f}")


def starting(home: Path, rounds: int = 7) -> None:
    code = "from pathlib import Path; from fieldnote.joblog import JobLog; "
    code += f"JobLog.open(Path({str(home)!r}))"
    print(f"\nstarting, {rounds} each (milliseconds)")
    for name, what in (("python alone", "pass"), ("python, import, open the log", code)):
        command = [sys.executable, "-c", what]
        taken = [
            microseconds_each(lambda command=command: subprocess.run(command, check=True)) / 1e3
            for _ in range(rounds)
        ]
        print(f"  {name:30} median {statistics.median(taken):7.0f}")


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--jobs", type=int, default=20_000)
    options.add_argument("--readings", type=int, default=50)
    options.add_argument("--home", type=Path)
    given = options.parse_args()
    with tempfile.TemporaryDirectory(prefix="joblog-scale-") as folder:
        home = given.home or Path(folder) / "large"
        log = JobLog.open(home)
        if not log.search(limit=1):
            rate = build(log, given.jobs, given.readings)
            print(f"built {given.jobs * given.readings} readings at {rate:.0f} a second")
        size = sum(path.stat().st_size for path in home.glob("log.db*"))
        print(f"{given.jobs} jobs of {given.readings} readings, {size / 1e6:.0f} MB")
        starting(home)
        searching(log)
        appending(log, Path(folder))
        log.close()


if __name__ == "__main__":
    main()
