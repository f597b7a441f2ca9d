"""Taking a bundle in: everything in it is checked before anything is written.

A merge is a union of records by their hash, so it may be repeated and done in any order. What two
machines said differently is kept side by side and told, never settled here.
"""

from __future__ import annotations

import json
import re
import zipfile
import zlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from hashlib import sha256 as new_sha256
from pathlib import Path
from typing import Any

from fieldnote.errors import BadInputError
from fieldnote.joblog.bundle import FORMAT, MANIFEST, PAGE, RECORDS, SCHEMA, VERSION
from fieldnote.joblog.canonical import canonical, plain, sha256
from fieldnote.joblog.database import Database
from fieldnote.joblog.evidence import EvidencePlace, EvidenceStore, is_suffix
from fieldnote.joblog.index import Indexer
from fieldnote.joblog.private import Openings, opens
from fieldnote.joblog.record import LARGEST_RECORD, Record, read
from fieldnote.joblog.standing import conflicts
from fieldnote.joblog.tables import (
    insert_job,
    insert_record,
    note_evidence,
    read_openings,
    refresh_job,
)
from fieldnote.joblog.times import microseconds
from fieldnote.joblog.verify import RawRecord, faults_of_chain, is_sha256, parse_content

MOST_FILES = 200_000
MOST_BYTES = 8 << 30  # of all files, unpacked
MOST_UNPACKING = 200  # times the size of the archive
_LARGEST_LINE = 2 * LARGEST_RECORD
_LARGEST_TEXT = 256 << 20  # manifest, schema, page
_BLOCK = 1 << 20
_EVIDENCE = re.compile(r"evidence/([0-9a-f]{64})(\.[a-z0-9]{1,8})")


@dataclass(frozen=True, slots=True)
class Line:
    """A record out of a bundle, its hash checked."""

    record: Record
    content: bytes
    openings: Openings


@dataclass(frozen=True, slots=True)
class Bundle:
    """A bundle whose every part fits.

    Attributes:
        jobs: records by the hash of their job's start.
        files: name in the archive by the hash of the evidence it stands for.
        copies: evidence of which only a changed copy is in the bundle: its hash, the copy's hash.
    """

    path: Path
    jobs: Mapping[str, Sequence[Line]]
    files: Mapping[str, str]
    copies: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Merged:
    """What taking a bundle in did.

    Attributes:
        jobs: references of the jobs in it.
        new_records, known_records: how many were added, and how many were here before.
        new_evidence: how many files were added.
        conflicts: what two machines said differently, in words.
    """

    jobs: tuple[str, ...] = ()
    new_records: int = 0
    known_records: int = 0
    new_evidence: int = 0
    conflicts: tuple[str, ...] = field(default=())


@contextmanager
def _refusing(path: Path) -> Iterator[None]:
    """Say why a bundle was refused; nothing of it was taken in."""
    try:
        yield
    except (ValueError, KeyError, TypeError, IndexError, RecursionError, EOFError) as error:
        why = str(error) or type(error).__name__
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError) as error:
        why = f"the archive is damaged ({error})"
    except BadInputError as error:
        why = error.what
    except OSError as error:
        why = error.strerror or str(error)
    else:
        return
    raise BadInputError(
        f"The bundle {path} was refused: {why.rstrip('.')}.",
        "Nothing of it was taken in. Have it made and sent again.",
    )


def read_bundle(path: Path) -> Bundle:
    """Check a bundle through and through; writes nothing.

    Raises:
        BadInputError: what does not fit.
    """
    with _refusing(path), zipfile.ZipFile(path) as archive:
        _check_names(archive, path.stat().st_size)
        manifest = _manifest(archive)
        jobs = _lines(archive, manifest)
        files, copies = _check_evidence(archive, manifest, jobs)
    return Bundle(path, jobs, files, copies)


def _check_names(archive: zipfile.ZipFile, size: int) -> None:
    infos = archive.infolist()
    if len(infos) > MOST_FILES:
        raise ValueError(f"it claims {len(infos)} files")
    total = sum(info.file_size for info in infos)
    if total > MOST_BYTES or total > MOST_UNPACKING * size + _BLOCK:
        raise ValueError(f"it claims to unpack to {total} bytes from {size}")
    seen: set[str] = set()
    for info in infos:
        # orig_filename: ZipFile itself cuts names at a NUL and turns backslashes.
        name = info.orig_filename
        if name not in (MANIFEST, RECORDS, SCHEMA, PAGE) and not _EVIDENCE.fullmatch(name):
            raise ValueError(f"it holds a file that has no place in a bundle, {name[:80]!r}")
        if name in seen:
            raise ValueError(f"it holds {name} twice")
        if info.flag_bits & 1:
            raise ValueError(f"{name} is encrypted")
        seen.add(name)
    for name in (MANIFEST, RECORDS):
        if name not in seen:
            raise ValueError(f"{name} is missing")


