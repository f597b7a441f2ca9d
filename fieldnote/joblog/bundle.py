"""Jobs as one file: a ZIP of JSON lines, their schema, the evidence, and a page to read.

    manifest.json        what is in it, and what was left out and why
    records.jsonl        the records, each with its hash (record.schema.json)
    evidence/HASH.suffix the files, named by their own SHA-256
    read-me-first.html   the same for people

The same jobs give the same bytes. Nothing in a bundle is trusted by the machine that takes it in
(``merge.py``).
"""

from __future__ import annotations

import json
import os
import secrets
import zipfile
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from hashlib import sha256 as new_sha256
from importlib.resources import files
from pathlib import Path
from typing import Any

from fieldnote.joblog.database import Database
from fieldnote.joblog.evidence import Evidence, EvidencePlace, blocks_of, flush_folder
from fieldnote.joblog.location import NO_LOCATION, CannotStripError, without_location
from fieldnote.joblog.page import page
from fieldnote.joblog.record import Record
from fieldnote.joblog.tables import read_openings, read_records
from fieldnote.joblog.trouble import told_for_people

FORMAT = "fieldnote-bundle"
VERSION = 1
MANIFEST, RECORDS, SCHEMA, PAGE = (
    "manifest.json",
    "records.jsonl",
    "record.schema.json",
    "read-me-first.html",
)


@dataclass(frozen=True, slots=True)
class Choices:
    """What goes into a bundle.

    Attributes:
        leave_out: names of private facts that stay behind; the records verify without them.
        evidence: whether the evidence files go along.
        location: whether pictures keep the place where they were taken. Without, a picture that
            carries one goes as a copy without the camera's notes, and the manifest says so.
    """

    leave_out: frozenset[str] = frozenset()
    evidence: bool = True
    location: bool = False


def schema() -> str:
    """The JSON Schema of a line of ``records.jsonl``."""
    return files("fieldnote.joblog").joinpath(SCHEMA).read_text("utf-8")


def lines_of(
    db: Database, job: int, records: Sequence[Record], leave_out: Collection[str] = ()
) -> list[str]:
    """A job's records as JSON lines (without the line ends)."""
    rows = {
        row[0]: row[1:]
        for row in db.rows("SELECT hash, content, openings FROM records WHERE job = ?", (job,))
    }
    lines = []
    for record in records:
        content, stored = rows[record.hash]
        openings = {
            name: opening
            for name, opening in read_openings(db, stored).items()
            if opening is not None and name not in leave_out
        }
        line: dict[str, Any] = {"hash": record.hash, "record": json.loads(content)}
        if openings:
            line["openings"] = openings
        lines.append(json.dumps(line, ensure_ascii=False, sort_keys=True, separators=(",", ":")))
    return lines


def write_bundle(
    db: Database, place: EvidencePlace, jobs: Sequence[int], out: Path, choices: Choices
) -> Path:
    """Write ``jobs`` (row ids) to ``out``, whole or not at all."""
    part = out.with_name(f".{out.name}.{secrets.token_hex(4)}.part")
    with told_for_people(out):
        handle = os.open(part, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)
        try:
            with os.fdopen(handle, "w+b") as file:
                _fill(db, place, jobs, zipfile.ZipFile(file, "w"), choices)
                file.flush()
                os.fsync(file.fileno())
            part.replace(out)
            flush_folder(out.parent)
        except BaseException:
            part.unlink(missing_ok=True)
            raise
    return out


def _fill(
    db: Database,
    place: EvidencePlace,
    jobs: Sequence[int],
    bundle: zipfile.ZipFile,
    choices: Choices,
) -> None:
    with bundle:
        by_job = {job: read_records(db, job, place) for job in jobs}
        ordered = sorted(jobs, key=lambda job: by_job[job][0].hash)
        evidence: dict[str, dict[str, Any]] = {}
        for job in ordered:
            for record in by_job[job]:
                for item in record.evidence:
                    if item.sha256 not in evidence:
                        evidence[item.sha256] = _add_evidence(bundle, item, choices)
        lines = [
            line for job in ordered for line in lines_of(db, job, by_job[job], choices.leave_out)
        ]
        manifest = {
            "format": FORMAT,
            "version": VERSION,
            "jobs": [by_job[job][0].hash for job in ordered],
            "records": len(lines),
            "evidence": [evidence[sha] for sha in sorted(evidence)],
            "left_out": sorted(choices.leave_out),
        }
        _add(bundle, RECORDS, "".join(f"{line}\n" for line in lines))
        _add(bundle, MANIFEST, json.dumps(manifest, indent=1, sort_keys=True) + "\n")
        _add(bundle, SCHEMA, schema())
        listed = {sha: item.get("file") for sha, item in evidence.items()}
        shown = [by_job[job] for job in ordered]
        _add(bundle, PAGE, page(shown, listed, choices.leave_out))


def _info(name: str, *, packed: bool) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name)  # dated 1980: the same jobs give the same bytes
    info.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
    info.external_attr = 0o600 << 16
    return info


def _add(bundle: zipfile.ZipFile, name: str, text: str) -> None:
    bundle.writestr(_info(name, packed=True), text.encode())


def _add_evidence(bundle: zipfile.ZipFile, item: Evidence, choices: Choices) -> dict[str, Any]:
    """Put a file in, or say why not; its line in the manifest."""
    line: dict[str, Any] = {"sha256": item.sha256, "suffix": item.suffix, "size": item.size}
    if not choices.evidence:
        return {**line, "left_out": "asked to leave evidence out"}
    if not item.path.is_file():
        return {**line, "left_out": "not on the machine that made this bundle"}
    if choices.location or item.suffix in NO_LOCATION:
        return _add_whole(bundle, item, line)
    data = item.path.read_bytes()
    try:
        copy = without_location(data, item.suffix)
    except CannotStripError as error:
        return {**line, "left_out": f"its location could not be removed: {error}"}
    name = f"evidence/{new_sha256(copy).hexdigest()}{item.suffix}"
    if name not in bundle.namelist():
        bundle.writestr(_info(name, packed=False), copy)
    if copy == data:
        return {**line, "file": name}
    return {**line, "file": name, "instead": "a copy without the camera's notes of place"}


def _add_whole(bundle: zipfile.ZipFile, item: Evidence, line: dict[str, Any]) -> dict[str, Any]:
    name = f"evidence/{item.sha256}{item.suffix}"
    info = _info(name, packed=False)
    info.file_size = item.path.stat().st_size
    with bundle.open(info, "w") as out:
        for block in blocks_of(item.path):
            out.write(block)
    return {**line, "file": name}
