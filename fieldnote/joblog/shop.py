"""A shop's PostgreSQL, to which machines push their jobs and from which they pull others'.

The log on the machine stays what counts; this is a place to meet. It holds the same records by the
same hashes, and whoever pulls checks everything as with any bundle. Needs the extra ``shop``
(psycopg).
"""

from __future__ import annotations

import json
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import Any

from fieldnote.errors import BadInputError, MissingPartError, StoreError
from fieldnote.joblog.bundle import FORMAT, MANIFEST, RECORDS, VERSION
from fieldnote.joblog.canonical import sha256
from fieldnote.joblog.log import JobLog
from fieldnote.joblog.merge import Merged, read_bundle
from fieldnote.joblog.times import microseconds, parse_rfc3339
from fieldnote.joblog.verify import Fault, RawRecord, faults_of_chain, parse_content

Connection = Any
"""psycopg's; the package is optional, so its types are not asked for."""

_LAYOUT = """
CREATE TABLE IF NOT EXISTS fieldnote_records (
    hash text PRIMARY KEY,
    root text NOT NULL,
    number integer NOT NULL,
    content bytea NOT NULL,
    openings text
);
CREATE INDEX IF NOT EXISTS fieldnote_records_root ON fieldnote_records (root);
CREATE TABLE IF NOT EXISTS fieldnote_evidence (
    file text PRIMARY KEY,
    content bytea NOT NULL
);
"""
_LOCK = 0x464E4C47  # so that two machines do not make the tables at once


def _check_address(psycopg: Any, address: str) -> None:
    """BadInputError for what is no address at all, so that nobody waits for a shop's machine."""
    try:
        psycopg.conninfo.conninfo_to_dict(address)
    except psycopg.ProgrammingError as error:
        raise BadInputError(
            f"“{address}” is no address of a database: {' '.join(str(error).split())}.",
            "Write it like postgresql://name@machine/database, or host=machine dbname=database.",
        ) from error


@contextmanager
def _connected(address: str) -> Iterator[Connection]:
    try:
        psycopg = import_module("psycopg")
    except ImportError as error:
        raise MissingPartError(
            "The shop's database needs the package psycopg.", "pip install 'fieldnote[shop]'"
        ) from error
    _check_address(psycopg, address)
    try:
        with psycopg.connect(address, connect_timeout=10) as shop:
            shop.execute("SELECT pg_advisory_xact_lock(%s)", (_LOCK,))
            shop.execute(_LAYOUT)
            yield shop
    except psycopg.Error as error:
        raise StoreError(
            f"The shop's database could not be used ({' '.join(str(error).split()).rstrip('.?')}).",
            "Nothing is lost: the jobs are on this machine. Try again when it can be reached.",
        ) from error


def push(log: JobLog, address: str, refs: list[str] | None = None) -> int:
    """Give jobs (all by default) to the shop; how many records were new there.

    Args:
        address: PostgreSQL's, e.g. ``postgresql://user@host/shop``.

    Raises:
        MissingPartError: psycopg is not installed.
        StoreError: the database cannot be reached or written; nothing of this push is in it.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = log.export_bundle(Path(folder) / "push.zip", refs, location=True)
        bundle = read_bundle(path)
        with _connected(address) as shop, zipfile.ZipFile(path) as archive:
            new = 0
            for root, lines in bundle.jobs.items():
                for line in lines:
                    done = shop.execute(
                        "INSERT INTO fieldnote_records (hash, root, number, content, openings)"
                        " VALUES (%s, %s, %s, %s, %s) ON CONFLICT (hash) DO NOTHING",
                        (
                            line.record.hash,
                            root,
                            line.record.number,
                            line.content,
                            json.dumps(line.openings),
                        ),
                    )
                    new += done.rowcount
            for name in sorted(set(bundle.files.values())):
                shop.execute(
                    "INSERT INTO fieldnote_evidence (file, content) VALUES (%s, %s)"
                    " ON CONFLICT (file) DO NOTHING",
                    (name, archive.read(name)),
                )
    return new


def pull(log: JobLog, address: str) -> Merged:
    """Take in what the shop has; everything is checked first, as with any bundle.

    Raises:
        BadInputError: something in the shop's database does not fit; nothing was taken in.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shop.zip"
        with _connected(address) as shop:
            _write(shop, path)
        return log.import_bundle(path)


def verify(address: str) -> list[Fault]:
    """What does not fit in the shop's database; the same checks as on a machine."""
    faults: list[Fault] = []
    with _connected(address) as shop:
        roots = shop.execute("SELECT DISTINCT root FROM fieldnote_records ORDER BY root").fetchall()
        for (root,) in roots:
            rows = shop.execute(
                "SELECT number, hash, content, openings FROM fieldnote_records WHERE root = %s",
                (root,),
            ).fetchall()
            faults += faults_of_chain([_raw(*row) for row in rows], root, None)
        for name, content in shop.execute("SELECT file, content FROM fieldnote_evidence"):
            if sha256(content) != name[9:73]:
                faults.append(Fault(0, "", "evidence", f"The shop's {name} was altered."))
    return faults


def _raw(number: int, hash: str, content: bytes, openings: str | None) -> RawRecord:
    try:
        fields = parse_content(content)
    except ValueError:
        return RawRecord(number, hash, "", None, None, content, openings)
    at = microseconds(parse_rfc3339(fields["at"]))
    return RawRecord(number, hash, fields["kind"], at, fields["refers_to"], content, openings)


def _write(shop: Connection, path: Path) -> None:
    """The shop's jobs as a bundle, so that they come in by the one door that checks."""
    rows = shop.execute(
        "SELECT hash, root, content, openings FROM fieldnote_records ORDER BY root, number, hash"
    ).fetchall()
    recorded: dict[str, tuple[str, int]] = {}
    lines = []
    for hash, _, content, openings in rows:
        try:
            record = json.loads(content)
            for item in record["evidence"]:
                recorded[item["sha256"]] = (item["suffix"], item["size"])
        except (ValueError, KeyError, TypeError) as error:
            raise BadInputError(
                f"The shop's record {hash[:12]} was altered; nothing was taken in.",
                "Have the shop's database verified.",
            ) from error
        lines.append(
            json.dumps({"hash": hash, "record": record, "openings": json.loads(openings or "{}")})
        )
    held = {name for (name,) in shop.execute("SELECT file FROM fieldnote_evidence")}
    with zipfile.ZipFile(path, "w") as archive:
        evidence = []
        for sha, (suffix, size) in sorted(recorded.items()):
            line: dict[str, Any] = {"sha256": sha, "suffix": suffix, "size": size}
            name = f"evidence/{sha}{suffix}"
            if name in held:
                line["file"] = name
                row = shop.execute(
                    "SELECT content FROM fieldnote_evidence WHERE file = %s", (name,)
                ).fetchone()
                archive.writestr(name, row[0] if row else b"")
            evidence.append(line)
        archive.writestr(RECORDS, "".join(f"{line}\n" for line in lines))
        manifest = {
            "format": FORMAT,
            "version": VERSION,
            "jobs": sorted({row[1] for row in rows}),
            "records": len(lines),
            "evidence": evidence,
        }
        archive.writestr(MANIFEST, json.dumps(manifest))
