"""The job log: what the rest of Fieldnote stores with and reads from."""

from __future__ import annotations

import os
import re
import secrets
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any

from fieldnote.errors import BadInputError
from fieldnote.joblog import seal
from fieldnote.joblog.archive import Whereabouts, bring_back, move_out, whereabouts
from fieldnote.joblog.audit import audit_job, check_database
from fieldnote.joblog.bundle import Choices, write_bundle
from fieldnote.joblog.canonical import plain
from fieldnote.joblog.database import Database
from fieldnote.joblog.evidence import Evidence, EvidenceStore, write_durably
from fieldnote.joblog.exports import as_csv, as_json_lines, rows
from fieldnote.joblog.history import History, Point, history_of, rows_of
from fieldnote.joblog.index import Index, Indexer, extract
from fieldnote.joblog.merge import Merged, merge, read_bundle
from fieldnote.joblog.private import split
from fieldnote.joblog.record import KINDS, POINTING, Job, Record, Written, check_ref, read, write
from fieldnote.joblog.retention import (
    Removed,
    delete_removed,
    evidence_of,
    forget_facts,
    forget_for_good,
    private_names,
    release_evidence,
)
from fieldnote.joblog.seal import Seal
from fieldnote.joblog.search import Hit, Query, find
from fieldnote.joblog.standing import Standing, conflicts, standing
from fieldnote.joblog.tables import (
    complete_job,
    insert_job,
    insert_record,
    mark_replaced,
    note_evidence,
    read_openings,
    read_records,
    refresh_job,
)
from fieldnote.joblog.times import rfc3339
from fieldnote.joblog.trouble import damaged, told_for_people
from fieldnote.joblog.verify import Fault, parse_content