def _manifest(archive: zipfile.ZipFile) -> dict[str, Any]:
    if archive.getinfo(MANIFEST).file_size > _LARGEST_TEXT:
        raise ValueError("its manifest is too large")
    manifest = json.loads(archive.read(MANIFEST))
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise ValueError("it is not a bundle of job records")
    if manifest.get("version") != VERSION:
        raise ValueError(
            f"it is of version {manifest.get('version')!r}; this Fieldnote knows {VERSION}"
        )
    return manifest


def _lines(archive: zipfile.ZipFile, manifest: dict[str, Any]) -> dict[str, list[Line]]:
    jobs: dict[str, list[Line]] = {}
    seen: set[str] = set()
    with archive.open(RECORDS) as file:
        number = 0
        while text := file.readline(_LARGEST_LINE + 1):
            number += 1
            if len(text) > _LARGEST_LINE:
                raise ValueError(f"line {number} of {RECORDS} is too long")
            try:
                line = _line(json.loads(text))
            except (ValueError, BadInputError, KeyError, TypeError, RecursionError) as error:
                raise ValueError(f"line {number} of {RECORDS}: {error}") from error
            if line.record.hash in seen:
                raise ValueError(f"line {number} of {RECORDS} is there twice")
            seen.add(line.record.hash)
            jobs.setdefault(line.record.job, []).append(line)
    for root, lines in jobs.items():
        faults = faults_of_chain([_raw(line) for line in lines], root, None)
        if faults:
            raise ValueError(str(faults[0]))
    if manifest.get("records") != number or sorted(jobs) != manifest.get("jobs"):
        raise ValueError("its manifest lists other records than it holds")
    return jobs


def _line(line: Any) -> Line:
    if not isinstance(line, dict) or not {"hash", "record"} <= set(line) <= {
        "hash",
        "record",
        "openings",
    }:
        raise ValueError("it is not a record with its hash")
    content = canonical(plain(line["record"], "record"))
    if len(content) > LARGEST_RECORD:
        raise ValueError("the record is too long")
    if sha256(content) != line["hash"]:
        raise ValueError(f"the record does not fit its hash {str(line['hash'])[:12]}")
    fields = parse_content(content)
    openings = plain(line.get("openings", {}), "openings")
    for name, opening in openings.items():
        if opening is None or not opens(fields["private"], name, opening):
            raise ValueError(f"the private fact {name!r} is not what was recorded")
    return Line(read(content, line["hash"], openings, _nowhere), content, openings)


def _nowhere(sha256: str, suffix: str) -> Path:
    return Path(f"{sha256}{suffix}")


def _check_evidence(
    archive: zipfile.ZipFile, manifest: dict[str, Any], jobs: Mapping[str, Sequence[Line]]
) -> tuple[dict[str, str], dict[str, str]]:
    recorded = {
        item.sha256: (item.suffix, item.size)
        for lines in jobs.values()
        for line in lines
        for item in line.record.evidence
    }
    files: dict[str, str] = {}
    copies: dict[str, str] = {}
    for entry in manifest["evidence"]:
        sha, suffix = entry["sha256"], entry["suffix"]
        if not is_sha256(sha) or not is_suffix(suffix):
            raise ValueError("its manifest names evidence wrongly")
        if recorded.get(sha, (None,))[0] != suffix or sha in files:
            raise ValueError(f"its manifest lists evidence {sha[:12]} that no record refers to")
        name = entry.get("file")
        if name is None:
            continue
        named = _EVIDENCE.fullmatch(name)
        if named is None or ("instead" in entry) != (named[1] != sha):
            raise ValueError(f"its manifest gives a wrong file for evidence {sha[:12]}")
        files[sha] = name
        if "instead" in entry:
            copies[sha] = named[1]
        elif archive.getinfo(name).file_size != recorded[sha][1]:
            raise ValueError(f"{name} is not of the size that was recorded")
    held = {name for name in archive.namelist() if name.startswith("evidence/")}
    if held != set(files.values()):
        raise ValueError("its manifest lists other evidence than it holds")
    for name in sorted(held):
        digest = new_sha256()
        for block in _blocks(archive, name):
            digest.update(block)
        if digest.hexdigest() != name[9:73]:
            raise ValueError(f"{name} does not fit its hash")
    return files, copies


