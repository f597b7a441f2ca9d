"""Sound and pictures, stored under their own SHA-256 before anything reads them.

A file is written to a temporary name, flushed to the disk, renamed, and the folder is flushed:
after a power cut it is there whole or not at all. What is stored twice is stored once.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import secrets
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from fieldnote.errors import BadInputError, StoreError
from fieldnote.joblog.trouble import told_for_people

_SUFFIX = re.compile(r"\.[a-z0-9]{1,8}")
_BLOCK = 1 << 20

EvidencePlace = Callable[[str, str], Path]
"""Where the file of a hash and suffix lies, or would lie."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """One stored file.

    Attributes:
        sha256: of the bytes on the disk (for sound kept as FLAC: of the FLAC file).
        path: where it lies, or would lie if it is not on this machine.
        size: bytes.
    """

    sha256: str
    path: Path
    size: int

    @property
    def suffix(self) -> str:
        return self.path.suffix


def is_suffix(suffix: str) -> bool:
    return _SUFFIX.fullmatch(suffix) is not None


def check_suffix(suffix: str) -> str:
    suffix = suffix.lower()
    if not is_suffix(suffix):
        raise BadInputError(
            f"{suffix!r} is not a file suffix.", "Use a dot and up to 8 letters or digits."
        )
    return suffix


def make_private_folder(path: Path) -> None:
    """Make ``path`` and what is missing above it; only the owner may look inside.

    Each new folder is flushed into its parent, so that a power cut cannot take it away again.
    """
    missing = [path, *path.parents]
    missing = missing[: next(i for i, folder in enumerate(missing) if folder.is_dir())]
    for folder in reversed(missing):
        folder.mkdir(mode=0o700, exist_ok=True)
        flush_folder(folder.parent)


def flush_folder(folder: Path) -> None:
    """Flush the names in a folder to the disk, where the system can (Windows cannot)."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_durably(target: Path, blocks: Iterator[bytes]) -> tuple[str, int]:
    """Write ``blocks`` to ``target`` whole or not at all, mode 0600; (SHA-256, size) of them."""
    temporary = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
    digest, size = hashlib.sha256(), 0
    if not target.parent.is_dir():
        # Named here, so that the message is about the file asked for and not our temporary one.
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(target.parent))
    handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "wb") as out:
            for block in blocks:
                out.write(block)
                digest.update(block)
                size += len(block)
            out.flush()
            os.fsync(out.fileno())
        temporary.replace(target)
        flush_folder(target.parent)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return digest.hexdigest(), size


def hash_file(path: Path) -> tuple[str, int]:
    """(SHA-256, size) of a file's bytes."""
    digest, size = hashlib.sha256(), 0
    for block in blocks_of(path):
        digest.update(block)
        size += len(block)
    return digest.hexdigest(), size


def blocks_of(source: bytes | Path) -> Iterator[bytes]:
    if isinstance(source, bytes):
        yield source
        return
    with source.open("rb") as file:
        while block := file.read(_BLOCK):
            yield block


class EvidenceStore:
    """The folder ``evidence`` of a log: ``ab/abcdef….wav``."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def place(self, sha256: str, suffix: str) -> Path:
        return self.folder / sha256[:2] / f"{sha256}{suffix}"

    def locate(self, sha256: str, suffix: str) -> Path:
        """Where the file lies, or would lie."""
        place = self.place(sha256, suffix)
        return place if place.exists() else self.find(sha256) or place

    def check_kept(self, item: Evidence) -> None:
        """Raises BadInputError unless this evidence is stored here."""
        path = self.find(item.sha256)
        with told_for_people(item.path):
            if path is None or path.stat().st_size != item.size:
                raise BadInputError(
                    f"The evidence {item.sha256[:12]} is not in this log.", "Keep it first."
                )

    def keep(self, source: bytes | Path, suffix: str) -> Evidence:
        """Store a file by its hash; storing the same again gives the same one back.

        Raises:
            BadInputError: the file to be stored is missing, unreadable or empty.
            StoreError: it could not be written; nothing is left behind.
        """
        suffix = check_suffix(suffix)
        sha256, size = self._hash_source(source)
        known = self.find(sha256)
        if known is not None and self._whole(known, sha256, size):
            return Evidence(sha256, known, size)
        target = known or self.place(sha256, suffix)
        with told_for_people(target.parent):
            make_private_folder(target.parent)
            written = write_durably(target, blocks_of(source))
        if written != (sha256, size):
            target.unlink()
            raise StoreError(
                f"{source if isinstance(source, Path) else 'The evidence'} changed while it was "
                "being stored; it was not kept.",
                "Wait until it is complete, then add it again.",
            )
        return Evidence(sha256, target, size)

    def take(self, sha256: str, suffix: str, size: int, blocks: Iterator[bytes]) -> Path:
        """Store a file that comes in blocks and must have this hash and size.

        Raises:
            StoreError: it has not, or could not be written; nothing is left behind.
        """
        target = self.place(sha256, suffix)
        with told_for_people(target.parent):
            make_private_folder(target.parent)
            written = write_durably(target, blocks)
        if written != (sha256, size):
            target.unlink()
            raise StoreError(f"The evidence {sha256[:12]} changed while it was being stored.")
        return target

    def find(self, sha256: str) -> Path | None:
        """The file of this hash, whatever its suffix."""
        with told_for_people(self.folder):
            return next(iter(sorted((self.folder / sha256[:2]).glob(f"{sha256}.*"))), None)

    def all_places(self, sha256: str, suffix: str, folder: str | None) -> list[Path]:
        """Every file that stands for this evidence: its own, an archived one, a picture's copy."""
        found = [self.find(sha256)]
        if folder is not None:
            found += (
                [Path(folder) / f"{sha256}{suffix}"]
                if Path(folder).is_absolute()
                else [self.place(folder[:64], folder[64:])]
            )
        return [path for path in found if path is not None]

    def _hash_source(self, source: bytes | Path) -> tuple[str, int]:
        if isinstance(source, Path):
            try:
                sha256, size = hash_file(source)
            except OSError as error:
                raise BadInputError(
                    f"{source} cannot be read: {error.strerror or error}."
                ) from error
        else:
            sha256, size = hashlib.sha256(source).hexdigest(), len(source)
        if size == 0:
            raise BadInputError(
                f"{source if isinstance(source, Path) else 'The evidence'} is empty: "
                "there is nothing to keep."
            )
        return sha256, size

    def _whole(self, path: Path, sha256: str, size: int) -> bool:
        """Whether what is stored is still good; a damaged copy is replaced by the sound one."""
        with told_for_people(path):
            return path.stat().st_size == size and hash_file(path) == (sha256, size)
