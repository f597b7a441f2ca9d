"""Exports, removal of what must not be kept, the archive, and the seal."""

from __future__ import annotations

import base64
import csv
import json
import sqlite3
import stat
from contextlib import closing
from decimal import Decimal
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from fieldnote.errors import BadInputError, StoreError
from fieldnote.joblog import JobLog


@pytest.fixture
def filled(log: JobLog, at, facts, make_reading) -> JobLog:
    log.start_job(facts, at=at(), ref="pump")
    own, shared = log.keep(b"own clip", ".wav"), log.keep(b"shared picture", ".png")
    log.append("pump", "reading", make_reading("10.60"), at=at(1), evidence=[own])
    log.append("pump", "reading", make_reading("-5.0", "Cel"), at=at(2), evidence=[shared])
    log.append("pump", "correction", make_reading("16.60", why="slip"), at=at(3), refers_to=2)
    log.append("pump", "remark", {"entry": {"text": '=2+3 "ölig", naß\nzweite'}}, at=at(4))
    log.start_job({"asset": "cold store", "customer": "Example Fish"}, at=at(5), ref="store")
    log.append("store", "photo", {"caption": "door"}, at=at(6), evidence=[shared])
    return log


# ------------------------------------------------------------------- exports


def test_csv_keeps_the_digits_and_says_how_many_decimals(filled: JobLog, tmp_path: Path) -> None:
    out = filled.export_csv(tmp_path / "all.csv")
    with out.open(newline="", encoding="utf-8") as file:
        table = list(csv.DictReader(file))
    values = [(row["value"], row["decimals"], row["unit"], row["state"]) for row in table]
    assert ("16.60", "2", "Ohm", "corrected") in values
    assert ("-5.0", "1", "Cel", "stands") in values
    assert not any(value == "10.60" for value, *_ in values)
    # What a spreadsheet makes of it is the same number, and decimals gives its zeros back.
    for value, decimals, *_ in values:
        if value:
            assert f"{float(value):.{int(decimals)}f}" == value
            assert Decimal(value) == Decimal(repr(float(value)))
    assert table[0]["at"] == "2031-03-04T09:00:00+00:00"
    assert {row["job"] for row in table} == {"pump", "store"}
    assert stat.S_IMODE(out.stat().st_mode) == 0o600


def test_csv_text_is_no_formula_and_json_lines_keep_it(filled: JobLog, tmp_path: Path) -> None:
    with filled.export_csv(tmp_path / "a.csv", ["pump"]).open(newline="", encoding="utf-8") as file:
        texts = [row["text"] for row in csv.DictReader(file)]
    assert '\'=2+3 "ölig", naß\nzweite' in texts
    lines = filled.export_json_lines(tmp_path / "a.jsonl", ["pump"]).read_text("utf-8").splitlines()
    rows = [json.loads(line) for line in lines]
    assert [row["text"] for row in rows if row["kind"] == "remark"] == ['=2+3 "ölig", naß\nzweite']
    assert [row["value"] for row in rows if row["unit"] == "Ohm"] == ["16.60"]


def test_exports_can_hold_what_was_replaced_too(filled: JobLog, tmp_path: Path) -> None:
    out = filled.export_json_lines(tmp_path / "a.jsonl", ["pump"], replaced=True)
    rows = [json.loads(line) for line in out.read_text("utf-8").splitlines()]
    states = [(row["number"], row["state"]) for row in rows]
    assert states == [
        (1, "stands"),
        (2, "replaced"),
        (4, "corrected"),
        (3, "stands"),
        (5, "stands"),
    ]


def test_exports_hold_no_private_facts(filled: JobLog, tmp_path: Path) -> None:
    for out in (filled.export_csv(tmp_path / "a"), filled.export_json_lines(tmp_path / "b")):
        assert b"Example" not in out.read_bytes()


