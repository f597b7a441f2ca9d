"""Two machines meet over a real PostgreSQL, started for these tests in a folder of its own."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from fieldnote.errors import BadInputError, StoreError
from fieldnote.joblog import JobLog

psycopg = pytest.importorskip("psycopg", reason="pip install 'fieldnote[shop]'")
shop = pytest.importorskip("fieldnote.joblog.shop")


def _programs() -> Path | None:
    """The folder of initdb and pg_ctl; Debian keeps them off the path."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    known = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return known[-1].parent if known else None


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    programs = _programs()
    if programs is None:
        pytest.skip("PostgreSQL is not installed: apt-get install postgresql")
    folder = Path(tempfile.mkdtemp(prefix="joblog-shop-"))
    # PostgreSQL will not run as root; Debian's package brings a user of its own.
    as_user = {"user": "postgres", "group": "postgres"} if os.geteuid() == 0 else {}
    if as_user:
        shutil.chown(folder, "postgres", "postgres")

    def run(program: str, *options: str) -> None:
        subprocess.run(
            [programs / program, *options],
            check=True,
            stdout=subprocess.DEVNULL,
            cwd=folder,
            **as_user,
        )

    data = str(folder / "data")
    run("initdb", "-D", data, "-U", "shop", "--auth=trust", "--no-sync", "-E", "UTF8")
    settings = f"-c listen_addresses= -c unix_socket_directories={folder} -c fsync=off"
    run("pg_ctl", "-D", data, "-w", "-l", str(folder / "log"), "-o", settings, "start")
    try:
        yield f"host={folder} user=shop dbname=postgres"
    finally:
        run("pg_ctl", "-D", data, "-w", "-m", "immediate", "stop")
        shutil.rmtree(folder)


@pytest.fixture
def address(server: str) -> str:
    with psycopg.connect(server, autocommit=True) as database:
        database.execute("DROP TABLE IF EXISTS fieldnote_records, fieldnote_evidence")
    return server


@pytest.fixture
def other(tmp_path: Path) -> Iterator[JobLog]:
    with JobLog.open(tmp_path / "other") as opened:
        yield opened


def hashes(log: JobLog) -> dict[str, list[str]]:
    return {job.root: [record.hash for record in log.records(job.ref)] for job in log.jobs()}


def test_machines_meet_in_the_shop(log, other, address: str, at, facts, make_reading) -> None:
    log.start_job(facts, at=at(), ref="pump")
    clip = log.keep(b"a clip", ".wav")
    log.append("pump", "reading", make_reading("10.60"), at=at(1), evidence=[clip])
    other.start_job({"asset": "cold store"}, at=at(), ref="store")
    assert shop.push(log, address) == 2
    assert shop.push(log, address) == 0
    assert shop.push(other, address) == 1
    assert shop.pull(other, address).new_records == 2
    assert shop.pull(log, address).new_records == 1
    assert shop.pull(log, address).new_records == 0
    assert hashes(log) == hashes(other)
    assert other.verify("pump") == log.verify("store") == shop.verify(address) == []
    assert other.records("pump")[1].evidence[0].path.read_bytes() == b"a clip"
    assert other.job("pump").facts["customer"] == "Example Harbour Works"
    # Work apart on one job meets there too, and is told.
    log.append("pump", "remark", {"n": "1"}, at=at(2))
    other.append("pump", "remark", {"n": "2"}, at=at(2))
    shop.push(log, address)
    shop.push(other, address)
    assert any("went on apart" in told for told in shop.pull(log, address).conflicts)
    shop.pull(other, address)
    assert hashes(log) == hashes(other)
    assert shop.verify(address) == []


def test_what_was_altered_in_the_shop_is_told_and_not_taken(
    log, other, address: str, at, make_reading
) -> None:
    log.start_job({}, at=at(), ref="demo")
    clip = log.keep(b"a clip", ".wav")
    log.append("demo", "reading", make_reading("10.60"), at=at(), evidence=[clip])
    shop.push(log, address)
    with psycopg.connect(address) as database:
        database.execute(
            "UPDATE fieldnote_records SET content ="
            " convert_to(replace(convert_from(content, 'UTF8'), '10.60', '10.06'), 'UTF8')"
        )
    assert [fault.number for fault in shop.verify(address)] == [2]
    with pytest.raises(BadInputError, match="does not fit its hash"):
        shop.pull(other, address)
    assert other.jobs() == []
    with psycopg.connect(address) as database:
        database.execute("DELETE FROM fieldnote_records WHERE number = 1")
        database.execute("UPDATE fieldnote_evidence SET content = 'x'")
    assert {fault.what for fault in shop.verify(address)} >= {"missing", "evidence"}
    with pytest.raises(BadInputError):
        shop.pull(other, address)
    assert other.jobs() == []


def test_a_shop_out_of_reach_is_told_and_nothing_is_lost(log: JobLog, at, tmp_path: Path) -> None:
    log.start_job({}, at=at(), ref="demo")
    with pytest.raises(StoreError, match="Nothing is lost: the jobs are on this machine"):
        shop.push(log, f"host={tmp_path} user=shop dbname=postgres")
    assert log.verify("demo") == []


def test_what_is_no_address_is_bad_input(log: JobLog) -> None:
    with pytest.raises(BadInputError, match="“nonsense” is no address") as fault:
        shop.push(log, "nonsense")
    assert "postgresql://" in str(fault.value)
