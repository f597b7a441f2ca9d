"""Disks and files that fail: one clear message, and nothing half-written."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import textwrap
from contextlib import closing
from pathlib import Path

import pytest

from fieldnote.errors import StoreError
from fieldnote.joblog import JobLog


def test_a_home_that_cannot_be_written_is_told(open_folder: Path, as_plain_user) -> None:
    home = open_folder / "home"
    home.mkdir(mode=0o555)
    home.chmod(0o555)
    done = as_plain_user(
        textwrap.dedent(f"""
        for home in (Path({str(home)!r}), Path({str(home)!r}) / "below"):
            try:
                JobLog.open(home)
            except StoreError as error:
                print(error)
        """)
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.count("cannot be written by this user. Make the folder writable") == 2
    assert list(home.iterdir()) == []


def test_a_database_that_cannot_be_written_is_told(open_folder: Path, as_plain_user, at) -> None:
    home = open_folder / "home"
    with JobLog.open(home) as log:
        log.start_job({}, at=at(), ref="demo")
    before = (home / "log.db").read_bytes()
    home.chmod(0o555)
    (home / "log.db").chmod(0o444)
    done = as_plain_user(
        textwrap.dedent(f"""
        try:
            JobLog.open(Path({str(home)!r}))
        except StoreError as error:
            print(error)
        """)
    )
    assert "log.db cannot be written by this user" in done.stdout, done.stderr
    assert (home / "log.db").read_bytes() == before


def test_a_file_in_the_place_of_the_home_is_told(tmp_path: Path) -> None:
    (tmp_path / "home").write_text("my notes")
    with pytest.raises(StoreError, match="a file stands where a folder is needed"):
        JobLog.open(tmp_path / "home")
    assert (tmp_path / "home").read_text() == "my notes"


FILL_THE_DISK = """
import resource, sys
from datetime import UTC, datetime
from pathlib import Path
from fieldnote.errors import StoreError
from fieldnote.joblog import JobLog

at = datetime(2031, 3, 4, tzinfo=UTC)
log = JobLog.open(Path(sys.argv[1]))
log.start_job({}, at=at, ref="demo")
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]), resource.RLIM_INFINITY))
try:
    for number in range(10_000):
        clip = log.keep(str(number).encode() * 2000, ".wav") if number % 7 == 0 else None
        log.append("demo", "remark", {"n": str(number)}, at=at, evidence=[clip] if clip else [])
        print("stored", number, flush=True)
except StoreError as error:
    print("refused", error)
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
log.append("demo", "remark", {"n": "after"}, at=at)  # once there is room, it goes on
"""


@pytest.mark.parametrize("limit", [9_000, 100_000, 300_001])
def test_a_full_disk_loses_nothing_that_was_stored(home: Path, limit: int) -> None:
    done = subprocess.run(
        [sys.executable, "-c", FILL_THE_DISK, str(home), str(limit)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[-1].startswith("refused")
    assert "full" in lines[-1]
    stored = [line.split()[1] for line in lines[:-1]]
    with JobLog.open(home) as log:
        assert [r.body["n"] for r in log.records("demo")[1:]] == [*stored, "after"]
        assert log.verify("demo") == []
    assert not list(home.rglob("*.part"))


def test_a_disk_too_full_to_begin_is_told(home: Path) -> None:
    code = """
import resource, sys
from pathlib import Path
from fieldnote.errors import StoreError
from fieldnote.joblog import JobLog
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
try:
    JobLog.open(Path(sys.argv[1]))
except StoreError as error:
    print(error)
