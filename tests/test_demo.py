"""The demo as the README has it: real sound, real pictures, a judged log, a report; then again."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest

from fieldnote.joblog import JobLog

ROOT = Path(__file__).parent.parent


def demo(out: Path) -> str:
    done = subprocess.run(
        ["bash", ROOT / "samples" / "demo.sh", out],
        capture_output=True,
        text=True,
        env=os.environ | {"COLUMNS": "120"},
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("demo") / "out"


def test_the_whole_way(out: Path) -> None:
    said = demo(out)
    assert said.splitlines()[-1] == f"Report: {out / 'report.html'}"
    report = (out / "report.html").read_text("utf-8")
    assert "data:audio/" in report
    assert "data:image/" in report
    assert 'src="http' not in report

    with JobLog.open(out / "log") as log:
        items = log.standing("DEMO-RUDDER")
        assert not log.verify("DEMO-RUDDER")
    taken = {
        (item.record.body["entry"]["value"], item.record.body["source"]["how"]): (
            item.record.body["verdict"]["result"]
        )
        for item in items
        if item.counts and item.record.kind == "reading"
    }
    assert taken == {
        ("24.6", "photo"): "pass",
        ("11.50", "photo"): "pass",
        ("103.2", "photo"): "indeterminate",
        ("27.4", "voice"): "fail",
        ("181.0", "voice"): "pass",
        ("21", "voice"): "pass",
    }
    withdrawn = [item.record.body["entry"]["value"] for item in items if item.state == "withdrawn"]
    assert withdrawn == ["150.5"]
    colours = [item.record.body["entry"]["colour"] for item in items if item.record.kind == "wire"]
    assert colours == ["RD", "BK", "WH/BU"]


def test_a_second_run_doubles_nothing(out: Path) -> None:
    with JobLog.open(out / "log") as log:
        before = len(log.records("DEMO-RUDDER"))
    assert "exists already" in demo(out)
    with JobLog.open(out / "log") as log:
        assert len(log.records("DEMO-RUDDER")) == before