def test_csv_loads_in_pandas_with_the_digits_kept(filled: JobLog, tmp_path: Path) -> None:
    pandas = pytest.importorskip("pandas", reason="pandas is not installed")
    table = pandas.read_csv(filled.export_csv(tmp_path / "a.csv"), dtype={"value": str})
    assert "16.60" in set(table["value"])
    assert str(pandas.to_datetime(table["at"]).dt.tz) == "UTC"


def test_parquet_keeps_the_digits_beside_numbers(filled: JobLog, tmp_path: Path) -> None:
    pq = pytest.importorskip("pyarrow.parquet", reason="pip install 'fieldnote[parquet]'")
    rows = pq.read_table(filled.export_parquet(tmp_path / "a.parquet")).to_pylist()
    assert ("16.60", 16.6, 2, "Ohm") in [
        (row["value"], row["value_number"], row["decimals"], row["unit"]) for row in rows
    ]
    assert rows[0]["at"].isoformat() == rows[0]["at_text"] == "2031-03-04T09:00:00+00:00"
    lines = filled.export_json_lines(tmp_path / "a.jsonl").read_text("utf-8").splitlines()
    assert [row["hash"] for row in rows] == [json.loads(line)["hash"] for line in lines]


# ------------------------------------------------------------------- removal


def test_a_removal_takes_facts_and_evidence_and_still_verifies(filled, at) -> None:
    before = [record.hash for record in filled.records("pump")]
    removed = filled.remove("pump", why="keeping time over", at=at(100))
    assert (removed.evidence, removed.shared) == (1, 1)
    assert removed.facts == ("customer", "technician")
    assert [record.hash for record in filled.records("pump")[:-1]] == before
    tombstone = filled.records("pump")[-1]
    assert (tombstone.kind, tombstone.body["why"]) == ("removal", "keeping time over")
    assert len(tombstone.body["evidence"]) == 2
    assert filled.verify("pump") == filled.verify("store") == []
    assert filled.check() == []
    assert filled.records("pump")[0].withheld == ("customer", "technician")
    assert filled.job("pump").facts["asset"] == "bilge pump 2"
    states = {place.state: place.at_hand for place in filled.whereabouts("pump")}
    assert states == {"removed": False, "here": True}


def test_nothing_of_it_is_left_in_the_files(filled: JobLog, home: Path, at) -> None:
    assert filled.search("harbour")
    filled.remove("pump", why="over", at=at(100))
    filled.remove("store", why="over", at=at(100))
    assert filled.search("harbour") == []
    assert [hit.ref for hit in filled.search("bilge")] == ["pump"]
    assert [path for path in (home / "evidence").rglob("*") if path.is_file()] == []
    for path in home.rglob("*"):
        if path.is_file() and not path.name.endswith("-shm"):
            data = path.read_bytes().lower()
            assert b"example" not in data, path
            assert b"harbour" not in data, path


def test_a_shared_file_goes_with_the_last_job_that_needs_it(filled, home, at) -> None:
    filled.remove("store", why="over", at=at(100))
    assert len([p for p in (home / "evidence").rglob("*") if p.is_file()]) == 2
    filled.remove("pump", why="over", at=at(100))
    assert [p for p in (home / "evidence").rglob("*") if p.is_file()] == []
    assert filled.verify("pump") == filled.verify("store") == []


def test_a_removal_needs_a_reason_and_something_to_remove(log: JobLog, at) -> None:
    log.start_job({"asset": "x"}, at=at(), ref="demo")
    with pytest.raises(BadInputError, match="must say why"):
        log.remove("demo", why="", at=at())
    with pytest.raises(BadInputError, match="holds no evidence and no private facts"):
        log.remove("demo", why="over", at=at())
    assert len(log.records("demo")) == 1


def test_a_closed_job_stays_closed_after_a_removal(filled: JobLog, at) -> None:
    filled.close_job("pump", at=at(50))
    filled.remove("pump", why="over", at=at(100))
    assert filled.job("pump").closed
    assert filled.verify("pump") == []