"""
    done = subprocess.run(
        [sys.executable, "-c", code, str(home)], capture_output=True, text=True, check=False
    )
    assert "full" in done.stdout, done.stderr
    JobLog.open(home).close()  # and with room again it opens


def test_a_locked_database_is_told_and_then_works(home: Path, at) -> None:
    with JobLog.open(home, wait=0.1) as log:
        log.start_job({}, at=at(), ref="demo")
        with closing(sqlite3.connect(home / "log.db", isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            with pytest.raises(StoreError, match=r"Another program keeps .*log\.db locked"):
                log.append("demo", "remark", {}, at=at())
            assert len(log.records("demo")) == 1  # reading goes on meanwhile
            other.execute("ROLLBACK")
        log.append("demo", "remark", {}, at=at())
        assert log.verify("demo") == []


def test_a_database_held_for_itself_is_told_when_opening(home: Path) -> None:
    JobLog.open(home).close()
    with closing(sqlite3.connect(home / "log.db", isolation_level=None)) as other:
        other.execute("PRAGMA locking_mode = EXCLUSIVE")
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(StoreError, match="locked"):
            JobLog.open(home, wait=0.1)
    JobLog.open(home).close()


@pytest.mark.parametrize(
    "junk", [b"not a database at all" * 100, b"SQLite format 3\0" + b"\xee" * 5000]
)
def test_a_file_that_is_no_database_is_told_and_left(home: Path, junk: bytes) -> None:
    home.mkdir()
    (home / "log.db").write_bytes(junk)
    with pytest.raises(StoreError, match=r"damaged.*left as it is.*backups"):
        JobLog.open(home)
    assert (home / "log.db").read_bytes() == junk


def test_a_database_of_something_else_is_left_alone(home: Path) -> None:
    home.mkdir()
    with closing(sqlite3.connect(home / "log.db")) as other, other:
        other.execute("CREATE TABLE recipes (name)")
    with pytest.raises(StoreError, match="a database of something else"):
        JobLog.open(home)
    with closing(sqlite3.connect(home / "log.db")) as other:
        assert other.execute("SELECT name FROM sqlite_master").fetchall() == [("recipes",)]


def test_a_newer_layout_is_refused_untouched(home: Path) -> None:
    JobLog.open(home).close()
    with closing(sqlite3.connect(home / "log.db")) as other, other:
        other.execute("PRAGMA user_version = 999")
    with pytest.raises(StoreError, match="written by a newer Fieldnote"):
        JobLog.open(home)
    with closing(sqlite3.connect(home / "log.db")) as other:
        assert other.execute("PRAGMA user_version").fetchone() == (999,)


WRITE_MANY = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from fieldnote.joblog import JobLog
log = JobLog.open(Path(sys.argv[1]), wait=60)
at = datetime(2031, 3, 4, tzinfo=UTC)
for number in range(60):
    log.append("demo", "remark", {"who": sys.argv[2], "n": str(number)}, at=at)
    log.start_job({}, at=at)
"""


def test_several_programs_write_to_one_job_at_once(home: Path, at) -> None:
    """They also race to make the database, which is why it is not opened here first."""
    begin = "from pathlib import Path\nimport sys\nfrom fieldnote.joblog import JobLog\n"
    begin += "JobLog.open(Path(sys.argv[1]), wait=60)"
    racers = [subprocess.Popen([sys.executable, "-c", begin, str(home)]) for _ in range(4)]
    assert [racer.wait() for racer in racers] == [0, 0, 0, 0]
    with JobLog.open(home) as log:
        log.start_job({}, at=at(), ref="demo")
        writers = [
            subprocess.Popen([sys.executable, "-c", WRITE_MANY, str(home), who]) for who in "abc"
        ]
        assert [writer.wait() for writer in writers] == [0, 0, 0]
        records = log.records("demo")[1:]
        assert [record.number for record in records] == list(range(2, 182))
        for who in "abc":
            mine = [record.body["n"] for record in records if record.body["who"] == who]
            assert mine == [str(number) for number in range(60)]
        assert log.verify("demo") == []
        assert len({job.ref for job in log.jobs()}) == 181


def test_threads_share_one_log(log: JobLog, at) -> None:
    from concurrent.futures import ThreadPoolExecutor

    log.start_job({}, at=at(), ref="demo")
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda n: log.append("demo", "remark", {"n": str(n)}, at=at()), range(100)))
    assert sorted(int(r.body["n"]) for r in log.records("demo")[1:]) == list(range(100))
    assert log.verify("demo") == []


def test_a_failing_write_of_evidence_leaves_no_file(home: Path, log: JobLog, monkeypatch) -> None:
    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)  # the disk is what is pretended here, not our code
    with pytest.raises(StoreError, match="is full"):
        log.keep(b"x" * 1000, ".wav")
    assert [path for path in (home / "evidence").rglob("*") if path.is_file()] == []
