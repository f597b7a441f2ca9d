"""What the operating system and SQLite say when storage fails, said for people."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fieldnote.errors import StoreError

_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_REFUSED = {errno.EROFS, errno.EACCES, errno.EPERM}

# The primary result code is the low byte of SQLite's extended one: https://sqlite.org/rescode.html
_SQLITE_FULL = 13
_SQLITE_BUSY, _SQLITE_LOCKED = 5, 6
_SQLITE_PERM, _SQLITE_READONLY, _SQLITE_CANTOPEN = 3, 8, 14
_SQLITE_CORRUPT, _SQLITE_NOTADB = 11, 26
_SQLITE_IOERR = 10


def full(path: Path) -> StoreError:
    return StoreError(
        f"The disk that holds {path} is full; nothing of this entry was stored.",
        "Free some space, then say or enter it again.",
    )


def refused(path: Path) -> StoreError:
    return StoreError(
        f"{path} cannot be written by this user.",
        "Make the folder writable, or name another with FIELDNOTE_HOME.",
    )


def locked(path: Path) -> StoreError:
    return StoreError(
        f"Another program keeps {path} locked; nothing was stored.",
        "Close the other program, then try again.",
    )


def damaged(path: Path, detail: object = "") -> StoreError:
    said = f" ({detail})" if detail else ""
    return StoreError(
        f"The job log {path} is damaged{said}; it was left as it is.",
        "Copy the folder before anything else; then put back a copy from its backups folder, or "
        "import the bundles made of these jobs into a new one.",
    )


# A damaged database can make the sqlite3 module fail at reading SQLite's own message.
FAILURES = (OSError, sqlite3.Error, UnicodeDecodeError)


def as_store_error(error: Exception, path: Path) -> StoreError:
    """Turn a failure of storage at ``path`` (one of FAILURES) into a message with its mend."""
    if isinstance(error, OSError):
        if isinstance(error.filename, str):
            path = Path(error.filename)
        if error.errno in _FULL:
            return full(path)
        if error.errno in _REFUSED:
            return refused(path)
        if error.errno in (errno.ENOTDIR, errno.EEXIST):
            return StoreError(
                f"{path} cannot be made: a file stands where a folder is needed.",
                "Move that file away, or name another folder with FIELDNOTE_HOME.",
            )
        if error.errno == errno.ENOENT:
            return StoreError(f"There is no {path}.", "Make that folder first, or name another.")
        return StoreError(
            f"{path} could not be read or written: {error.strerror or error}.",
            "Look whether the disk is there and sound, then try again.",
        )
    code = getattr(error, "sqlite_errorcode", None)
    primary = None if code is None else code & 0xFF
    if primary == _SQLITE_FULL:
        return full(path)
    if primary in (_SQLITE_BUSY, _SQLITE_LOCKED):
        return locked(path)
    if primary in (_SQLITE_PERM, _SQLITE_READONLY, _SQLITE_CANTOPEN):
        return refused(path)
    if primary in (_SQLITE_CORRUPT, _SQLITE_NOTADB):
        return damaged(path, error)
    if primary == _SQLITE_IOERR:
        return StoreError(
            f"{path} could not be read or written: the disk is full or failing; nothing of this "
            "entry was stored.",
            "Free some space or use another disk, then say or enter it again.",
        )
    return damaged(path, error)


@contextmanager
def told_for_people(path: Path) -> Iterator[None]:
    """Raise any failure of storage inside the block as a :class:`StoreError` about ``path``."""
    try:
        yield
    except FAILURES as error:
        raise as_store_error(error, path) from error