def _blocks(archive: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    with archive.open(name) as file:
        while block := file.read(_BLOCK):
            yield block


# ------------------------------------------------------------------- taking in


def merge(
    db: Database,
    store: EvidenceStore,
    place: EvidencePlace,
    bundle: Bundle,
    indexer: Indexer | None = None,
) -> tuple[list[int], Merged]:
    """Add what a bundle holds; (row ids of its jobs, what was done).

    Raises:
        BadInputError: the file was changed since it was checked.
        StoreError: the disk failed; nothing of the bundle is left behind.
    """
    added: list[Path] = []
    try:
        with db.writing():
            known = _known(db, bundle)
            with _refusing(bundle.path), zipfile.ZipFile(bundle.path) as archive:
                added = _add_files(db, store, bundle, archive)
            return _add_records(db, place, bundle, known, indexer, len(added))
    except BaseException:
        for path in added:
            path.unlink(missing_ok=True)
        raise


def _known(db: Database, bundle: Bundle) -> dict[str, dict[str, str | None]]:
    """Openings by hash of the records that are here, by job."""
    return {
        root: {
            row[0]: row[1]
            for row in db.rows(
                "SELECT r.hash, r.openings FROM records r JOIN jobs j ON j.id = r.job"
                " WHERE j.root = ?",
                (root,),
            )
        }
        for root in bundle.jobs
    }


def _raw(line: Line) -> RawRecord:
    record = line.record
    return RawRecord(
        record.number,
        record.hash,
        record.kind,
        microseconds(record.at),
        record.refers_to,
        line.content,
        json.dumps(line.openings),
    )


def _add_files(
    db: Database, store: EvidenceStore, bundle: Bundle, archive: zipfile.ZipFile
) -> list[Path]:
    added: list[Path] = []
    try:
        for sha, name in sorted(bundle.files.items()):
            state = db.row("SELECT state FROM evidence WHERE sha256 = ?", (sha,))
            if state in (("removed",), ("archived",)) or store.find(sha) is not None:
                continue
            own, suffix = name[9:73], name[73:]
            if store.find(own) is None:
                size = archive.getinfo(name).file_size
                added.append(store.take(own, suffix, size, _blocks(archive, name)))
    except BaseException:
        for path in added:
            path.unlink(missing_ok=True)
        raise
    return added


def _add_records(
    db: Database,
    place: EvidencePlace,
    bundle: Bundle,
    known: Mapping[str, Mapping[str, str | None]],
    indexer: Indexer | None,
    new_evidence: int,
) -> tuple[list[int], Merged]:
    jobs: list[int] = []
    said: list[str] = []
    new = total = 0
    for root, lines in bundle.jobs.items():
        found = db.row("SELECT id FROM jobs WHERE root = ?", (root,))
        ordered = sorted(lines, key=lambda line: (line.record.number, line.record.hash))
        job = int(found[0]) if found else insert_job(db, ordered[0].record)
        for line in ordered:
            total += 1
            if line.record.hash in known[root]:
                _add_openings(db, job, line, known[root][line.record.hash])
            else:
                new += 1
                index = indexer(line.record.body) if indexer else None
                insert_record(db, job, line.record, line.content, line.openings, index)
                if line.record.kind == "removal":
                    said.append(
                        f"{ordered[0].record.ref}: another machine removed evidence and private"
                        " facts; they stay here until they are removed here too."
                    )
            _note_files(db, job, bundle, line.record)
        records = refresh_job(db, job, place)
        said += [f"{records[0].ref}: {conflict}" for conflict in conflicts(records)]
        jobs.append(job)
    return jobs, Merged((), new, total - new, new_evidence, tuple(said))


def _add_openings(db: Database, job: int, line: Line, stored: str | None) -> None:
    """Private facts that were left out of an earlier bundle; those removed here stay removed."""
    here = read_openings(db, stored)
    both = {**line.openings, **here}
    if both != here:
        db.run(
            "UPDATE records SET openings = ? WHERE job = ? AND hash = ?",
            (json.dumps(both), job, line.record.hash),
        )


def _note_files(db: Database, job: int, bundle: Bundle, record: Record) -> None:
    for item in record.evidence:
        whole = item.sha256 in bundle.files and item.sha256 not in bundle.copies
        note_evidence(db, job, [item], "here" if whole else "absent")
        if item.sha256 in bundle.copies:
            name = f"{bundle.copies[item.sha256]}{item.suffix}"
            db.run(
                "UPDATE evidence SET folder = ? WHERE sha256 = ? AND state = 'absent'",
                (name, item.sha256),
            )
