"""What may be added to a job, and what a record may point at."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fieldnote.errors import BadInputError
from fieldnote.joblog.database import Database
from fieldnote.joblog.lookup import pick_record
from fieldnote.joblog.record import KINDS, POINTING, Record

_CORRECTABLE = frozenset(
    {"start", "reading", "remark", "wire", "photo", "question", "step", "correction"}
)
_WITHDRAWABLE = _CORRECTABLE - {"start"}
_READABLE_AGAIN = KINDS - {"start", "close", "reopen", "removal"}
_AFTER_CLOSE = frozenset({"reopen", "removal"})


def check_kind(kind: str) -> None:
    """Raises BadInputError unless records of this kind are appended."""
    if kind not in KINDS or kind == "start":
        raise BadInputError(
            f"{kind!r} is no kind of record.", f"Use one of {', '.join(sorted(KINDS))}."
        )


def check_open(ref: str, kind: str, *, closed: bool) -> None:
    """Raises BadInputError when a job, closed or open, takes no record of this kind."""
    if closed and kind not in _AFTER_CLOSE:
        raise BadInputError(
            f"The job {ref} is closed; nothing was added.", "Reopen it first, saying why."
        )
    if kind == "reopen" and not closed:
        raise BadInputError(f"The job {ref} is open: there is nothing to reopen.")


def target_of(
    db: Database,
    job: int,
    ref: str,
    kind: str,
    body: Mapping[str, Any],
    refers_to: Record | str | int | None,
) -> str | None:
    """Hash of the record that a new one points at, if it does.

    Raises:
        BadInputError: pointing at it makes no sense.
    """
    if refers_to is None:
        if kind in POINTING:
            raise BadInputError(f"A {kind} must say which record it is about.")
        return None
    which = refers_to.hash if isinstance(refers_to, Record) else refers_to
    shown = refers_to.number if isinstance(refers_to, Record) else which
    hash, target_kind = pick_record(db, job, ref, which)
    if kind == "rereading" and target_kind not in _READABLE_AGAIN:
        raise BadInputError(f"Record {shown} of {ref} is a {target_kind}: nothing to read again.")
    if kind in ("correction", "withdrawal"):
        _check_change(db, job, f"Record {shown} of {ref}", kind, body, hash, target_kind)
    return hash


def _check_change(
    db: Database,
    job: int,
    name: str,
    kind: str,
    body: Mapping[str, Any],
    hash: str,
    target_kind: str,
) -> None:
    if not body.get("why"):
        raise BadInputError(f"A {kind} must say why.", "Give the reason.")
    if target_kind not in (_CORRECTABLE if kind == "correction" else _WITHDRAWABLE):
        done = "corrected" if kind == "correction" else "withdrawn"
        raise BadInputError(f"{name} is a {target_kind}, which cannot be {done}.")
    after = db.row(
        "SELECT number, kind FROM records WHERE job = ? AND refers_to = ?"
        " AND kind IN ('correction', 'withdrawal') ORDER BY number",
        (job, hash),
    )
    if after is None:
        return
    number, what = after
    if what == "withdrawal":
        raise BadInputError(
            f"{name} was withdrawn by record {number}.", "Record the right value anew."
        )
    raise BadInputError(
        f"{name} was already corrected by record {number}.",
        f"Correct or withdraw record {number} instead.",
    )
