"""What stands, after corrections and withdrawals; and what two machines said differently."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from fieldnote.joblog.record import POINTING, Record

State = Literal["stands", "corrected", "withdrawn", "answered", "conflict"]


@dataclass(frozen=True, slots=True)
class Standing:
    """One thing that was recorded, as it stands now.

    Attributes:
        record: what counts: the last correction, else the original; of a withdrawn one the last
            that stood. In a conflict the earliest of the claimants, and it must not be relied on.
        state: ``stands`` as first recorded; ``corrected``; ``withdrawn``; ``answered``, of a
            question to which a later record that still counts refers; ``conflict`` when two
            machines changed it without knowing of each other.
        original: as first recorded.
        replaced: the original and corrections that no longer count, oldest first.
        withdrawal: the withdrawal, if any.
        rereadings: what later readers made of the same evidence; never counts by itself.
        claimants: the records in conflict; empty otherwise.
        answers: of a question, the records that answer it and still count.
    """

    record: Record
    state: State
    original: Record
    replaced: tuple[Record, ...] = ()
    withdrawal: Record | None = None
    rereadings: tuple[Record, ...] = ()
    claimants: tuple[Record, ...] = ()
    answers: tuple[Record, ...] = ()

    @property
    def counts(self) -> bool:
        """Whether the record may be used as a result; a question never may."""
        return self.state in ("stands", "corrected") and self.original.kind != "question"


def in_order(records: Iterable[Record]) -> list[Record]:
    """The order of a job's records, the same on every machine: by number, then by hash."""
    return sorted(records, key=lambda record: (record.number, record.hash))


def standing(records: Sequence[Record]) -> list[Standing]:
    """Apply the corrections and withdrawals of a job's records, given in order."""
    by_hash = {record.hash: record for record in records}
    pointing: dict[str, list[Record]] = {}
    for record in records:
        if record.kind in POINTING and record.refers_to is not None:
            pointing.setdefault(record.refers_to, []).append(record)
    items = [
        _settle(record, pointing, by_hash) for record in records if record.kind not in POINTING
    ]
    answers: dict[str, list[Record]] = {}
    for item in items:
        if item.counts and item.original.refers_to is not None:
            answers.setdefault(item.original.refers_to, []).append(item.record)
    return [_answered(item, answers) for item in items]


def _answered(item: Standing, answers: Mapping[str, list[Record]]) -> Standing:
    found = answers.get(item.original.hash)
    if item.original.kind != "question" or item.state not in ("stands", "corrected") or not found:
        return item
    return replace(item, state="answered", answers=tuple(found))


def _settle(
    original: Record, pointing: Mapping[str, list[Record]], by_hash: Mapping[str, Record]
) -> Standing:
    family = [original]  # the original and all its corrections
    withdrawals: list[Record] = []
    rereadings: list[Record] = []
    for member in family:  # grows while it is walked
        for record in pointing.get(member.hash, ()):
            {"correction": family, "withdrawal": withdrawals, "rereading": rereadings}[
                record.kind
            ].append(record)
    family, withdrawals = in_order(family), in_order(withdrawals)
    gone = {record.refers_to for record in (*family, *withdrawals)}
    live = [record for record in family if record.hash not in gone]
    ends = in_order([*live, *withdrawals])
    last = ends[-1]
    knew_all = len(ends) == 1 or _follows_all(last, ends[:-1], by_hash)

    if not knew_all or (last in withdrawals and len(live) > 1):
        first = (live or family)[0]
        return _result(first, "conflict", original, family, withdrawals, rereadings, tuple(ends))
    if last in withdrawals:
        if live:  # of two corrections one was withdrawn in full knowledge of the other
            return _result(live[0], "corrected", original, family, withdrawals, rereadings)
        gone_last = by_hash[last.refers_to or original.hash]
        return _result(gone_last, "withdrawn", original, family, withdrawals, rereadings)
    state: State = "stands" if last is original else "corrected"
    return _result(last, state, original, family, withdrawals, rereadings)


def _result(
    record: Record,
    state: State,
    original: Record,
    family: Sequence[Record],
    withdrawals: Sequence[Record],
    rereadings: Sequence[Record],
    claimants: tuple[Record, ...] = (),
) -> Standing:
    return Standing(
        record=record,
        state=state,
        original=original,
        replaced=tuple(member for member in family if member is not record),
        withdrawal=withdrawals[-1] if withdrawals else None,
        rereadings=tuple(in_order(rereadings)),
        claimants=claimants,
    )


def _follows_all(last: Record, others: Sequence[Record], by_hash: Mapping[str, Record]) -> bool:
    """Whether ``last`` was written with all ``others`` before it in the chain."""
    wanted = {record.hash for record in others}
    lowest = min(record.number for record in others)
    seen: set[str] = set()
    todo = list(last.previous)
    while todo and wanted:
        hash = todo.pop()
        record = by_hash.get(hash)
        if hash in seen or record is None or record.number < lowest:
            continue
        seen.add(hash)
        wanted.discard(hash)
        todo.extend(record.previous)
    return not wanted


def loose_ends(records: Sequence[Record]) -> list[Record]:
    """The records that no other has as its previous: one, unless machines worked apart."""
    taken = {hash for record in records for hash in record.previous}
    return [record for record in in_order(records) if record.hash not in taken]


def is_closed(records: Sequence[Record]) -> bool:
    """Whether every end of the job is a close; a removal of evidence afterwards does not reopen."""
    by_hash = {record.hash: record for record in records}

    def closes(record: Record | None) -> bool:
        while record is not None and record.kind == "removal":
            ends = [by_hash.get(hash) for hash in record.previous]
            if len(ends) != 1:
                return bool(ends) and all(closes(end) for end in ends)
            record = ends[0]
        return record is not None and record.kind == "close"

    return all(closes(record) for record in loose_ends(records))


def conflicts(records: Sequence[Record]) -> tuple[str, ...]:
    """What two machines said differently, in words."""
    found = []
    for item in standing(records):
        if item.state == "conflict":
            who = " and ".join(
                f"{record.kind} {record.number} ({record.hash[:8]}, machine {record.machine})"
                for record in item.claimants
            )
            found.append(
                f"{item.original.kind} {item.original.number} was changed on two machines that did "
                f"not know of each other: {who}."
            )
    ends = loose_ends(records)
    if len(ends) > 1:
        who = " and ".join(
            f"{record.kind} {record.number} (machine {record.machine})" for record in ends
        )
        found.append(f"The job went on apart on several machines and was not joined since: {who}.")
        if any(end.kind == "close" for end in ends) and not is_closed(records):
            found.append("One machine closed the job while another went on with it.")
    return tuple(found)
