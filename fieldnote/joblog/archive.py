"""Old evidence moved to another folder (a disk in the shop, say), and still known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldnote.errors import BadInputError, StoreError
from fieldnote.joblog.database import Database
from fieldnote.joblog.evidence import (
    EvidencePlace,
    EvidenceStore,
    blocks_of,
    make_private_folder,
    write_durably,
)
from fieldnote.joblog.trouble import told_for_people


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Where a file of evidence is.

    Attributes:
        state: ``here``, ``archived``, ``removed`` or ``absent`` (it never came to this machine).
        path: where it lies, or would lie.
        at_hand: whether it can be opened now.
    """

    sha256: str
    size: int
    state: str
    path: Path
    at_hand: bool


def place_of(db: Database, store: EvidenceStore, sha256: str, suffix: str) -> Path:
    """Where evidence lies: here, in an archive, or (a copy of a picture) beside it."""
    path = store.locate(sha256, suffix)
    if path.exists():
        return path
    row = db.row("SELECT state, folder FROM evidence WHERE sha256 = ?", (sha256,))
    if row is None or row[1] is None:
        return path
    if row[0] == "archived":
        return Path(row[1]) / f"{sha256}{suffix}"
    return store.place(row[1][:64], row[1][64:])


def whereabouts(db: Database, place: EvidencePlace, job: int) -> list[Whereabouts]:
    """Of all evidence that a job refers to."""
    return [
        Whereabouts(sha, size, state, path := place(sha, suffix), path.is_file())
        for sha, suffix, size, state in db.rows(
            "SELECT sha256, suffix, size, state FROM evidence JOIN evidence_of USING (sha256)"
            " WHERE job = ? ORDER BY sha256",
            (job,),
        )
    ]


def move_out(db: Database, store: EvidenceStore, jobs: Sequence[int], folder: Path) -> int:
    """Move the evidence of jobs to ``folder``; how many files. Each is copied, checked, and only
    then removed here, so that an interruption leaves it in both places at worst."""
    folder = folder.absolute()
    with told_for_people(folder):
        make_private_folder(folder)
    moved = 0
    for sha, suffix, size in _files(db, jobs, "here"):
        path = store.find(sha)
        if path is None:
            continue  # verify() tells that it is missing
        target = folder / f"{sha}{suffix}"
        with told_for_people(target):
            written = write_durably(target, blocks_of(path))
            if written != (sha, size):
                target.unlink()
                raise StoreError(
                    f"The evidence {path} was altered; it was not moved.", "Verify the job."
                )
        with db.writing():
            db.run(
                "UPDATE evidence SET state = 'archived', folder = ? WHERE sha256 = ?",
                (str(folder), sha),
            )
        with told_for_people(path):
            path.unlink()
        moved += 1
    return moved


def bring_back(db: Database, store: EvidenceStore, jobs: Sequence[int]) -> int:
    """Copy archived evidence back; how many files. The archive keeps its own."""
    brought = 0
    for sha, suffix, size in _files(db, jobs, "archived"):
        row = db.row("SELECT folder FROM evidence WHERE sha256 = ?", (sha,))
        source = Path(row[0] if row else "") / f"{sha}{suffix}"
        if not source.is_file():
            raise BadInputError(
                f"The archive {source.parent} does not hold {sha[:12]}….",
                "Connect the disk that it lies on.",
            )
        with told_for_people(source):
            store.take(sha, suffix, size, blocks_of(source))
        with db.writing():
            db.run("UPDATE evidence SET state = 'here', folder = NULL WHERE sha256 = ?", (sha,))
        brought += 1
    return brought


def _files(db: Database, jobs: Sequence[int], state: str) -> list[tuple[str, str, int]]:
    marks = ", ".join("?" * len(jobs))
    return [
        (row[0], row[1], row[2])
        for row in db.rows(
            "SELECT DISTINCT sha256, suffix, size FROM evidence JOIN evidence_of USING (sha256)"
            f" WHERE job IN ({marks}) AND state = ? ORDER BY sha256",
            (*jobs, state),
        )
    ]
