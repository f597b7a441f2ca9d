"""Does every record still fit, and what changed if not. Reads raw rows and trusts none of them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fieldnote.errors import BadInputError
from fieldnote.joblog import seal
from fieldnote.joblog.canonical import canonical, plain, sha256
from fieldnote.joblog.evidence import is_suffix
from fieldnote.joblog.private import opens
from fieldnote.joblog.record import FORMAT, KINDS, POINTING, is_ref
from fieldnote.joblog.times import microseconds, parse_rfc3339, rfc3339


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that does not fit.

    Attributes:
        number: of the record; 0 when it is about the job as a whole.
        hash: of the record, as stored; empty for the job as a whole.
        what: ``altered``, ``missing``, ``order``, ``columns``, ``private``, ``evidence`` or
            ``seal``.
        message: for people; ``str(fault)`` gives it.
    """

    number: int
    hash: str
    what: str
    message: str

    def __str__(self) -> str:
        return self.message


@dataclass(frozen=True, slots=True)
class RawRecord:
    """A record as it lies in a table or a bundle, believed in nothing."""

    number: int
    hash: str
    kind: str
    at: int | None
    refers_to: str | None
    content: bytes
    openings: str | None


_TYPES: dict[str, type | tuple[type, ...]] = {
    "format": int,
    "job": (str, type(None)),
    "number": int,
    "previous": list,
    "kind": str,
    "at": str,
    "body": dict,
    "private": dict,
    "evidence": list,
    "refers_to": (str, type(None)),
    "machine": str,
}


def is_sha256(value: object) -> bool:
    return isinstance(value, str) and len(value) == 64 and not set(value) - set("0123456789abcdef")


def parse_content(content: bytes) -> dict[str, Any]:
    """The fields of a record's canonical JSON, checked to be of the published shape.

    Raises:
        ValueError: in words, what is wrong with it.
    """
    try:
        fields = json.loads(content)
    except (ValueError, RecursionError) as error:
        raise ValueError("it is not JSON") from error
    if not isinstance(fields, dict):
        raise ValueError("it is not a JSON object")
    try:
        same = canonical(plain(fields)) == content
    except (BadInputError, RecursionError) as error:
        raise ValueError(f"it is not canonical JSON: {error}") from error
    if not same:
        raise ValueError("it is not canonical JSON")
    expected = set(_TYPES) | ({"ref", "salt"} if fields.get("kind") == "start" else set())
    if set(fields) != expected:
        odd = ", ".join(sorted(set(fields) ^ expected))
        raise ValueError(f"fields are missing or unknown: {odd}")
    for name, kind in _TYPES.items():
        if not isinstance(fields[name], kind) or isinstance(fields[name], bool):
            raise ValueError(f"{name} is of the wrong type")
    _check_values(fields)
    return fields


def _check_values(fields: dict[str, Any]) -> None:
    kind, start = fields["kind"], fields["kind"] == "start"
    if fields["format"] != FORMAT:
        raise ValueError(f"format {fields['format']} is not known")
    if kind not in KINDS:
        raise ValueError(f"kind {kind!r} is not known")
    if start != (fields["job"] is None) or start != (fields["number"] == 1):
        raise ValueError("only the first record is a start")
    if start and not (is_ref(fields["ref"]) and isinstance(fields["salt"], str)):
        raise ValueError("its reference cannot name a job")
    if start == bool(fields["previous"]):
        raise ValueError("every record but the start has one before it")
    hashes = [*fields["previous"], *fields["private"].values()]
    hashes += [value for value in (fields["job"], fields["refers_to"]) if value is not None]
    if not all(is_sha256(value) for value in hashes):
        raise ValueError("a hash is not a SHA-256 in hexadecimal")
    if fields["previous"] != sorted(set(fields["previous"])):
        raise ValueError("previous is not in order")
    if kind in POINTING and fields["refers_to"] is None:
        raise ValueError(f"a {kind} must point at a record")
    if rfc3339(parse_rfc3339(fields["at"])) != fields["at"]:
        raise ValueError("its time is not written as it should be")
    for item in fields["evidence"]:
        if not (
            isinstance(item, dict)
            and set(item) == {"sha256", "size", "suffix"}
            and is_sha256(item["sha256"])
            and type(item["size"]) is int
            and item["size"] > 0
            and isinstance(item["suffix"], str)
            and is_suffix(item["suffix"])
        ):
            raise ValueError("evidence is not named by its hash, size and suffix")


