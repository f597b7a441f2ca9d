"""The SQLite file: opened privately, durably, and brought up to the present layout."""

from __future__ import annotations

import os
import secrets
import sqlite3
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldnote.errors import StoreError
from fieldnote.joblog.evidence import flush_folder, make_private_folder
from fieldnote.joblog.layout import bring_up_to_date
from fieldnote.joblog.trouble import FAILURES, as_store_error, locked, told_for_people

if TYPE_CHECKING:
    import sqlite_utils

Values = Sequence[Any] | Mapping[str, Any]


class Database:
    """One connection; safe to share between threads, each write a transaction of its own.

    Args:
        path: the SQLite file; made, with its folder, when missing.
        wait: seconds to wait for another program that is writing.

    Raises:
        StoreError: read-only, full, locked, damaged, not ours, or written by a newer Fieldnote.
    """

    def __init__(self, path: Path, wait: float = 5.0) -> None:
        self.path = path
        self.wait = wait
        self._turn = threading.RLock()
        with told_for_people(path.parent):
            make_private_folder(path.parent)
            # SQLite gives its -wal and -shm files the mode of the database itself.
            os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
        with told_for_people(path):
            self._connection = sqlite3.connect(
                path, isolation_level=None, timeout=wait, check_same_thread=False
            )
        try:
            with told_for_people(path):
                self._settle()
        except BaseException:
            self._connection.close()
            raise

    def _settle(self) -> None:
        self._write_ahead()
        # FULL: what append() returned from has reached the disk, power cut or not.
        self._connection.execute("PRAGMA synchronous = FULL")
        self._connection.execute("PRAGMA foreign_keys = ON")
        self._connection.execute("PRAGMA secure_delete = ON")  # what was removed is overwritten
        # Fewer, larger foldings of the write-ahead log: a large log touches many pages.
        self._connection.execute("PRAGMA wal_autocheckpoint = 4000")
        self._connection.execute("PRAGMA cache_size = -16000")
        bring_up_to_date(self)

    def _write_ahead(self) -> None:
        """Switch to write-ahead logging; SQLite does not wait its turn for this one statement."""
        patience = time.monotonic() + self.wait
        while True:
            try:
                mode = self._connection.execute("PRAGMA journal_mode = WAL").fetchone()[0]
            except sqlite3.OperationalError as error:
                if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY:
                    raise
                if time.monotonic() > patience:
                    raise locked(self.path) from error
                time.sleep(0.02)
                continue
            if mode != "wal":
                raise StoreError(
                    f"The disk that holds {self.path} cannot keep a write-ahead log.",
                    "Use a folder on a local disk, not on a network share.",
                )
            return

    @property
    def tools(self) -> sqlite_utils.Database:
        """The library that makes tables; loaded when it is needed, since it brings numpy along."""
        import sqlite_utils

        return sqlite_utils.Database(self._connection)

    def version(self) -> int:
        return int(self._connection.execute("PRAGMA user_version").fetchone()[0])

    def rows(self, sql: str, values: Values = ()) -> list[tuple[Any, ...]]:
        """All rows of a query."""
        with self._turn, told_for_people(self.path):
            return self._connection.execute(sql, values).fetchall()

    def row(self, sql: str, values: Values = ()) -> tuple[Any, ...] | None:
        """The first row of a query, or None."""
        with self._turn, told_for_people(self.path):
            found = self._connection.execute(sql, values).fetchone()
        return None if found is None else tuple(found)

    def run(self, sql: str, values: Values = ()) -> int:
        """Run one statement inside :meth:`writing`; the row id of an insert."""
        return self._connection.execute(sql, values).lastrowid or 0

    @contextmanager
    def writing(self) -> Iterator[Database]:
        """A write transaction: all of the block is on the disk afterwards, or none of it.

        A block inside another is part of it.
        """
        with self._turn:
            if self._connection.in_transaction:
                yield self
                return
            try:
                self._connection.execute("BEGIN IMMEDIATE")
                yield self
                self._connection.execute("COMMIT")
            except FAILURES as error:
                self._undo()
                raise as_store_error(error, self.path) from error
            except BaseException:
                self._undo()
                raise

    def _undo(self) -> None:
        if self._connection.in_transaction:
            self._connection.execute("ROLLBACK")

    def empty_log(self) -> None:
        """Fold the write-ahead log into the database and cut it to nothing."""
        with self._turn, told_for_people(self.path):
            self._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")

    def back_up(self, target: Path) -> None:
        """Copy the database, as it was last committed, to ``target``; whole or not at all."""
        part = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
        with told_for_people(target):
            make_private_folder(target.parent)
            os.close(os.open(part, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
            # A connection of its own: this one may be writing, and readers see what was committed.
            with (
                closing(sqlite3.connect(self.path)) as source,
                closing(sqlite3.connect(part)) as to,
            ):
                source.backup(to)
            with part.open("rb") as written:
                os.fsync(written.fileno())
            part.replace(target)
            flush_folder(target.parent)

    def close(self) -> None:
        with self._turn:
            self._connection.close()
