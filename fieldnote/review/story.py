"""A job as a person sees it: the log's records put together, none hidden.

Only this module knows how the log is laid out; pages, reports and the terminal table are drawn from
a ``Story``.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any, Literal

from fieldnote.acceptance import Window
from fieldnote.joblog import JobLog, Record, Standing
from fieldnote.joblog.seal import code_of
from fieldnote.joblog.standing import standing

Json = Mapping[str, Any]
Result = Literal["pass", "fail", "indeterminate", "unchecked", "unclear"]
SHOWN = ("reading", "remark", "wire", "photo", "question")


@dataclass(frozen=True, slots=True)
class File:
    """One piece of evidence. place: where it lies, or would lie if it were still there."""

    sha256: str
    place: Path
    size: int

    @property
    def path(self) -> Path | None:
        """The file, None where it is no longer in the store."""
        return self.place if self.place.is_file() else None

    @property
    def suffix(self) -> str:
        return self.place.suffix.lower()


@dataclass(frozen=True, slots=True)
class Said:
    """What one record says, and how it came to be."""

    number: int
    hash: str
    at: datetime
    body: Json
    files: tuple[File, ...] = ()

    @property
    def window(self) -> Window | None:
        stated = self.body.get("window")
        return _window(tuple(sorted(stated.items()))) if stated else None

    def _part(self, name: str) -> Json:
        part = self.body.get(name)
        return part if isinstance(part, Mapping) else {}

    @property
    def entry(self) -> Json:
        return self._part("entry")

    @property
    def source(self) -> Json:
        return self._part("source")

    @property
    def verdict(self) -> Json:
        return self._part("verdict")

    @property
    def step(self) -> str | None:
        return self.body.get("step") or None

    @property
    def kind(self) -> str:
        return str(self.entry.get("kind") or "none")

    @property
    def how(self) -> str:
        return str(self.source.get("how") or "typed")

    @property
    def why(self) -> str:
        return str(self.body.get("why") or "")

    @property
    def caption(self) -> str:
        return str(self.body.get("caption") or "")

    @property
    def result(self) -> Result:
        """The verdict, or ``unclear`` for what still has to be asked again."""
        if self.kind == "unclear":
            return "unclear"
        result = self.verdict.get("result")
        return result if result in ("pass", "fail", "indeterminate") else "unchecked"


@dataclass(frozen=True, slots=True)
class Change:
    """A later record that took the place of an earlier one, with what stood before it."""

    number: int
    at: datetime
    kind: Literal["correction", "withdrawal"]
    why: str
    before: Said


@dataclass(frozen=True, slots=True)
class Claim:
    """One of several records that contradict each other, and the machine that wrote it."""

    kind: str
    machine: str
    said: Said


@dataclass(frozen=True, slots=True)
class Line:
    """One reading, remark, wire, picture or question as it stands now, with all it was before.

    rereadings: what later readers made of the same evidence; never counts by itself.
    answered: for a question, the number of the record that settled it. conflict: two machines
    changed it without knowing of each other, so it must not be relied on; claims: what each said.
    """

    kind: str
    original: Said
    now: Said
    changes: tuple[Change, ...] = ()
    withdrawn: Change | None = None
    rereadings: tuple[Said, ...] = ()
    answered: int | None = None
    conflict: bool = False
    claims: tuple[Claim, ...] = ()

    @property
    def result(self) -> Result:
        return "unclear" if self.conflict else self.now.result

    @property
    def judged(self) -> bool:
        """Whether it has a verdict to show: every reading, a choice made, a wire compared."""
        told = self.now.verdict.get("result") in ("pass", "fail", "indeterminate")
        return self.kind == "reading" or (self.kind in ("remark", "wire") and told)

    @property
    def number(self) -> int:
        """Number of the first record, which corrections and withdrawals point at."""
        return self.original.number

    @property
    def at(self) -> datetime:
        return self.original.at

    @property
    def files(self) -> tuple[File, ...]:
        """Evidence of what stands; a correction typed in afterwards rests on the first record's."""
        return self.now.files or self.original.files


@dataclass(frozen=True, slots=True)
class Event:
    """A step begun, the job closed or taken up again."""

    number: int
    at: datetime
    kind: str
    body: Json


@dataclass(frozen=True, slots=True)
class Link:
    """One record of the chain, for a list of them all."""

    number: int
    at: datetime
    kind: str
    hash: str


