"""The job log: what the rest of Fieldnote stores with and reads from."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any

from fieldnote.errors import BadInputError
from fieldnote.joblog import seal
from fieldnote.joblog.archive import Whereabouts, bring_back, move_out, place_of, whereabouts
from fieldnote.joblog.audit import audit_job, check_database
from fieldnote.joblog.bundle import Choices, write_bundle
from fieldnote.joblog.canonical import plain
from fieldnote.joblog.database import Database
from fieldnote.joblog.evidence import Evidence, EvidenceStore, write_durably
from fieldnote.joblog.exports import as_csv, as_json_lines, rows
from fieldnote.joblog.history import History, histories
from fieldnote.joblog.index import Index, Indexer
from fieldnote.joblog.lookup import (
    end_of,
    find_job,
    free_ref,
    pick_record,
    read_jobs,
    shown_ref,
    was_joined,
)
from fieldnote.joblog.merge import Merged, merge, read_bundle
from fieldnote.joblog.private import split
from fieldnote.joblog.record import Job, Record, Written, check_ref, read, write
from fieldnote.joblog.retention import Removed, delete_removed, forget, private_things
from fieldnote.joblog.rules import check_kind, check_open, target_of
from fieldnote.joblog.seal import Seal, seals_of
from fieldnote.joblog.search import Hit, Query, hits, reindex
from fieldnote.joblog.standing import Standing, standing
from fieldnote.joblog.tables import (
    complete_job,
    insert_job,
    insert_record,
    mark_replaced,
    move_end,
    note_evidence,
    read_openings,
    read_records,
    refresh_job,
)
from fieldnote.joblog.times import rfc3339
from fieldnote.joblog.trouble import told_for_people
from fieldnote.joblog.verify import Fault


def default_home() -> Path:
    """``$FIELDNOTE_HOME``, else the system's folder for a program's data."""
    import platformdirs

    named = os.environ.get("FIELDNOTE_HOME")
    return Path(named) if named else platformdirs.user_data_path("fieldnote", appauthor=False)


class JobLog:
    """An append-only log of jobs in one folder (``log.db``, ``evidence/``, ``backups/``).

    Every write is one transaction, on the disk when the call returns. All times are aware
    datetimes. All methods raise :class:`StoreError` when the disk or the database fails, and then
    nothing of that call was stored.
    """

    def __init__(self, home: Path, database: Database, indexer: Indexer | None = None) -> None:
        self.home = home
        self._db = database
        self._indexer = indexer
        self._evidence = EvidenceStore(home / "evidence")
        self.machine = self._machine()

    @classmethod
    def open(
        cls, home: Path | None = None, *, wait: float = 5.0, indexer: Indexer | None = None
    ) -> JobLog:
        """Open the log in ``home`` (default: :func:`default_home`), making it when missing.

        Args:
            indexer: gives each body its value in a base unit, for range searches and trends; the
                log itself knows no units.
            wait: seconds to wait for another program that is writing to the same log.

        Raises:
            StoreError: read-only, full, locked, damaged, or written by a newer Fieldnote.
        """
        home = (home or default_home()).expanduser().absolute()
        return cls(home, Database(home / "log.db", wait), indexer)

    def close(self) -> None:
        """Let go of the database; nothing is lost without it."""
        self._db.close()

    def __enter__(self) -> JobLog:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        tb: TracebackType | None,
    ) -> None:
        self.close()

    # ---------------------------------------------------------------- writing

    def start_job(self, facts: Mapping[str, Any], *, at: datetime, ref: str | None = None) -> Job:
        """Start a job.

        Args:
            facts: the start's body (asset, serial, hours, complaint, technician, meter, procedure,
                and whatever else is known, e.g. customer).
            ref: what to call it; by default the date and a counter, e.g. ``2031-03-04-2``.

        Raises:
            BadInputError: a job of that reference exists; nothing was changed.
        """
        if ref is not None:
            check_ref(ref)
        with self._db.writing():
            if ref is None:
                ref = free_ref(self._db, at)
            elif self._db.row("SELECT 1 FROM jobs WHERE ref = ?", (ref,)):
                raise BadInputError(
                    f"The job {ref} exists already.",
                    "Go on with it, or start one with another reference.",
                )
            written = write(
                "start",
                facts,
                at=at,
                number=1,
                previous=(),
                machine=self.machine,
                start={"ref": ref, "salt": secrets.token_hex(8)},
            )
            start = self._read_written(written)
            job_id = insert_job(self._db, start)
            row = insert_record(self._db, job_id, start, written.content, written.openings, None)
            complete_job(self._db, job_id, row, start.body)
        return self.job(ref)

    def keep(self, source: bytes | Path, suffix: str, *, flac: bool = False) -> Evidence:
        """Store evidence by its SHA-256, durably, before anything reads it.

        The same bytes are stored once. With ``flac``, whole-number WAV is stored as FLAC, compared
        sample by sample first, and the hash is the FLAC file's; anything else stays as given.

        Raises:
            BadInputError: ``source`` cannot be read or is empty.
        """
        if flac and suffix.lower() in (".wav", ".wave"):
            from fieldnote.joblog.flac import as_flac

            packed = as_flac(source)
            if packed is not None:
                return self._evidence.keep(packed, ".flac")
        return self._evidence.keep(source, suffix)

    def append(
        self,
        ref: str,
        kind: str,
        body: Mapping[str, Any],
        *,
        at: datetime,
        evidence: Iterable[Evidence] = (),
        refers_to: Record | str | int | None = None,
        index: Index | None = None,
    ) -> Record:
        """Add a record to a job; when this returns, it is on the disk.

        Args:
            kind: one of ``KINDS`` but ``start``.
            evidence: what :meth:`keep` gave.
            refers_to: the record that this one is about: a :class:`Record`, its number, its hash
                or the first characters (4 or more) of its hash.
            index: the value in a base unit, for searching only; by default the log's indexer
                gives it.

        Raises:
            BadInputError: unknown job or kind, a closed job, evidence that is not stored, a number
                given as a binary float, a correction or withdrawal of what does not exist, was
                already corrected or is withdrawn. Nothing was stored.
        """
        check_kind(kind)
        kept = tuple(evidence)
        for item in kept:
            self._evidence.check_kept(item)
        with self._db.writing():
            end = end_of(self._db, ref)
            check_open(ref, kind, closed=end.closed)
            target = target_of(self._db, end.job, ref, kind, body, refers_to)
            written = write(
                kind,
                body,
                at=at,
                number=end.number + 1,
                previous=end.heads,
                machine=self.machine,
                evidence=kept,
                refers_to=target,
                job=end.root,
            )
            record = self._read_written(written)
            if index is None and self._indexer is not None:
                index = self._indexer(record.body)
            row = insert_record(self._db, end.job, record, written.content, written.openings, index)
            note_evidence(self._db, end.job, kept, "here", anew=True)
            closed = {"close": True, "reopen": False}.get(kind, end.closed)
            move_end(self._db, end.job, record, closed=closed)
            if kind in ("correction", "withdrawal") and target is not None:
                replaced = mark_replaced(self._db, end.job, target)
                if kind == "correction" and replaced == end.facts:
                    complete_job(self._db, end.job, row, record.body)
            if len(end.heads) > 1 or (target is not None and was_joined(self._db, end.job)):
                refresh_job(self._db, end.job, self._place)
        return record

    def close_job(
        self,
        ref: str,
        body: Mapping[str, Any] | None = None,
        *,
        at: datetime,
        sign: bool = False,
    ) -> Record:
        """Seal a job: its close record's hash covers all that was recorded before it.

        Args:
            sign: sign the seal with this machine's key (``keys/seal.pem``, made at the first use).
        """
        body = dict(body or {})
        if not sign:
            return self.append(ref, "close", body, at=at)
        with self._db.writing():
            end = end_of(self._db, ref)
            public, *_ = split(plain(body))
            keys = self.home / "keys"
            body["seal"] = seal.sign(keys, end.root, end.heads, rfc3339(at), public)
            return self.append(ref, "close", body, at=at)

    def reopen_job(
        self, ref: str, body: Mapping[str, Any] | None = None, *, at: datetime
    ) -> Record:
        """Open a closed job again; the close stays on record. Give the reason as ``why``."""
        return self.append(ref, "reopen", body or {}, at=at)

    def remove(self, ref: str, *, why: str, at: datetime) -> Removed:
        """Remove a job's evidence and private facts for good; a ``removal`` record says so.

        The records and their hashes stay, so the job still verifies. Free text stays too: it is
        part of the hashed records.

        Raises:
            BadInputError: no reason is given, or there is nothing to remove.
        """
        with self._db.writing():
            job = self._find(ref)
            going = private_things(self._db, job, ref, why)
            self.append(ref, "removal", going.body, at=at)
            gone = forget(self._db, job, going)
        return delete_removed(self._db, self._evidence, going, gone)

    def archive(self, refs: Iterable[str], folder: Path) -> int:
        """Move the evidence of jobs to ``folder``, where it is still known; how many files."""
        return move_out(self._db, self._evidence, [self._find(ref) for ref in refs], folder)

    def bring_back(self, refs: Iterable[str]) -> int:
        """Copy archived evidence of jobs back; how many files."""
        return bring_back(self._db, self._evidence, [self._find(ref) for ref in refs])

    # ---------------------------------------------------------------- reading

    def job(self, ref: str) -> Job:
        """Raises BadInputError when there is no such job, or two machines each have one."""
        return read_jobs(self._db, self._read, self._place, self._find(ref))[0]

    def jobs(self, limit: int | None = None) -> list[Job]:
        """All jobs, or that many, the latest first."""
        return read_jobs(self._db, self._read, self._place, limit=limit)

    def records(self, ref: str) -> list[Record]:
        """All records of a job in order.

        Raises:
            StoreError: one of them was altered (run :meth:`verify`): none is shown as if it were
                good.
        """
        return self._records(self._find(ref))

    def record(self, ref: str, which: str | int) -> Record:
        """One record by its number, its hash or the first characters of its hash."""
        job_id = self._find(ref)
        hash, _ = pick_record(self._db, job_id, ref, which)
        return next(record for record in self._records(job_id) if record.hash == hash)

    def standing(self, ref: str) -> list[Standing]:
        """What was recorded, in order, with corrections and withdrawals applied."""
        return standing(self.records(ref))

    def evidence(self, sha256: str) -> Path:
        """The file of a hash.

        Raises:
            BadInputError: it is not on this machine.
        """
        found = self._evidence.find(sha256)
        if found is None:
            raise BadInputError(
                f"The evidence {sha256[:12]} is not on this machine.",
                "Run the verification of the job to see why.",
            )
        return found

    def whereabouts(self, ref: str) -> list[Whereabouts]:
        """Where each file of a job's evidence is: here, archived, removed or never come."""
        return whereabouts(self._db, self._place, self._find(ref))

    def seals(self, ref: str) -> list[Seal]:
        """The closes of a job: code to print and compare, and who signed them."""
        return seals_of(self._db, self._find(ref), seal.own_key(self.home / "keys"))

    def size(self, ref: str) -> int:
        """Bytes that a job takes: its records and its evidence."""
        job_id = self._find(ref)
        row = self._db.row(
            "SELECT (SELECT coalesce(sum(length(content)), 0) FROM records WHERE job = :job)"
            " + (SELECT coalesce(sum(size), 0) FROM evidence JOIN evidence_of USING (sha256)"
            " WHERE job = :job AND state <> 'removed')",
            {"job": job_id},
        )
        return int(row[0]) if row else 0

    def verify(self, ref: str, *, evidence: bool = True) -> list[Fault]:
        """What does not fit in a job, the earliest record first; empty when all is well.

        Args:
            evidence: hash the evidence files too.
        """
        return audit_job(self._db, self._evidence, self._find(ref), evidence=evidence)

    def export_bundle(
        self,
        out: Path,
        refs: Iterable[str] | None = None,
        *,
        leave_out: Iterable[str] = (),
        evidence: bool = True,
        location: bool = False,
    ) -> Path:
        """Write jobs (all by default) to one file that any machine can verify and take in.

        Args:
            leave_out: private facts to leave out (``PRIVATE_FACTS`` for all of them).
            evidence: whether the evidence goes along.
            location: whether pictures keep the place where they were taken.
        """
        if refs is None:
            jobs = [row[0] for row in self._db.rows("SELECT id FROM jobs")]
        else:
            jobs = list(dict.fromkeys(self._find(ref) for ref in refs))
        choices = Choices(frozenset(leave_out), evidence, location)
        return write_bundle(self._db, self._place, jobs, out, choices)

    def import_bundle(self, path: Path) -> Merged:
        """Check a bundle, then add what is new in it; a second time changes nothing.

        Raises:
            BadInputError: something in it does not fit; nothing was taken in.
        """
        bundle = read_bundle(path)
        jobs, merged = merge(self._db, self._evidence, self._place, bundle, self._indexer)
        said = list(merged.conflicts)
        refs = tuple(shown_ref(self._db, job) for job in jobs)
        said += [
            f"Two machines each started a job {r.partition('~')[0]}." for r in refs if "~" in r
        ]
        return replace(merged, jobs=refs, conflicts=tuple(said))

    def export_csv(
        self, out: Path, refs: Iterable[str] | None = None, *, replaced: bool = False
    ) -> Path:
        """Write what stands in jobs (all by default) as CSV; ``replaced`` adds what no longer does.

        The columns are in docs/exports.md; values keep their digits, units are UCUM codes.
        """
        return self._export(out, as_csv(self._rows(refs, replaced)))

    def export_json_lines(
        self, out: Path, refs: Iterable[str] | None = None, *, replaced: bool = False
    ) -> Path:
        """The same as JSON lines."""
        return self._export(out, as_json_lines(self._rows(refs, replaced)))

    def export_parquet(
        self, out: Path, refs: Iterable[str] | None = None, *, replaced: bool = False
    ) -> Path:
        """The same as Parquet; raises MissingPartError without the extra ``parquet``."""
        from fieldnote.joblog.parquet import as_parquet

        return self._export(out, iter([as_parquet(self._rows(refs, replaced))]))

    def _export(self, out: Path, blocks: Iterator[bytes]) -> Path:
        with told_for_people(out):
            write_durably(out, blocks)
        return out

    def _rows(self, refs: Iterable[str] | None, replaced: bool) -> Iterator[dict[str, Any]]:
        jobs = self.jobs()[::-1] if refs is None else [self.job(ref) for ref in refs]
        for job in jobs:
            yield from rows(job, self.standing(job.ref), replaced=replaced)

    def check(self) -> list[str]:
        """What is wrong with the database as a whole; :meth:`verify` looks into each job.

        Takes long on a large log: SQLite reads every page.
        """
        return check_database(self._db)

    def search(
        self,
        text: str = "",
        *,
        asset: str | None = None,
        serial: str | None = None,
        label: str | None = None,
        kind: str | None = None,
        verdict: str | None = None,
        quantity: str | None = None,
        unit: str | None = None,
        at_least: float | None = None,
        at_most: float | None = None,
        since: datetime | None = None,
        until: datetime | None = None,
        replaced: bool = False,
        limit: int = 100,
    ) -> list[Hit]:
        """Records that fit all that is given (see :class:`Query`), the latest first."""
        query = Query(
            text,
            asset,
            serial,
            label,
            kind,
            verdict,
            quantity,
            unit,
            at_least,
            at_most,
            since,
            until,
            replaced,
            limit,
        )
        return hits(self._db, self._read, query)

    def history(
        self, label: str, *, asset: str | None = None, serial: str | None = None
    ) -> dict[str, History]:
        """The readings of one measuring point across jobs, by base unit (commonly one).

        Raises:
            BadInputError: neither asset nor serial is given.
        """
        if asset is None and serial is None:
            raise BadInputError("A history needs the asset or its serial.")
        return histories(self._db, self._read, label, asset, serial)

    def reindex(self, indexer: Indexer) -> int:
        """Give every reading its value in a base unit anew; how many have one now."""
        return reindex(self._db, self._read, indexer)

    # ---------------------------------------------------------------- inside

    def _machine(self) -> str:
        """Eight hexadecimal digits, drawn once, that tell this machine's records from others'."""
        row = self._db.row("SELECT value FROM settings WHERE name = 'machine'")
        if row is None:
            with self._db.writing():
                self._db.run(
                    "INSERT OR IGNORE INTO settings (name, value) VALUES ('machine', ?)",
                    (secrets.token_hex(4),),
                )
            row = self._db.row("SELECT value FROM settings WHERE name = 'machine'")
        return str(row[0]) if row else ""

    def _find(self, ref: str) -> int:
        return find_job(self._db, ref)

    def _place(self, sha256: str, suffix: str) -> Path:
        """Where evidence lies: here, in an archive, or (a copy of a picture) beside it."""
        return place_of(self._db, self._evidence, sha256, suffix)

    def _records(self, job_id: int) -> list[Record]:
        return read_records(self._db, job_id, self._place)

    def _read(self, content: bytes, hash: str, openings: str | None) -> Record:
        return read(content, hash, read_openings(self._db, openings), self._place)

    def _read_written(self, written: Written) -> Record:
        return read(written.content, written.hash, written.openings, self._place)


__all__ = ["JobLog", "default_home"]
