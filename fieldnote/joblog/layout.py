"""The tables, and the way from every earlier layout to the present one.

``PRAGMA user_version`` counts the layout. All steps run in one transaction; before they touch a log
that holds something, a copy of it goes to the ``backups`` folder.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import TYPE_CHECKING

from fieldnote.errors import StoreError
from fieldnote.joblog.index import add_to_index, add_words
from fieldnote.joblog.private import opened

if TYPE_CHECKING:
    from fieldnote.joblog.database import Database

_APPLICATION_ID = 0x464E4C47  # "FNLG" in the file's header, for programs that look there


def _first(db: Database) -> None:
    table = db.tools.table
    table("settings").create({"name": str, "value": str}, pk="name", strict=True)
    table("jobs").create(
        {
            "id": int,
            "root": str,  # hash of the start record
            "ref": str,
            "at": int,  # microseconds since 1970
            "asset": str,
            "serial": str,
            "facts": int,  # id of the record that holds the facts as they stand
            "heads": str,  # hashes of the last record(s), a space between
            "number": int,  # of the last record
            "closed": int,
        },
        pk="id",
        not_null={"root", "ref", "at", "facts", "heads", "number", "closed"},
        strict=True,
    )
    table("jobs").create_index(["root"], unique=True)
    table("jobs").create_index(["ref"])
    table("records").create(
        {
            "id": int,
            "job": int,
            "number": int,
            "hash": str,
            "kind": str,
            "at": int,
            "refers_to": str,
            "replaced": int,  # 1 when a correction or withdrawal took its place
            "content": bytes,  # the canonical JSON that was hashed; all else is derived from it
            "openings": str,  # private facts with their salts, as JSON
        },
        pk="id",
        not_null={"job", "number", "hash", "kind", "at", "replaced", "content"},
        foreign_keys=[("job", "jobs", "id")],
        strict=True,
    )
    table("records").create_index(["job", "number", "hash"], unique=True)
    table("evidence").create(
        {
            "sha256": str,
            "suffix": str,
            "size": int,
            "state": str,  # here, archived, removed, absent (never came to this machine)
            "folder": str,  # of the archive, when archived
        },
        pk="sha256",
        not_null={"suffix", "size", "state"},
        strict=True,
    )
    table("evidence_of").create(
        {"sha256": str, "job": int},
        pk=("sha256", "job"),
        foreign_keys=[("sha256", "evidence", "sha256"), ("job", "jobs", "id")],
        strict=True,
    )
    table("evidence_of").create_index(["job"])


def _search(db: Database) -> None:
    """Words, and results by quantity and verdict; all derived from the records."""
    table = db.tools.table
    db.run(
        "CREATE VIRTUAL TABLE words USING fts5"
        " (text, content = '', tokenize = 'unicode61 remove_diacritics 2')"
    )
    table("results").create(
        {
            "id": int,  # of the record
            "at": int,
            "label": str,
            "value": str,
            "unit": str,
            "verdict": str,
            "quantity": str,
            "base_value": float,
            "base_unit": str,
            "counts": int,  # 0 when replaced, withdrawn, or never a result
        },
        pk="id",
        not_null={"at", "counts"},
        foreign_keys=[("id", "records", "id")],
        strict=True,
    )
    table("results").create_index(["at"], "results_at")
    table("results").create_index(["quantity", "base_value"], "results_quantity")
    db.run(
        "CREATE INDEX results_verdict ON results (verdict, at)"
        " WHERE verdict IN ('fail', 'indeterminate')"
    )
    db.run("CREATE INDEX records_at ON records (at)")
    db.run("CREATE INDEX jobs_serial ON jobs (serial COLLATE NOCASE)")
    db.run("CREATE INDEX jobs_asset ON jobs (asset COLLATE NOCASE)")
    for record, kind, at, replaced, content, openings in db.rows(
        "SELECT id, kind, at, replaced, content, openings FROM records"
    ):
        body = json.loads(content)["body"]
        body |= opened(json.loads(openings or "{}"))
        add_to_index(db, record, kind, at, body, None, replaced=bool(replaced))
    add_words(db)


_STEPS: list[Callable[[Database], None]] = [_first, _search]
VERSION = len(_STEPS)


def bring_up_to_date(db: Database) -> None:
    """Bring an empty or older database to :data:`VERSION`.

    Raises:
        StoreError: it was written by a newer Fieldnote, or is not a job log at all.
    """
    if db.version() == VERSION:
        return
    with db.writing():  # all steps at once, and whoever comes second finds them done
        version = db.version()
        if version > VERSION:
            raise StoreError(
                f"The job log {db.path} was written by a newer Fieldnote (layout {version}; this "
                f"one knows {VERSION}); it was left as it is.",
                "Install the newer Fieldnote.",
            )
        if version == VERSION:
            return
        if version == 0:
            _refuse_foreign(db)
        else:
            db.back_up(db.path.parent / "backups" / f"{db.path.stem}-layout-{version}.db")
        for step in _STEPS[version:]:
            step(db)
        db.run(f"PRAGMA user_version = {VERSION}")
        db.run(f"PRAGMA application_id = {_APPLICATION_ID}")


def _refuse_foreign(db: Database) -> None:
    if db.rows("SELECT name FROM sqlite_master WHERE type = 'table'"):
        raise StoreError(
            f"{db.path} is a database of something else; it was left as it is.",
            "Name another folder with FIELDNOTE_HOME.",
        )