@dataclass(frozen=True, slots=True)
class Story:
    """All that is known of one job.

    facts: body of the start record. code: a short form of the chain's last digest, which changes
    when any record before it does. faults: what ``verify`` found, in words; empty when sound.
    closing: body of the last close record. conflicts: what two machines said differently.
    """

    ref: str
    facts: Json
    started: datetime
    closed: datetime | None
    lines: tuple[Line, ...]
    events: tuple[Event, ...]
    chain: tuple[Link, ...]
    code: str
    faults: tuple[str, ...]
    closing: Json = field(default_factory=dict)
    conflicts: tuple[str, ...] = ()

    @property
    def records(self) -> int:
        return len(self.chain)

    @property
    def standing(self) -> Iterator[Line]:
        return (line for line in self.lines if line.withdrawn is None)

    def of(self, *kinds: str) -> list[Line]:
        """Lines of these kinds in the order of the log, withdrawn ones included."""
        return [line for line in self.lines if line.kind in kinds]

    def with_result(self, *results: str) -> list[Line]:
        """Standing readings, and other entries that were judged, with one of these results."""
        return [line for line in self.standing if line.judged and line.result in results]

    @property
    def questions(self) -> list[Line]:
        """What was heard or seen but not clearly, settled or not: never a reading."""
        return [
            line
            for line in self.lines
            if line.kind == "question" or (line.kind == "reading" and line.now.kind == "unclear")
        ]

    @property
    def unanswered(self) -> list[Line]:
        return [q for q in self.questions if q.answered is None and q.withdrawn is None]

    @property
    def procedure(self) -> Json:
        value = self.facts.get("procedure")
        return value if isinstance(value, Mapping) else {"name": value} if value else {}

    @property
    def steps(self) -> Mapping[str, str]:
        """What each step asks, by its id, as the procedure stood when the job began."""
        steps = self.procedure.get("steps") or ()
        return {str(step["id"]): str(step.get("ask") or "") for step in steps if step.get("id")}

    @property
    def meter(self) -> Json:
        value = self.facts.get("meter")
        return value if isinstance(value, Mapping) else {"name": value} if value else {}

    @property
    def cautions(self) -> Sequence[str]:
        return tuple(self.procedure.get("cautions") or ())

    @property
    def last_at(self) -> datetime:
        times = [line.now.at for line in self.lines] + [event.at for event in self.events]
        return max([self.started, *times])


def tell(log: JobLog, ref: str, *, check: bool = True) -> Story:
    """The story of one job.

    Args:
        check: verify the whole chain; pages that are drawn often leave it out.

    Raises:
        BadInputError: there is no such job. StoreError: the log cannot be read.
    """
    job = log.job(ref)
    records = log.records(ref)
    closes = [record for record in records if record.kind == "close"]
    return Story(
        ref=job.ref,
        facts=job.facts,
        started=job.at,
        closed=closes[-1].at if job.closed and closes else None,
        lines=tuple(_line(item) for item in standing(records) if item.original.kind in SHOWN),
        events=tuple(
            Event(record.number, record.at, record.kind, record.body)
            for record in records
            if record.kind in ("step", "close", "reopen", "removal")
        ),
        chain=tuple(Link(r.number, r.at, r.kind, r.hash) for r in records),
        code=_code(records),
        faults=tuple(str(fault) for fault in log.verify(ref)) if check else (),
        closing=closes[-1].body if job.closed and closes else {},
        conflicts=job.conflicts,
    )


def _line(item: Standing) -> Line:
    original = _said(item.original)
    now = original if item.record is item.original else _said(item.record)
    changes = []
    if item.replaced:
        found = [original, *map(_said, item.replaced), now]
        versions = sorted({said.hash: said for said in found}.values(), key=lambda it: it.number)
        changes = [
            Change(after.number, after.at, "correction", after.why, before)
            for before, after in pairwise(versions)
        ]
    withdrawn = None
    if item.withdrawal is not None and item.state == "withdrawn":
        by = item.withdrawal
        withdrawn = Change(by.number, by.at, "withdrawal", str(by.body.get("why") or ""), now)
    return Line(
        kind=item.original.kind,
        original=original,
        now=now,
        changes=tuple(changes),
        withdrawn=withdrawn,
        rereadings=tuple(map(_said, item.rereadings)),
        answered=item.answers[0].number if item.state == "answered" else None,
        conflict=item.state == "conflict",
        claims=tuple(Claim(r.kind, r.machine, _said(r)) for r in item.claimants),
    )


def _said(record: Record) -> Said:
    files = tuple(File(item.sha256, item.path, item.size) for item in record.evidence)
    return Said(record.number, record.hash, record.at, record.body, files)


@lru_cache(maxsize=512)
def _window(stated: tuple[tuple[str, str | None], ...]) -> Window:
    """The window of a record; the same few stand in thousands of them."""
    return Window.from_json(dict(stated))


def _code(records: Sequence[Record]) -> str:
    """80 bits of the chain's end, in groups of four as people read them out."""
    followed = {hash for record in records for hash in record.previous}
    ends = sorted(record.hash for record in records if record.hash not in followed)
    digest = ends[0] if len(ends) == 1 else hashlib.sha256("".join(ends).encode()).hexdigest()
    return code_of(digest)