_CORRECTABLE = frozenset(
    {"start", "reading", "remark", "wire", "photo", "question", "step", "correction"}
)
_WITHDRAWABLE = _CORRECTABLE - {"start"}
_AFTER_CLOSE = frozenset({"reopen", "removal"})


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
                ref = self._free_ref(at)
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
        if kind not in KINDS or kind == "start":
            raise BadInputError(
                f"{kind!r} is no kind of record.", f"Use one of {', '.join(sorted(KINDS))}."
            )
        kept = tuple(evidence)
        for item in kept:
            self._check_kept(item)
        with self._db.writing():
            job_id, root, heads, number, closed, facts = self._writable(ref)
            self._check_state(ref, kind, closed)
            target = self._target(job_id, ref, kind, body, refers_to)
            written = write(
                kind,
                body,
                at=at,
                number=number + 1,
                previous=heads,
                machine=self.machine,
                evidence=kept,
                refers_to=target,
                job=root,
            )
            record = self._read_written(written)
            if index is None and self._indexer is not None:
                index = self._indexer(record.body)
            row = insert_record(self._db, job_id, record, written.content, written.openings, index)
            note_evidence(self._db, job_id, kept, "here", anew=True)
            self._db.run(
                "UPDATE jobs SET heads = ?, number = ?, closed = ? WHERE id = ?",
                (
                    record.hash,
                    record.number,
                    {"close": True, "reopen": False}.get(kind, closed),
                    job_id,
                ),
            )
            if kind in ("correction", "withdrawal") and target is not None:
                replaced = mark_replaced(self._db, job_id, target)
                if kind == "correction" and replaced == facts:
                    complete_job(self._db, job_id, row, record.body)
            if len(heads) > 1 or (target is not None and self._was_joined(job_id)):
                refresh_job(self._db, job_id, self._place)
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
            _, root, heads, *_ = self._writable(ref)
            public, *_ = split(plain(body))
            body["seal"] = seal.sign(self.home / "keys", root, heads, rfc3339(at), public)
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
        if not why:
            raise BadInputError("A removal must say why.", "Give the reason.")
        with self._db.writing():
            job_id = self._find(ref)
            facts, hashes = private_names(self._db, job_id), evidence_of(self._db, job_id)
            if not facts and not hashes:
                raise BadInputError(f"The job {ref} holds no evidence and no private facts.")
            body = {"why": why, "evidence": hashes, "facts": facts}
            self.append(ref, "removal", body, at=at)
            forget_facts(self._db, job_id)
            gone = release_evidence(self._db, job_id, hashes)
        delete_removed(self._db, self._evidence)
        forget_for_good(self._db)
        backups = tuple(str(path) for path in sorted((self.home / "backups").glob("*.db")))
        return Removed(len(gone), len(hashes) - len(gone), tuple(facts), backups)

    def archive(self, refs: Iterable[str], folder: Path) -> int:
        """Move the evidence of jobs to ``folder``, where it is still known; how many files."""
        return move_out(self._db, self._evidence, [self._find(ref) for ref in refs], folder)

    def bring_back(self, refs: Iterable[str]) -> int:
        """Copy archived evidence of jobs back; how many files."""
        return bring_back(self._db, self._evidence, [self._find(ref) for ref in refs])

    # ---------------------------------------------------------------- reading

    def job(self, ref: str) -> Job:
        """Raises BadInputError when there is no such job, or two machines each have one."""
        return self._job(self._find(ref))

    def jobs(self) -> list[Job]:
        """All jobs, the latest first."""
        return [
            self._job(row[0]) for row in self._db.rows("SELECT id FROM jobs ORDER BY at DESC, id")
        ]

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
        hash, _ = self._pick(job_id, ref, which)
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
        own = seal.own_key(self.home / "keys")
        found = []
        for content, hash in self._db.rows(
            "SELECT content, hash FROM records WHERE job = ? AND kind = 'close' ORDER BY number",
            (self._find(ref),),
        ):
            fields = parse_content(content)
            signed = fields["body"].get("seal")
            valid = seal.fits(fields)
            key = signed["key"] if signed and valid else None
            found.append(
                Seal(
                    number=fields["number"],
                    code=seal.code_of(hash),
                    key=seal.fingerprint(key) if key else None,
                    valid=valid,
                    ours=key is not None and key == own,
                )
            )
        return found

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
        refs = tuple(self._shown_ref(job) for job in jobs)
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
        hits = []
        for record_id in find(self._db, query):
            row = self._db.row(
                "SELECT r.content, r.hash, r.openings, j.asset, j.serial, j.id FROM records r"
                " JOIN jobs j ON j.id = r.job WHERE r.id = ?",
                (record_id,),
            )
            if row is not None:
                ref = self._shown_ref(row[5])
                hits.append(Hit(ref, row[3], row[4], self._read(*row[:3])))
        return hits

    def history(
        self, label: str, *, asset: str | None = None, serial: str | None = None
    ) -> dict[str, History]:
        """The readings of one measuring point across jobs, by base unit (commonly one).

        Raises:
            BadInputError: neither asset nor serial is given.
        """
        if asset is None and serial is None:
            raise BadInputError("A history needs the asset or its serial.")
        points: dict[str, list[Point]] = {}
        for record_id, base_value, base_unit in rows_of(self._db, label, asset, serial):
            row = self._db.row(
                "SELECT content, hash, openings, job FROM records WHERE id = ?", (record_id,)
            )
            if row is None:
                continue
            record = self._read(*row[:3])
            found = extract(record.body)
            point = Point(
                at=record.at,
                ref=self._shown_ref(row[3]),
                number=record.number,
                value=found.value or "",
                unit=found.unit,
                verdict=found.verdict,
                base_value=base_value,
                base_unit=base_unit,
            )
            points.setdefault(base_unit, []).append(point)
        return {unit: history_of(found) for unit, found in points.items()}

    def reindex(self, indexer: Indexer) -> int:
        """Give every reading its value in a base unit anew; how many have one now."""
        done = 0
        rows = self._db.rows("SELECT id FROM results")
        with self._db.writing():
            for (record_id,) in rows:
                row = self._db.row(
                    "SELECT content, hash, openings FROM records WHERE id = ?", (record_id,)
                )
                index = indexer(self._read(*row).body) if row else None
                if index is not None:
                    self._db.run(
                        "UPDATE results SET quantity = ?, base_value = ?, base_unit = ?"
                        " WHERE id = ?",
                        (index.quantity, index.base_value, index.base_unit, record_id),
                    )
                    done += 1
        return done

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

    def _free_ref(self, at: datetime) -> str:
        day = f"{at:%Y-%m-%d}-"
        taken = self._db.rows("SELECT ref FROM jobs WHERE ref GLOB ?", (f"{day}[0-9]*",))
        counters = [int(ref[len(day) :]) for (ref,) in taken if ref[len(day) :].isdecimal()]
        return f"{day}{max(counters, default=0) + 1}"

    def _find(self, ref: str) -> int:
        name, _, root = ref.partition("~")
        rows = self._db.rows(
            "SELECT id, root FROM jobs WHERE (ref = ? AND substr(root, 1, ?) = ?) OR root = ?",
            (name, len(root), root, ref),
        )
        if not rows:
            raise BadInputError(
                f"There is no job {ref!r}.", "List the jobs to see their references."
            )
        if len(rows) > 1:
            names = " and ".join(f"{name}~{row[1][:8]}" for row in rows)
            raise BadInputError(
                f"Two machines each started a job {ref!r}.", f"Say which one: {names}."
            )
        return int(rows[0][0])

    def _writable(self, ref: str) -> tuple[int, str, list[str], int, bool, int]:
        job_id = self._find(ref)
        row = self._db.row(
            "SELECT root, heads, number, closed, facts FROM jobs WHERE id = ?", (job_id,)
        )
        if row is None:
            raise damaged(self._db.path)
        root, heads, number, closed, facts = row
        return job_id, root, heads.split(), number, bool(closed), facts

    def _was_joined(self, job_id: int) -> bool:
        """Whether several machines ever wrote to a job side by side."""
        row = self._db.row("SELECT count(*) <> max(number) FROM records WHERE job = ?", (job_id,))
        return row is not None and bool(row[0])

    def _check_state(self, ref: str, kind: str, closed: bool) -> None:
        if closed and kind not in _AFTER_CLOSE:
            raise BadInputError(
                f"The job {ref} is closed; nothing was added.", "Reopen it first, saying why."
            )
        if kind == "reopen" and not closed:
            raise BadInputError(f"The job {ref} is open: there is nothing to reopen.")

    def _check_kept(self, item: Evidence) -> None:
        place = self._evidence.find(item.sha256)
        with told_for_people(item.path):
            if place is None or place.stat().st_size != item.size:
                raise BadInputError(
                    f"The evidence {item.sha256[:12]} is not in this log.", "Keep it first."
                )

    def _pick(self, job_id: int, ref: str, which: str | int) -> tuple[str, str]:
        """(hash, kind) of the one record that a number or (part of) a hash names."""
        text = str(which)
        rows: list[tuple[Any, ...]] = []
        if re.fullmatch(r"[0-9]{1,9}", text):
            rows = self._db.rows(
                "SELECT hash, kind FROM records WHERE job = ? AND number = ?", (job_id, int(text))
            )
        if not rows and len(text) >= 4:
            rows = self._db.rows(
                "SELECT hash, kind FROM records WHERE job = ? AND substr(hash, 1, ?) = ?",
                (job_id, len(text), text),
            )
        if not rows:
            raise BadInputError(
                f"The job {ref} has no record {which}.", "Show the job to see them."
            )
        if len(rows) > 1:
            names = " or ".join(row[0][:8] for row in rows)
            raise BadInputError(
                f"Two machines each wrote a record {which} in {ref}.", f"Say which one: {names}."
            )
        return rows[0][0], rows[0][1]

    def _target(
        self,
        job_id: int,
        ref: str,
        kind: str,
        body: Mapping[str, Any],
        refers_to: Record | str | int | None,
    ) -> str | None:
        """Hash of the record pointed at, when pointing at it makes sense."""
        if refers_to is None:
            if kind in POINTING:
                raise BadInputError(f"A {kind} must say which record it is about.")
            return None
        which = refers_to.hash if isinstance(refers_to, Record) else refers_to
        hash, target_kind = self._pick(job_id, ref, which)
        shown = refers_to.number if isinstance(refers_to, Record) else which
        if kind == "rereading" and target_kind in ("start", "close", "reopen", "removal"):
            raise BadInputError(
                f"Record {shown} of {ref} is a {target_kind}: nothing to read again."
            )
        if kind not in ("correction", "withdrawal"):
            return hash
        if not body.get("why"):
            raise BadInputError(f"A {kind} must say why.", "Give the reason.")
        able = _CORRECTABLE if kind == "correction" else _WITHDRAWABLE
        if target_kind not in able:
            done = "corrected" if kind == "correction" else "withdrawn"
            raise BadInputError(
                f"Record {shown} of {ref} is a {target_kind}, which cannot be {done}."
            )
        after = self._db.rows(
            "SELECT number, kind FROM records WHERE job = ? AND refers_to = ?"
            " AND kind IN ('correction', 'withdrawal') ORDER BY number",
            (job_id, hash),
        )
        if after:
            number, what = after[0]
            if what == "withdrawal":
                raise BadInputError(
                    f"Record {shown} of {ref} was withdrawn by record {number}.",
                    "Record the right value anew.",
                )
            raise BadInputError(
                f"Record {shown} of {ref} was already corrected by record {number}.",
                f"Correct or withdraw record {number} instead.",
            )
        return hash

    def _shown_ref(self, job_id: int) -> str:
        """The reference, with the beginning of the root where two machines used the same one."""
        row = self._db.row(
            "SELECT ref, root, (SELECT count(*) FROM jobs WHERE ref = j.ref) FROM jobs j"
            " WHERE id = ?",
            (job_id,),
        )
        if row is None:
            raise damaged(self._db.path)
        return str(row[0]) if row[2] == 1 else f"{row[0]}~{row[1][:8]}"

    def _job(self, job_id: int) -> Job:
        row = self._db.row(
            "SELECT j.ref, j.root, j.closed, r.content, r.hash, r.openings, s.content, s.hash,"
            " (SELECT count(*) FROM records WHERE job = j.id), j.number"
            " FROM jobs j JOIN records r ON r.id = j.facts"
            " JOIN records s ON s.job = j.id AND s.number = 1 WHERE j.id = ?",
            (job_id,),
        )
        if row is None:
            raise damaged(self._db.path, f"job {job_id} has no start")
        ref, root, closed, content, hash, openings, start, start_hash, count, number = row
        first = self._read(start, start_hash, None)
        stands = self._read(content, hash, openings)
        if first.hash != root or stands.job != root or first.ref != ref:
            raise damaged(self._db.path, f"the job {ref} does not fit its start")
        facts = dict(stands.body)
        facts.pop("why", None)
        told = conflicts(self._records(job_id)) if count != number else ()
        return Job(
            ref=self._shown_ref(job_id),
            root=root,
            at=first.at,
            facts=facts,
            closed=bool(closed),
            records=count,
            conflicts=told,
        )

    def _place(self, sha256: str, suffix: str) -> Path:
        """Where evidence lies: here, in an archive, or (a copy of a picture) beside it."""
        path = self._evidence.locate(sha256, suffix)
        if path.exists():
            return path
        row = self._db.row("SELECT state, folder FROM evidence WHERE sha256 = ?", (sha256,))
        if row is None or row[1] is None:
            return path
        if row[0] == "archived":
            return Path(row[1]) / f"{sha256}{suffix}"
        return self._evidence.place(row[1][:64], row[1][64:])

    def _records(self, job_id: int) -> list[Record]:
        return read_records(self._db, job_id, self._place)

    def _read(self, content: bytes, hash: str, openings: str | None) -> Record:
        return read(content, hash, read_openings(self._db, openings), self._place)

    def _read_written(self, written: Written) -> Record:
        return read(written.content, written.hash, written.openings, self._place)


__all__ = ["JobLog", "default_home"]
