"""A record, a job, and how a record is written down."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from fieldnote.errors import BadInputError, StoreError
from fieldnote.joblog.canonical import canonical, plain, sha256
from fieldnote.joblog.evidence import Evidence, EvidencePlace
from fieldnote.joblog.private import Openings, opened, split
from fieldnote.joblog.times import parse_rfc3339, rfc3339

FORMAT = 1
LARGEST_RECORD = 1 << 20  # bytes; a record is a reading or a remark, not a recording

KINDS = frozenset(
    {
        "start",
        "reading",
        "remark",
        "wire",
        "photo",
        "question",
        "correction",
        "withdrawal",
        "rereading",
        "step",
        "close",
        "reopen",
        "removal",
    }
)
POINTING = frozenset({"correction", "withdrawal", "rereading"})
"""Kinds that say something about an earlier record."""

_REF = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")


@dataclass(frozen=True, slots=True)
class Record:
    """One line of the log.

    Attributes:
        hash: SHA-256 (hex) of the canonical JSON; the record's lasting name.
        number: 1 for the start, then one more than the record(s) before it. Two machines that
            wrote at the same time may each have a record of the same number.
        at: when it happened, as the clock of the machine said; never used for order.
        body: as given, private facts included as far as they are still kept.
        refers_to: hash of the record that a correction, withdrawal or re-reading is about.
        previous: hashes of the record(s) before it; several where two machines' work was joined.
        withheld: names of private facts that were left out or removed.
        ref: of a start, what the job is called.
    """

    hash: str
    job: str
    number: int
    kind: str
    at: datetime
    body: Mapping[str, Any]
    evidence: tuple[Evidence, ...]
    refers_to: str | None
    previous: tuple[str, ...]
    machine: str
    withheld: tuple[str, ...] = ()
    ref: str | None = None


@dataclass(frozen=True, slots=True)
class Job:
    """A job as it stands.

    Attributes:
        ref: what people call it.
        root: hash of its start record; its lasting name, the same on every machine.
        facts: the start's body with corrections to it applied.
        records: how many there are.
        conflicts: what two machines said differently, in words; empty for most.
    """

    ref: str
    root: str
    at: datetime
    facts: Mapping[str, Any]
    closed: bool
    records: int
    conflicts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Written:
    """A record ready to be stored: canonical bytes, their hash, and the private facts beside it."""

    hash: str
    content: bytes
    openings: Openings


def is_ref(ref: object) -> bool:
    """Whether ``ref`` can name a job (and safely a file)."""
    return isinstance(ref, str) and _REF.fullmatch(ref) is not None


def check_ref(ref: str) -> str:
    """Raises BadInputError unless ``ref`` can name a job."""
    if not is_ref(ref):
        raise BadInputError(
            f"{ref!r} cannot be a job's reference.",
            "Use up to 64 letters, digits, dots, dashes and underscores, a letter or digit first.",
        )
    return ref


def write(
    kind: str,
    body: Mapping[str, Any],
    *,
    at: datetime,
    number: int,
    previous: Sequence[str],
    machine: str,
    evidence: Sequence[Evidence] = (),
    refers_to: str | None = None,
    job: str | None = None,
    start: Mapping[str, str] | None = None,
) -> Written:
    """Write a record down.

    Args:
        job: hash of the start record; None for the start itself, which has no name before it is
            hashed.
        start: for the start only: its reference and a salt.

    Raises:
        BadInputError: the body holds something that cannot be stored exactly, or is too large.
    """
    public, commitments, openings = split(plain(body))
    content = {
        "format": FORMAT,
        "job": job,
        "number": number,
        "previous": sorted(previous),
        "kind": kind,
        "at": rfc3339(at),
        "body": public,
        "private": commitments,
        "evidence": [
            {"sha256": item.sha256, "suffix": item.suffix, "size": item.size} for item in evidence
        ],
        "refers_to": refers_to,
        "machine": machine,
        **(start or {}),
    }
    encoded = canonical(content)
    if len(encoded) > LARGEST_RECORD:
        raise BadInputError(
            f"This {kind} is {len(encoded)} bytes long; a record holds {LARGEST_RECORD} at most.",
            "Keep long material as evidence and point at it.",
        )
    return Written(sha256(encoded), encoded, openings)


def read(content: bytes, hash: str, openings: Mapping[str, Any], place: EvidencePlace) -> Record:
    """Read a stored record back.

    Raises:
        StoreError: the bytes no longer fit the hash: nothing of it may be shown as a reading.
    """
    if sha256(content) != hash:
        raise StoreError(
            f"A stored record was altered: it no longer fits its hash {hash[:12]}.",
            "Run the verification of this job to see which one and what changed.",
        )
    fields = json.loads(content)
    kept = opened(openings)
    return Record(
        hash=hash,
        job=fields["job"] or hash,
        number=fields["number"],
        kind=fields["kind"],
        at=parse_rfc3339(fields["at"]),
        body={**fields["body"], **kept},
        evidence=tuple(
            Evidence(item["sha256"], place(item["sha256"], item["suffix"]), item["size"])
            for item in fields["evidence"]
        ),
        refers_to=fields["refers_to"],
        previous=tuple(fields["previous"]),
        machine=fields["machine"],
        withheld=tuple(sorted(set(fields["private"]) - set(kept))),
        ref=fields.get("ref"),
    )
