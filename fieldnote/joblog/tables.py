"""Writing records and what is made of them into the tables; always inside a write transaction."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from fieldnote.joblog.database import Database
from fieldnote.joblog.evidence import Evidence, EvidencePlace
from fieldnote.joblog.index import Index, add_to_index
from fieldnote.joblog.private import Openings
from fieldnote.joblog.record import Record, read
from fieldnote.joblog.standing import in_order
from fieldnote.joblog.summary import summarise, text_of
from fieldnote.joblog.times import microseconds
from fieldnote.joblog.trouble import damaged


def read_openings(db: Database, stored: str | None) -> Openings:
    try:
        opened: Openings = json.loads(stored) if stored else {}
    except ValueError as error:
        raise damaged(db.path, "private facts of a record") from error
    return opened


def read_records(db: Database, job: int, place: EvidencePlace) -> list[Record]:
    """All records of a job in order; raises StoreError when one no longer fits its hash."""
    rows = db.rows("SELECT content, hash, openings FROM records WHERE job = ?", (job,))
    return in_order(read(row[0], row[1], read_openings(db, row[2]), place) for row in rows)


def insert_record(
    db: Database, job: int, record: Record, content: bytes, openings: Openings, index: Index | None
) -> int:
    """Store a record and make it findable; its row's id."""
    row = db.run(
        "INSERT INTO records"
        " (job, number, hash, kind, at, refers_to, replaced, content, openings)"
        " VALUES (?, ?, ?, ?, ?, ?, 0, ?, ?)",
        (
            job,
            record.number,
            record.hash,
            record.kind,
            microseconds(record.at),
            record.refers_to,
            content,
            json.dumps(openings) if openings else None,
        ),
    )
    add_to_index(db, row, record.kind, microseconds(record.at), record.body, index)
    return row


def note_evidence(
    db: Database, job: int, items: Iterable[Evidence], state: str, *, anew: bool = False
) -> None:
    """Remember that a job refers to evidence, and whether its file is ``here`` or ``absent``.

    A file that is here is not forgotten again; what was removed on purpose stays removed, unless
    it was kept ``anew``.
    """
    changeable = ("absent", "removed") if anew else ("absent", "absent")
    for item in items:
        db.run(
            "INSERT INTO evidence (sha256, suffix, size, state) VALUES (?, ?, ?, ?)"
            " ON CONFLICT (sha256) DO UPDATE SET state = excluded.state"
            " WHERE state IN (?, ?)",
            (item.sha256, item.suffix, item.size, state, *changeable),
        )
        db.run("INSERT OR IGNORE INTO evidence_of VALUES (?, ?)", (item.sha256, job))


def move_end(db: Database, job: int, last: Record, *, closed: bool) -> None:
    """Let a job end with ``last``."""
    db.run(
        "UPDATE jobs SET heads = ?, number = ?, closed = ? WHERE id = ?",
        (last.hash, last.number, closed, job),
    )


def mark_replaced(db: Database, job: int, target: str) -> int:
    """Mark what a correction or withdrawal took the place of; its row's id."""
    row = db.row("SELECT id FROM records WHERE job = ? AND hash = ?", (job, target))
    replaced = int(row[0]) if row else 0
    db.run("UPDATE records SET replaced = 1 WHERE id = ?", (replaced,))
    db.run("UPDATE results SET counts = 0 WHERE id = ?", (replaced,))
    return replaced


def refresh_job(db: Database, job: int, place: EvidencePlace) -> list[Record]:
    """Work out a job's row and marks from all its records, as is needed after machines met."""
    records = read_records(db, job, place)
    found = summarise(records)
    rows: dict[str, tuple[int, str]] = {
        hash: (row, kind)
        for hash, row, kind in db.rows("SELECT hash, id, kind FROM records WHERE job = ?", (job,))
    }
    for hash, (row, kind) in rows.items():
        replaced = hash in found.replaced
        counts = not replaced and kind not in ("question", "rereading")
        db.run("UPDATE records SET replaced = ? WHERE id = ?", (replaced, row))
        db.run("UPDATE results SET counts = ? WHERE id = ?", (counts, row))
    db.run(
        "UPDATE jobs SET ref = ?, at = ?, asset = ?, serial = ?, facts = ?, heads = ?, number = ?,"
        " closed = ? WHERE id = ?",
        (
            found.ref,
            found.at,
            found.asset,
            found.serial,
            rows[found.facts][0],
            " ".join(found.heads),
            found.number,
            found.closed,
            job,
        ),
    )
    return records


def insert_job(db: Database, start: Record) -> int:
    """A new job's row, to be completed once its start is stored."""
    return db.run(
        "INSERT INTO jobs (root, ref, at, facts, heads, number, closed)"
        " VALUES (?, ?, ?, 0, ?, 1, 0)",
        (start.hash, start.ref, microseconds(start.at), start.hash),
    )


def complete_job(db: Database, job: int, facts: int, body: Mapping[str, Any]) -> None:
    """Point a job's row at the record that holds its facts."""
    db.run(
        "UPDATE jobs SET facts = ?, asset = ?, serial = ? WHERE id = ?",
        (facts, text_of(body.get("asset")), text_of(body.get("serial")), job),
    )
