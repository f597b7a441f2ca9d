"""Everything that can be held against everything else: records, tables, evidence, the database."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from fieldnote.errors import StoreError
from fieldnote.joblog.database import Database
from fieldnote.joblog.evidence import EvidenceStore, hash_file
from fieldnote.joblog.index import extract
from fieldnote.joblog.record import Record, read
from fieldnote.joblog.standing import in_order
from fieldnote.joblog.summary import summarise
from fieldnote.joblog.trouble import told_for_people
from fieldnote.joblog.verify import Fault, RawRecord, faults_of_chain


def audit_job(db: Database, store: EvidenceStore, job: int, *, evidence: bool) -> list[Fault]:
    """What does not fit in a job, the earliest record first."""
    root, heads = db.row("SELECT root, heads FROM jobs WHERE id = ?", (job,)) or ("", "")
    raw = [
        RawRecord(*row)
        for row in db.rows(
            "SELECT number, hash, kind, at, refers_to, content, openings FROM records"
            " WHERE job = ? ORDER BY number, hash",
            (job,),
        )
    ]
    faults = faults_of_chain(raw, root, set(heads.split()))
    faults += _faults_of_index(db, job)
    if not faults:
        faults += _faults_of_row(db, store, job)
    faults += _faults_of_removals(db, job, raw)
    if evidence:
        faults += _faults_of_evidence(db, store, raw)
    return sorted(faults, key=lambda fault: fault.number or 1 << 60)


def _faults_of_index(db: Database, job: int) -> list[Fault]:
    """What was made of a record when it was written, against what the record says now.

    Where a record was altered, this is what shows which value stood there before.
    """
    faults = []
    for number, kind, hash, content, replaced, counts, *was in db.rows(
        "SELECT r.number, r.kind, r.hash, r.content, r.replaced, s.counts,"
        " s.label, s.value, s.unit, s.verdict"
        " FROM records r LEFT JOIN results s ON s.id = r.id WHERE r.job = ?",
        (job,),
    ):
        try:
            found = extract(json.loads(content)["body"])
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            continue  # named already as altered
        now = [found.label, found.value, found.unit, found.verdict]
        if not found.is_result:
            now = [None] * 4
        changes = [
            f"its {name} is {said}, but was {before} when it was written"
            for name, said, before in zip(
                ("label", "value", "unit", "verdict"), now, was, strict=True
            )
            if said != before
        ]
        if found.is_result and bool(counts) != (
            not replaced and kind not in ("question", "rereading")
        ):
            changes.append("the index is wrong about whether it counts")
        if changes:
            message = f"Record {number} ({kind}, {hash[:8]}): {'; '.join(changes)}."
            faults.append(Fault(number, hash, "columns", message))
    return faults


def _faults_of_row(db: Database, store: EvidenceStore, job: int) -> list[Fault]:
    """The job's row against its records, which fit by now."""
    rows = db.rows(
        "SELECT id, hash, replaced, content, openings FROM records WHERE job = ?", (job,)
    )
    records = in_order(_read(row[3], row[1], row[4], store) for row in rows)
    wanted = summarise(records)
    ids = {row[1]: row[0] for row in rows}
    found = db.row(
        "SELECT ref, at, asset, serial, facts, number, closed FROM jobs WHERE id = ?", (job,)
    )
    expected = (
        wanted.ref,
        wanted.at,
        wanted.asset,
        wanted.serial,
        ids[wanted.facts],
        wanted.number,
        int(wanted.closed),
    )
    names = ("reference", "time", "asset", "serial", "facts", "last number", "closed mark")
    faults = [
        Fault(0, "", "columns", f"The job's {name} is {is_now}, but its records say {should}.")
        for name, is_now, should in zip(names, found or (), expected, strict=True)
        if is_now != should
    ]
    for row in rows:
        if bool(row[2]) != (row[1] in wanted.replaced):
            message = f"Record {row[1][:8]}: the mark of having been replaced is wrong."
            faults.append(Fault(0, row[1], "columns", message))
    return faults


