"""Removing a customer's evidence and private facts when their time is over.

What goes is named in a ``removal`` record first, so the chain still verifies and says that, when
and why something was removed. Hashes and commitments stay; what they stood for does not.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fieldnote.errors import BadInputError
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


@dataclass(frozen=True, slots=True)
class Going:
    """What a removal is about to take: hashes of evidence, and names of private facts."""

    why: str
    evidence: tuple[str, ...]
    facts: tuple[str, ...]

    @property
    def body(self) -> dict[str, Any]:
        """Of the ``removal`` record."""
        return {"why": self.why, "evidence": list(self.evidence), "facts": list(self.facts)}


def private_things(db: Database, job: int, ref: str, why: str) -> Going:
    """What a job still holds of evidence and private facts.

    Raises:
        BadInputError: nothing, or no reason is given.
    """
    if not why:
        raise BadInputError("A removal must say why.", "Give the reason.")
    names: set[str] = set()
    for (stored,) in db.rows("SELECT openings FROM records WHERE job = ?", (job,)):
        names |= set(opened(read_openings(db, stored)))
    hashes = db.rows(
        "SELECT sha256 FROM evidence_of JOIN evidence USING (sha256)"
        " WHERE job = ? AND state <> 'removed' ORDER BY sha256",
        (job,),
    )
    if not names and not hashes:
        raise BadInputError(f"The job {ref} holds no evidence and no private facts.")
    return Going(why, tuple(row[0] for row in hashes), tuple(sorted(names)))


def forget(db: Database, job: int, going: Going) -> list[str]:
    """Drop private facts, and mark evidence that no other job needs; inside a transaction."""
    _forget_facts(db, job)
    return _release_evidence(db, job, going.evidence)


def _forget_facts(db: Database, job: int) -> None:
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


def _release_evidence(db: Database, job: int, hashes: Sequence[str]) -> list[str]:
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


def delete_removed(
    db: Database, store: EvidenceStore, going: Going, gone: Sequence[str]
) -> Removed:
    """Delete the files of all that is marked as removed (also after an interruption), and leave no
    trace of the facts in the database: it overwrites what is deleted (``PRAGMA secure_delete``)."""
    for sha, suffix, folder in db.rows(
        "SELECT sha256, suffix, folder FROM evidence WHERE state = 'removed'"
    ):
        for path in store.all_places(sha, suffix, folder):
            with told_for_people(path):
                path.unlink(missing_ok=True)
    with db.writing():
        db.run("INSERT INTO words (words) VALUES ('optimize')")
    db.empty_log()
    backups = tuple(str(path) for path in sorted((db.path.parent / "backups").glob("*.db")))
    return Removed(len(gone), len(going.evidence) - len(gone), going.facts, backups)