def test_what_is_removed_without_a_record_is_told(filled: JobLog, home: Path) -> None:
    with closing(sqlite3.connect(home / "log.db")) as other, other:
        other.execute("UPDATE evidence SET state = 'removed' WHERE suffix = '.wav'")
        other.execute("UPDATE records SET openings = '{\"customer\":null}' WHERE number = 1")
    said = " ".join(str(fault) for fault in filled.verify("pump"))
    assert "marked as removed, but no record says so" in said
    assert "its fact 'customer' was removed without a record" in said
    with closing(sqlite3.connect(home / "log.db")) as other, other:
        other.execute("UPDATE evidence SET state = 'absent' WHERE suffix = '.wav'")
    filled.records("pump")[1].evidence[0].path.unlink()
    said = " ".join(str(fault) for fault in filled.verify("pump"))
    assert "was recorded on this machine, but is not here" in said


def test_a_bundle_does_not_bring_back_what_was_removed(filled: JobLog, at, tmp_path: Path) -> None:
    whole = filled.export_bundle(tmp_path / "before.zip")
    filled.remove("pump", why="over", at=at(100))
    filled.remove("store", why="over", at=at(100))
    filled.import_bundle(whole)
    assert filled.records("pump")[0].withheld == ("customer", "technician")
    assert {place.state for place in filled.whereabouts("pump")} == {"removed"}
    assert [p for p in (filled.home / "evidence").rglob("*") if p.is_file()] == []
    with JobLog.open(tmp_path / "other") as other:  # and the tombstone verifies elsewhere
        other.import_bundle(filled.export_bundle(tmp_path / "after.zip"))
        assert other.verify("pump") == []
        other.import_bundle(whole)
        assert other.records("pump")[0].body["customer"] == "Example Harbour Works"
    with JobLog.open(tmp_path / "third") as third:
        third.import_bundle(whole)
        merged = third.import_bundle(tmp_path / "after.zip")
        assert len([told for told in merged.conflicts if "another machine removed" in told]) == 2
        assert third.records("pump")[1].evidence[0].path.is_file()  # never carried out unasked
        assert third.verify("pump") == []


def test_removed_evidence_that_is_kept_anew_is_evidence_again(filled: JobLog, at) -> None:
    filled.remove("pump", why="over", at=at(100))
    again = filled.keep(b"own clip", ".wav")
    filled.append("pump", "photo", {}, at=at(101), evidence=[again])
    filled.remove("store", why="over", at=at(102))
    assert again.path.is_file()
    assert filled.verify("pump") == []


# ------------------------------------------------------------------- archive


def test_evidence_in_the_archive_is_known_and_comes_back(filled, tmp_path, home) -> None:
    folder = tmp_path / "disk" / "2031"
    assert filled.archive(["pump"], folder) == 2
    assert [p for p in (home / "evidence").rglob("*") if p.is_file()] == []
    assert filled.records("pump")[1].evidence[0].path == next(folder.glob("*.wav"))
    assert filled.verify("pump") == filled.verify("store") == []
    assert {(w.state, w.at_hand) for w in filled.whereabouts("pump")} == {("archived", True)}
    next(folder.glob("*.wav")).write_bytes(b"owm clip")
    assert [fault.what for fault in filled.verify("pump")] == ["evidence"]
    next(folder.glob("*.wav")).write_bytes(b"own clip")
    folder.rename(folder.with_name("unplugged"))
    assert filled.verify("pump") == []
    assert {(w.state, w.at_hand) for w in filled.whereabouts("pump")} == {("archived", False)}
    with pytest.raises(BadInputError, match="Connect the disk"):
        filled.bring_back(["pump"])
    folder.with_name("unplugged").rename(folder)
    assert filled.bring_back(["pump"]) == 2
    assert filled.bring_back(["pump"]) == 0
    assert filled.records("pump")[1].evidence[0].path.is_relative_to(home)
    assert filled.verify("pump") == []


