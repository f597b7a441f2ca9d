"""The trials of tests/bench/joblog_never_lost.py in small numbers."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
COUNTS = {"kills": 8, "power-cuts": 30, "full": 5, "flips": 30, "clocks": 2, "writers": 1}


@pytest.mark.parametrize("harm", COUNTS)
def test_nothing_that_was_acknowledged_is_lost(harm: str) -> None:
    if harm == "power-cuts" and not shutil.which("strace"):
        pytest.skip("power cuts are recorded with strace: apt-get install strace")
    counts = [f"--{name}={COUNTS[name] if name == harm else 0}" for name in COUNTS]
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.joblog_never_lost", *counts],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    tried, stake, _, survived, lost = map(int, re.findall(r"│ (\d+) +", done.stdout))
    assert (tried, survived, lost) == (COUNTS[harm], COUNTS[harm], 0)
    assert stake > 0
