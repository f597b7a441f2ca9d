"""Runs the installed command as a person would: a process of its own, a log of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest

SAMPLES = Path(__file__).parents[2] / "samples"


@dataclass(frozen=True)
class Ran:
    """What a command said and how it left."""

    status: int
    out: str
    err: str


Runner = Callable[..., Ran]


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "log"


@pytest.fixture
def fieldnote(home: Path, tmp_path: Path) -> Runner:
    """Call it with arguments; `stdin` is fed, `before` runs in the child before the command."""

    def run(
        *arguments: str | Path,
        stdin: str | None = None,
        before: Callable[[], None] | None = None,
        environment: Sequence[tuple[str, str]] = (),
    ) -> Ran:
        done = subprocess.run(
            [sys.executable, "-m", "fieldnote", *map(str, arguments)],
            input=stdin,
            capture_output=True,
            text=True,
            cwd=tmp_path,
            env=os.environ | {"FIELDNOTE_HOME": str(home), "COLUMNS": "120"} | dict(environment),
            preexec_fn=before,
            timeout=300,
            check=False,
        )
        assert "Traceback" not in done.stderr, done.stderr
        return Ran(done.returncode, done.stdout, done.stderr)

    return run
