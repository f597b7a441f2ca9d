"""From what people call a job or a record to its rows, and back."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from fieldnote.errors import BadInputError
from fieldnote.joblog.database import Database
from fieldnote.joblog.evidence import EvidencePlace
from fieldnote.joblog.record import Job, Record
from fieldnote.joblog.standing import conflicts
from fieldnote.joblog.tables import read_records
from fieldnote.joblog.trouble import damaged

Reader = Callable[[bytes, str, str | None], Record]
"""Reads a row's content, hash and openings back as a record."""


def free_ref(db: Database, at: datetime) -> str:
    """The date and the next counter of that day, e.g. ``2031-03-04-2``."""
    day = f"{at:%Y-%m-%d}-"
    taken = db.rows("SELECT ref FROM jobs WHERE ref GLOB ?", (f"{day}[0-9]*",))
    counters = [int(ref[len(day) :]) for (ref,) in taken if ref[len(day) :].isdecimal()]
    return f"{day}{max(counters, default=0) + 1}"


def find_job(db: Database, ref: str) -> int:
    """Row id of the job that is called ``ref`` (or ``ref~beginning of its root``, or its root).

    Raises:
        BadInputError: there is none, or two machines each have one.
    """
    name, _, root = ref.partition("~")
    rows = db.rows(
        "SELECT id, root FROM jobs WHERE (ref = ? AND substr(root, 1, ?) = ?) OR root = ?",
        (name, len(root), root, ref),
    )
    if not rows:
        raise BadInputError(f"There is no job {ref!r}.", "List the jobs to see their references.")
    if len(rows) > 1:
        names = " and ".join(f"{name}~{row[1][:8]}" for row in rows)
        raise BadInputError(f"Two machines each started a job {ref!r}.", f"Say which one: {names}.")
    return int(rows[0][0])


def shown_ref(db: Database, job: int) -> str:
    """The reference, with the beginning of the root where two machines used the same one."""
    row = db.row(
        "SELECT ref, root, (SELECT count(*) FROM jobs WHERE ref = j.ref) FROM jobs j WHERE id = ?",
        (job,),
    )
    if row is None:
        raise damaged(db.path)
    return _unique_ref(*row)


def _unique_ref(ref: str, root: str, alike: int) -> str:
    return ref if alike == 1 else f"{ref}~{root[:8]}"


def pick_record(db: Database, job: int, ref: str, which: str | int) -> tuple[str, str]:
    """(hash, kind) of the one record of a job that a number or the beginning of a hash names.

    Raises:
        BadInputError: there is none, or more than one.
    """
    text = str(which)
    rows: list[tuple[Any, ...]] = []
    if re.fullmatch(r"[0-9]{1,9}", text):
        rows = db.rows(
            "SELECT hash, kind FROM records WHERE job = ? AND number = ?", (job, int(text))
        )
    if not rows and len(text) >= 4:
        rows = db.rows(
            "SELECT hash, kind FROM records WHERE job = ? AND substr(hash, 1, ?) = ?",
            (job, len(text), text),
        )
    if not rows:
        raise BadInputError(f"The job {ref} has no record {which}.", "Show the job to see them.")
    if len(rows) > 1:
        names = " or ".join(row[0][:8] for row in rows)
        raise BadInputError(
            f"Two machines each wrote a record {which} in {ref}.", f"Say which one: {names}."
        )
    return rows[0][0], rows[0][1]


@dataclass(frozen=True, slots=True)
class End:
    """The end of a job, where the next record goes.

    Attributes:
        heads: hashes of its last record(s).
        number: of the last record.
        facts: row id of the record that holds the job's facts.
    """

    job: int
    root: str
    heads: tuple[str, ...]
    number: int
    closed: bool
    facts: int


def end_of(db: Database, ref: str) -> End:
    """Where a job ends; raises StoreError rather than have a chain go on from nothing."""
    job = find_job(db, ref)
    row = db.row("SELECT root, heads, number, closed, facts FROM jobs WHERE id = ?", (job,))
    if row is None:
        raise damaged(db.path)
    root, heads, number, closed, facts = row
    end = End(job, root, tuple(heads.split()), number, bool(closed), facts)
    last = db.rows("SELECT hash FROM records WHERE job = ? AND number = ?", (job, number))
    if not end.heads or not {hash for (hash,) in last} & set(end.heads):
        raise damaged(db.path, f"the last record of {ref} is not where it should be")
    return end


def was_joined(db: Database, job: int) -> bool:
    """Whether several machines ever wrote to a job side by side."""
    row = db.row("SELECT count(*) <> max(number) FROM records WHERE job = ?", (job,))
    return row is not None and bool(row[0])


def read_jobs(
    db: Database,
    reader: Reader,
    place: EvidencePlace,
    job: int | None = None,
    limit: int | None = None,
) -> list[Job]:
    """One job, or all (the latest first).

    Raises:
        StoreError: a job's row does not fit its records.
    """
    where, order = ("j.id = :job", "j.id") if job is not None else ("TRUE", "j.at DESC, j.id")
    rows = db.rows(
        "SELECT j.id, j.ref, j.root, j.closed, j.number, s.content, s.hash, s.openings,"
        " f.content, f.hash, f.openings, (SELECT count(*) FROM records WHERE job = j.id),"
        " (SELECT count(*) FROM jobs WHERE ref = j.ref)"
        f" FROM (SELECT * FROM jobs j WHERE {where} ORDER BY {order} LIMIT :limit) j"
        " LEFT JOIN records s ON s.job = j.id AND s.number = 1"
        f" LEFT JOIN records f ON f.id = j.facts ORDER BY {order}",
        {"job": job, "limit": -1 if limit is None else limit},
    )
    return [_job(db, reader, place, row) for row in rows]


def _job(db: Database, reader: Reader, place: EvidencePlace, row: tuple[Any, ...]) -> Job:
    job, ref, root, closed, number = row[:5]
    count, alike = row[11:]
    if row[5] is None or row[8] is None:
        raise damaged(db.path, f"the job {ref} has no start")
    start = reader(*row[5:8])
    holder = start if row[9] == row[6] else reader(*row[8:11])
    if start.hash != root or holder.job != root or start.ref != ref:
        raise damaged(db.path, f"the job {ref} does not fit its start")
    facts = {name: value for name, value in holder.body.items() if name != "why"}
    return Job(
        ref=_unique_ref(ref, root, alike),
        root=root,
        at=start.at,
        facts=facts,
        closed=bool(closed),
        records=count,
        conflicts=conflicts(read_records(db, job, place)) if count != number else (),
    )
