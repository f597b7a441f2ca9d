"""A real log with an invented job, its report, and Debian's Chromium to look at it."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect, sync_playwright

from fieldnote.joblog import JobLog, Record
from fieldnote.review import report
from tests.review import invented_job as invented

CHROMIUM = os.environ.get("FIELDNOTE_CHROMIUM") or shutil.which("chromium")
QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

expect.set_options(timeout=20_000)  # ms, where the machine has other work; a pass takes none of it


@pytest.fixture
def log(tmp_path: Path) -> Iterator[JobLog]:
    with JobLog.open(tmp_path / "home") as opened:
        yield opened


@pytest.fixture
def made(log: JobLog) -> dict[str, Record]:
    return invented.write(log)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    if CHROMIUM is None:
        pytest.skip("No chromium found: apt-get install chromium, or set FIELDNOTE_CHROMIUM")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("report")
    with JobLog.open(folder / "home") as log:
        invented.write(log)
        return report(log, invented.REF, folder / "report.html", locale="en")