def test_altered_evidence_is_not_moved(filled: JobLog, tmp_path: Path) -> None:
    path = filled.records("pump")[1].evidence[0].path
    path.write_bytes(b"owm clip")
    with pytest.raises(StoreError, match="was altered; it was not moved"):
        filled.archive(["pump"], tmp_path / "disk")
    assert path.read_bytes() == b"owm clip"


def test_a_removal_reaches_into_the_archive(filled: JobLog, tmp_path: Path, at) -> None:
    filled.archive(["pump"], tmp_path / "disk")
    filled.remove("pump", why="over", at=at(100))
    assert [path.suffix for path in (tmp_path / "disk").iterdir()] == [".png"]
    assert filled.verify("pump") == filled.verify("store") == []


# ------------------------------------------------------------------- seal


def test_a_signed_seal_verifies_with_the_library_alone(filled, home: Path, at) -> None:
    record = filled.close_job("pump", {"done": "seal replaced"}, at=at(9), sign=True)
    assert filled.verify("pump") == []
    (seal,) = filled.seals("pump")
    assert seal.valid
    assert seal.ours
    assert stat.S_IMODE((home / "keys" / "seal.pem").stat().st_mode) == 0o600
    said = record.body["seal"]
    message = json.dumps(
        [
            "fieldnote seal 1",
            record.job,
            list(record.previous),
            record.at.isoformat(),
            {"done": "seal replaced"},
        ],
        separators=(",", ":"),
    )
    key = Ed25519PublicKey.from_public_bytes(base64.b64decode(said["key"]))
    key.verify(base64.b64decode(said["signature"]), message.encode())


def test_the_code_is_the_beginning_of_the_hash_in_base_32(filled: JobLog, at) -> None:
    record = filled.close_job("pump", at=at(9))
    (seal,) = filled.seals("pump")
    assert (seal.key, seal.valid, seal.ours) == (None, True, False)
    assert len(seal.code) == 19
    assert base64.b32decode(seal.code.replace("-", "")).hex() == record.hash[:20]


def test_the_same_key_signs_again_and_another_machine_is_told_apart(filled, at, tmp_path) -> None:
    filled.close_job("pump", at=at(9), sign=True)
    filled.reopen_job("pump", {"why": "second visit"}, at=at(10))
    filled.close_job("pump", {"signed": "A. Example"}, at=at(11), sign=True)
    first, second = filled.seals("pump")
    assert first.key == second.key
    assert first.code != second.code
    with JobLog.open(tmp_path / "other") as other:
        other.import_bundle(filled.export_bundle(tmp_path / "a.zip"))
        assert other.verify("pump") == []
        assert [(s.key, s.valid, s.ours) for s in other.seals("pump")] == [
            (first.key, True, False),
            (first.key, True, False),
        ]


@pytest.mark.parametrize("part", ["signature", "key", "algorithm"])
def test_a_seal_that_does_not_fit_is_told(log: JobLog, at, tmp_path: Path, part: str) -> None:
    log.start_job({}, at=at(), ref="demo")
    log.close_job("demo", at=at(), sign=True)
    good = log.records("demo")[1].body["seal"]
    log.start_job({}, at=at(), ref="forged")
    bad = {**good, part: good[part][::-1] if part == "algorithm" else good[part]}
    log.append("forged", "close", {"seal": bad}, at=at())
    assert [fault.what for fault in log.verify("forged")] == ["seal"]
    assert not log.seals("forged")[0].valid


def test_a_spoilt_key_is_told_and_nothing_is_stored(filled: JobLog, home: Path, at) -> None:
    (home / "keys").mkdir()
    (home / "keys" / "seal.pem").write_text("spoilt")
    with pytest.raises(StoreError, match=r"seal\.pem cannot be read"):
        filled.close_job("pump", at=at(9), sign=True)
    assert not filled.job("pump").closed