def faults_of_chain(rows: Sequence[RawRecord], root: str, heads: set[str] | None) -> list[Fault]:
    """What does not fit in a job's records; the first fault is the earliest record's.

    Args:
        rows: all records of the job, in any order.
        root: the hash that names the job.
        heads: the hashes that should be last, where known; finds records cut off at the end.
    """
    rows = sorted(rows, key=lambda row: (row.number, row.hash))
    known = {row.hash: row for row in rows}
    faults: list[Fault] = []
    taken: set[str] = set()
    for row in rows:
        faults += _faults_of_record(row, root, known)
        try:
            taken.update(json.loads(row.content)["previous"])
        except (ValueError, KeyError, TypeError):
            continue
    if root not in known:
        faults.insert(
            0, Fault(0, root, "missing", f"The start of the job ({root[:8]}) is missing.")
        )
    if heads is not None:
        for hash in sorted(heads - set(known)):
            message = f"The last record of the job ({hash[:8]}) is missing: the end was cut off."
            faults.append(Fault(0, hash, "missing", message))
        for hash in sorted(set(known) - taken - heads):
            message = (
                f"Record {known[hash].number} ({hash[:8]}) hangs loose: what followed is gone."
            )
            faults.append(Fault(known[hash].number, hash, "missing", message))
    return faults


def _faults_of_record(row: RawRecord, root: str, known: dict[str, RawRecord]) -> list[Fault]:
    name = f"Record {row.number} ({row.kind}, {row.hash[:8]})"
    fits = sha256(row.content) == row.hash
    try:
        fields = parse_content(row.content)
    except ValueError as error:
        return [Fault(row.number, row.hash, "altered", f"{name} was altered: {error}.")]

    columns = {
        "number": (row.number, fields["number"]),
        "kind": (row.kind, fields["kind"]),
        "time": (row.at, microseconds(parse_rfc3339(fields["at"]))),
        "reference to another record": (row.refers_to, fields["refers_to"]),
    }
    changes = [
        f"{what} is {found} where the record says {said}"
        for what, (found, said) in columns.items()
        if found != said
    ]
    faults = []
    if not fits:
        before = [hash for hash in fields["previous"] if hash not in known]
        clue = "; ".join(changes) or (
            "the record before it is none that is here"
            if before
            else "what changed is inside its content"
        )
        faults.append(
            Fault(
                row.number,
                row.hash,
                "altered",
                f"{name} was altered: it does not fit its hash ({clue}).",
            )
        )
    elif changes:
        faults.append(
            Fault(row.number, row.hash, "columns", f"{name}: its {'; its '.join(changes)}.")
        )

    for hash in fields["previous"]:
        if hash not in known:
            message = f"{name} follows a record ({hash[:8]}) that is missing or was altered."
            faults.append(Fault(row.number, row.hash, "missing", message))
    numbers = [known[hash].number for hash in fields["previous"] if hash in known]
    if len(numbers) == len(fields["previous"]) and fields["number"] != 1 + max(numbers, default=0):
        faults.append(Fault(row.number, row.hash, "order", f"{name} is out of order."))
    if (fields["job"] or row.hash) != root:
        faults.append(Fault(row.number, row.hash, "order", f"{name} belongs to another job."))
    target = fields["refers_to"]
    if target is not None and (target not in known or known[target].number >= fields["number"]):
        message = f"{name} points at a record ({target[:8]}) that is not before it in this job."
        faults.append(Fault(row.number, row.hash, "missing", message))
    faults += _faults_of_openings(row, fields["private"], name)
    if fields["kind"] == "close" and not seal.fits(fields):
        message = f"{name}: its signature does not fit what was sealed."
        faults.append(Fault(row.number, row.hash, "seal", message))
    return faults


def _faults_of_openings(row: RawRecord, commitments: dict[str, str], name: str) -> list[Fault]:
    try:
        openings = json.loads(row.openings or "{}")
        odd = [key for key, opening in openings.items() if not opens(commitments, key, opening)]
    except (ValueError, AttributeError, BadInputError, RecursionError):
        return [
            Fault(row.number, row.hash, "private", f"{name}: its private facts are unreadable.")
        ]
    return [
        Fault(
            row.number, row.hash, "private", f"{name}: the fact {key!r} is not what was recorded."
        )
        for key in odd
    ]
