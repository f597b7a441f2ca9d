"""A job's row, worked out from its records alone: what an import writes and an audit compares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fieldnote.joblog.record import Record
from fieldnote.joblog.standing import is_closed, loose_ends, standing
from fieldnote.joblog.times import microseconds


@dataclass(frozen=True, slots=True)
class Summary:
    """What the tables hold about a job beside its records.

    Attributes:
        facts: hash of the record that holds the facts as they stand.
        heads: hashes of the last record(s).
        replaced: hashes of the records whose place a correction or withdrawal took.
    """

    root: str
    ref: str
    at: int
    asset: str | None
    serial: str | None
    facts: str
    heads: tuple[str, ...]
    number: int
    closed: bool
    replaced: frozenset[str]


def summarise(records: Sequence[Record]) -> Summary:
    """``records``: all of a job, in order, the start first."""
    start = records[0]
    items = standing(records)
    facts = items[0].record
    counting = {item.record.hash for item in items if item.state != "withdrawn"}
    counting |= {claim.hash for item in items for claim in item.claimants}
    family = {record.hash for item in items for record in (item.record, *item.replaced)}
    return Summary(
        root=start.hash,
        ref=start.ref or "",
        at=microseconds(start.at),
        asset=text_of(facts.body.get("asset")),
        serial=text_of(facts.body.get("serial")),
        facts=facts.hash,
        heads=tuple(record.hash for record in loose_ends(records)),
        number=records[-1].number,
        closed=is_closed(records),
        replaced=frozenset(family - counting),
    )


def text_of(value: object) -> str | None:
    return None if value is None else str(value)