def _faults_of_removals(db: Database, job: int, raw: Sequence[RawRecord]) -> list[Fault]:
    """What is marked as removed, or as never having come, without a record that says so."""
    named_evidence: set[str] = set()
    named_facts: set[str] = set()
    own: set[str] = set()
    machine = (db.row("SELECT value FROM settings WHERE name = 'machine'") or ("",))[0]
    empty: list[tuple[RawRecord, str]] = []
    for row in raw:
        try:
            fields = json.loads(row.content)
            if row.kind == "removal":
                named_evidence |= set(fields["body"].get("evidence", ()))
                named_facts |= set(fields["body"].get("facts", ()))
            if fields["machine"] == machine:
                own |= {item["sha256"] for item in fields["evidence"]}
            openings = json.loads(row.openings or "{}")
            empty += [(row, name) for name, opening in openings.items() if opening is None]
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            continue  # already named as altered
    faults = [
        Fault(
            row.number,
            row.hash,
            "private",
            f"Record {row.number} ({row.kind}): its fact {name!r} was removed without a record.",
        )
        for row, name in empty
        if name not in named_facts
    ]
    for sha, state in db.rows(
        "SELECT sha256, state FROM evidence JOIN evidence_of USING (sha256) WHERE job = ?", (job,)
    ):
        if state == "removed" and sha not in named_evidence:
            message = f"The evidence {sha[:12]}… is marked as removed, but no record says so."
            faults.append(Fault(0, "", "evidence", message))
        if state == "absent" and sha in own:
            message = f"The evidence {sha[:12]}… was recorded on this machine, but is not here."
            faults.append(Fault(0, "", "evidence", message))
    return faults


def _read(content: bytes, hash: str, openings: str | None, store: EvidenceStore) -> Record:
    return read(content, hash, json.loads(openings or "{}"), store.place)


def _faults_of_evidence(
    db: Database, store: EvidenceStore, raw: Sequence[RawRecord]
) -> list[Fault]:
    faults: list[Fault] = []
    for row in raw:
        try:
            items = [
                (item["sha256"], item["suffix"], item["size"])
                for item in json.loads(row.content)["evidence"]
            ]
        except (ValueError, KeyError, TypeError, RecursionError):
            continue  # already named as altered
        for sha, suffix, size in items:
            trouble = _trouble_with(db, store, sha, suffix, size)
            if trouble:
                message = f"Record {row.number} ({row.kind}): its evidence {trouble}."
                faults.append(Fault(row.number, row.hash, "evidence", message))
    return faults


def _trouble_with(
    db: Database, store: EvidenceStore, sha: str, suffix: str, size: int
) -> str | None:
    name = f"{sha[:12]}…{suffix}"
    row = db.row("SELECT state, folder FROM evidence WHERE sha256 = ?", (sha,))
    if row is None:
        return f"{name} is not known to the log's tables"
    state, folder = row
    path, wanted = store.find(sha), (sha, size)
    if path is None and state == "removed":
        return None
    if path is None and state == "archived":
        path = Path(folder) / f"{sha}{suffix}"
        if not path.parent.is_dir():
            return None  # the archive is not at hand now; whereabouts() tells where it is
    elif path is None and folder is not None:
        path, wanted = store.find(folder[:64]), (folder[:64], -1)
    elif path is None and state != "here":
        return None
    if path is None or not path.exists():
        return f"{name} is missing"
    with told_for_people(path):
        found = hash_file(path)
    if found == (wanted[0], found[1] if wanted[1] < 0 else wanted[1]):
        return None
    return f"{name} was altered ({found[1]} bytes, {size} were recorded)"


def check_database(db: Database) -> list[str]:
    """SQLite's own checks, and records or starts that no job's row knows of."""
    found: list[str] = []
    try:
        rows = db.rows("PRAGMA integrity_check")
        found += [] if rows == [("ok",)] else [str(row[0]) for row in rows]
        with db.writing():
            db.run("INSERT INTO words (words) VALUES ('integrity-check')")
        lost = db.rows("SELECT DISTINCT job FROM records WHERE job NOT IN (SELECT id FROM jobs)")
        found += [f"The row of job {job} is gone, its records are there." for (job,) in lost]
        (records, starts, jobs) = db.row(
            "SELECT (SELECT count(*) FROM records),"
            " (SELECT count(*) FROM records WHERE number = 1), (SELECT count(*) FROM jobs)"
        ) or (0, 0, 0)
        if starts != jobs:
            found.append(f"There are {jobs} jobs but {starts} starts among {records} records.")
    except StoreError as error:
        found.append(str(error))
    return found
