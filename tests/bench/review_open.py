"""How long a log with 10,000 entries takes to open in the review pages.

    python -m tests.bench.review_open [ENTRIES]

Prints each page's median of five next to the floor: reading the same rows with plain sqlite3 and
parsing their JSON, without drawing or checking anything.
"""

from __future__ import annotations

import json
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from rich.console import Console
from rich.progress import track
from rich.table import Table
from starlette.testclient import TestClient

from fieldnote.acceptance import Window
from fieldnote.joblog import JobLog
from fieldnote.review import report
from fieldnote.review.web import review_app
from tests.review import invented_job as invented

PAGES = {"jobs": "/", "the job": "/jobs/long", "its unclear ones": "/jobs/long?show=unsettled"}
SECRET = "bench-0123456789-0123456789-0123456789"


def fill(log: JobLog, entries: int) -> None:
    """One job of so many readings, every tenth corrected, every hundredth a question."""
    log.start_job(invented.FACTS, at=invented.START, ref="long")
    window = Window.plus_minus("10", "1.8", "Ohm")
    for number in track(range(entries), "Writing"):
        at = invented.START + timedelta(seconds=7 * number)
        said = invented.entry(
            value=f"{8 + number % 5}.{number % 100:02d}",
            unit="Ohm",
            label=f"point {number % 40}",
            text="as spoken",
        )
        if number % 100 == 99:
            said = invented.entry("unclear", value="15", unit="Ohm", reason="alike", text="fif")
            log.append("long", "question", invented.body(said), at=at)
            continue
        body = invented.body(said, window=window, uncertainty="0.04", confidence="0.97")
        record = log.append("long", "reading", body, at=at)
        if number % 10 == 9:
            log.append("long", "correction", {**body, "why": "again"}, at=at, refers_to=record)


def seconds(what: Callable[[], object], times: int = 5) -> tuple[str, str]:
    """Median seconds on the wall clock and of the processor; they differ on a busy machine."""
    wall, cpu = [], []
    for _ in range(times):
        start, worked = time.perf_counter(), time.process_time()
        what()
        wall.append(time.perf_counter() - start)
        cpu.append(time.process_time() - worked)
    return f"{statistics.median(wall):.3f}", f"{statistics.median(cpu):.3f}"


def floor(path: Path) -> None:
    """Read and parse every record, nothing else."""
    with sqlite3.connect(path) as db:
        for (content,) in db.execute("SELECT content FROM records"):
            json.loads(content)


def browser(log: JobLog) -> TestClient:
    client = TestClient(review_app(log, secret=SECRET), base_url="http://127.0.0.1")
    client.get(f"/enter/{SECRET}")
    return client


def opened(log: JobLog, path: str) -> None:
    """A page of a server that was just started."""
    assert browser(log).get(path).status_code == 200


def main() -> None:
    entries = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    with tempfile.TemporaryDirectory() as folder, JobLog.open(Path(folder) / "home") as log:
        fill(log, entries)
        shown = Table("", "wall s", "processor s", title=f"{entries:,} entries in one job")
        for name, path in PAGES.items():
            shown.add_row(f"{name}, first time", *seconds(lambda path=path: opened(log, path)))
        client = browser(log)
        client.get("/jobs/long")
        shown.add_row("another page of the job", *seconds(lambda: client.get("/jobs/long?page=90")))
        shown.add_row("floor: sqlite3 and json alone", *seconds(lambda: floor(log.home / "log.db")))
        out = Path(folder) / "long.html"
        shown.add_row("service report, once", *seconds(lambda: report(log, "long", out), 1))
        Console().print(shown)


if __name__ == "__main__":
    main()
