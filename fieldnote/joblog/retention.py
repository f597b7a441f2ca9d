"""Removing a customer's evidence and private facts when their time is over.

What goes is named in a ``removal`` record first, so the chain still verifies and says that, when
and why something was removed. Hashes and commitments stay; what they stood for does not.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fieldnote.joblog.database import Database
from fieldnote.joblog.evidence import EvidenceStore
from fieldnote.joblog.index import take_words_away
from fieldnote.joblog.private import opened
from fieldnote.joblog.tables import read_openings
from fieldnote.joblog.trouble import told_for_people


@dataclass(frozen=True, slots=True)
class Removed:
    """What a removal did.

    Attributes:
        evidence: how many files of this job are gone.
        shared: how many stay because another job still refers to them.
        facts: names of the private facts that are gone.
        backups: copies of the database made before a change of layout, which may still hold them.
    """

    evidence: int
    shared: int
    facts: tuple[str, ...]
    backups: tuple[str, ...] = ()


def private_names(db: Database, job: int) -> list[str]:
    """Names of the private facts that a job still holds."""
    names: set[str] = set()
    for (stored,) in db.rows("SELECT openings FROM records WHERE job = ?", (job,)):
        names |= set(opened(read_openings(db, stored)))
    return sorted(names)


def evidence_of(db: Database, job: int) -> list[str]:
    """Hashes of the evidence that a job refers to and that was not removed yet."""
    return [
        row[0]
        for row in db.rows(
            "SELECT sha256 FROM evidence_of JOIN evidence USING (sha256)"
            " WHERE job = ? AND state <> 'removed' ORDER BY sha256",
            (job,),
        )
    ]


def forget_facts(db: Database, job: int) -> None:
    """Drop the openings of a job's private facts, and their words; inside a transaction."""
    for row, content, stored in db.rows(
        "SELECT id, content, openings FROM records WHERE job = ? AND openings IS NOT NULL", (job,)
    ):
        openings = read_openings(db, stored)
        kept: Mapping[str, Any] = opened(openings)
        if not kept:
            continue
        body = json.loads(content)["body"]
        take_words_away(db, row, {**body, **kept}, body)
        db.run(
            "UPDATE records SET openings = ? WHERE id = ?",
            (json.dumps(dict.fromkeys(openings)), row),
        )


def release_evidence(db: Database, job: int, hashes: list[str]) -> list[str]:
    """Mark evidence as removed unless a job that did not release it needs it; what is to go."""
    gone = []
    for sha in hashes:
        users = {row[0] for row in db.rows("SELECT job FROM evidence_of WHERE sha256 = ?", (sha,))}
        for other in sorted(users - {job}):
            removals = db.rows(
                "SELECT content FROM records WHERE job = ? AND kind = 'removal'", (other,)
            )
            if any(sha in json.loads(row[0])["body"].get("evidence", ()) for row in removals):
                users.discard(other)
        if users <= {job}:
            db.run("UPDATE evidence SET state = 'removed' WHERE sha256 = ?", (sha,))
            gone.append(sha)
    return gone


def delete_removed(db: Database, store: EvidenceStore) -> None:
    """Delete the files of what is marked as removed, also after an interruption."""
    for sha, suffix, folder in db.rows(
        "SELECT sha256, suffix, folder FROM evidence WHERE state = 'removed'"
    ):
        for path in store.all_places(sha, suffix, folder):
            with told_for_people(path):
                path.unlink(missing_ok=True)


def forget_for_good(db: Database) -> None:
    """Merge what is left of the removed words away, and empty the write-ahead log.

    The database overwrites what is deleted (``PRAGMA secure_delete``); only copies are left.
    """
    with db.writing():
        db.run("INSERT INTO words (words) VALUES ('optimize')")
    db.empty_log()
