"""A real log in a folder of its own; all data in these tests is invented."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from shutil import rmtree

import pytest

from fieldnote.joblog import JobLog

START = datetime(2031, 3, 4, 9, 0, tzinfo=UTC)
FACTS = {
    "asset": "bilge pump 2",
    "serial": "SN-0042",
    "hours": "1210.5",
    "complaint": "trips after ten minutes",
    "technician": "A. Example",
    "customer": "Example Harbour Works",
    "meter": "bench meter 1",
    "procedure": {"name": "lift-pump", "version": "1", "digest": "0" * 64},
}


def reading(value: str = "10.60", unit: str = "Ohm", **more: object) -> dict[str, object]:
    return {
        "entry": {"kind": "reading", "value": value, "unit": unit, "label": "coil A", "text": ""},
        "step": "coil",
        "source": {"how": "voice", "file": "a.wav", "engine": "typed", "confidence": "0.97"},
        "window": None,
        "verdict": {"result": "pass", "margin": "0.40", "unit": unit, "rule": "simple acceptance"},
        "meter": None,
        **more,
    }


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


@pytest.fixture
def log(home: Path) -> Iterator[JobLog]:
    with JobLog.open(home) as opened:
        yield opened


@pytest.fixture
def at() -> Callable[..., datetime]:
    """``at(seconds)``: a time that many seconds into the invented day."""
    return lambda seconds=0: START + timedelta(seconds=seconds)


@pytest.fixture
def facts() -> dict[str, object]:
    return dict(FACTS)


@pytest.fixture
def make_reading() -> Callable[..., dict[str, object]]:
    return reading


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that another user may reach, unlike pytest's own."""
    folder = Path(tempfile.mkdtemp(prefix="joblog-test-"))
    folder.chmod(0o777)
    yield folder
    rmtree(folder)


_STOP_BEING_ROOT = """
import os
from pathlib import Path
from fieldnote.errors import StoreError
from fieldnote.joblog import JobLog
if os.geteuid() == 0:
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)
"""


@pytest.fixture
def as_plain_user() -> Callable[[str], subprocess.CompletedProcess[str]]:
    """Run Python code in another process that is not root (root may write anywhere)."""

    def run(code: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-c", _STOP_BEING_ROOT + code],
            capture_output=True,
            text=True,
            check=False,
        )

    return run
